"""An over-pull that seems to belong to nothing is not lost: unless that is sure, it counts against the fastener touched last."""

from dataclasses import replace
from decimal import Decimal

from collector.expect.in_order import has_place, is_over
from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.likelihood import p_text, read_p
from schemas.route import Joint
from schemas.words import Kind, PositionBy

REASON = "over, and not sure to belong elsewhere: held against the fastener before it"


def held_over(so_far: JobState, pull: Pull, stray: MatchKept, *, alone: bool = False) -> MatchKept:
    """The stray itself, or the same reading as a recheck of the fastener that its wrench touched last.

    The latter where it lies over that one's upper edge and where its `p` as a stray is below the job's limit. Then `p` is
    what is left of it: at most so sure it is that the reading was there. One that is `alone` between readings of the job, not
    far over, and at no torque of the plan, is held however sure it seems: a whole burst of another vehicle is not.
    """
    p = Decimal(0) if stray.p is None else read_p(stray.p)
    touched = _touched(so_far, pull) if p < so_far.limit or alone else None
    if touched is None or touched.joint is None or touched.stage is None or touched.position is None:
        return stray
    state = so_far.joints[touched.joint]
    is_loosening = (pull.reading.torque_nm or "").startswith("-") and not state.joint.left_hand
    by_angle = state.joint.stages[touched.stage - 1].angle is not None
    if is_loosening or by_angle or not is_over(state, touched.position, pull):
        return stray
    if p >= so_far.limit and not _is_little_over(so_far, state.joint, pull):
        return stray
    return replace(
        stray, kind=Kind.RECHECK, reason=REASON, joint=touched.joint, stage=touched.stage, position=touched.position,
        position_by=str(PositionBy.ORDER), p=p_text(1 - p),
    )  # fmt: skip


def _is_little_over(so_far: JobState, joint: Joint, pull: Pull) -> bool:
    """Whether a pull is at most half as much again as the joint's edge, and in no band of another joint."""
    torque_nm = None if pull.reading.torque_nm is None else abs(Decimal(pull.reading.torque_nm))
    if torque_nm is None:
        return True
    others = (stage.band for state in so_far.joints.values() if state.joint is not joint for stage in state.joint.stages)
    is_elsewhere = any(band.low_nm <= torque_nm <= band.high_nm for band in others)
    return not is_elsewhere and torque_nm <= Decimal("1.5") * joint.final.band.high_nm


def _touched(so_far: JobState, pull: Pull) -> MatchKept | None:
    """The match of the last pull of the same wrench on a fastener that the plan still has; None where there is none."""
    before = so_far.last_placed(pull.seq)
    while before is not None and before.reading.wrench != pull.reading.wrench:
        before = so_far.last_placed(before.seq)
    return before.match if before is not None and before.match is not None and has_place(so_far, before.match) else None
