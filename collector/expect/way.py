"""Which place comes next when a wrench leaves one: the plan's order as a habit among others, not as a law.

Whoever follows a habit of order keeps to it for a while. So each way through a log holds how far each habit is followed just now,
its `Order`, and a step to a place that nobody had begun makes the habits that lead there likelier.
"""

from collections.abc import Mapping
from dataclasses import fields
from operator import itemgetter
from typing import NamedTuple

from collector.expect.habits import Habits
from collector.expect.places import NOWHERE, Place
from collector.expect.sides import looks_of, sides_of

WAYS = tuple(one.name for one in fields(Habits) if one.name.startswith("way_"))
"""The names of the habits of order; the last one, any joint, is told apart since it leads everywhere."""
Order = tuple[float, ...]
"""How far each habit of order is followed just now, with a sum of one: a share a habit as in `WAYS` where a wrench goes on from
where it was itself, as with two people, then one a habit where it goes on from where the last wrench was."""
_MOST_KEPT = 500
_STAGE_PASSED_OVER = 0.003
_BY_ODDS = itemgetter(1)
_NEAR = 8
"""So many joints on, near is nothing any more."""
_EARLIER = 0.8
"""Of joints that look the same, the one that the plan has first is taken first: a left one before its right one."""


class _Steps(NamedTuple):
    """The joints that each habit leads to, but for `way_any`, which has `left` to choose from."""

    chosen: tuple[Mapping[int, float], ...]
    left: int


