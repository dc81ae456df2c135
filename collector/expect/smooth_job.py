"""All readings of a job at once, with what persons said in between as evidence."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from collector.expect.adapt import adapt
from collector.expect.beam import Beam, Effort
from collector.expect.bounds import is_confirmed, is_held, placed_by_person
from collector.expect.evidence import count_joint, hold_to, open_joint
from collector.expect.gaps import is_shared, see
from collector.expect.habits import Habits
from collector.expect.job_clicks import Pulled, clicks_of, seconds_of
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import Place, numbers_of, places_of
from collector.expect.positions import kept_of, story_of
from collector.expect.reading_odds import odds_of
from collector.expect.settle import AtPlace, settle
from collector.expect.smooth import FINE, ROUGH, LogAnswer, Placed, answer
from schemas.bodies import Decided
from schemas.fastener_state import At, Pull
from schemas.job_state import JobState
from schemas.words import Kind, Said

COPY = "the same pull as one that is on record already, from another log"
_OPENED = (Said.OPENED, Said.REPLACED)


@dataclass(frozen=True, slots=True)
class JobAnswer:
    """Where each reading belongs that no person has placed, by its entry; how sure each joint and stage is, and the job.

    `copies` are readings that another log, or the live record, has already: second clicks on the same fastener, as it were.
    """

    placed: Mapping[int, Placed]
    p_places: Mapping[tuple[str, int], float]
    p_complete: float
    copies: frozenset[int] = frozenset()


def smooth_job(state: JobState, habits: Habits) -> JobAnswer:
    """Place every reading of a job in the light of all of them, and of what persons said of its joints.

    What a person has placed is left out, so that it changes nothing; what a person has counted stays where it was, and what a
    person has named the fastener of stays on it.
    """
    by_person, copies = placed_by_person(state), copies_of(state)
    pulled = clicks_of(pull for seq, pull in state.pulls.items() if seq not in by_person and seq not in copies)
    places = places_of(state.route, answered_for(state))
    if not places or not pulled:
        return JobAnswer({}, {}, 1.0 if not places else 0.0)
    seen, own = see([one.click for one in pulled]), Own(habits)
    first = _run(state, places, own, pulled, seen, ROUGH)
    own = adapt(places, own, seen, settle(places, own, seen, first))
    beam = _run(state, places, own, pulled, seen, FINE)
    settled = settle(places, own, seen, beam, _held(places, pulled))
    found: LogAnswer = answer(places, settled, beam)
    placed = {one.pull.seq: where for one, where in zip(pulled, found.readings, strict=True)}
    told = {}
    for at in settled.at.values():
        for seq, (kind, position) in _said_between(state, at, [(pulled[index], seen[index]) for index in at.indices], beam):
            told[seq] = replace(placed[seq], kind=kind, position=position)
    placed |= told
    placed |= {seq: _as_copy(state.pulls[of], placed.get(of)) for seq, of in copies.items() if seq not in by_person}
    return JobAnswer(placed, found.p_places, found.p_complete, frozenset(copies))


def copies_of(state: JobState) -> dict[int, int]:
    """By the entry of a reading that of the same pull in another log, or live: same wrench, moment, torque, and no other number.

    Equal rows of one log are two clicks; without a moment nobody can tell.
    """
    found: dict[int, int] = {}
    rank: Counter[object] = Counter()
    first: dict[object, Pull] = {}
    for seq, pull in state.pulls.items() if state.logs else ():
        reading, at_s = pull.reading, seconds_of(pull.reading.tool_time)
        if at_s is None or reading.wrench is None:
            continue
        key = reading.wrench, at_s, None if reading.torque_nm is None else Decimal(reading.torque_nm)
        rank[key, reading.log] += 1
        before = first.setdefault((key, rank[key, reading.log]), pull)
        if before.reading.log != reading.log and None in (before.reading.sequence, reading.sequence):
            found[seq] = before.seq
    return found


def _as_copy(pull: Pull, placed: Placed | None) -> Placed:
    """Where the copy of a pull belongs: beside it; `placed` None where a person has placed that."""
    if placed is None:
        match = pull.match
        joint, stage, position = (None, None, None) if match is None else (match.joint, match.stage, match.position)
        placed = Placed(joint, stage, position, Kind.REPEAT, 1.0)
    return replace(placed, kind=Kind.STRAY if placed.joint is None else Kind.REPEAT)


def _said_between(
    state: JobState, at: AtPlace, readings: Sequence[tuple[Pulled, Seen]], beam: Beam
) -> Iterator[tuple[int, tuple[Kind, int]]]:
    """Kind and position of the readings of a place, by their entry, where persons said more of it than that it is whole.

    None where nothing was opened in between and no reading's fastener was named: then the answer of all readings has them.
    """
    rows = [one.pull.seq for one, _ in readings]
    opened = openings(state, at.place.joint.id, at.place.stage.number, rows)
    kept = kept_of(state, at.place, [one.pull for one, _ in readings])
    if opened or kept or any(at.loosened):
        odds = [odds_of(seen, at.place, beam.own) for _, seen in readings]
        yield from zip(rows, story_of(at.place, beam.within[at.place.index], odds, at.begins, opened, kept), strict=True)


def _held(places: tuple[Place, ...], pulled: Sequence[Pulled]) -> dict[int, int]:
    """By reading the place of those of which a person has said which fastener they were on."""
    numbers = numbers_of(places)
    matches = ((index, one.pull.match) for index, one in enumerate(pulled))
    named = ((index, match) for index, match in matches if match is not None and is_confirmed(match))
    return {index: numbers[at] for index, match in named if (at := (match.joint or "", match.stage or 0)) in numbers}


def openings(state: JobState, joint: str, stage: int, rows: Sequence[int]) -> dict[int, list[int | None]]:
    """By the rank of a reading in `rows` (entries) the positions that were opened before it; None for all.

    By a person, or by a loosening that is on record at another stage.
    """
    found: dict[int, list[int | None]] = {}
    for pull in state.joints[joint].pulls():
        if pull.match is not None and pull.match.kind == Kind.LOOSENING and pull.match.stage != stage:
            whole = state.joints[joint].joint.reopen_joint
            found.setdefault(sum(seq < pull.seq for seq in rows), []).append(None if whole else pull.match.position)
    for at, decided in state.decisions:
        if decided.joint != joint or decided.said not in (*_OPENED, Said.NOT_DONE):
            continue
        if (news := what_is_new(state, at, decided)) is not None:
            found.setdefault(sum(seq < at.seq for seq in rows), []).append(news.position)
    return found


def what_is_new(state: JobState, at: At, decided: Decided) -> Decided | None:
    """What a person said of a joint, as evidence; None where it was opened already, and nothing was pulled on it since.

    Where the plan asks for that, the whole joint is opened with one of its fasteners.
    """
    joint = state.joints.get(decided.joint or "")
    if joint is None or decided.said not in _OPENED:
        return decided
    if joint.joint.reopen_joint and decided.said == Said.OPENED:
        decided = replace(decided, position=None)
    before = (
        earlier.seq
        for earlier, said in reversed(state.decisions)
        if earlier.seq < at.seq and said.said in _OPENED and _covers(joint.joint.reopen_joint, said, decided)
    )
    since = next(before, None)
    if since is None:
        return decided
    pulls = [pull for pull in joint.pulls() if since < pull.seq < at.seq]
    positions = {pull.match.position for pull in pulls if pull.match is not None}
    return decided if positions & ({decided.position} if decided.position else positions) else None


def _covers(reopens: bool, said: Decided, decided: Decided) -> bool:
    is_whole = said.position is None or (reopens and said.said == Said.OPENED)
    return said.joint == decided.joint and (is_whole or said.position == decided.position)


def answered_for(state: JobState) -> dict[str, frozenset[int]]:
    """By joint the positions that a person answers for, so that no pull is waited for."""
    return {
        name: frozenset(position for position, one in enumerate(joint.fasteners, 1) if one.is_settled)
        for name, joint in state.joints.items()
    }


def _run(
    state: JobState, places: tuple[Place, ...], own: Own, pulled: list[Pulled], seen: list[Seen], effort: Effort
) -> Beam:
    beam = Beam(places, own, effort, is_shared=is_shared(seen))
    said = _evidence(state)
    waiting = next(said, None)
    for one, now in zip(pulled, seen, strict=True):
        while waiting is not None and waiting[0].seq < one.pull.seq:
            tell(beam, waiting[1])
            waiting = next(said, None)
        beam.take(now)
        if is_held(state, one.pull) and one.pull.match is not None:
            hold_to(beam, one.pull.match.joint, one.pull.match.stage)
    beam.end()
    while waiting is not None:
        tell(beam, waiting[1])
        waiting = next(said, None)
    return beam


def _evidence(state: JobState) -> Iterator[tuple[At, Decided]]:
    said = ((at, what_is_new(state, at, decided)) for at, decided in state.decisions if decided.joint is not None)
    return ((at, news) for at, news in said if news is not None)


def tell(beam: Beam, decided: Decided) -> None:
    """Take what a person said of a joint as evidence; words that say nothing of counting change nothing."""
    if decided.joint is None:
        return
    match decided.said:
        case Said.STRIPES:
            count_joint(beam, decided.joint, whole=decided.count is not None and decided.count == decided.of)
        case Said.OPENED | Said.REPLACED:
            open_joint(beam, decided.joint, one=decided.position is not None)
        case Said.NOT_DONE:
            count_joint(beam, decided.joint, whole=False)
