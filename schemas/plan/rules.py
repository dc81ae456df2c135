"""What a plan must not do as a whole, though each of its fields is well written."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from schemas.plan.faults import nearest
from schemas.plan.model import (
    HoldPointStep,
    JointModel,
    LooseStep,
    PlanModel,
    RetorqueStep,
    TorqueStep,
)
from schemas.plan.text import Path


class Finding(NamedTuple):
    """Something wrong at a place of the plan, and what to write instead."""

    path: Path
    what: str


def structure(plan: PlanModel) -> Iterator[Finding]:
    """Every structural error of a plan: of its joints one by one, of its ids, of its steps."""
    for index, joint in enumerate(plan.joints):
        for field, what in _joint_rules(joint):
            yield Finding(("joints", index, field), what)
    yield from _twice("joints", "id", [(index, joint.id) for index, joint in enumerate(plan.joints)])
    if plan.steps is not None:
        points = [(index, step.hold_point) for index, step in enumerate(plan.steps) if isinstance(step, HoldPointStep)]
        yield from _twice("steps", "hold point", points)
        yield from _known_joints(plan)
        yield from _signed_before(plan, dict(reversed([(point, index) for index, point in points])))
        yield from _reached(plan)
        yield from _retorqued(plan)


def stages_what(stages: list[str]) -> str | None:
    """What is wrong with a list of stages, None where it is sound: snug first if at all, rising, 100 at the end."""
    if "snug" in stages[1:]:
        return "`snug` can only be the first stage; move it there or take it out"
    shares = [Decimal(stage) for stage in stages if stage != "snug"]
    if not shares or shares[-1] != 100:
        return "the stages do not end at 100; write 100 as the last one"
    if any(later <= earlier for earlier, later in pairwise(shares)):
        return "the stages do not rise; write each share once, from the smallest to 100"
    return None


def not_obeyed(plan: PlanModel) -> tuple[str, ...]:
    """What the plan asks for and the collector does not do yet, one line each; such a plan loads and opens no job."""
    lines = []
    for joint in plan.joints:
        if joint.adapter is not None:
            lines.append(
                f"`joints.{joint.id}.adapter`: the value to set with an adapter is not worked out yet;"
                " use a wrench without adapter and take the line out"
            )
        if joint.torque == "not stated":
            lines.append(
                f"`joints.{joint.id}.torque`: a joint whose torque is not stated cannot be declared yet;"
                " take it out of this plan and record it on paper"
            )
    for number, step in enumerate(plan.steps or (), start=1):
        if isinstance(step, TorqueStep) and step.covers:
            lines.append(f"`steps[{number}].covers`: nothing is asked before a step that covers joints yet; take it out")
    return tuple(lines)


def _joint_rules(joint: JointModel) -> Iterator[tuple[str, str]]:
    yield from _torque_rules(joint)
    if joint.torque != "not stated" and (what := stages_what(joint.stages)):
        yield "stages", what
    if isinstance(joint.order, tuple) and sorted(joint.order) != list(range(1, joint.fasteners + 1)):
        yield "order", f"the order must have each position from 1 to {joint.fasteners} once; list them all"


def _torque_rules(joint: JointModel) -> Iterator[tuple[str, str]]:
    edges = [field for field in ("low", "high") if getattr(joint, field) is not None]
    if joint.torque is None and not edges:
        yield "torque", "the joint has no torque; write `torque`, or `low` and `high`, or `torque: not stated`"
    elif joint.torque is not None and edges:
        yield edges[0], f"`{edges[0]}` stands beside `torque`; write either `torque` or `low` and `high`"
    elif len(edges) == 1:
        missing = "high" if edges == ["low"] else "low"
        yield edges[0], f"`{edges[0]}` stands without `{missing}`; write both"
    elif edges and joint.tolerance is not None:
        yield "tolerance", "`low` and `high` are the band already; take the tolerance of this joint out"
    if joint.torque == "not stated":
        for field in ("tolerance", "stages"):
            if field in joint.model_fields_set:
                yield field, f"a torque that is not stated has no {field}; take the line out"


def _twice(section: str, field: str, ids: Iterable[tuple[int, str]]) -> Iterator[Finding]:
    first: dict[str, int] = {}
    for index, name in ids:
        if name in first:
            what = f"`{name}` is the {field} of {section}[{first[name] + 1}] already; give one of them another"
            yield Finding((section, index, field), what)
        first.setdefault(name, index)


def _named(step: object) -> Iterator[tuple[str, list[str]]]:
    """The fields of a step that name joints."""
    if isinstance(step, LooseStep):
        yield "loose", step.loose
    elif isinstance(step, TorqueStep):
        yield "torque", step.torque
        yield "covers", step.covers
    elif isinstance(step, RetorqueStep):
        yield "retorque", step.retorque


def _known_joints(plan: PlanModel) -> Iterator[Finding]:
    known = {joint.id: None for joint in plan.joints}
    for index, step in enumerate(plan.steps or ()):
        for field, names in _named(step):
            if not names and field != "covers":
                yield Finding(("steps", index, field), f"the step names no joint; {nearest('', known)}")
            for place, name in enumerate(names):
                if name not in known:
                    what = f"the plan has no joint `{name}`; {nearest(name, known)}"
                    yield Finding(("steps", index, field, place), what)


def _signed_before(plan: PlanModel, points: dict[str, int]) -> Iterator[Finding]:
    for index, step in enumerate(plan.steps or ()):
        for place, name in enumerate(step.after if isinstance(step, TorqueStep) else ()):
            path = ("steps", index, "after", place)
            if name not in points:
                yield Finding(path, f"the plan has no hold point `{name}`; {nearest(name, points)}")
            elif points[name] > index:
                what = f"hold point `{name}` comes later, in steps[{points[name] + 1}]; move it before this step"
                yield Finding(path, what)


def _torque_steps(plan: PlanModel) -> dict[str, list[tuple[int, int]]]:
    """For each joint that is torqued: step and place in it, each time."""
    found: dict[str, list[tuple[int, int]]] = {}
    for index, step in enumerate(plan.steps or ()):
        for place, name in enumerate(step.torque if isinstance(step, TorqueStep) else ()):
            found.setdefault(name, []).append((index, place))
    return found


def _reached(plan: PlanModel) -> Iterator[Finding]:
    torqued = _torque_steps(plan)
    for name, places in torqued.items():
        for index, place in places[1:]:
            what = (
                f"`{name}` is torqued in steps[{places[0][0] + 1}] already; opening it again is not read yet, so torque it once"
            )
            yield Finding(("steps", index, "torque", place), what)
    known = {joint.id for joint in plan.joints}
    loosened = set()
    for index, step in enumerate(plan.steps or ()):
        for place, name in enumerate(step.loose if isinstance(step, LooseStep) else ()):
            loosened.add(name)
            if name in known and not any(later > index for later, _ in torqued.get(name, ())):
                what = f"`{name}` is left loose and no later step torques it; add a step `torque: {name}` below"
                yield Finding(("steps", index, "loose", place), what)
    for number, joint in enumerate(plan.joints):
        if joint.id not in torqued and joint.id not in loosened:
            yield Finding(("joints", number), f"no step torques `{joint.id}`; add a step `torque: {joint.id}`")


def _retorqued(plan: PlanModel) -> Iterator[Finding]:
    torqued = _torque_steps(plan)
    for index, step in enumerate(plan.steps or ()):
        if not isinstance(step, RetorqueStep):
            continue
        for place, name in enumerate(step.retorque):
            if torqued.get(name, [(-1, 0)])[0][0] > index:
                what = f"`{name}` is torqued only in a later step; move this step below it"
                yield Finding(("steps", index, "retorque", place), what)
        start, end = step.from_.split(), (step.to or "").split()
        if start[1:] == end[1:] and Decimal(start[0]) >= Decimal(end[0]):
            yield Finding(("steps", index, "to"), f"`to` {step.to} is not beyond `from` {step.from_}; correct one of them")
