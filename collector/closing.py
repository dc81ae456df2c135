"""The closing pass: places all readings of a job once more, at once, and says how sure it is that nothing was left out."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from collector.expect.bounds import as_confirmed, is_fixed, is_news, place_of, stays_over
from collector.expect.held_over import held_over
from collector.expect.learned import Set, habits_for
from collector.expect.places import places_of
from collector.expect.smooth import Placed
from collector.expect.smooth_job import COPY, answered_for, smooth_job
from collector.flag import flag_match
from collector.record.recorder import Recorder
from schemas.bodies import CountKept, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.likelihood import p_text
from schemas.words import Kind, PositionBy

REASON = "by torque, pause, angle and order, in the light of all readings"


def place_all(recorder: Recorder, state: JobState) -> int:
    """Record where each reading belongs, where that is news, and how sure each joint, stage and the job are.

    Gives how many readings changed place or kind that had one before. What a person confirmed is left as it is.
    """
    revised = 0
    with recorder.transaction():
        for body in closing_entries(state, habits_for(state, recorder.fold.habit_sets)):
            revised += isinstance(body, MatchKept) and _is_moved(state.pulls[body.reading].match, body)
            recorder.append(body)
    return revised


def closing_entries(state: JobState, habits: Set) -> Iterator[MatchKept | CountKept]:
    """The entries of a closing pass; each has to be applied to the state before the next one is asked for."""
    answer = smooth_job(state, habits.figures)
    alone = _alone(state, answer.placed)
    for seq, placed in answer.placed.items():
        pull = state.pulls[seq]
        match = match_of(state, pull, placed, COPY if seq in answer.copies else REASON, alone=seq in alone)
        match = match if pull.match is None else as_confirmed(pull.match, match)
        if is_fixed(state, pull) or (pull.match is not None and not is_news(pull.match, match)):
            continue
        # What was continued or put right is told by the readings themselves here, so only this one's verdict counts.
        flagged = flag_match(match, state)[-1]
        if stays_over(pull, flagged):
            yield flagged
    counts = {(joint, stage): p for (joint, stage), p in answer.p_places.items()}
    if not state.pulls and state.logs:
        # Not one row of what was read in is a reading, so no fastener got its tightening.
        counts |= {(place.joint.id, place.stage.number): 0.0 for place in places_of(state.route, answered_for(state))}
    for (joint, stage), p in (counts | {(None, None): answer.p_complete} if counts else {}).items():
        if _is_new_count(state, joint, stage, p):
            yield CountKept(state.opened.job, p_text(p), joint, stage, habits.seq, state.opened.simulated)


def _alone(state: JobState, placed: Mapping[int, Placed]) -> set[int]:
    """The strays before and after which the same wrench was on the job."""
    rows: dict[str | None, list[int]] = {}
    for seq in placed:
        rows.setdefault(state.pulls[seq].reading.wrench, []).append(seq)
    found = set()
    for row in rows.values():
        strays = [False, *(placed[seq].kind is Kind.STRAY for seq in row), False]
        found |= {seq for rank, seq in enumerate(row, 1) if strays[rank] and not strays[rank - 1] and not strays[rank + 1]}
    return found


def _is_moved(before: MatchKept | None, after: MatchKept) -> bool:
    return before is not None and place_of(before) != place_of(after)


def match_of(state: JobState, pull: Pull, placed: Placed, reason: str = REASON, *, alone: bool = False) -> MatchKept:
    """The entry of a reading's place, without its verdict."""
    match = MatchKept(
        pull.reading.job, pull.seq, str(placed.kind), reason, p=p_text(placed.p), revises=pull.match_seq,
        simulated=pull.reading.simulated,
    )  # fmt: skip
    if placed.kind is Kind.STRAY:
        return held_over(state, pull, match, alone=alone)
    return replace(match, joint=placed.joint, stage=placed.stage, position=placed.position, position_by=str(PositionBy.ORDER))


def _is_new_count(state: JobState, joint: str | None, stage: int | None, p: float) -> bool:
    """Whether a count is not on record, holds no longer there, or has another value."""
    kept = state.counted.get((joint, stage))
    is_stale = joint is not None and stage is not None and state.joints[joint].p_counted(stage) is None
    return kept is None or kept[1] != p_text(p) or is_stale
