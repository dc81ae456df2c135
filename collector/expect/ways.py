"""What a way through a log is made of: beliefs, visits, nodes, and what is kept of a reading for looking back."""

from array import array
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

from collector.expect.places import NOWHERE
from collector.expect.way import Order
from collector.expect.within import CRAMPED, LASTING, ONE_DONE, ONLY_DONE, START, State, Within, is_check, is_redo

_HARDLY = 1e-3
"""Nobody looks whether there is room to swing where it is less likely than this that there is none."""


class Belief:
    """What is done at one place: a weight for each state, with a sum of one; `full`: every fastener was touched."""

    __slots__ = ("_checking", "_leaving", "_left", "_paused", "_redoing", "_then", "full", "weights")

    def __init__(self, weights: dict[State, float], fasteners: int) -> None:
        self.weights = weights
        done, full = fasteners * ONE_DONE, 0.0
        for state, weight in weights.items():
            if state & ONLY_DONE == done:
                full += weight
        self.full = full
        self._left: Belief | None = None
        self._leaving = self._checking = self._redoing = -1.0
        self._paused: tuple[float, Belief] | None = None
        self._then: Belief | None = None

    def leave(self, within: Within) -> float:
        """How likely the place is left; worked out once, since many ways share a belief."""
        if self._leaving < 0.0:
            leaves, leaving = within.leaves, 0.0
            for state, weight in self.weights.items():
                leaving += weight * leaves[state]
            self._leaving = leaving
        return self._leaving

    def checking(self, within: Within) -> float:
        """How likely whoever leaves the place has just gone round it again."""
        if self._checking < 0.0:
            leaves, weights = within.leaves, self.weights
            self._checking = sum([weights[state] * leaves[state] for state in weights if is_check(state)])
            if self._checking:
                self._checking /= self.leave(within)
        return self._checking

    def redoing(self) -> float:
        """How likely the last click was on a fastener that was opened unseen."""
        if self._redoing < 0.0:
            self._redoing = sum([weight for state, weight in self.weights.items() if is_redo(state)])
        return self._redoing

    def left(self, within: Within) -> "Belief":
        """The belief once the wrench has left: what the last click was counts no more."""
        if self._left is None:
            scale = 1.0 / self.leave(within)
            weights: dict[State, float] = {}
            for state, weight in self.weights.items():
                lasting = state & LASTING
                weights[lasting] = weights.get(lasting, 0.0) + weight * within.leaves[state] * scale
            self._left = Belief(weights, within.fasteners)
        return self._left

    def paused(self, within: Within, only_first: bool = False) -> tuple[float, "Belief"]:
        """How likely no fastener is in the midst of its strokes, and the belief then; `only_first`: and just one was touched."""
        if only_first:
            return self._ready({state: one for state, one in self.weights.items() if state & ONLY_DONE == ONE_DONE}, within)
        if self._paused is None:
            self._paused = self._ready(self.weights, within)
        return self._paused

    def then(self, start: "Belief") -> "Belief":
        """What is believed of the next stage of the joint before it is begun: `start`, but for the room there is to swing."""
        if self._then is None:
            cramped = sum([weight for state, weight in self.weights.items() if state & CRAMPED])
            is_likely = cramped > _HARDLY
            self._then = Belief({START: 1.0 - cramped, CRAMPED: cramped}, 1) if is_likely else start
        return self._then

    @staticmethod
    def _ready(weights: dict[State, float], within: Within) -> tuple[float, "Belief"]:
        ready: dict[State, float] = {}
        for state, weight in weights.items():
            lasting = state & LASTING
            ready[lasting] = ready.get(lasting, 0.0) + weight * within.pauses[state]
        total = sum(ready.values())
        return total, Belief({state: weight / total for state, weight in ready.items()} if total else {}, within.fasteners)


