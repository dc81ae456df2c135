"""The readings of a job as the model of matching takes them, in the order in which they were pulled as far as that is known."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from heapq import merge

from collector.expect.click import Click
from schemas.fastener_state import Pull


@dataclass(frozen=True, slots=True)
class Pulled:
    """A reading of the record and what the model sees of it."""

    pull: Pull
    click: Click


def clicks_of(pulls: Iterable[Pull]) -> list[Pulled]:
    """Readings in the order in which they were pulled."""
    found = [Pulled(pull, click_of(pull)) for pull in pulls]
    order = pulled_order([one.click for one in found], [one.pull.reading.sequence for one in found])
    return [found[index] for index in order]


def pulled_order(clicks: Sequence[Click], numbers: Sequence[int | None]) -> list[int]:
    """The indices of readings in the order in which they were pulled; `numbers` are those in their wrenches' memories.

    Within a wrench that is the order of its memory numbers, else of its times, else that of arrival; between wrenches the
    order of times where all have one, else that of arrival.
    """
    by_wrench: dict[str | None, list[int]] = {}
    for index, click in enumerate(clicks):
        by_wrench.setdefault(click.wrench, []).append(index)
    rows = {wrench: _own_order(own, clicks, numbers) for wrench, own in by_wrench.items()}
    if all(click.at_s is not None for click in clicks):
        return list(merge(*rows.values(), key=lambda index: clicks[index].at_s or 0.0))
    left = {wrench: iter(own) for wrench, own in rows.items()}
    return [next(left[click.wrench]) for click in clicks]


def click_of(pull: Pull) -> Click:
    """What the model sees of a reading; the time is the tool's own where it came in a log, ours where it came live."""
    reading = pull.reading
    return Click(
        pull.n,
        None if reading.torque_nm is None else float(reading.torque_nm),
        reading.wrench,
        seconds_of(pull.at if reading.log is None else reading.pulled_at or reading.tool_time),
        None if reading.angle_deg is None else float(reading.angle_deg),
        None if reading.length_mm is None else float(reading.length_mm),
    )


def seconds_of(text: str | None) -> float | None:
    """A time as seconds from any moment on; None where it is none."""
    try:
        at = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    # A time without a zone tells no instant, but its pauses are as good as any.
    return (at if at.tzinfo is not None else at.replace(tzinfo=UTC)).timestamp()


def _own_order(own: Sequence[int], clicks: Sequence[Click], numbers: Sequence[int | None]) -> list[int]:
    numbered = [numbers[index] for index in own]
    if all(number is not None for number in numbered) and len(set(numbered)) == len(own):
        # A counter that starts again in the middle is no order.
        ordered = sorted(own, key=lambda index: numbers[index] or 0)
        if _never_back(ordered, clicks) or not _never_back(own, clicks):
            return ordered
    if all(clicks[index].at_s is not None for index in own):
        return sorted(own, key=lambda index: clicks[index].at_s or 0.0)
    return list(own)


def _never_back(own: Sequence[int], clicks: Sequence[Click]) -> bool:
    times = [at_s for index in own if (at_s := clicks[index].at_s) is not None]
    return times == sorted(times)
