"""Which place comes next when a wrench leaves one: the plan's order as a habit among others, not as a law.

Whoever follows a habit of order keeps to it for a while. So each way through a log holds how far each habit is followed just now,
its `Order`, and a step to a place that nobody had begun makes the habits that lead there likelier.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields
from operator import add, itemgetter
from typing import NamedTuple

from collector.expect.habits import Habits
from collector.expect.open_joints import Leads, OpenJoints, bits_of
from collector.expect.places import NOWHERE, Place

WAYS = tuple(one.name for one in fields(Habits) if one.name.startswith("way_"))
"""The names of the habits of order; the last one, any joint, is told apart since it leads everywhere."""
Order = tuple[float, ...]
"""How far each habit of order is followed just now, with a sum of one: a share a habit as in `WAYS` where a wrench goes on from
where it was itself, as with two people, then one a habit where it goes on from where the last wrench was."""
_MOST_KEPT = 60
_STAGE_PASSED_OVER = 0.003
_BY_ODDS = itemgetter(1)


class _Steps(NamedTuple):
    """The joints that each habit leads to, but for `way_any`, which has `left` to choose from."""

    chosen: tuple[Mapping[int, float], ...]
    left: int


class Ahead:
    """The places that may come next, each with its odds, the likeliest first.

    Those to which no habit leads are ranked only where somebody looks that far.
    """

    __slots__ = ("_anywhere", "_begun", "_first", "_is_ranked", "_joints", "_odds", "_rest", "_way")

    def __init__(self, way: "Way", begun: int, odds: Mapping[int, float], anywhere: float) -> None:
        self._way, self._begun, self._odds, self._anywhere = way, begun, odds, anywhere
        self._joints = way.leads.open(begun)
        named = [one for number, share in odds.items() for one in self._at(number, share + anywhere)]
        named.sort(key=_BY_ODDS, reverse=True)
        # Nothing else is likelier than what can be anywhere.
        self._first = [one for one in named if one[1] >= anywhere]
        self._rest = named[len(self._first) :]
        self._is_ranked = False

    def __iter__(self) -> Iterator[tuple[int, float]]:
        yield from self._first
        if not self._is_ranked:
            others = (number for number in bits_of(self._joints.left) if number not in self._odds)
            self._rest += [one for number in others for one in self._at(number, self._anywhere)]
            self._rest.sort(key=_BY_ODDS, reverse=True)
            self._is_ranked = True
        yield from self._rest

    def _at(self, number: int, odds: float) -> Iterator[tuple[int, float]]:
        """The places of a joint that are left: it is taken up at the first of them; now and then one is passed over."""
        yield self._joints.first[number], odds
        if self._joints.count[number] > 1:
            left = [place for place in self._way.leads.joints[number] if not self._begun >> place & 1]
            yield from ((place, odds * _STAGE_PASSED_OVER) for place in left[1:])


class Way:
    """The odds of the next place among those that nobody has begun; what each habit leads to is kept, for it is asked again.

    `begun` is a set of places as bits: bit n says that place n was begun. `usual` is the order of somebody unknown.

    `is_shared`: two people are at work.
    """

    def __init__(self, places: tuple[Place, ...], habits: Habits, *, is_shared: bool = False) -> None:
        self.leads = Leads(places, is_shared=is_shared)
        self._is_shared = is_shared
        shares = [float(getattr(habits, name)) for name in WAYS]
        own = habits.own_way
        self.usual: Order = tuple(way * share / sum(shares) for way in (own, 1.0 - own) for share in shares)
        self._keeps = habits.keeps_order
        self._kept: dict[tuple[int, int], _Steps] = {}
        self._ahead: dict[tuple[Order, int, int, int], Ahead] = {}

    def next(self, order: Order, here: int, last: int, begun: int) -> Ahead:
        """The places that nobody has begun, each with its odds, best first.

        The wrench is at `here`, the last reading of any of that person's wrenches was at `last`.
        """
        key = order, here, last, begun
        found = self._ahead.get(key)
        if found is None:
            if len(self._ahead) > _MOST_KEPT:
                self._ahead.clear()
            found = self._ahead[key] = self._look_ahead(order, here, last, begun)
        return found

    def _look_ahead(self, order: Order, here: int, last: int, begun: int) -> Ahead:
        own, last_one = self._both(here, last, begun)
        halves = [(own, order[: len(WAYS)]), (last_one, order[len(WAYS) :])]
        if own is last_one:
            halves = [(own, tuple(map(add, order[: len(WAYS)], order[len(WAYS) :])))]
        joints: dict[int, float] = {}
        anywhere = 0.0
        for steps, shares in halves:
            anywhere += shares[-1] / max(steps.left, 1)
            for share, chosen in zip(shares, steps.chosen, strict=False):
                for number, one in chosen.items():
                    joints[number] = joints.get(number, 0.0) + share * one
        if self._is_shared and here == last == NOWHERE:
            # One of two people begins, maybe at the other side.
            joints = {**self.leads.on_either_side(joints, self.leads.open(begun))}
        return Ahead(self, begun, joints, anywhere)

    def followed(self, order: Order, here: int, last: int, begun: int, place: int) -> Order:
        """The order after a step to `place`: likelier are the habits that lead there, but anybody may take up another one."""
        if not begun or (self._is_shared and here == last == NOWHERE):
            # Where somebody begins tells little of how he goes on.
            return order
        number = self.leads.joint_of[place]
        odds = [one for steps in self._both(here, last, begun) for one in _lead_to(steps, number)]
        shares = [weight * one for weight, one in zip(order, odds, strict=True)]
        total, keeps = sum(shares), self._keeps
        return tuple(keeps * share / total + (1.0 - keeps) * usual for share, usual in zip(shares, self.usual, strict=True))

    def by_way(self, here: int, begun: int, place: int) -> dict[str, float]:
        """The odds of that place for each habit of order alone."""
        number = self.leads.joint_of[place]
        # A joint is taken up at its first stage that is open; now and then one is passed over.
        rank = 1.0 if self.leads.open(begun).first[number] == place else _STAGE_PASSED_OVER
        led = _lead_to(self._steps(here, begun), number)
        return {name: one * rank for name, one in zip(WAYS, led, strict=True)}

    def _both(self, here: int, last: int, begun: int) -> tuple[_Steps, _Steps]:
        """Where the habits lead from where the wrench is itself, and from where the last one is."""
        return self._steps(here, begun), self._steps(last if last != NOWHERE else here, begun)

    def _steps(self, here: int, begun: int) -> _Steps:
        found = self._kept.get((here, begun))
        if found is None:
            if len(self._kept) > _MOST_KEPT:
                self._kept.clear()
            found = self._kept[here, begun] = self._led(here, self.leads.open(begun))
        return found

    def _led(self, here: int, joints: OpenJoints) -> _Steps:
        if not joints.left:
            return _Steps(tuple({} for _ in WAYS[:-1]), 0)
        led = self.leads.led(here, joints)
        near = self.leads.near(here, joints) or {led["way_ahead"]: 1.0}
        return _Steps((*({led[name]: 1.0} for name in WAYS[:-2]), near), joints.left.bit_count())


def _lead_to(steps: _Steps, number: int) -> list[float]:
    return [*(chosen.get(number, 0.0) for chosen in steps.chosen), 1.0 / max(steps.left, 1)]
