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
