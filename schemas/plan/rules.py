"""What a plan must not do as a whole, though each of its fields is well written: its joints and ids; `step_rules` the steps."""

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from schemas.plan.expand import Expanded
from schemas.plan.faults import nearest
from schemas.plan.model import HoldPointStep, JointModel, PlanModel
from schemas.plan.text import Path
from schemas.units import find_unit


class Finding(NamedTuple):
    """Something wrong at a place of the plan, and what to write instead; `id` names the kind of mistake."""

    path: Path
    what: str
    id: str


def joint_findings(whole: Expanded) -> Iterator[Finding]:
    """Every structural error of the joints, one by one, every id that stands twice, and accepted findings of no joint."""
    plan = whole.plan
    for index, joint in enumerate(plan.joints):
        for field, what, name in _joint_rules(joint, plan.small_drag):
            yield Finding(("joints", index, field), what, name)
    yield from _joint_ids(whole)
    points = [(index, step.hold_point) for index, step in enumerate(plan.steps or ()) if isinstance(step, HoldPointStep)]
    joints = {name for ids in whole.ids for name in ids}
    first: dict[str, int] = {}
    for index, point in points:
        path = ("steps", index, "hold point")
        if point in first:
            what = f"`{point}` is the hold point of steps[{first[point] + 1}] already; give one of them another"
            yield Finding(path, what, "duplicate-id")
        if point in joints:
            what = f"`{point}` is the id of a joint already; give the hold point another, since `after` names both"
            yield Finding(path, what, "duplicate-id")
        first.setdefault(point, index)
    yield from _accepted(plan)


def _joint_ids(whole: Expanded) -> Iterator[Finding]:
    """Ids that stand twice; what a mirrored joint calls its pair and each side counts as well."""
    first: dict[str, int] = {}
    number = 0
    for index, ids in enumerate(whole.ids):
        if taken := next((name for name in ids if name in first), None):
            what = f"`{taken}` is the id of joints[{first[taken] + 1}] already; give one of them another"
            yield Finding(("joints", number, "id"), what, "duplicate-id")
        for name in ids:
            first.setdefault(name, index)
        number += max(1, len(ids) - 1)


def _accepted(plan: PlanModel) -> Iterator[Finding]:
    joints = [joint.id for joint in plan.joints]
    known = set(joints)
    for index, accepted in enumerate(plan.accepted or ()):
        for place, name in enumerate(accepted.joints or ()):
            if name not in known:
                what = f"the plan has no joint `{name}`; {nearest(name, joints)}"
                yield Finding(("accepted", index, "joints", place), what, "unknown-joint")


def stages_what(stages: list[str]) -> str | None:
    """What is wrong with a list of stages, None where it is sound: snug first if at all, rising, one or more 100 at the end."""
    if "snug" in stages[1:]:
        return "`snug` can only be the first stage; move it there or take it out"
    shares = [Decimal(stage) for stage in stages if stage != "snug"]
    if not shares or shares[-1] != 100:
        return "the stages do not end at 100; write 100 as the last one"
    if any(later <= earlier and not later == earlier == 100 for earlier, later in pairwise(shares)):
        return "the stages do not rise; write each share once, from the smallest to 100 (100 alone may stand again)"
    return None


_Rule = tuple[str, str, str]


def _joint_rules(joint: JointModel, small_drag: str | None) -> Iterator[_Rule]:
    yield from _torque_rules(joint)
    if joint.torque != "not stated" and (what := stages_what(joint.stages)):
        yield "stages", what, "stages-do-not-end-at-100" if "end at 100" in what else "stages-out-of-order"
    yield from _position_rules(joint)
    yield from _angle_rules(joint)
    yield from _drag_rules(joint, small_drag)


def _position_rules(joint: JointModel) -> Iterator[_Rule]:
    if isinstance(joint.order, tuple) and sorted(joint.order) != list(range(1, joint.fasteners + 1)):
        what = f"the order must have each position from 1 to {joint.fasteners} once; list them all"
        yield "order", what, "unknown-position"
    starts = joint.start or []
    if any(start > joint.fasteners for start in starts):
        yield "start", f"the joint has positions 1 to {joint.fasteners}; begin at one of them", "unknown-position"
    measured = sum(stage != "snug" for stage in joint.stages)
    if len(starts) > 1 and len(starts) != measured:
        what = f"there are {len(starts)} places to start and {measured} measured stages; write one for all, or one for each"
        yield "start", what, "unknown-position"


def _angle_rules(joint: JointModel) -> Iterator[_Rule]:
    if (joint.then_angle is None) != (joint.angle_tolerance is None):
        field, missing = ("then_angle", "angle_tolerance") if joint.angle_tolerance is None else ("angle_tolerance", "then_angle")
        yield field, f"`{field}` stands without `{missing}`; write both, there is no silent default", "angle-without-tolerance"
    elif joint.then_angle and joint.angle_tolerance and Decimal(joint.angle_tolerance) >= Decimal(joint.then_angle):
        yield "angle_tolerance", "the tolerance of the angle reaches down to zero; write a smaller one", "empty-band"
    if joint.then_angle is not None and joint.torque == "not stated":
        yield "then_angle", "the angle begins at a torque and none is stated; write the torque", "no-torque"


def _drag_rules(joint: JointModel, small_drag: str | None) -> Iterator[_Rule]:
    if joint.drag is not None and joint.nut != "prevailing":
        yield "drag", "only a prevailing nut drags; write `nut: prevailing`, or take `drag` out", "drag-without-prevailing-nut"
    if joint.drag in (None, "included"):
        return
    if small_drag is None:
        what = (
            "public rules differ on small drag; write `small_drag: add` or `small_drag: leave out below a third` at the top"
            " of the plan, as your shop decides"
        )
        yield "drag", what, "no-rule-for-small-drag"
    if joint.torque == "not stated":
        yield "drag", "there is no torque to add the drag to; take `drag` out", "no-torque"


def _torque_rules(joint: JointModel) -> Iterator[_Rule]:
    edges = [field for field in ("low", "high") if getattr(joint, field) is not None]
    if joint.torque is None and not edges:
        what = "the joint has no torque; write `torque`, or `low` and `high`, or `torque: not stated`"
        yield "torque", what, "no-torque"
    elif joint.torque is not None and edges:
        what = f"`{edges[0]}` stands beside `torque`; write either `torque` or `low` and `high`"
        yield edges[0], what, "two-bands"
    elif len(edges) == 1:
        missing = "high" if edges == ["low"] else "low"
        yield edges[0], f"`{edges[0]}` stands without `{missing}`; write both", "half-a-band"
    elif edges and joint.tolerance is not None:
        yield "tolerance", "`low` and `high` are the band already; take the tolerance of this joint out", "two-bands"
    if joint.torque == "not stated":
        for field in ("tolerance", "stages"):
            if field in joint.model_fields_set:
                yield field, f"a torque that is not stated has no {field}; take the line out", "no-torque"


def drag_value(text: str, unit_symbol: str) -> Decimal:
    """The drag that a plan states, in the joint's unit. Raises ValueError where it stands in another one."""
    number, _, spelling = text.partition(" ")
    unit, _remark = find_unit(spelling)
    # Most pairs of units convert only with rounding, so the edges would not be exact in the joint's unit.
    if unit.symbol != unit_symbol:
        raise ValueError(f"the drag is in {unit.symbol} and the torque in {unit_symbol}; write both in {unit_symbol}")
    return Decimal(number)
