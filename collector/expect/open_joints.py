"""Which joints have a place that nobody has begun, as bits: bit n is joint n; and which joint each habit of order leads to."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from collector.expect.places import NOWHERE, Place
from collector.expect.sides import looks_of, opposites_of, sides_of

_NEAR = 8
"""So many joints on, near is nothing any more."""
_SECOND_SIDE = 0.75
"""Of two people whoever does not begin at the first joint of the plan takes the side that it has second so often."""
_NEXT_BUT_ONE = 2
"""Left and right joints stand in turn in most plans: so far is the next one of a side."""
_EARLIER = 0.8
"""Of joints that look the same, the one that the plan has first is taken first: a left one before its right one."""


@dataclass(slots=True)
class OpenJoints:
    """The joints where a place is left: `left` in all, `under_way` those where one was begun.

    For each joint `first` is its first place that is left, NOWHERE where none is, and `count` how many are; `of_target` are
    the joints by the torque of that first place, in N·m.
    """

    left: int
    under_way: int
    first: list[int]
    count: list[int]
    of_target: dict[float, int]

    def copy(self) -> "OpenJoints":
        """The same once more, to be changed."""
        return OpenJoints(self.left, self.under_way, [*self.first], [*self.count], {**self.of_target})


class Leads:
    """Where each habit of order leads, among the places of a plan that nobody has begun.

    `joints` are the places of each joint, `joint_of` the joint of each place, both by number. `is_shared`: two people are at
    work; near and at the corner is then what is on the own side, for the other one may have the other side.
    """

    def __init__(self, places: Sequence[Place], *, is_shared: bool = False) -> None:
        groups: dict[str, list[Place]] = {}
        for place in places:
            groups.setdefault(place.joint.id, []).append(place)
        self.joints = [[place.index for place in group] for group in groups.values()]
        self.joint_of = {place: number for number, group in enumerate(self.joints) for place in group}
        self._targets = [place.target_nm for place in places]
        self._levels = sorted(set(self._targets))
        by_joint = list(groups.values())
        sides = sides_of(by_joint)
        self._opposite = opposites_of(by_joint, sides)
        all_joints = (1 << len(self.joints)) - 1
        # Beside a joint of one side those of the other one are not; one of no side is on both.
        other = {"left": "right", "right": "left"}
        self._beside = [
            all_joints if side is None else sum(1 << number for number, one in enumerate(sides) if one != other[side])
            for side in sides
        ]
        # The last one is for NOWHERE.
        self._at_hand = [*(self._beside if is_shared else [all_joints] * len(sides)), all_joints]
        # Of each joint those that look the same, and those that have as many rounds.
        self._alike = _like_each(looks_of(group) for group in groups.values())
        self._as_many = _like_each(len(group) for group in groups.values())
        nothing = OpenJoints(0, 0, [NOWHERE] * len(self.joints), [0] * len(self.joints), {})
        for number in range(len(self.joints)):
            self._look_again(nothing, number, 0)
        # The last one asked for: what is asked next differs from it in a few places.
        self._known = 0, nothing

    def open(self, begun: int) -> OpenJoints:
        """The joints where a place is left; bit n of `begun` says that place n was begun."""
        before, known = self._known
        if before == begun:
            return known
        found = known.copy()
        for number in {self.joint_of[place] for place in bits_of(before ^ begun)}:
            self._look_again(found, number, begun)
        self._known = begun, found
        return found

    def _look_again(self, joints: OpenJoints, number: int, begun: int) -> None:
        """Set right what is said of one joint."""
        bit, group = 1 << number, self.joints[number]
        open_ = [place for place in group if not begun >> place & 1]
        if joints.first[number] != NOWHERE:
            joints.of_target[self._targets[joints.first[number]]] ^= bit
        joints.first[number], joints.count[number] = open_[0] if open_ else NOWHERE, len(open_)
        joints.left, joints.under_way = joints.left & ~bit, joints.under_way & ~bit
        if open_:
            target_nm = self._targets[open_[0]]
            joints.of_target[target_nm] = joints.of_target.get(target_nm, 0) | bit
            joints.left |= bit
            joints.under_way |= bit if len(open_) < len(group) else 0

    def led(self, here: int, joints: OpenJoints) -> Mapping[str, int]:
        """The joint that each habit leads to from a place, where one is left; the next of the plan where it leads nowhere."""
        left, of_target = joints.left, joints.of_target
        joint = self.joint_of.get(here, NOWHERE)
        ahead = _next(left, joint)
        same_nm = self._targets[here] if here != NOWHERE else None
        beside = left & self._beside[joint] & ~(1 << joint) if joint != NOWHERE else 0
        behind = left & ((1 << joint) - 1) if joint != NOWHERE else 0
        same = of_target.get(same_nm, 0) if same_nm is not None else 0
        at_hand = left & self._at_hand[joint] or left
        rounds = self._round_on(joint, joints, ahead)
        return {
            "way_ahead": ahead,
            "way_back": _highest(behind or left),
            "way_first": _lowest(left),
            "way_torque": _next(same, joint) if same else rounds,
            "way_rising": _lowest(next(bits for level in self._rising(same_nm) if (bits := of_target.get(level, 0) & at_hand))),
            "way_falling": _lowest(next(bits for level in self._falling(same_nm) if (bits := of_target.get(level, 0) & at_hand))),
            "way_side": _next(beside, joint) if beside else ahead,
            "way_corner": self._at_corner(joint, joints),
            "way_begun": rounds,
        }

    def near(self, here: int, joints: OpenJoints) -> Mapping[int, float]:
        """The odds of each joint near a place, the nearest first; where somebody begins, nothing is near yet: anywhere.

        Of those that look the same and are as far open, the one before in the plan is likelier.
        """
        joint = self.joint_of.get(here, NOWHERE)
        if joint == NOWHERE:
            found = dict.fromkeys(bits_of(joints.left), 1.0 / joints.left.bit_count())
        else:
            left = joints.left & self._at_hand[joint]
            ahead, behind = left >> joint + 1 << joint + 1, left & ((1 << joint) - 1)
            found = {number: 0.5 ** (rank + 1) for rank, number in zip(range(_NEAR), bits_of(ahead), strict=False)}
            for rank in range(_NEAR):
                if not behind:
                    break
                number = _highest(behind)
                found[number] = 0.5 ** (rank + 2)
                behind ^= 1 << number
        return self._earlier_first(found, joints, self._at_hand[joint])

    def on_either_side(self, odds: Mapping[int, float], joints: OpenJoints) -> Mapping[int, float]:
        """The same odds, but for a left joint and its right one, both still open: either may be the first of one of two people.

        Whoever does not begin at the plan's first joint is the second of them.
        """
        is_plan_begun = joints.count[0] < len(self.joints[0])
        found: dict[int, float] = {}
        for number, one in odds.items():
            other = self._opposite.get(number)
            if other is None or not joints.left >> other & 1:
                found[number] = found.get(number, 0.0) + one
                continue
            first, second = sorted((number, other))
            share = _SECOND_SIDE if first or is_plan_begun else 1.0 - _SECOND_SIDE
            found[first] = found.get(first, 0.0) + (1.0 - share) * one
            found[second] = found.get(second, 0.0) + share * one
        return found

    def _rising(self, from_nm: float | None) -> list[float]:
        levels = self._levels
        at = 0 if from_nm is None else bisect_left(levels, from_nm)
        return levels[at:] + levels[:at]

    def _falling(self, from_nm: float | None) -> list[float]:
        levels = self._levels
        at = len(levels) if from_nm is None else bisect_right(levels, from_nm)
        return levels[:at][::-1] + levels[at:][::-1]

    def _at_corner(self, joint: int, joints: OpenJoints) -> int:
        """The next joint at the same corner of the vehicle, else the first one that is left.

        It is close by in the plan and not on the other side. At the next axle are those that have one like them still open.
        """
        left = joints.left
        if joint == NOWHERE or left >> joint & 1:
            return _next(left, joint)
        ahead = _lowest((left & self._beside[joint]) >> joint << joint)
        is_near = 0 < ahead - joint <= _NEXT_BUT_ONE
        at_hand = left & self._at_hand[joint] or left
        if is_near and not self._alike[ahead] & at_hand & ((1 << ahead) - 1):
            return ahead
        return _lowest(at_hand)

    def _round_on(self, joint: int, joints: OpenJoints, ahead: int) -> int:
        """The joint that is next where those under way are done round by round: the least advanced one of them.

        Whoever has just one under way takes up the next one that has as many rounds, or goes on to all that look like it.
        """
        found = joints.under_way
        if joint != NOWHERE and len(self.joints[joint]) > 1:
            is_alone = not found & ~(1 << joint)
            begins = joints.left & ~joints.under_way & (self._as_many[joint] if is_alone else self._alike[joint])
            later = begins >> joint << joint
            found |= later & -later
        advanced = {number: len(self.joints[number]) - joints.count[number] for number in bits_of(found)}
        return min(advanced, key=lambda number: (advanced[number], number), default=ahead)

    def _earlier_first(self, odds: Mapping[int, float], joints: OpenJoints, at_hand: int) -> dict[int, float]:
        found: dict[int, float] = {}
        for number, one in odds.items():
            alike, as_far = self._alike[number] & joints.left & at_hand & ((1 << number) - 1), joints.count[number]
            other = next((other for other in bits_of(alike) if joints.count[other] == as_far), None) if alike else None
            if other is not None:
                found[other] = found.get(other, 0.0) + _EARLIER * one
                one *= 1.0 - _EARLIER
            found[number] = found.get(number, 0.0) + one
        return found


def _like_each(traits: Iterable[object]) -> list[int]:
    """For each of them those of the same trait, as bits."""
    listed = list(traits)
    found: dict[object, int] = {}
    for number, trait in enumerate(listed):
        found[trait] = found.get(trait, 0) | 1 << number
    return [found[trait] for trait in listed]


def bits_of(bits: int) -> Iterator[int]:
    """The numbers of the bits that are set, the lowest first."""
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def _lowest(bits: int) -> int:
    return (bits & -bits).bit_length() - 1


def _highest(bits: int) -> int:
    return bits.bit_length() - 1


def _next(bits: int, joint: int) -> int:
    """The next one from a joint on, that joint among them; behind the last one comes the first."""
    return _lowest(bits >> joint << joint or bits) if joint != NOWHERE else _lowest(bits)
