"""Cuts a stream of bytes into records between marks, or of one length, and finds the next one after damage."""

from collections.abc import Callable

from collector.acquire.framing_piece import Piece
from schemas.wire_format import Framing


class RecordFramer:
    """Cuts records by start mark and stop mark or length; holds at most twice `longest` bytes between calls.

    Bytes are taken one by one, so that the pieces cannot depend on how they arrive. Bytes outside of any record come out
    as pieces of their own, but for line ends behind a stop mark. Where a record is not right and a start mark stands
    inside it, the next one is looked for from there: one damaged record never costs a good one.

    Args:
        framing: `marks` or `length`.
        longest: the longest record in bytes, marks and checksum included.
        trailing: bytes behind the stop mark that belong to the record, for `marks`.
        is_right: whether a whole record has its marks and checksum right.
    """

    def __init__(self, framing: Framing, longest: int, trailing: int, is_right: Callable[[bytes], bool]) -> None:
        self.silence_s = framing.silence_s
        self._framing = framing
        self._longest = longest
        self._trailing = trailing
        self._is_right = is_right
        self._stray = bytearray()
        self._held = bytearray()
        self._after_open = True

    def feed(self, data: bytes) -> list[Piece]:
        """The pieces that these bytes complete, in order."""
        pieces: list[Piece] = []
        for byte in data:
            self._held.append(byte)
            while self._held and self._settle(pieces):
                pass
        return pieces

    def quiet(self) -> list[Piece]:
        """What is begun but not ended: a silence breaks a record off; none where the format does not go by silence."""
        if self.silence_s is None:
            return []
        pieces = self.flush()
        self._after_open = False
        return pieces

    def flush(self) -> list[Piece]:
        """The bytes outside of any record and the record that is begun but not ended, if any."""
        pieces: list[Piece] = []
        self._cut(len(self._held), pieces)
        return pieces

    def _settle(self, pieces: list[Piece]) -> bool:
        """Decide what the held bytes begin with; False where that takes more bytes."""
        start = self._framing.start
        if not self._held.startswith(start):
            if start.startswith(self._held):
                return False
            self._drift(pieces)
            return True
        end = self._end()
        if end is None:
            if len(self._held) <= self._longest:
                return False
            self._cut(self._longest, pieces, overlong=True)
            return True
        record = bytes(self._held[:end])
        self._cut(end if self._is_right(record) else self._next_start(record), pieces)
        return True

    def _end(self) -> int | None:
        """How many held bytes are one record, right or not; None while that is not known."""
        framing = self._framing
        if framing.by == "length":
            return framing.length if len(self._held) >= framing.length else None
        stop = self._held.find(framing.stop, len(framing.start))
        again = self._held.find(framing.start, len(framing.start))
        if again >= 0 and (stop < 0 or again < stop):
            return again
        end = stop + len(framing.stop) + self._trailing
        return end if stop >= 0 and end <= len(self._held) else None

    def _next_start(self, record: bytes) -> int:
        """Where in a record that is not right another one may begin; its length where none can."""
        start = self._framing.start
        places = (at for at in range(1, len(record)) if start and (record.startswith(start, at) or start.startswith(record[at:])))
        return next(places, len(record))

    def _drift(self, pieces: list[Piece]) -> None:
        """Count the first held byte among those outside of any record."""
        byte = self._held.pop(0)
        # Many instruments end a line behind the stop mark or the checksum; like an empty line that is nothing.
        if self._framing.by == "marks" and byte in b"\r\n" and not self._stray:
            return
        self._stray.append(byte)
        if len(self._stray) == self._longest:
            self._cut(0, pieces)

    def _cut(self, length: int, pieces: list[Piece], overlong: bool = False) -> None:
        """Give out the bytes outside of any record, and then that many of the held ones."""
        for raw, too_long in ((bytes(self._stray), False), (bytes(self._held[:length]), overlong)):
            if raw:
                pieces.append(Piece(raw, self._after_open, too_long))
        self._stray.clear()
        del self._held[:length]
        # Without a start mark only a silence shows where a record begins.
        self._after_open = self._after_open and not self._framing.start
