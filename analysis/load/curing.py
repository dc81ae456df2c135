"""From when on a joint may be loaded whose thread compound has to cure. Pure."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from analysis.load.record_pulls import FastenerRow, ReadingRow
from analysis.load.record_said import LoadingRow
from analysis.load.spans import lasted
from schemas.curing import cured_at
from schemas.route import Joint, Route
from schemas.words import Kind, Proof

_NOT_DONE = frozenset({Proof.MISSED, Proof.LEFT_LOOSE, Proof.FAILED})


def loadings(route: Route, fasteners: Sequence[FastenerRow], readings: Sequence[ReadingRow]) -> Iterator[LoadingRow]:
    """One row a joint that has to cure, in the plan's order.

    The time runs from the last pull of any kind on the joint, or from when somebody declared one of its fasteners, and is
    rounded up. None is named before every fastener is done, nor where the time of a pull is not certain.
    """
    for joint in route.joints:
        if joint.cure_s is not None:
            of_joint = [fastener for fastener in fasteners if fastener.joint == joint.id]
            yield _loading(joint, joint.cure_s, of_joint, [reading for reading in readings if reading.joint == joint.id])


def _loading(joint: Joint, cure_s: int, fasteners: Sequence[FastenerRow], readings: Sequence[ReadingRow]) -> LoadingRow:
    rule = f"do not load within {lasted(cure_s)} of the last pull"
    if any(fastener.proof in _NOT_DONE for fastener in fasteners):
        return LoadingRow(joint.id, joint.name, None, "", f"{rule}: not every fastener is done")
    times = [reading.pulled_at for reading in readings if reading.kind != Kind.STRAY]
    declared = [fastener.said for fastener in fasteners if fastener.proof is Proof.DECLARED]
    times += [datetime.fromisoformat(said.at) for said in declared if said is not None]
    not_before = cured_at(times, cure_s)
    if not_before is None:
        return LoadingRow(joint.id, joint.name, None, "", f"{rule}: when that was is not certain")
    day = f"{max(at for at in times if at is not None).astimezone(UTC):%Y-%m-%d}"
    return LoadingRow(joint.id, joint.name, f"{not_before:%Y-%m-%dT%H:%M:%SZ}", day, loading_text(not_before, day))


def loading_text(not_before: datetime, beside: str | None = None) -> str:
    """`do not load before 14:30 UTC`, with the day where it is another one than stands `beside`."""
    day = "" if beside == f"{not_before:%Y-%m-%d}" else f"{not_before:%Y-%m-%d} "
    return f"do not load before {day}{not_before:%H:%M} UTC"
