"""Gives what a source hands over its name and the time at which it came."""

from collector.acquire.framing_piece import Piece
from schemas.clock import Clock
from schemas.frame import Frame, LinkChange
from schemas.words import Link


class Stamp:
    """One source's name and clock, put on its frames and on the changes of its link."""

    def __init__(self, source: str, clock: Clock) -> None:
        self._source = source
        self._clock = clock

    def frame(self, piece: Piece, *, cut: bool = False) -> Frame:
        """A piece as a frame that came just now; `cut` where the link went in its middle."""
        now, mono_ns = self._clock.now(), self._clock.monotonic_ns()
        return Frame(self._source, piece.raw, now, mono_ns, piece.after_open, piece.overlong, cut=cut)

    def change(self, link: Link, detail: str = "") -> LinkChange:
        """A change of the link, just now."""
        return LinkChange(self._source, link, self._clock.now(), self._clock.monotonic_ns(), detail)
