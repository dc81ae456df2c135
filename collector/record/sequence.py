"""Numbers that a wrench passed over: its memory counts every pull, so a jump means that a reading did not reach us."""

from collections.abc import Callable

Query = Callable[..., list[tuple[object, ...]]]


class Sequences:
    """Remembers the last memory number of each wrench, from the database where it has not sent one yet in this run."""

    def __init__(self, query: Query) -> None:
        self._query = query
        self._last: dict[str, int | None] = {}
        self._not_read = 0

    def count_not_read(self) -> None:
        """A line came that gave no reading; it stands for one of the numbers passed over."""
        self._not_read += 1

    def passed_over(self, wrench: str | None, job: str, number: int | None) -> str | None:
        """The numbers missing just before this one, as "3-4" or "3"; None where there are none.

        A wrench's first number ever, one that steps back (its memory was cleared, or a log is not in order), and one
        accounted for by lines that came but could not be read, leave nothing missing.
        """
        not_read, self._not_read = self._not_read, 0
        if number is None:
            return None
        key = wrench or f"job {job}"
        last = self._last[key] if key in self._last else self._stored(wrench, job)
        self._last[key] = number
        if last is None or number <= last + 1 or number - last - 1 <= not_read:
            return None
        return str(last + 1) if number == last + 2 else f"{last + 1}-{number - 1}"

    def _stored(self, wrench: str | None, job: str) -> int | None:
        where, value = ("wrench = ?", wrench) if wrench else ("wrench IS NULL AND job = ?", job)
        rows = self._query(
            f"SELECT sequence FROM reading WHERE {where} AND sequence IS NOT NULL ORDER BY seq DESC LIMIT 1", value
        )
        return int(str(rows[0][0])) if rows else None
