"""The time of a log's row: its form, what it reads as once the file's order of days is known, and its place in a zone. Pure."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import MAXYEAR, MINYEAR, UTC, datetime, timedelta, timezone, tzinfo
from enum import StrEnum
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo

Order = Literal["day first", "month first", "year first"]
Counts = Literal["seconds", "milliseconds"]
Wall = Callable[[str], datetime | None]

EARLIEST = datetime(2015, 1, 1)  # noqa: DTZ001  # compared with wall clocks
"""A clock that shows less was never set: common practice, no source; a battery change sends clocks to 1970 or 2000."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_ISO = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}.*", re.ASCII)
_CLOCK = r"(?:[ T]+([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:[.,][0-9]{1,6})?)?(?: ?([AaPp])[Mm])?)"
_PARTED = re.compile(rf"([0-9]{{1,2}})([./-])([0-9]{{1,2}})\2([0-9]{{4}}|[0-9]{{2}}){_CLOCK}")
_YEAR_FIRST = re.compile(rf"([0-9]{{4}})([./])([0-9]{{1,2}})\2([0-9]{{1,2}}){_CLOCK}")
# From 2001-09 to 2286-11; a count of another length says nothing of its unit.
_COUNT_DIGITS: dict[int, Counts] = {10: "seconds", 13: "milliseconds"}


# Beyond the last day of any calendar, and short enough to be made a number.
_MOST_DIGITS = 15


class Shape(StrEnum):
    """The forms of a time that are known."""

    ISO = "ISO 8601"
    PARTED = "day and month"
    SHORT_YEAR = "two-digit year"
    YEAR_FIRST = "year first"
    COUNT = "count"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class TimeRule:
    """How a file's times are read: the order of day and month, the unit of counts from 1970, the zone of those without offset.

    `zone` is +01:00 or a name of the time-zone database. Each is None where it was neither declared nor proved.
    `checks` are pairs of what the tool's clock showed and what ours did at the same moment, both aware.
    """

    order: Order | None = None
    counts: Counts | None = None
    zone: str | None = None
    checks: tuple[tuple[datetime, datetime], ...] = ()


UNTOLD = TimeRule()
"""Nothing is known but what a time itself says."""


def shape_of(text: str) -> Shape:
    """Which of the forms a time has."""
    if _ISO.fullmatch(text):
        return Shape.ISO
    if text.isascii() and text.isdigit():
        return Shape.COUNT
    if _YEAR_FIRST.fullmatch(text):
        return Shape.YEAR_FIRST
    parts = _PARTED.fullmatch(text)
    if parts is None:
        return Shape.OTHER
    return Shape.PARTED if len(parts[4]) == 4 else Shape.SHORT_YEAR


def order_proved(text: str) -> Order | None:
    """The order that a time with a four-digit year proves by a day above 12; None where it proves none."""
    parts = _PARTED.fullmatch(text)
    if parts is None or len(parts[4]) != 4:
        return None
    first, second = int(parts[1]), int(parts[3])
    if first > 12 >= second:
        return "day first"
    return "month first" if second > 12 >= first else None


def counts_by_length(text: str) -> Counts | None:
    """The unit of a count from 1970 by its length; None for a length that fits no present time."""
    return _COUNT_DIGITS.get(len(text))


def counted_time(count: str, unit: Counts) -> datetime | None:
    """The time that a whole count from 1970-01-01 UTC stands for; None where it stands for none."""
    if not (count.isascii() and count.isdigit() and len(count) <= _MOST_DIGITS):
        return None
    try:
        return _EPOCH + timedelta(**{unit: int(count)})
    except OverflowError:
        return None


def read_time(text: str, rule: TimeRule) -> datetime | None:
    """The time that a text states, aware where it has an offset or is a count; None where the rule does not read it.

    The first and the last year that a `datetime` can hold are none, since no zone could be reckoned with there.
    """
    read = _read(text, rule)
    return read if read is not None and MINYEAR < read.year < MAXYEAR else None


def _read(text: str, rule: TimeRule) -> datetime | None:
    shape = shape_of(text)
    try:
        if shape is Shape.ISO:
            return datetime.fromisoformat(text)
        if shape is Shape.COUNT:
            return counted_time(text, rule.counts) if rule.counts else None
        if shape is Shape.YEAR_FIRST:
            parts = _YEAR_FIRST.fullmatch(text)
            return _wall(parts, (1, 3, 4)) if parts else None
        parts = _PARTED.fullmatch(text)
        if parts is None or rule.order is None or (rule.order == "year first" and len(parts[4]) == 4):
            return None
        return _wall(parts, {"day first": (4, 3, 1), "month first": (4, 1, 3), "year first": (1, 3, 4)}[rule.order])
    except (ValueError, OverflowError):
        return None


def _wall(parts: re.Match[str], places: tuple[int, int, int]) -> datetime:
    year, month, day = (int(parts[place]) for place in places)
    hour = int(parts[5])
    if parts[8]:
        if not 1 <= hour <= 12:
            raise ValueError("no hour of a half day")
        hour = hour % 12 + 12 * (parts[8] in "Pp")
    return datetime(year + 2000 * (year < 100), month, day, hour, int(parts[6]), int(parts[7] or 0))  # noqa: DTZ001


@lru_cache(maxsize=8)
def zone_of(text: str) -> tzinfo:
    """A zone as +01:00 or by its name; ValueError where there is none."""
    try:
        offset = datetime.fromisoformat(f"2026-01-01T00:00{text}").utcoffset()
        if offset is not None:
            return timezone(offset)
    except ValueError:
        pass
    try:
        return ZoneInfo(text)
    except (OSError, ValueError, LookupError) as error:
        raise ValueError(f"zone `{text}` is not known; write +01:00, or a name such as Europe/Berlin") from error


def instants(wall: datetime, zone: tzinfo) -> tuple[datetime, ...]:
    """The instants at which clocks in a zone show a time: one; two in the repeated hour, in order; none in the missing one."""
    first, second = (wall.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first == second:
        return (first,)
    return (first, second) if first < second else ()
