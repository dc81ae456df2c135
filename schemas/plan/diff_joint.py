"""What of a joint differs between two plans, field by field, in words. Pure."""

from collections.abc import Callable, Iterator

from schemas.plan.diff_parts import Difference, digits
from schemas.route import Joint
from schemas.words import StageWord

_Told = Callable[[Joint], str | None]


def joint_changes(before: Joint, after: Joint) -> Iterator[Difference]:
    """Every field of a joint that differs. Rechecks are steps, and told there."""
    yield from _torques(before, after)
    for what, told in _FIELDS.items():
        old, new = told(before), told(after)
        if old != new:
            yield Difference(before.id, what, old, new)


def _torques(before: Joint, after: Joint) -> Iterator[Difference]:
    """The torque and its band; in one unit the unit stands once, at the end. What follows from them is not told again."""
    one_unit = before.unit if before.unit == after.unit and before.stages and after.stages else ""
    for what, told in (("torque", _target), ("band", _edges)):
        old, new = told(before), told(after)
        if (old, before.unit) != (new, after.unit) and (before.stages or after.stages):
            if not one_unit:
                old, new = _in_unit(old, before.unit), _in_unit(new, after.unit)
            yield Difference(before.id, what, old, new, one_unit)


def _in_unit(value: str | None, unit: str) -> str:
    return "not stated" if value is None else f"{value} {unit}"


def _target(joint: Joint) -> str | None:
    return digits(joint.final.band.target) if joint.stages else None


def _edges(joint: Joint) -> str | None:
    band = joint.final.band if joint.stages else None
    return None if band is None else f"{digits(band.low)} to {digits(band.high)}"


def _stages(joint: Joint) -> str:
    shares = [f"{digits(stage.share_percent)} %" for stage in joint.own_stages if stage.word is StageWord.ROUND]
    return ", ".join([*["snug"] * joint.snug, *shares]) or "none"


def _angle(joint: Joint) -> str | None:
    angle = next((stage.angle for stage in joint.stages if stage.angle is not None), None)
    return None if angle is None else f"{digits(angle.target)}°, {digits(angle.low)} to {digits(angle.high)}°"


def _order(joint: Joint) -> str:
    return f"{joint.order_word} ({', '.join(map(str, joint.order))})"


def _stage_orders(joint: Joint) -> str | None:
    orders = [stage.order for stage in joint.own_stages if stage.order]
    return "; ".join(dict.fromkeys(", ".join(map(str, order)) for order in orders)) or None


def _adapter(joint: Joint) -> str | None:
    one = joint.adapter
    if one is None:
        return None
    by = "the wrench" if one.by_wrench else "us"
    return f"{digits(one.length_mm)} mm at {digits(one.angle_deg)}°, corrected by {by}"


def _drag(joint: Joint) -> str | None:
    if joint.drag is None:
        return None
    third = joint.drag_third_of_nm
    return joint.drag if third is None else f"{joint.drag}, left out below a third of {digits(third)} N·m"


def _seconds(seconds: int | None) -> str | None:
    if seconds is None:
        return None
    for size, unit in ((86400, "d"), (3600, "h"), (60, "min")):
        if seconds % size == 0:
            return f"{seconds // size} {unit}"
    return f"{seconds} s"


def _yes(value: bool) -> str:
    return "yes" if value else "no"


_FIELDS: dict[str, _Told] = {
    "name": lambda joint: joint.name,
    "fasteners": lambda joint: str(joint.fasteners),
    "stages": _stages,
    "then angle": _angle,
    "order": _order,
    "order from its start": _stage_orders,
    "thread": lambda joint: joint.thread,
    "grade": lambda joint: joint.grade,
    "preparation": lambda joint: joint.prep,
    "basis": lambda joint: joint.basis,
    "preparation declared": lambda joint: _yes(joint.prepare),
    "work within": lambda joint: _seconds(joint.work_within_s),
    "cure": lambda joint: _seconds(joint.cure_s),
    "nut": lambda joint: joint.nut,
    "drag": _drag,
    "hardware": lambda joint: joint.hardware,
    "new hardware each time": lambda joint: _yes(joint.renew),
    "counter-hold": lambda joint: joint.counter_hold,
    "socket": lambda joint: joint.socket,
    "wheel": lambda joint: _yes(joint.wheel),
    "wrench": lambda joint: " or ".join(joint.wrenches) or "any registered",
    "adapter": _adapter,
    "turn": lambda joint: joint.turn,
    "hand": lambda joint: "left" if joint.left_hand else "right",
    "mark": lambda joint: "paint" if joint.mark else "none",
    "critical": lambda joint: _yes(joint.critical),
    "reopened": lambda joint: "joint" if joint.reopen_joint else "fastener",
    "side": lambda joint: joint.side,
    "pattern": lambda joint: joint.pattern,
    "seen from": lambda joint: joint.seen_from,
}
