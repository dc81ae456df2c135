"""The clock of a simulated day: the time of day is moved on by the fitter, the monotonic count is real."""

import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta


class SimClock:
    """A clock (`schemas.clock.Clock`) whose time of day stands still until `advance`; safe from any thread.

    Args:
        start: the first instant, aware; ValueError where it is not.
        count_ns: the real count behind `monotonic_ns`.
    """

    def __init__(self, start: datetime, count_ns: Callable[[], int] = time.monotonic_ns) -> None:
        if start.tzinfo is None:
            raise ValueError(f"the day starts at {start} of no zone; give an aware instant")
        self._now = start.astimezone(UTC)
        self._count_ns = count_ns
        self._origin_ns = count_ns()
        self._lock = threading.Lock()

    def now(self) -> datetime:
        """The present simulated instant, aware, UTC."""
        with self._lock:
            return self._now

    def monotonic_ns(self) -> int:
        """Real nanoseconds since this clock was made."""
        return self._count_ns() - self._origin_ns

    def advance(self, seconds: float) -> None:
        """Let that many simulated seconds pass; ValueError below zero, for a clock never runs backwards."""
        if seconds < 0:
            raise ValueError(f"cannot advance by {seconds} s: the clock never runs backwards")
        with self._lock:
            self._now += timedelta(seconds=seconds)
