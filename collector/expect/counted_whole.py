"""What a person's yes makes of second clicks: where all are done, as many of them were tightenings as are missing. Pure."""

from dataclasses import replace

from collector.expect.bounds import is_confirmed
from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.joint_state import JointState
from schemas.words import Kind, Verdict

REASON = "a person counted the joint and it is whole, so it was no second click"
_AGAIN = (Kind.REPEAT, Kind.RECHECK)


def as_tightened(state: JointState) -> tuple[MatchKept, ...]:
    """The revisions, without a new verdict, that let a joint be whole at its final; the last such readings, in their order.

    To be recorded before the yes, which then confirms them. Empty where none is missing, or nothing came that could be it.
    """
    missing = _missing(state)
    clicks = [pull for pull in state.pulls() if _may_be_it(state, pull)]
    return tuple(
        replace(pull.match, kind=str(Kind.TIGHTENING), position=position, reason=REASON, revises=pull.match_seq)
        for pull, position in zip(clicks[-len(missing) :] if missing else (), missing, strict=False)
        if pull.match is not None
    )


def _missing(state: JointState) -> list[int]:
    final = state.joint.final
    fasteners = ((position, state.fasteners[position - 1]) for position in state.joint.order_of(final))
    return [position for position, one in fasteners if not one.is_settled and one.stages[final.number - 1] is None]


def _may_be_it(state: JointState, pull: Pull) -> bool:
    match = pull.match
    if match is None or match.stage != state.joint.final.number or match.kind not in _AGAIN or is_confirmed(match):
        return False
    return match.verdict not in (Verdict.UNDER, Verdict.OVER)


def tightened(state: JointState, seq: int) -> None:
    """Let a joint stand as it would with these revisions on record, each as entry `seq`."""
    by_reading = {match.reading: match for match in as_tightened(state)}
    for pull in state.pulls():
        if pull.seq in by_reading:
            pull.match, pull.match_seq = by_reading[pull.seq], seq
    if by_reading:
        state.replay()
