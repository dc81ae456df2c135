"""The verdict on a torque: where it lies to the stored edges of its stage, in Decimal; and what a later pull puts right."""

from dataclasses import replace
from decimal import Decimal

from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.judged_band import judged_band
from schemas.route import AngleBand, Band, Stage
from schemas.units import torque_text
from schemas.words import Kind, StageWord, Verdict


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
    state = so_far.state_of(match.joint)
    stage, pull = state.joint.stages[match.stage - 1], so_far.pulls[match.reading]
    flagged, verdict = _flag_angle(match, pull, stage.angle) if stage.angle else _flag_torque(match, pull, state, stage)
    earlier = state.fasteners[match.position - 1].stages[match.stage - 1]
    if match.kind == Kind.TIGHTENING and earlier is not None and earlier is not pull:
        return (*_made_good(earlier, pull, verdict), flagged)
    return (flagged,)


def _flag_torque(match: MatchKept, pull: Pull, state: JointState, stage: Stage) -> tuple[MatchKept, Verdict | None]:
    """The torque against the band as this wrench shows it; no verdict where its lever is not known."""
    length = pull.reading.length_mm
    judged = judged_band(state, stage, match.position or 0, None if length is None else Decimal(length))
    drag = None if judged.drag_nm is None else torque_text(judged.drag_nm)
    if judged.band is None:
        # Past the range of the tool it is over, however long its lever is.
        verdict = Verdict.OVER if pull.reading.torque_nm is None else None
        return replace(match, verdict=verdict and str(verdict), adapter=judged.lever, drag=drag), verdict
    verdict = flag_torque(_torque(pull, state.joint.left_hand), judged.band)
    opened_since = state.joint.is_check and state.fasteners[(match.position or 0) - 1].opened_seq
    if stage.word is StageWord.RECHECK and verdict is Verdict.IN_BAND and not opened_since:
        verdict = Verdict.MOVED if match.verdict == Verdict.MOVED else Verdict.HELD
    band = judged.band
    flagged = replace(
        match,
        verdict=str(verdict),
        low=torque_text(band.low_nm),
        high=torque_text(band.high_nm),
        high_is_over=None if band.high_is_in_band else 1,
        adapter=judged.lever,
        drag=drag,
    )
    return flagged, verdict


def _torque(pull: Pull, left_hand: bool) -> Decimal | None:
    torque = None if pull.reading.torque_nm is None else Decimal(pull.reading.torque_nm)
    # A wrench that sends the direction has a left-hand thread tightened below nought.
    return abs(torque) if left_hand and torque is not None else torque


def _flag_angle(match: MatchKept, pull: Pull, angle: AngleBand) -> tuple[MatchKept, Verdict | None]:
    """The angle against its edges; no verdict where the wrench sent none. The torque has no upper edge here."""
    edges = replace(match, angle_low=f"{angle.low:f}", angle_high=f"{angle.high:f}")
    sent = pull.reading.angle_deg
    if sent is None:
        return replace(edges, verdict=None), None
    turned = abs(Decimal(sent))
    verdict = Verdict.UNDER if turned < angle.low else Verdict.OVER if turned > angle.high else Verdict.IN_BAND
    return replace(edges, verdict=str(verdict)), verdict


def _made_good(earlier: Pull, pull: Pull, verdict: Verdict | None) -> tuple[MatchKept, ...]:
    if earlier.match is None or earlier.verdict != Verdict.UNDER:
        return ()
    word = "put right" if verdict in (Verdict.IN_BAND, Verdict.HELD, Verdict.MOVED) else "continued"
    return (
        replace(earlier.match, kind=str(Kind.SHORT_PULL), reason=f"{word} by reading {pull.n}", revises=earlier.match_seq),
    )
