"""What the steps of a plan must not do together: name what is not there, wait for what comes later, leave something loose."""

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise

from schemas.plan.faults import nearest
from schemas.plan.model import (
    FitStep,
    HoldPointStep,
    JointModel,
    LooseStep,
    OpenStep,
    PlanModel,
    RecheckStep,
    RetorqueStep,
    StepModel,
    TorqueStep,
)
from schemas.plan.quantity import span_of
from schemas.plan.rules import Finding
from schemas.plan.waits import Tightness, wait_findings

_NAMING = ("fit", "loose", "torque", "open", "recheck", "retorque", "covers")


def step_findings(plan: PlanModel) -> Iterator[Finding]:
    """Every structural error of the steps; a plan without steps has none."""
    if plan.steps is None:
        return
    steps = plan.steps
    joints = {joint.id: joint for joint in plan.joints}
    yield from _names(steps, joints)
    torqued, opened = _places(steps, TorqueStep, "torque"), _places(steps, OpenStep, "open")
    tightness = Tightness(*({name: [step for step, _ in at] for name, at in places.items()} for places in (torqued, opened)))
    yield from _torqued_once_each_time(torqued, tightness)
    yield from _opened(opened, tightness, joints)
    yield from _loose(steps, torqued, joints)
    yield from _never(plan, steps, torqued)
    yield from _fitted(steps, torqued, joints)
    yield from _again(steps, tightness, joints)
    yield from _covered(steps, tightness)
    yield from _spans(steps)
    yield from wait_findings(steps, tightness, joints)


_Places = dict[str, list[tuple[int, int]]]


def _places(steps: list[StepModel], kind: type[object], field: str) -> _Places:
    """For each joint that a kind of step names: step and place in it, each time."""
    found: _Places = defaultdict(list)
    for index, step in enumerate(steps):
        for place, name in enumerate(getattr(step, field) if isinstance(step, kind) else ()):
            found[name].append((index, place))
    return found


def _names(steps: list[StepModel], joints: dict[str, JointModel]) -> Iterator[Finding]:
    for index, step in enumerate(steps):
        for field in _NAMING:
            names = getattr(step, field, None)
            if names is None:
                continue
            if not names and field != "covers":
                yield Finding(("steps", index, field), f"the step names no joint; {nearest('', joints)}", "names-no-joint")
            seen: set[str] = set()
            for place, name in enumerate(names):
                path = ("steps", index, field, place)
                if name not in joints:
                    yield Finding(path, f"the plan has no joint `{name}`; {nearest(name, joints)}", "unknown-joint")
                elif field != "torque" and name in seen:
                    yield Finding(path, f"`{name}` stands twice in this step; write it once", "named-twice")
                seen.add(name)


def _torqued_once_each_time(torqued: _Places, tightness: Tightness) -> Iterator[Finding]:
    for name, places in torqued.items():
        for (before, _), (index, place) in pairwise(places):
            if tightness.torqued_for(name, index) == before or before == index:
                what = (
                    f"`{name}` is torqued in steps[{before + 1}] already; add a step `open: {name}` between them, or"
                    f" `recheck: {name}` to go round it again"
                )
                yield Finding(("steps", index, "torque", place), what, "torqued-twice")


def _opened(opened: _Places, tightness: Tightness, joints: dict[str, JointModel]) -> Iterator[Finding]:
    for name, places in opened.items():
        steps = tightness.torqued.get(name, ())
        for index, place in places if name in joints else ():
            path, found = ("steps", index, "open", place), tightness.torqued_for(name, index)
            if not steps or steps[0] > index:
                what = f"`{name}` is opened before any step has torqued it; move this step below its torque step"
                yield Finding(path, what, "opened-before-torqued")
            elif found is None or found > index:
                what = f"`{name}` is open already; take it out of this step, or add a step `torque: {name}` above"
                yield Finding(path, what, "opened-before-torqued")
            if not steps or steps[-1] < index:
                what = f"`{name}` is opened and no later step torques it; add a step `torque: {name}` below"
                yield Finding(path, what, "left-open-for-good")


def _loose(steps: list[StepModel], torqued: _Places, joints: dict[str, JointModel]) -> Iterator[Finding]:
    for index, step in enumerate(steps):
        for place, name in enumerate(step.loose if isinstance(step, LooseStep) else ()):
            if name in joints and not any(later > index for later, _ in torqued.get(name, ())):
                what = f"`{name}` is left loose and no later step torques it; add a step `torque: {name}` below"
                yield Finding(("steps", index, "loose", place), what, "left-loose-for-good")


