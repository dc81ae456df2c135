"""Cuts a stream of bytes where it falls silent."""

from collector.acquire.framing_piece import Piece


class SilenceFramer:
    """Takes what comes between two silences as one piece; holds at most `longest` bytes between calls.

    More than `longest` bytes come in parts of that length. The first piece of a session may be the tail of a record,
    unless the line was silent before it.
    """

    def __init__(self, silence_s: float, longest: int) -> None:
        self.silence_s: float | None = silence_s
        self._longest = longest
        self._held = b""
        self._after_open = True
        self._overlong = False

    def feed(self, data: bytes) -> list[Piece]:
        """The parts of a record that is longer than allowed; else none, as only a silence ends a record."""
        pieces: list[Piece] = []
        self._held += data
        while len(self._held) > self._longest:
            self._overlong = True
            pieces.append(Piece(self._held[: self._longest], self._after_open, overlong=True))
            self._held = self._held[self._longest :]
        return pieces

    def quiet(self) -> list[Piece]:
        """What came since the last silence; whatever comes next begins a record."""
        pieces = self.flush()
        self._after_open = self._overlong = False
        return pieces

    def flush(self) -> list[Piece]:
        """What came since the last silence, which may not be all of its record; for the end of a session."""
        if not self._held:
            return []
        piece = Piece(self._held, self._after_open, self._overlong)
        self._held = b""
        return [piece]
