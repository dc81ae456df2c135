"""Which wrenches one person uses: nobody pulls two of them within a few seconds, but two people at one vehicle do."""

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise, product

from collector.expect.click import Click

_AT_LEAST_S, _QUICK_S = 0.5, 5.0
"""To lay a wrench down and take up another one takes longer. What is closer together was delivered together: it tells nothing."""
_LEAST = 3
"""So many quick changes show that there are two people; one or two may be a clock that is off."""
_MOST_WRENCHES = 8
"""Beyond that many nobody tries all ways to share them out: the less used ones go where the first person's are."""


def people_of(clicks: Sequence[Click]) -> Mapping[str | None, int]:
    """The person, 0 or 1, that each wrench is used by; all by one where no times tell or nothing shows two.

    Of all ways to share the wrenches out among two people the one with the fewest quick changes within a person's is taken,
    then the one with the fewest changes at all.
    """
    by_use = [wrench for wrench, _ in Counter(click.wrench for click in clicks).most_common()]
    alone = dict.fromkeys(by_use, 0)
    quick: Counter[frozenset[str | None]] = Counter()
    for before, click in pairwise(clicks):
        if before.wrench != click.wrench and before.at_s is not None and click.at_s is not None:
            quick[frozenset((before.wrench, click.wrench))] += _AT_LEAST_S < click.at_s - before.at_s < _QUICK_S
    if quick.total() < _LEAST:
        return alone
    others = by_use[1:_MOST_WRENCHES]
    shared = [{**alone, **dict(zip(others, whose, strict=True))} for whose in product((0, 1), repeat=len(others))]
    found = min(shared, key=lambda one: (_within(one, quick), _changes(one, clicks)))
    return found if _within(alone, quick) - _within(found, quick) >= _LEAST else alone


def _within(people: Mapping[str | None, int], quick: Mapping[frozenset[str | None], int]) -> int:
    """The quick changes between wrenches of one person."""
    return sum(count for pair, count in quick.items() if len({people[wrench] for wrench in pair}) == 1)


def _changes(people: Mapping[str | None, int], clicks: Sequence[Click]) -> int:
    """How often a person takes up another wrench."""
    last: dict[int, str | None] = {}
    changes = 0
    for click in clicks:
        person = people[click.wrench]
        changes += person in last and last[person] != click.wrench
        last[person] = click.wrench
    return changes
