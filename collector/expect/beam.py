"""The likeliest ways through a log, kept side by side: which place each reading is at, with what is done at every place.

A way is a row of visits: a wrench stays at a place for a run of readings. Within a visit what happens is an exact chain
(`within`), so a way holds a whole belief for each place and not a guess. Ways that can hardly be told apart by what is to
come, with the same visits under way, the same places begun and the same ones done, become one; their beliefs and orders are
mixed by weight.
"""

from math import prod
from operator import mul
from typing import NamedTuple

from collector.expect.beam_step import Found, Step
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import NOWHERE, Place
from collector.expect.reading_odds import Looks, ReadingOdds
from collector.expect.rows import Rows
from collector.expect.way import Order, Way
from collector.expect.ways import Belief, Layer, Leaves, Node, Source, Visit, layer_of, mixed, place_of
from collector.expect.within import START, Within, opened

_MOST_SPARED = 1000
"""So many ways may be saved up and spent at once, where much gets open."""


class Effort(NamedTuple):
    """How many ways are kept: none lighter than the share `drop` of the heaviest one, and at most `width` after a reading.

    `on_average` are those that a long log may have; what is spared where little is open is spent where much is.
    """

    drop: float
    width: int = 100
    on_average: int = 40


EXACT = Effort(0.0)
"""None is dropped and none are merged: every way there is, for tiny plans."""


