"""What a framer is, and the pieces that it cuts."""

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Piece:
    """One record, or bytes that are none; never empty. A line comes without its end, other records with their marks.

    `after_open` marks the first piece after the link was opened, which may be the tail of one; `overlong` a part of a
    record that was longer than allowed.
    """

    raw: bytes
    after_open: bool = False
    overlong: bool = False


class Held:
    """What is begun of a record and not ended; at most `longest` bytes, what is longer comes in parts of that length."""

    def __init__(self, longest: int) -> None:
        self._longest = longest
        self._held = b""
        self._after_open = True
        self._overlong = False

    def take(self, part: bytes) -> list[Piece]:
        """Add to it; gives the parts of a record that gets too long."""
        pieces: list[Piece] = []
        self._held += part
        while len(self._held) > self._longest:
            self._overlong = True
            pieces.append(Piece(self._held[: self._longest], self._after_open, overlong=True))
            self._held = self._held[self._longest :]
        return pieces

    def flush(self) -> list[Piece]:
        """Give out what there is, if any."""
        if not self._held:
            return []
        piece = Piece(self._held, self._after_open, self._overlong)
        self._held = b""
        return [piece]

    def end(self) -> list[Piece]:
        """Give it out as ended: whatever comes next begins a record."""
        pieces = self.flush()
        self._after_open = self._overlong = False
        return pieces


class Framer(Protocol):
    """Cuts what one session of one link brings into pieces; it holds a bounded number of bytes between calls."""

    @property
    def silence_s(self) -> float | None:
        """Seconds without a byte after which `quiet` is to be called; None where silence says nothing."""

    def feed(self, data: bytes) -> list[Piece]:
        """The pieces that these bytes complete, in order."""

    def quiet(self) -> list[Piece]:
        """The pieces that a silence of `silence_s` completes; none where silence says nothing."""

    def flush(self) -> list[Piece]:
        """What is begun but not ended, if any; for the end of a session."""
