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
    """Readings in the order in which they were pulled.

    Within a wrench that is the order of its memory numbers, else of its times, else that of arrival; between wrenches the
    order of times where all have one, else that of arrival.
    """
    by_wrench: dict[str | None, list[Pulled]] = {}
    found = [Pulled(pull, click_of(pull)) for pull in pulls]
    for one in found:
        by_wrench.setdefault(one.click.wrench, []).append(one)
    rows = {wrench: _own_order(own) for wrench, own in by_wrench.items()}
    if all(one.click.at_s is not None for one in found):
        return list(merge(*rows.values(), key=lambda one: one.click.at_s or 0.0))
    left = {wrench: iter(own) for wrench, own in rows.items()}
    return [next(left[one.click.wrench]) for one in found]


def click_of(pull: Pull) -> Click:
    """What the model sees of a reading; the time is the tool's own where it came in a log, ours where it came live."""
    reading = pull.reading
    return Click(
        pull.n,
        None if reading.torque_nm is None else float(reading.torque_nm),
        reading.wrench,
        _seconds(pull.at if reading.log is None else reading.tool_time),
        None if reading.angle_deg is None else float(reading.angle_deg),
        None if reading.length_mm is None else float(reading.length_mm),
    )


def _seconds(text: str | None) -> float | None:
    try:
        at = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    # A time without a zone tells no instant, but its pauses are as good as any.
    return (at if at.tzinfo is not None else at.replace(tzinfo=UTC)).timestamp()


def _own_order(own: Sequence[Pulled]) -> list[Pulled]:
    numbers = [one.pull.reading.sequence for one in own]
    if all(number is not None for number in numbers) and len(set(numbers)) == len(numbers):
        # A counter that starts again in the middle is no order.
        ordered = sorted(own, key=lambda one: one.pull.reading.sequence or 0)
        if _never_back(ordered) or not _never_back(own):
            return ordered
    if all(one.click.at_s is not None for one in own):
        return sorted(own, key=lambda one: one.click.at_s or 0.0)
    return list(own)


def _never_back(own: Sequence[Pulled]) -> bool:
    times = [one.click.at_s for one in own if one.click.at_s is not None]
    return times == sorted(times)