def mixed(mine: Belief, other: Belief, share: float, fasteners: int) -> Belief:
    """Two beliefs as one; `share` is the other's."""
    weights = {state: weight * (1.0 - share) for state, weight in mine.weights.items()}
    for state, weight in other.weights.items():
        weights[state] = weights.get(state, 0.0) + weight * share
    return Belief(weights, fasteners)


class Away(IntEnum):
    """What the last click of a wrench was, beside the place that it is at."""

    THERE = 0
    """One of that place."""
    TRIED = 1
    """A trial or any odd one."""
    ELSEWHERE = 2
    """One on another vehicle."""


class Visit(NamedTuple):
    """Where a wrench is: the place, at which reading it came there, and whether a click that belonged to nothing came since.

    `mate` is the place whose fasteners are pulled in turn with those of this one.
    """

    place: int = NOWHERE
    since: int = 0
    away: int = Away.THERE
    mate: int = NOWHERE


class Leaves(IntEnum):
    """How a wrench goes from one place to another."""

    STAYS = 0
    FOR_GOOD = 1
    IN_TURN = 2
    """For one fastener, and back."""
    TAKES_TURNS = 3
    """The same for the first time."""


def place_of(visits: tuple[Visit, ...], wrench: int | None) -> int:
    """Where a wrench is; NOWHERE where it was not used yet."""
    return visits[wrench].place if wrench is not None and wrench < len(visits) else NOWHERE


@dataclass(slots=True)
class Node:
    """One way up to a reading: the visit of each wrench, the places begun as bits, what is done at each, its weight.

    `full` are the places, as bits, that were rather done than not when last worked. `place` is that of the reading. `order` is
    how far each habit of order is followed.
    """

    visits: tuple[Visit, ...]
    begun: int
    full: int
    beliefs: dict[int, Belief]
    weight: float
    place: int
    order: Order

    def believe(self, changed: Mapping[int, Belief]) -> None:
        """Of these places something else is believed now; other ways may share what was believed before."""
        self.beliefs = {**self.beliefs, **changed}
        for place, belief in changed.items():
            self.full = self.full | 1 << place if belief.full > 0.5 else self.full & ~(1 << place)

    def forget(self, places: Collection[int]) -> None:
        """These places are as good as never begun."""
        self.beliefs = {place: belief for place, belief in self.beliefs.items() if place not in places}
        for place in places:
            self.begun, self.full = self.begun & ~(1 << place), self.full & ~(1 << place)


Source = tuple[float, int, Belief | None, int]
"""One of the ways that lead to a node: its weight, the node before, the belief about the place now, how it left one."""


@dataclass(frozen=True, slots=True)
class Layer:
    """What is kept of a reading when the ways have gone on: the place of each node, and the links to those before it.

    `lost_*` are those of the ways that were given up here; their weights are beside a weight of one of all that are kept.
    """

    places: "array[int]"
    parents: "array[int]"
    children: "array[int]"
    shares: "array[float]"
    lost_places: "array[int]"
    lost_parents: "array[int]"
    lost_weights: "array[float]"


def layer_of(kept: Iterable[tuple[int, list[Source]]], lost: Iterable[tuple[int, list[Source]]], total: float) -> Layer:
    """The places and links of a reading, by place and sources of each node; the shares of the links into one sum to one.

    `total` is the weight of all that are kept.
    """
    layer = Layer(array("h"), array("h"), array("h"), array("f"), array("h"), array("h"), array("f"))
    for child, (place, found) in enumerate(kept):
        layer.places.append(place)
        weight = sum([source[0] for source in found])
        for source in found:
            layer.parents.append(source[1])
            layer.children.append(child)
            layer.shares.append(source[0] / weight)
    summed: dict[tuple[int, int], float] = {}
    for place, found in lost:
        for source in found:
            key = place, source[1]
            summed[key] = summed.get(key, 0.0) + source[0]
    for (place, parent), weight in summed.items():
        layer.lost_places.append(place)
        layer.lost_parents.append(parent)
        layer.lost_weights.append(weight / total)
    return layer
