"""Which joints or stages of a log are pulled in turn with one another, fastener by fastener."""

from collections.abc import Sequence

from collector.expect.odds import Seen
from collector.expect.places import NOWHERE

_HABIT = 2
"""Once there and back is a joint that was left half done; twice is a habit."""


class Turns:
    """Looked for in the places of all readings: `begun` is how often it is begun, `indices` are the readings that take turns."""

    def __init__(self, seen: Sequence[Seen], chosen: Sequence[int]) -> None:
        self.indices: set[int] = set()
        self.begun = 0
        firsts: dict[str | None, list[int]] = {}
        for index, (one, number) in enumerate(zip(seen, chosen, strict=True)):
            own = firsts.setdefault(one.click.wrench, [])
            if number != NOWHERE and (not own or chosen[own[-1]] != number):
                own.append(index)
        for own in firsts.values():
            self._look(own, chosen)

    def _look(self, firsts: list[int], chosen: Sequence[int]) -> None:
        """`firsts` are the first readings of one wrench at each of its visits."""
        back = 0
        for last, other, first in zip(firsts, firsts[1:], firsts[2:], strict=False):
            back = back + 1 if chosen[last] == chosen[first] else 0
            self.begun += back == _HABIT
            if back >= _HABIT:
                self.indices |= {last, other, first}
