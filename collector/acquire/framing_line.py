"""Cuts a stream of bytes into lines, whatever the pieces in which it arrives."""

import re

from collector.acquire.framing_piece import Held, Piece

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
        self._held = Held(longest)

    def feed(self, data: bytes) -> list[Piece]:
        """The pieces that these bytes complete, in order."""
        pieces: list[Piece] = []
        *ended, begun = self._ends.split(data)
        for line in ended:
            pieces += self._held.take(line)
            pieces += self._held.end()
        return pieces + self._held.take(begun)

    def quiet(self) -> list[Piece]:
        """Nothing: a line ends with its end, however long that takes."""
        return []

    def flush(self) -> list[Piece]:
        """The line that is begun but not ended, if any; for the end of a stream."""
        return self._held.flush()
