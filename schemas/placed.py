"""Which readings lie on a fastener of the job: their entries in order, since a log can be long and is read in late. Pure."""

from bisect import bisect_left, insort
from dataclasses import dataclass, field


@dataclass(slots=True)
class Placed:
    """The numbers of the entries of readings that have a place now."""

    _seqs: list[int] = field(default_factory=list)

    def note(self, seq: int, was_placed: bool, is_placed: bool) -> None:
        """Take in that a reading was matched, or matched anew."""
        if is_placed and not was_placed:
            insort(self._seqs, seq)
        elif was_placed and not is_placed:
            del self._seqs[bisect_left(self._seqs, seq)]

    def last(self, before: int | None = None) -> int | None:
        """The last of them, of those before that entry; None where there is none."""
        end = len(self._seqs) if before is None else bisect_left(self._seqs, before)
        return self._seqs[end - 1] if end else None
