"""When threads were prepared, against the pulls that followed. Pure."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from analysis.load.record_pulls import ReadingRow
from analysis.load.record_said import DecisionRow, PreparationRow
from analysis.load.spans import between, lasted
from schemas.route import Joint, Route
from schemas.words import Kind, Said

_PULLED = frozenset({Kind.TIGHTENING, Kind.SHORT_PULL})


def preparations(route: Route, decisions: Sequence[DecisionRow], readings: Sequence[ReadingRow]) -> Iterator[PreparationRow]:
    """One row a declared preparation, in the order in which they were declared.

    The pulls that it is held against are those of its joint, and of its position where it names one, up to the next
    preparation there; of the first one also those before it.
    """
    joints = route.by_id()
    declared = [said for said in decisions if said.said == Said.PREPARED]
    for place, said in enumerate(declared):
        alike = [other for other in declared[place + 1 :] if _same_place(said, other)]
        is_first = not any(_same_place(said, other) for other in declared[:place])
        until = alike[0].seq if alike else None
        pulls = [
            reading
            for reading in readings
            if reading.joint == said.joint
            and said.position in (None, reading.position)
            and reading.kind in _PULLED
            and (is_first or reading.seq > said.seq)
            and (until is None or reading.seq < until)
        ]
        joint = joints.get(said.joint or "")
        prep = (joint.prep if joint else None) or "prepared"
        name = said.joint_name or ""
        yield PreparationRow(
            said.at, said.by, said.joint or "", name, said.position, prep, said.lot, when_text(said, pulls, joint)
        )


def _same_place(one: DecisionRow, other: DecisionRow) -> bool:
    return one.joint == other.joint and (None in (one.position, other.position) or one.position == other.position)


def when_text(said: DecisionRow, pulls: Sequence[ReadingRow], joint: Joint | None = None) -> str:
    """How long before or after the pulls it was declared, and how long the compound may be worked where that is stated."""
    if not pulls:
        return "no pull since"
    times = [reading.pulled_at for reading in pulls]
    certain = [at for at in times if at is not None]
    if len(certain) < len(times):
        return "the times of the pulls are not certain"
    at, first, last = datetime.fromisoformat(said.at), min(certain), max(certain)
    if last < at:
        return f"declared {between(first, at)} after the first pull and {between(last, at)} after the last one"
    began = f"declared {between(first, at)} after the first pull" if first < at else f"first pull {between(at, first)} later"
    within = f" ({lasted(joint.work_within_s)} allowed)" if joint is not None and joint.work_within_s is not None else ""
    return f"{began}, last pull {between(at, last)} later{within}"
