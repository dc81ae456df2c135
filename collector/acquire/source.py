"""What plugs in where bytes come from: a serial port, a log, a simulated wire."""

from collections.abc import Callable
from typing import Protocol

from schemas.frame import Frame, LinkChange

Put = Callable[[Frame | LinkChange], None]


class FrameSource(Protocol):
    """Gives frames and changes of its link, in order, until it ends or is closed. It is used once."""

    @property
    def name(self) -> str:
        """What frames call it, such as `serial:/dev/ttyUSB0`."""

    def open(self) -> None:
        """Make ready to run; SourceError where that cannot be done, with what to do next."""

    def run(self, put: Put) -> None:
        """Hand over everything that comes, first `open`, last `ended`; blocks until the source ends or is closed."""

    def close(self) -> None:
        """Give it up, from any thread, before, during or after `run`; a run returns soon after."""
