"""The habits of order that one log shows: each step to a joint that nobody had begun, shared out among what explains it."""

from collections.abc import Mapping, Sequence

from collector.expect.gaps import is_shared
from collector.expect.habits import Habits
from collector.expect.odds import Seen
from collector.expect.places import NOWHERE, Place
from collector.expect.settle import Settled
from collector.expect.way import WAYS, Way

_USUAL_STEPS = 20.0
_USUAL_TURNS = 2.0


def own_ways(places: tuple[Place, ...], habits: Habits, seen: Sequence[Seen], settled: Settled) -> dict[str, float]:
    """The habits of order of a log, drawn towards what is usual."""
    way, begun = Way(places, habits, is_shared=is_shared(seen)), 0
    usual = {name: float(getattr(habits, name)) for name in WAYS}
    counts = dict.fromkeys(WAYS, 0.0)
    by_wrench: dict[str | None, int] = {}
    own, turns, within, steps = 0.0, 0, 0, 0
    for one, number in zip(seen, settled.chosen, strict=True):
        if number == NOWHERE:
            continue
        here = by_wrench.get(one.click.wrench, NOWHERE)
        last = here if one.after is None else by_wrench.get(one.after.wrench, here)
        if last != NOWHERE and not begun >> number & 1:
            start = here
            if here not in (last, NOWHERE):
                share = _own_share(way, here, last, begun, number, habits.own_way)
                own, turns = own + share, turns + 1
                start = here if share > 0.5 else last
            _share_out(counts, usual, way.by_way(start if start != NOWHERE else last, begun, number))
        steps += 1
        within += NOWHERE not in (here, number) and here != number and places[here].joint is places[number].joint
        begun |= 1 << number
        by_wrench[one.click.wrench] = number
    total = sum(counts.values()) + _USUAL_STEPS
    found = {name: (counts[name] + _USUAL_STEPS * usual[name]) / total for name in WAYS}
    found["own_way"] = (own + _USUAL_TURNS * habits.own_way) / (turns + _USUAL_TURNS)
    found["by_fastener"] = _by_fastener(places, habits, within, steps)
    return found


def _own_share(way: Way, here: int, last: int, begun: int, number: int, usual: float) -> float:
    """How far a step is explained by where the wrench itself was, rather than by where the last one was."""
    own = usual * dict(way.next(way.usual, here, here, begun))[number]
    other = (1.0 - usual) * dict(way.next(way.usual, last, last, begun))[number]
    return own / (own + other)


def _share_out(counts: dict[str, float], usual: Mapping[str, float], ways: Mapping[str, float]) -> None:
    explained = {name: usual[name] * odds for name, odds in ways.items()}
    total = sum(explained.values())
    for name, share in explained.items():
        counts[name] += share / total


def _by_fastener(places: tuple[Place, ...], habits: Habits, within: int, steps: int) -> float:
    """How often the stage changes within a joint, beyond the changes that whole rounds make."""
    rounds = sum(not place.begins for place in places)
    worth = 60.0
    return (max(within - rounds, 0) + worth * habits.by_fastener) / (steps + worth)