class Way:
    """The odds of the next place among those that nobody has begun; what each habit leads to is kept, for it is asked again.

    `begun` is a set of places as bits: bit n says that place n was begun. `usual` is the order of somebody unknown.
    """

    def __init__(self, places: tuple[Place, ...], habits: Habits) -> None:
        groups: dict[str, list[Place]] = {}
        for place in places:
            groups.setdefault(place.joint.id, []).append(place)
        self._joints: list[list[Place]] = list(groups.values())
        self._joint_of = {place.index: number for number, group in enumerate(self._joints) for place in group}
        self._indices = [[place.index for place in group] for group in self._joints]
        self._masks = [sum(1 << place.index for place in group) for group in self._joints]
        # Of each place those of its joint that come before it, as bits.
        self._before = {
            place.index: sum(1 << other.index for other in group[:rank])
            for group in self._joints
            for rank, place in enumerate(group)
        }
        self._targets = [place.target_nm for place in places]
        self._sides = sides_of(self._joints)
        looks = [looks_of(group) for group in self._joints]
        self._alike = [[other for other in range(number) if looks[other] == look] for number, look in enumerate(looks)]
        shares = [float(getattr(habits, name)) for name in WAYS]
        own = habits.own_way
        self.usual: Order = tuple(way * share / sum(shares) for way in (own, 1.0 - own) for share in shares)
        self._keeps = habits.keeps_order
        self._kept: dict[tuple[int, int], _Steps] = {}
        self._ranked: dict[tuple[Order, int, int, int], list[tuple[int, float]]] = {}

    def next(self, order: Order, here: int, last: int, begun: int) -> list[tuple[int, float]]:
        """The places that nobody has begun, each with its odds, best first.

        The wrench is at `here`, the last reading of any wrench was at `last`.
        """
        key = order, here, last, begun
        found = self._ranked.get(key)
        if found is None:
            if len(self._ranked) > _MOST_KEPT:
                self._ranked.clear()
            found = self._ranked[key] = self._rank_all(order, here, last, begun)
        return found

    def _rank_all(self, order: Order, here: int, last: int, begun: int) -> list[tuple[int, float]]:
        joints: dict[int, float] = {}
        anywhere = 0.0
        for steps, shares in zip(self._both(here, last, begun), (order[: len(WAYS)], order[len(WAYS) :]), strict=True):
            anywhere += shares[-1] / max(steps.left, 1)
            for share, chosen in zip(shares, steps.chosen, strict=False):
                for number, one in chosen.items():
                    joints[number] = joints.get(number, 0.0) + share * one
        found = []
        before = self._before
        for number, group in enumerate(self._indices):
            if begun & self._masks[number] == self._masks[number]:
                continue
            odds = joints.get(number, 0.0) + anywhere
            for place in group:
                if not begun >> place & 1:
                    found.append((place, odds if begun & before[place] == before[place] else odds * _STAGE_PASSED_OVER))
        found.sort(key=_BY_ODDS, reverse=True)
        return found

    def followed(self, order: Order, here: int, last: int, begun: int, place: int) -> Order:
        """The order after a step to `place`: likelier are the habits that lead there, but anybody may take up another one."""
        if not begun:
            # Where somebody begins tells little of how he goes on.
            return order
        number = self._joint_of[place]
        odds = [one for steps in self._both(here, last, begun) for one in self._lead_to(steps, number)]
        shares = [weight * one for weight, one in zip(order, odds, strict=True)]
        total, keeps = sum(shares), self._keeps
        return tuple(keeps * share / total + (1.0 - keeps) * usual for share, usual in zip(shares, self.usual, strict=True))

    def by_way(self, here: int, begun: int, place: int) -> dict[str, float]:
        """The odds of that place for each habit of order alone."""
        rank = self._rank(place, begun)
        led = self._lead_to(self._steps(here, begun), self._joint_of[place])
        return {name: one * rank for name, one in zip(WAYS, led, strict=True)}

    def _lead_to(self, steps: _Steps, number: int) -> list[float]:
        return [*(chosen.get(number, 0.0) for chosen in steps.chosen), 1.0 / max(steps.left, 1)]

    def _both(self, here: int, last: int, begun: int) -> tuple[_Steps, _Steps]:
        """Where the habits lead from where the wrench is itself, and from where the last one is."""
        return self._steps(here, begun), self._steps(last if last != NOWHERE else here, begun)

    def _rank(self, place: int, begun: int) -> float:
        """A joint is taken up at its first stage that is open; now and then one is passed over."""
        return 1.0 if begun & self._before[place] == self._before[place] else _STAGE_PASSED_OVER

    def _steps(self, here: int, begun: int) -> _Steps:
        found = self._kept.get((here, begun))
        if found is None:
            if len(self._kept) > _MOST_KEPT:
                self._kept.clear()
            open_ = [[one for one in group if not begun >> one & 1] if begun & mask else group
                     for group, mask in zip(self._indices, self._masks, strict=True)]
            found = self._kept[here, begun] = self._led(here, open_)
        return found

    def _led(self, here: int, open_: list[list[int]]) -> _Steps:
        """Where each habit leads from a place; one that leads nowhere goes on as the plan does."""
        left = [number for number, group in enumerate(open_) if group]
        if not left:
            return _Steps(tuple({} for _ in WAYS[:-1]), 0)
        joint = self._joint_of.get(here, NOWHERE)
        turn = [number for number in left if number >= joint] + [number for number in left if number < joint]
        torque = {number: self._targets[open_[number][0]] for number in left}
        same = self._targets[here] if here != NOWHERE else None
        chosen: dict[str, int | None] = {
            "way_ahead": turn[0],
            "way_back": next((number for number in reversed(left) if number < joint), left[-1]),
            "way_first": left[0],
            "way_torque": next((number for number in turn if torque[number] == same), None),
            "way_rising": min(left, key=lambda number: (same is not None and torque[number] < same, torque[number], number)),
            "way_falling": min(left, key=lambda number: (same is not None and torque[number] > same, -torque[number], number)),
            "way_side": next((number for number in turn if number != joint and self._is_same_side(number, joint)), None),
            "way_begun": self._round_on(left, open_),
        }
        steps = [{turn[0] if number is None else number: 1.0} for number in chosen.values()]
        # Where somebody begins, nothing is near yet: anywhere.
        near = _near(left, joint) if joint != NOWHERE else dict.fromkeys(left, 1.0 / len(left))
        near = self._earlier_first(near, open_)
        return _Steps((*steps, near or {turn[0]: 1.0}), len(left))

    def _round_on(self, left: list[int], open_: list[list[int]]) -> int | None:
        """The joint that is next where the stages of those under way are done round by round: the least advanced one."""
        under_way = [number for number in left if len(open_[number]) < len(self._joints[number])]
        return min(under_way, key=lambda number: (len(self._joints[number]) - len(open_[number]), number), default=None)

    def _earlier_first(self, odds: dict[int, float], open_: list[list[int]]) -> dict[int, float]:
        """The same odds, but for joints that have one like them, as far open, before them in the plan."""
        found: dict[int, float] = {}
        for number, one in odds.items():
            as_far = len(open_[number])
            for other in self._alike[number]:
                if len(open_[other]) == as_far:
                    found[other] = found.get(other, 0.0) + _EARLIER * one
                    one *= 1.0 - _EARLIER
                    break
            found[number] = found.get(number, 0.0) + one
        return found

    def _is_same_side(self, number: int, joint: int) -> bool:
        sides = self._sides
        return joint != NOWHERE and (sides[number] is None or sides[joint] is None or sides[number] == sides[joint])


def _near(left: list[int], joint: int) -> dict[int, float]:
    ahead = [number for number in left if number > joint]
    behind = [number for number in reversed(left) if number < joint]
    found = {number: 0.5 ** (rank + 1) for rank, number in enumerate(ahead[:_NEAR])}
    return found | {number: 0.5 ** (rank + 2) for rank, number in enumerate(behind[:_NEAR])}
