"""Cuts a stream of bytes where it falls silent."""

from collector.acquire.framing_piece import Held, Piece


class SilenceFramer:
    """Takes what comes between two silences as one piece; holds at most `longest` bytes between calls.

    More than `longest` bytes come in parts of that length. The first piece of a session may be the tail of a record,
    unless the line was silent before it.
    """

    def __init__(self, silence_s: float, longest: int) -> None:
        self.silence_s: float | None = silence_s
        self._held = Held(longest)

    def feed(self, data: bytes) -> list[Piece]:
        """The parts of a record that is longer than allowed; else none, as only a silence ends a record."""
        return self._held.take(data)

    def quiet(self) -> list[Piece]:
        """What came since the last silence; whatever comes next begins a record."""
        return self._held.end()

    def flush(self) -> list[Piece]:
        """What came since the last silence, which may not be all of its record; for the end of a session."""
        return self._held.flush()
