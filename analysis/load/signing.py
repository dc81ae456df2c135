"""What the times of signatures show: that one came after what it holds, or with others within a minute. Pure."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from analysis.load.record_pulls import ReadingRow
from analysis.load.record_said import DecisionRow, SignatureRow
from analysis.load.spans import between, lasted
from schemas.passes import Pass, passes_of
from schemas.route import Route, Step
from schemas.words import Kind, Said, StepWord

_TORQUES = frozenset({StepWord.TORQUE, StepWord.RECHECK})
_PULLED = frozenset({Kind.TIGHTENING, Kind.SHORT_PULL})
_BATCH = 3
_WITHIN = timedelta(minutes=1)


def late_text(
    route: Route, hold_point: Step, signature: SignatureRow, readings: Iterable[ReadingRow], decisions: Sequence[DecisionRow]
) -> str:
    """How long after the first pull that it holds a hold point was signed, "" where it was signed before.

    It holds the steps that name it in `after`; where none does, the first one after it that torques. Where a time is not
    certain the order in the ledger decides, and no time is named.
    """
    held = held_passes(route, hold_point)
    pulls = [reading for reading in readings if any(_is_of(one, reading, decisions) for one in held)]
    signed_at = datetime.fromisoformat(signature.at)
    times = [reading.pulled_at for reading in pulls]
    first = min((at for at in times if at is not None), default=signed_at)
    if first < signed_at:
        return f"signed {between(first, signed_at)} after the first pull it holds"
    if any(reading.seq < signature.seq for reading in pulls):
        return "signed after the first pull it holds; how long after is not certain"
    return ""


def held_passes(route: Route, hold_point: Step) -> list[Pass]:
    """The work that has to wait for a hold point."""
    passes = [one for one in passes_of(route) if one.step.word in _TORQUES]
    named = [one for one in passes if hold_point.hold_point in one.step.after]
    if named:
        return named
    later = [one for one in passes if one.step.number > hold_point.number]
    return [one for one in later if one.step.number == later[0].step.number]


def _is_of(work: Pass, reading: ReadingRow, decisions: Sequence[DecisionRow]) -> bool:
    """Whether a pull belongs to that work; of a joint that the plan opens first only what came after its opening does."""
    of_stage = reading.joint == work.joint.id and any(stage.number == reading.stage for stage in work.stages)
    return of_stage and reading.kind in _PULLED and all(
        any(_opens(said, work, number) and said.seq < reading.seq for said in decisions) for number in work.opened_in
    )


def _opens(said: DecisionRow, work: Pass, step: int) -> bool:
    return said.said == Said.OPENED and said.joint == work.joint.id and said.step == step


def batch_notes(signatures: Iterable[SignatureRow], decisions: Iterable[DecisionRow]) -> dict[int, str]:
    """`signed as one of 4 within 38 s`, by the number of the entry, of all that one person signed in a batch.

    What counts are hold points, second signatures and counted stripes; a batch are three or more within a minute.
    """
    by_person: dict[str, list[tuple[datetime, int]]] = defaultdict(list)
    acts: list[SignatureRow | DecisionRow] = [one for one in signatures if one.snug is None]
    for act in (*acts, *(said for said in decisions if said.said == Said.STRIPES)):
        by_person[act.by].append((datetime.fromisoformat(act.at), act.seq))
    return {seq: note for done in by_person.values() for seq, note in _notes(sorted(done))}


def _notes(done: Sequence[tuple[datetime, int]]) -> Iterator[tuple[int, str]]:
    windows = []
    last = 0
    for first, (began, _) in enumerate(done):
        while last < len(done) and done[last][0] - began <= _WITHIN:
            last += 1
        windows.append((last - first, first, last))
    largest: dict[int, tuple[int, int, int]] = {}
    for window in sorted(windows):
        largest.update(dict.fromkeys(range(window[1], window[2]), window))
    for place, (count, first, last) in sorted(largest.items()):
        if count >= _BATCH:
            took = (done[last - 1][0] - done[first][0]).total_seconds()
            yield done[place][1], f"signed as one of {count} within {lasted(took)}"
