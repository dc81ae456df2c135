"""Cuts a stream of bytes into lines, whatever the pieces in which it arrives."""

import re

from collector.acquire.framing_piece import Piece

_LINE_END = rb"[\r\n]"


class LineFramer:
    """Cuts lines at CR, LF, CR LF or LF CR; holds at most `longest` bytes between calls.

    Empty lines are left out, and with them the second half of a double line end. A line of more than `longest` bytes
    comes in parts of that length, so that every byte that is no line end comes out. One framer is for one opening of
    one link: the end of a line must never meet the start of another across a loss.

    Args:
        longest: the longest line, in bytes.
        start: a byte that begins a line wherever it stands, so that noise in front of a line does not cost it.
    """

    silence_s: float | None = None

    def __init__(self, longest: int, start: bytes = b"") -> None:
        self._ends = re.compile(_LINE_END + (b"|(?=" + re.escape(start) + b")" if start else b""))
        self._longest = longest
        self._held = b""
        self._after_open = True
        self._overlong = False

    def feed(self, data: bytes) -> list[Piece]:
        """The pieces that these bytes complete, in order."""
        pieces: list[Piece] = []
        *ended, begun = self._ends.split(data)
        for line in ended:
            self._take(line, pieces)
            pieces += self.flush()
            self._after_open = self._overlong = False
        self._take(begun, pieces)
        return pieces

    def quiet(self) -> list[Piece]:
        """Nothing: a line ends with its end, however long that takes."""
        return []

    def flush(self) -> list[Piece]:
        """The line that is begun but not ended, if any; for the end of a stream."""
        if not self._held:
            return []
        piece = Piece(self._held, self._after_open, self._overlong)
        self._held = b""
        return [piece]

    def _take(self, part: bytes, pieces: list[Piece]) -> None:
        self._held += part
        while len(self._held) > self._longest:
            self._overlong = True
            pieces.append(Piece(self._held[: self._longest], self._after_open, overlong=True))
            self._held = self._held[self._longest :]
