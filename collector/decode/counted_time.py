"""Reads a time that a tool sends as a count."""

from datetime import UTC, datetime, timedelta

from schemas.wire_format import TimeCount

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# Beyond the last day of any calendar, and short enough to be made a number.
_MOST_DIGITS = 15


def counted_time(count: str, unit: TimeCount) -> str | None:
    """The time that a whole count from 1970-01-01 UTC stands for, ISO 8601 with offset; None where it stands for none."""
    if not (count.isascii() and count.isdigit() and len(count) <= _MOST_DIGITS):
        return None
    try:
        return (_EPOCH + timedelta(**{unit: int(count)})).isoformat()
    except OverflowError:
        return None
