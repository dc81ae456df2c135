"""What makes an answer news, and what a person has made certain."""

from dataclasses import replace

from schemas.bodies import Decided, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.words import Kind, PositionBy, Said, Verdict

PULLED_AGAIN = "a person said which fastener it was on, and that one was done: a second pull"
"""Why a reading is a second pull where a person named its fastener and said no more; another number takes that back."""
_BOUNDS = ("0.9", "0.99")
_OF_A_READING = (Said.SAME_AGAIN, Said.NOT_THIS_JOB)
_OF_THE_LEAD = (Said.INSPECTED, Said.REPLACED)


def bound_of(p: str | None) -> int:
    """Between which of the bounds that matter a probability lies; -1 where there is none."""
    return -1 if p is None else sum(p >= bound for bound in _BOUNDS)


def place_of(match: MatchKept) -> tuple[str | None, int | None, str, int | None]:
    """What a match says of a reading, but for how sure it is: joint, stage, kind, position."""
    return match.joint, match.stage, match.kind, match.position


def is_news(before: MatchKept, match: MatchKept) -> bool:
    """Whether a match differs from the one on record: in joint, stage, kind or position, or by p across a bound."""
    return place_of(before) != place_of(match) or bound_of(before.p) != bound_of(match.p)


def is_fixed(state: JobState, pull: Pull) -> bool:
    """Whether a person has made certain what a reading is, after it was placed: counted its joint, or spoke of its fastener.

    So has who took its joint out of the plan: what was pulled there belongs to no other one now.
    """
    match, placed = pull.match, pull.match_seq or 0
    if match is None or match.joint is None:
        return False
    # That it moved, only a person can say, of this very pull.
    if match.joint not in state.joints or pull.verdict == Verdict.MOVED:
        return True
    # What is done to the joint later does not undo that it was counted then.
    return any(
        at.seq > placed and decided.joint == match.joint and (_names(decided, match.position) or _is_whole(decided))
        for at, decided in state.decisions
    )


def _names(decided: Decided, position: int | None) -> bool:
    # Which fastener one pull was on says nothing of the pulls of other stages there.
    return decided.position == position and decided.said != Said.POSITION


def is_spoken_of(state: JobState, pull: Pull) -> bool:
    """Whether a person has said something of the fastener that a reading lies on, since it was pulled."""
    match = pull.match
    return match is not None and any(
        at.seq > pull.seq and decided.joint == match.joint and decided.position is not None and _names(decided, match.position)
        for at, decided in state.decisions
    )


def is_confirmed(match: MatchKept | None) -> bool:
    """Whether a person has said which fastener of its joint a reading was on."""
    return match is not None and match.position_by == PositionBy.CONFIRMED


def is_named_again(match: MatchKept | None) -> bool:
    """Whether a reading is a second pull because a person named a fastener for it on which another one stays."""
    return match is not None and match.reason == PULLED_AGAIN


def is_denied_between(state: JobState, joint: str, first: int, second: int) -> bool:
    """Whether somebody saw not all of a joint between two entries, and nobody has counted it whole since."""
    counts = [(at.seq, decided) for at, decided in state.decisions if decided.said == Said.STRIPES and decided.joint == joint]
    whole = max((seq for seq, decided in counts if _is_whole(decided)), default=0)
    return any(max(first, whole) < seq < second and decided.count is None for seq, decided in counts)


def stays_put(state: JobState, pull: Pull) -> bool:
    """Whether a reading is on its fastener whatever is counted, once a person has said where another one of its stage was.

    What is over, or opened something, or was spoken of stays where it was shown: a person opens, or decides on, that fastener.
    """
    is_certain = is_confirmed(pull.match) or (pull.match is not None and pull.match.kind == Kind.LOOSENING)
    return is_certain or pull.verdict == Verdict.OVER or is_spoken_of(state, pull)


def as_confirmed(before: MatchKept, match: MatchKept) -> MatchKept:
    """A match as far as a person's word about the fastener lets it take the place of the one before.

    What was confirmed stays at its joint, stage and position, and what it was; how sure the joint and stage are may change.
    """
    return replace(before, p=match.p, revises=match.revises, takes_back=None) if is_confirmed(before) else match


def is_held(state: JobState, pull: Pull) -> bool:
    """Whether a fixed reading can be nowhere else: its joint was counted, or a decision or a word was about it itself.

    Whoever counts sees the final and what comes after it, and says nothing of the rounds before; who measures, prepares or
    opens a fastener says nothing of the readings that were placed on it.
    """
    match, placed = pull.match, pull.match_seq or 0
    joint = None if match is None else state.joints.get(match.joint or "")
    if match is None or joint is None or match.stage is None:
        return False
    is_seen = match.stage >= joint.joint.final.number
    return pull.verdict == Verdict.MOVED or any(
        at.seq > placed and decided.joint == match.joint and (_is_about(decided, pull) or (is_seen and _is_whole(decided)))
        for at, decided in state.decisions
    )


def placed_by_person(state: JobState) -> set[int]:
    """The entries of readings that a person has placed: by a word about them, or where not all stripes of a joint were seen.

    Also by a revision: what was pulled on a joint that it took out, or that began anew with it, is on no joint of the plan now.
    """
    found = _of_before(state)
    found |= {decided.reading for _, decided in state.decisions if decided.said in _OF_A_READING and decided.reading is not None}
    if any(decided.said == Said.POSITION for _, decided in state.decisions):
        found |= {seq for seq, pull in state.pulls.items() if is_named_again(pull.match)}
    if any(decided.said == Said.STRIPES and decided.count is None for _, decided in state.decisions):
        found |= {seq for seq, pull in state.pulls.items() if pull.match is not None and _is_taken_back(pull.match)}
    return found


def _of_before(state: JobState) -> set[int]:
    anew = {name: joint.since for name, joint in state.joints.items() if joint.since}
    if not anew and not state.former:
        return set()
    matches = ((seq, pull.match) for seq, pull in state.pulls.items() if pull.match is not None)
    return {seq for seq, match in matches if match.joint in state.former or seq < anew.get(match.joint or "", 0)}


def _is_about(decided: Decided, pull: Pull) -> bool:
    is_decision = decided.said in _OF_THE_LEAD and pull.match is not None and decided.position == pull.match.position
    return is_decision or decided.reading == pull.seq


def _is_whole(decided: Decided) -> bool:
    return decided.said == Said.STRIPES and decided.count is not None and decided.count == decided.of


def _is_taken_back(match: MatchKept) -> bool:
    # What matching itself revises has a probability.
    return match.revises is not None and match.p is None and match.kind in (Kind.REPEAT, Kind.STRAY)


def stays_over(pull: Pull, flagged: MatchKept) -> bool:
    """Whether an over-pull is one still where it would lie then: no better guess makes it good, only the lead's decision does."""
    return pull.verdict != Verdict.OVER or flagged.verdict == Verdict.OVER
