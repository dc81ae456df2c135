"""What the plan says of a joint beside its torque, in one line; the same for PDF and HTML. Pure."""

from analysis.load.shown import digits
from analysis.load.spans import lasted
from schemas.route import Joint

_DRAGS = {
    "included": "drag included",
    "measured": "drag measured",
    "added": "drag added",
    "left out": "drag left out, too small to count",
}


def joint_facts(joint: Joint) -> str:
    """The order and all that the plan states of hardware, preparation and tools."""
    graded = joint.grade is not None and joint.grade.lower().startswith("grade")
    facts = (
        f"order {joint.order_word}",
        joint.seen_from and f"seen from {joint.seen_from}",
        joint.side and f"{joint.side} side",
        joint.thread and f"thread {joint.thread}",
        joint.left_hand and "LEFT-HAND thread",
        joint.grade and f"{'' if graded else 'grade '}{joint.grade}",
        joint.prep,
        joint.basis and f"for threads {joint.basis}",
        joint.work_within_s and f"worked within {lasted(joint.work_within_s)}",
        joint.cure_s and f"cures {lasted(joint.cure_s)}",
        joint.nut and f"nut {joint.nut}",
        _DRAGS.get(joint.drag or ""),
        joint.hardware and f"hardware {joint.hardware}",
        joint.adapter and f"adapter {digits(joint.adapter.length_mm)} mm at {digits(joint.adapter.angle_deg)}°",
        joint.adapter and joint.adapter.by_wrench and "corrected by the wrench",
        joint.critical and "critical: a second person signs",
        joint.snug and "snug round signed first",
    )
    return "; ".join(fact for fact in facts if isinstance(fact, str) and fact)
