"""Quantities that are no torque, as a plan writes them: times, lengths, distances; each with its unit, exact."""

import re
from dataclasses import dataclass
from decimal import Decimal

_QUANTITY = re.compile(r"((?:0|[1-9][0-9]{0,8})(?:\.[0-9]{1,9})?) ?([^\W\d_]+)")

_SECONDS = {
    spelling: seconds
    for seconds, spellings in {
        1: ("s", "second", "seconds"),
        60: ("min", "minute", "minutes"),
        3600: ("h", "hour", "hours"),
        86400: ("d", "day", "days"),
        604800: ("week", "weeks"),
    }.items()
    for spelling in spellings
}
# Far beyond any cure or retorque, and small enough for every calendar to count on from today.
_MOST_SECONDS = 100 * 366 * 86400
# 1 in = 25.4 mm exactly (international inch, 1959).
_MILLIMETRES = {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": Decimal("25.4")}
# 1 mile = 1.609344 km exactly (international mile, 1959).
_KILOMETRES = {"km": Decimal(1), "mi": Decimal("1.609344"), "mile": Decimal("1.609344"), "miles": Decimal("1.609344")}


@dataclass(frozen=True, slots=True)
class Span:
    """From where on something is due: after so many seconds, or after so many kilometres; one of the two is None."""

    seconds: int | None = None
    km: Decimal | None = None


def split(text: str) -> tuple[Decimal, str]:
    """Number and unit. Raises ValueError with what to write instead."""
    if not (found := _QUANTITY.fullmatch(text.strip())):
        raise ValueError("it is no number with its unit; write it like 40 km, 50 mm or 24 h")
    return Decimal(found[1]), found[2]


def seconds_of(text: str) -> int:
    """A time in whole seconds, above zero and at most 100 years. Raises ValueError with what to write instead."""
    value, unit = split(text)
    if unit not in _SECONDS or not value:
        raise ValueError("it is no time; write it like 10 min, 24 h, 3 days or 2 weeks")
    seconds = value * _SECONDS[unit]
    if seconds != int(seconds):
        raise ValueError("it is no whole number of seconds; write it like 10 min or 90 s")
    if seconds > _MOST_SECONDS:
        raise ValueError("it is more than 100 years; write a shorter time")
    return int(seconds)


def length_mm(text: str) -> Decimal:
    """A length in mm, above zero. Raises ValueError with what to write instead."""
    value, unit = split(text)
    if unit not in _MILLIMETRES or not value:
        raise ValueError("it is no length; write it like 50 mm or 2 in")
    return value * _MILLIMETRES[unit]


def span_of(text: str) -> Span:
    """A distance or a time. Raises ValueError with what to write instead."""
    value, unit = split(text)
    if unit in _KILOMETRES:
        return Span(km=value * _KILOMETRES[unit])
    if unit not in _SECONDS:
        raise ValueError("it is no distance and no time; write it like 40 km, 50 miles, 30 min or 2 weeks")
    return Span(seconds=seconds_of(text))
