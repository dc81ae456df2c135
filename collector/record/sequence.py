"""Numbers that a wrench passed over: its memory counts every pull, so a jump means that a reading did not reach us."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

Query = Callable[..., list[tuple[object, ...]]]
LOOK_BACK = 1000
"""So many of a wrench's stored numbers are looked at to find out which of them are open."""


@dataclass(slots=True)
class _Numbers:
    """The highest number since the memory was last cleared, and the ranges passed over on the way to it."""

    last: int | None = None
    gaps: list[tuple[int, int]] = field(default_factory=list)

    def take(self, number: int) -> tuple[int, int] | None:
        """Take the next number that came; gives the first and the last that it passed over."""
        if self.last is not None and number < self.last:
            if any(first <= number <= last for first, last in self.gaps):
                # It comes late: the count goes on from where it was.
                return None
            self.gaps.clear()
        gap = None if self.last is None or number <= self.last + 1 else (self.last + 1, number - 1)
        if gap is not None:
            self.gaps.append(gap)
        self.last = number
        return gap


class Sequences:
    """Follows the memory numbers of each wrench, from the database where it has not sent one yet in this run."""

    def __init__(self, query: Query) -> None:
        self._query = query
        self._numbers: dict[str, _Numbers] = {}
        self._not_read: defaultdict[str, list[bytes]] = defaultdict(list)

    def count_not_read(self, raw: bytes, source: str = "") -> None:
        """A line came that gave no reading; if it names the wrench, it stands for one of the numbers passed over."""
        self._not_read[source].append(raw)

    def skip_stored(self, source: str = "") -> None:
        """A reading came that is stored already; lines before it stand for no number after it."""
        self._not_read[source].clear()

    def passed_over(self, wrench: str | None, job: str, number: int | None, source: str = "") -> str | None:
        """The numbers missing just before this one, as "3-4" or "3"; None where there are none.

        A wrench's first number ever, one that comes late, one that steps back (its memory was cleared, or a log is not
        in order), and one accounted for by lines that came from the same source but could not be read, leave nothing missing.
        """
        not_read = self._count_named(wrench, source) if self._not_read else 0
        if number is None:
            return None
        key = wrench or f"job {job}"
        if key not in self._numbers:
            self._numbers[key] = self._stored(wrench, job)
        gap = self._numbers[key].take(number)
        if gap is None or gap[1] - gap[0] + 1 <= not_read:
            return None
        return str(gap[0]) if gap[0] == gap[1] else f"{gap[0]}-{gap[1]}"

    def _count_named(self, wrench: str | None, source: str) -> int:
        named = (wrench or "").encode()
        not_read = sum(named in raw for raw in self._not_read[source])
        self._not_read[source].clear()
        return not_read

    def _stored(self, wrench: str | None, job: str) -> _Numbers:
        where, value = ("wrench = ?", wrench) if wrench else ("wrench IS NULL AND job = ?", job)
        rows = self._query(
            f"SELECT sequence FROM (SELECT seq, sequence FROM reading WHERE {where} AND sequence IS NOT NULL "
            f"ORDER BY seq DESC LIMIT {LOOK_BACK}) ORDER BY seq",
            value,
        )
        numbers = _Numbers()
        for row in rows:
            numbers.take(int(str(row[0])))
        return numbers