def _never(plan: PlanModel, steps: list[StepModel], torqued: _Places) -> Iterator[Finding]:
    loosened = {name for step in steps if isinstance(step, LooseStep) for name in step.loose}
    for number, joint in enumerate(plan.joints):
        if joint.id not in torqued and joint.id not in loosened:
            what = f"no step torques `{joint.id}`; add a step `torque: {joint.id}`"
            yield Finding(("joints", number), what, "never-torqued")


def _fitted(steps: list[StepModel], torqued: _Places, joints: dict[str, JointModel]) -> Iterator[Finding]:
    fitted: dict[str, set[int]] = defaultdict(set)
    last: dict[str, int] = {}
    for name, index, place in ((name, *at) for name, places in _places(steps, FitStep, "fit").items() for at in places):
        step = steps[index]
        if name not in joints or not isinstance(step, FitStep):
            continue
        for entry, position in enumerate(step.positions):
            path = ("steps", index, "positions", entry)
            if position > joints[name].fasteners:
                what = f"`{name}` has positions 1 to {joints[name].fasteners}; write one of them"
                yield Finding(path, what, "unknown-position")
            elif position in fitted[name]:
                yield Finding(path, f"position {position} of `{name}` is put in already; write it once", "fitted-twice")
            fitted[name].add(position)
        last[name] = index
        if torqued.get(name, [(index, 0)])[0][0] < index:
            what = f"`{name}` is torqued in an earlier step; move this step above it"
            yield Finding(("steps", index, "fit", place), what, "fitted-after-torqued")
    for name, index in last.items():
        left = sorted(set(range(1, joints[name].fasteners + 1)) - fitted[name])
        if left:
            which = f"position{'s' * (len(left) > 1)} {', '.join(map(str, left))}"
            what = f"no step puts in {which} of `{name}`; add what is missing to a `fit` step"
            yield Finding(("steps", index, "positions"), what, "never-fitted")


def _again(steps: list[StepModel], tightness: Tightness, joints: dict[str, JointModel]) -> Iterator[Finding]:
    for index, step in enumerate(steps):
        word = "recheck" if isinstance(step, RecheckStep) else "retorque" if isinstance(step, RetorqueStep) else ""
        for place, name in enumerate(getattr(step, word) if word else ()):
            path, joint = ("steps", index, word, place), joints.get(name)
            found = tightness.torqued_for(name, index)
            if found is not None and found > index:
                yield Finding(
                    path, f"`{name}` is torqued only in a later step; move this step below it", f"{word}-before-torqued"
                )
            if joint is None:
                continue
            if joint.cure is not None:
                what = f"`{name}` has a thread that cures, and to move it breaks the bond; take it out of this step"
                yield Finding(path, what, "cured-thread-moved")
            if joint.then_angle is not None:
                what = f"`{name}` is turned by an angle, so its torque shows nothing afterwards; take it out of this step"
                yield Finding(path, what, "angle-checked-by-torque")
            if joint.torque == "not stated":
                what = f"the torque of `{name}` is not stated, so there is none to check; take it out of this step"
                yield Finding(path, what, "no-torque")


def _covered(steps: list[StepModel], tightness: Tightness) -> Iterator[Finding]:
    for index, step in enumerate(steps):
        for place, name in enumerate(getattr(step, "covers", None) or ()):
            found = tightness.torqued_for(name, index)
            if found is not None and found > index:
                what = (
                    f"`{name}` is out of reach from here on and torqued only in steps[{found + 1}];"
                    " move that step above this one, or take the joint out of `covers`"
                )
                yield Finding(("steps", index, "covers", place), what, "covered-before-torqued")


def _spans(steps: list[StepModel]) -> Iterator[Finding]:
    for index, step in enumerate(steps):
        if isinstance(step, RetorqueStep) and step.to is not None:
            start, end = span_of(step.from_), span_of(step.to)
            if (start.km is None) != (end.km is None):
                what = "`from` and `to` are a distance and a time; write both as the same"
                yield Finding(("steps", index, "to"), what, "span-reversed")
            elif (start.km or start.seconds or 0) >= (end.km or end.seconds or 0):
                what = f"`to` {step.to} is not beyond `from` {step.from_}; correct one of them"
                yield Finding(("steps", index, "to"), what, "span-reversed")
        if isinstance(step, HoldPointStep) and step.measure and Decimal(step.measure.low) > Decimal(step.measure.high):
            what = f"`low` {step.measure.low} is above `high` {step.measure.high}; correct one of them"
            yield Finding(("steps", index, "measure", "low"), what, "empty-band")
