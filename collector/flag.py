"""The verdict on a torque: where it lies to the stored edges of its stage, in Decimal; and what a later pull puts right."""

from dataclasses import replace
from decimal import Decimal

from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.route import Band
from schemas.units import torque_text
from schemas.words import Kind, Verdict


def flag_torque(torque_nm: Decimal | None, band: Band) -> Verdict:
    """Say how a torque lies to a band; both edges count as in band.

    Args:
        torque_nm: exact, in N·m; None where the tool says that its range was passed, which is over.
        band: its edges in N·m; where `high_is_in_band` is False the upper edge itself is over.
    """
    if torque_nm is None or torque_nm > band.high_nm or (torque_nm == band.high_nm and not band.high_is_in_band):
        return Verdict.OVER
    return Verdict.UNDER if torque_nm < band.low_nm else Verdict.IN_BAND


def flag_match(match: MatchKept, so_far: JobState) -> tuple[MatchKept, ...]:
    """The match with its verdict and edges, after the revision of an earlier pull that it puts right or continues.

    A loosening and a stray have no verdict: nothing was tightened. A pull below the band stays `under` until the next
    tightening of the same fastener and stage, which makes it a `short pull`.
    """
    if match.joint is None or match.stage is None or match.position is None:
        return (match,)
    if match.kind == Kind.LOOSENING:
        return (match,)
    state = so_far.joints[match.joint]
    band = state.joint.stages[match.stage - 1].band
    pull = so_far.pulls[match.reading]
    torque = pull.reading.torque_nm
    verdict = flag_torque(None if torque is None else Decimal(torque), band)
    flagged = replace(
        match,
        verdict=str(verdict),
        low=torque_text(band.low_nm),
        high=torque_text(band.high_nm),
        high_is_over=None if band.high_is_in_band else 1,
    )
    earlier = state.fasteners[match.position - 1].stages[match.stage - 1]
    if match.kind == Kind.TIGHTENING and earlier is not None and earlier is not pull:
        return (*_made_good(earlier, pull, verdict), flagged)
    return (flagged,)


def _made_good(earlier: Pull, pull: Pull, verdict: Verdict) -> tuple[MatchKept, ...]:
    if earlier.match is None or earlier.verdict != Verdict.UNDER:
        return ()
    word = "put right" if verdict is Verdict.IN_BAND else "continued"
    return (
        replace(earlier.match, kind=str(Kind.SHORT_PULL), reason=f"{word} by reading {pull.n}", revises=earlier.match_seq),
    )
