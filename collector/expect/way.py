"""Which place comes next when a wrench leaves one: the plan's order as a habit among others, not as a law."""

from collections.abc import Callable, Iterable
from dataclasses import fields

from collector.expect.habits import Habits
from collector.expect.places import NOWHERE, Place

WAYS = tuple(one.name for one in fields(Habits) if one.name.startswith("way_"))
"""The names of the habits of order."""
_MOST_KEPT = 500
_STAGE_PASSED_OVER = 0.003
_NEAR = 8
"""So many joints on, near is nothing any more."""
_SIDES = {"left": "left", "right": "right", "l": "left", "r": "right", "lh": "left", "rh": "right"}


class Way:
    """The odds of the next place among those that nobody has begun; asked again and again, so answers are kept.

    `begun` is a set of places as bits: bit n says that place n was begun.
    """

    def __init__(self, places: tuple[Place, ...], habits: Habits) -> None:
        groups: dict[str, list[Place]] = {}
        for place in places:
            groups.setdefault(place.joint.id, []).append(place)
        self._joints: list[list[Place]] = list(groups.values())
        self._joint_of = {place.index: number for number, group in enumerate(self._joints) for place in group}
        self._indices = [[place.index for place in group] for group in self._joints]
        self._masks = [sum(1 << place.index for place in group) for group in self._joints]
        self._targets = [place.target_nm for place in places]
        self._sides = _sides(self._joints)
        self._shares = {name: float(getattr(habits, name)) for name in WAYS}
        self._own_way = habits.own_way
        self._kept: dict[tuple[int, int], dict[int, float]] = {}
        self._ranked: dict[tuple[int, int, int], list[tuple[int, float]]] = {}

    def next(self, here: int, begun: int) -> dict[int, float]:
        """Odds by place, of those not begun yet."""
        found = self._kept.get((here, begun))
        if found is None:
            if len(self._kept) > _MOST_KEPT:
                self._kept.clear()
            open_ = self._open(begun)
            joints: dict[int, float] = {}
            for name, chosen in self._chosen(here, open_).items():
                way = self._shares[name]
                for number, share in chosen:
                    joints[number] = joints.get(number, 0.0) + way * share
            found = self._kept[here, begun] = _of_places(joints.items(), open_)
        return found

    def ranked(self, here: int, last: int, begun: int) -> list[tuple[int, float]]:
        """The odds of the next place of a wrench that is at one place, where the last reading was at another; best first."""
        key = here, last, begun
        found = self._ranked.get(key)
        if found is None:
            if len(self._ranked) > _MOST_KEPT:
                self._ranked.clear()
            odds = self.next(last if here == NOWHERE else here, begun)
            if NOWHERE not in (here, last) and here != last:
                others, share = self.next(last, begun), self._own_way
                odds = {place: share * one + (1.0 - share) * others[place] for place, one in odds.items()}
            found = self._ranked[key] = sorted(odds.items(), key=lambda one: -one[1])
        return found

    def by_way(self, here: int, begun: int) -> dict[str, dict[int, float]]:
        """The same for each habit of order alone."""
        open_ = self._open(begun)
        return {name: _of_places(chosen, open_) for name, chosen in self._chosen(here, open_).items()}

    def _open(self, begun: int) -> list[list[int]]:
        """By joint the places that nobody has begun."""
        return [
            whole if not begun & mask else [place for place in whole if not begun >> place & 1]
            for whole, mask in zip(self._indices, self._masks, strict=True)
        ]

    def _chosen(self, here: int, open_: list[list[int]]) -> dict[str, list[tuple[int, float]]]:
        """Each habit of order, with the joints that it leads to."""
        left = [number for number, group in enumerate(open_) if group]
        if not left:
            return {}
        joint = self._joint_of.get(here, NOWHERE)
        turn = [number for number in left if number >= joint] + [number for number in left if number < joint]
        back = [number for number in reversed(left) if number < joint] or [left[-1]]
        targets, target = self._targets, self._targets[here] if here != NOWHERE else None
        chosen: dict[str, list[tuple[int, float]]] = {
            "way_ahead": [(turn[0], 1.0)],
            "way_back": [(back[0], 1.0)],
            "way_first": [(left[0], 1.0)],
            "way_torque": self._first(turn, lambda number: targets[open_[number][0]] == target),
            "way_side": self._first(turn, lambda number: number != joint and self._is_same_side(number, joint)),
            "way_begun": self._first(left, lambda number: len(open_[number]) < len(self._joints[number])),
            "way_near": _near(left, joint),
            "way_any": [(number, 1.0 / len(left)) for number in left],
        }
        return {name: found or [(turn[0], 1.0)] for name, found in chosen.items()}

    def _first(self, numbers: list[int], fits: Callable[[int], bool]) -> list[tuple[int, float]]:
        return next(([(number, 1.0)] for number in numbers if fits(number)), [])

    def _is_same_side(self, number: int, joint: int) -> bool:
        sides = self._sides
        return joint != NOWHERE and (sides[number] is None or sides[joint] is None or sides[number] == sides[joint])


def _of_places(joints: Iterable[tuple[int, float]], open_: list[list[int]]) -> dict[int, float]:
    """A joint is taken up at its first stage that is open; now and then one is passed over."""
    found: dict[int, float] = {}
    for number, share in joints:
        for rank, place in enumerate(open_[number]):
            found[place] = share * (1.0 if not rank else _STAGE_PASSED_OVER)
    return found


def _near(left: list[int], joint: int) -> list[tuple[int, float]]:
    ahead = [number for number in left if number > joint]
    behind = [number for number in reversed(left) if number < joint]
    found = [(number, 0.5 ** (rank + 1)) for rank, number in enumerate(ahead[:_NEAR])]
    found += [(number, 0.5 ** (rank + 2)) for rank, number in enumerate(behind[:_NEAR])]
    return found


def _sides(joints: list[list[Place]]) -> list[str | None]:
    """The side of each joint: as the plan says, as its id ends, or as one of two alike that stand together."""
    found: list[str | None] = []
    for group in joints:
        joint = group[0].joint
        found.append(joint.side or _SIDES.get(joint.id.replace("_", "-").rsplit("-", 1)[-1].lower()))
    if any(found):
        return found
    number = 0
    while number + 1 < len(joints):
        if _looks(joints[number]) == _looks(joints[number + 1]):
            found[number], found[number + 1] = "left", "right"
            number += 1
        number += 1
    return found


def _looks(group: list[Place]) -> tuple[object, ...]:
    return group[0].fasteners, tuple(place.target_nm for place in group)
