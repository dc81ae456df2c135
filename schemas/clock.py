"""The one clock that collector and simulator share; it is passed in, never looked up."""

from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """Two counts side by side: the time of day, which may be played fast, and a monotonic count, which is real."""

    def now(self) -> datetime:
        """The present instant, aware, UTC."""

    def monotonic_ns(self) -> int:
        """Nanoseconds since this clock was made, a count that never runs backwards.

        It starts at nought with the program, because the ledger keeps it as a whole number below 2^53, which counted
        from the start of the machine would last 104 days only.
        """


def rfc3339(instant: datetime) -> str:
    """An aware instant as RFC 3339 text in UTC with six decimals of a second and a Z."""
    # Several times as quick as strftime, and every entry has one.
    return f"{instant.astimezone(UTC).isoformat(timespec='microseconds')[:-6]}Z"