class Beam:
    """Takes readings one after the other; `nodes` are the ways so far, the heaviest first, weights with a sum of one.

    `is_shared`: the readings are of two people.
    """

    def __init__(self, places: tuple[Place, ...], own: Own, effort: Effort, *, is_shared: bool = False) -> None:
        self.places = places
        self.own = own
        self.layers: list[Layer] = []
        self.taken = 0
        self.drop = effort.drop
        self.way = Way(places, own.habits, is_shared=is_shared)
        self.nodes = [Node((), 0, 0, {}, 1.0, NOWHERE, self.way.usual)]
        by_count = {place.fasteners: Within(place.fasteners, own.habits) for place in places}
        self.within = [by_count[place.fasteners] for place in places]
        self.rows = Rows(places)
        self.stages = [[other for other in places if other.joint is one.joint and other is not one] for one in places]
        self._start = Belief({START: 1.0}, 1)
        self._before = [NOWHERE if place.begins else place.index - 1 for place in places]
        self._effort = effort
        self._spare = _MOST_SPARED
        self.has_left_hand = any(place.joint.left_hand for place in places)
        self._looks = Looks(places)
        self._wrenches: dict[str | None, int] = {}

    def take(self, seen: Seen) -> None:
        """Go one reading on."""
        wrench = self._wrenches.setdefault(seen.click.wrench, len(self._wrenches))
        odds = ReadingOdds(self._looks, self.own, seen)
        last = None if seen.after is None else self._wrenches.get(seen.after.wrench)
        step = Step(self, odds, wrench, last)
        found = sorted(step.found(self.nodes), key=lambda one: -one.weight)
        kept = found
        if self.drop:
            least = found[0].weight * self.drop
            kept = [one for one in found[: min(self._effort.width, self._spare)] if one.weight >= least]
            self._spare = min(self._spare + self._effort.on_average - len(kept), _MOST_SPARED)
        total = sum([one.weight for one in kept])
        lost = found[len(kept) :]
        self.layers.append(
            layer_of([(one.place, one.sources) for one in kept], [(one.place, one.sources) for one in lost], total)
        )
        self.nodes = [self._node(one, wrench, last, total) for one in kept]
        if odds.is_left:
            self._reopen()
        self.taken += 1

    def belief(self, node: Node, place: int) -> Belief:
        """What is believed of a place on a way; of one not begun the round before tells whether there is room to swing."""
        belief = node.beliefs.get(place)
        if belief is None:
            before = node.beliefs.get(self._before[place])
            belief = self._start if before is None else before.then(self._start)
        return belief

    def is_over(self, node: Node, place: Place) -> bool:
        """Whether the plan has the same stage of that joint in a later pass, which was begun."""
        later = (one for one in self.stages[place.index] if one.index > place.index)
        return any(one.stage is place.stage and one.index in node.beliefs for one in later)

    def end(self) -> None:
        """The log is over: what is under way stays as it is, and is the less likely the less it is finished."""
        habits = self.own.habits
        for node in self.nodes:
            node.beliefs = dict(node.beliefs)
            is_whole = len(node.beliefs) == len(self.places)
            stop = habits.stop if is_whole else habits.stop_early
            node.weight *= 1.0 if is_whole else habits.left_out
            under_way = {place for visit in node.visits for place in (visit.place, visit.mate)}
            for place in under_way & node.beliefs.keys():
                within = self.within[place]
                weights = {state: one * within.stopped(state, stop) for state, one in node.beliefs[place].weights.items()}
                total = sum(weights.values())
                node.beliefs[place] = Belief({state: one / total for state, one in weights.items()}, within.fasteners)
                node.weight *= total
        total = sum(node.weight for node in self.nodes)
        for node in self.nodes:
            node.weight /= total

    def p_full(self, place: int) -> float:
        """The probability that every fastener of a place was touched."""
        return sum(node.weight * node.beliefs[place].full for node in self.nodes if place in node.beliefs)

    def p_all_full(self) -> float:
        """The probability that every fastener of every place was touched; nought where there were too few readings for that."""
        if self.taken < sum(place.fasteners for place in self.places):
            return 0.0
        whole = (node for node in self.nodes if len(node.beliefs) == len(self.places))
        return sum(node.weight * prod(belief.full for belief in node.beliefs.values()) for node in whole)

    def _reopen(self) -> None:
        """What a loosening at one stage opens besides: the other stages, and where the plan says so the whole joint."""
        for node in self.nodes:
            if node.place == NOWHERE or self.places[node.place].joint.left_hand:
                continue
            whole = self.places[node.place].joint.reopen_joint
            opens = self.stages[node.place] + ([self.places[node.place]] if whole else [])
            node.believe({
                place.index: Belief(opened(belief.weights, whole=whole), place.fasteners)
                for place in opens if (belief := node.beliefs.get(place.index)) is not None
            })  # fmt: skip

    def _node(self, found: Found, wrench: int, last: int | None, total: float) -> Node:
        """A way that is kept; the sources of what became one are mixed, the heaviest first."""
        sources, place = found.sources, found.place
        if len(sources) > 1:
            sources.sort(reverse=True, key=lambda source: source[0])
        first = sources[0]
        beliefs, so_far = self._beliefs(first, place, wrench), first[0]
        for source in sources[1:]:
            so_far += source[0]
            beliefs = self._mixed(beliefs, self._beliefs(source, place, wrench), source[0] / so_far)
        visits, visit = self.nodes[first[1]].visits, Visit(*found.visit)
        if len(visits) > 1 or wrench:
            visits += (Visit(),) * (wrench + 1 - len(visits))
            visits = (*visits[:wrench], visit, *visits[wrench + 1 :])
        else:
            visits = (visit,)
        return Node(visits, found.begun, found.full, beliefs, found.weight / total, place, self._order(found, wrench, last))

    def _order(self, found: Found, wrench: int, last: int | None) -> Order:
        """How far each habit of order is followed, by all the sources; a step to a place that nobody had begun tells of it."""
        orders = [self._followed(self.nodes[source[1]], found, wrench, last) for source in found.sources]
        if len(orders) == 1 or all(order is orders[0] for order in orders):
            return orders[0]
        shares = [source[0] / found.weight for source in found.sources]
        return tuple([sum(map(mul, shares, ones)) for ones in zip(*orders, strict=True)])

    def _followed(self, node: Node, found: Found, wrench: int, last: int | None) -> Order:
        if found.begun == node.begun:
            return node.order
        here, there = place_of(node.visits, wrench), place_of(node.visits, last)
        return self.way.followed(node.order, here, there, node.begun, found.place)

    def _beliefs(self, source: Source, place: int, wrench: int) -> dict[int, Belief]:
        _, before, after, leaves = source
        parent = self.nodes[before]
        if after is None:
            return parent.beliefs
        beliefs = parent.beliefs.copy()
        if leaves:
            here = parent.visits[wrench].place
            belief, within = beliefs[here], self.within[here]
            if leaves == Leaves.FOR_GOOD:
                beliefs[here] = belief.left(within)
            else:
                _, beliefs[here] = belief.paused(within, leaves == Leaves.TAKES_TURNS)
        beliefs[place] = after
        return beliefs

    def _mixed(self, mine: dict[int, Belief], other: dict[int, Belief], share: float) -> dict[int, Belief]:
        # Both have the same places begun; most of them are the same beliefs.
        changed = {
            place: mixed(belief, theirs, share, self.within[place].fasteners)
            for place, belief in mine.items()
            if (theirs := other[place]) is not belief
        }
        return {**mine, **changed} if changed else mine
