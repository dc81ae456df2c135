"""The memory numbers that wrenches passed over in a job, as far as no later reading filled them."""

from dataclasses import dataclass, field

Gap = tuple[str, int, int]
"""Wrench, first and last number missing, both inclusive."""


@dataclass(slots=True)
class NumberGaps:
    """Gaps in the numbering; `count` is how many numbers are missing.

    A number that comes late fills its gap. One that steps back and fills none shows that the wrench's memory was cleared:
    from then on the same numbers mean other pulls, so the gaps before stay for good.
    """

    count: int = 0
    _for_good: list[Gap] = field(default_factory=list)
    _open: dict[str, list[Gap]] = field(default_factory=dict)
    _last: dict[str, int] = field(default_factory=dict)

    def take_reading(self, wrench: str, number: int | None, missing: str | None) -> None:
        """A reading came with its number, or with none; `missing` names the numbers ("3-4") passed over just before it."""
        if number is not None:
            self.take(wrench, number)
        if missing is not None:
            first, _, last = missing.partition("-")
            self.pass_over(wrench, int(first), int(last or first))

    def pass_over(self, wrench: str, first: int, last: int) -> None:
        """Numbers were passed over."""
        self._open.setdefault(wrench, []).append((wrench, first, last))
        self.count += last - first + 1

    def take(self, wrench: str, number: int) -> None:
        """A reading with this number came."""
        last = self._last.get(wrench)
        if last is not None and number < last:
            if self._fill(wrench, number):
                return
            self._for_good += self._open.pop(wrench, [])
        self._last[wrench] = number

    def _fill(self, wrench: str, number: int) -> bool:
        gaps = self._open.get(wrench, [])
        for index, (_, first, last) in enumerate(gaps):
            if first <= number <= last:
                parts = ((wrench, first, number - 1), (wrench, number + 1, last))
                gaps[index : index + 1] = [part for part in parts if part[1] <= part[2]]
                self.count -= 1
                return True
        return False

    def gaps(self) -> list[Gap]:
        """All that is missing, what stays for good first."""
        return [*self._for_good, *(gap for gaps in self._open.values() for gap in gaps)]
