"""One reading of one wrench: the ways that each way so far can go on with, those alike as one."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from collector.expect.odds import Odds
from collector.expect.places import NOWHERE
from collector.expect.reading_odds import ReadingOdds
from collector.expect.ways import Belief, Node, Source, Visit, place_of
from collector.expect.within import Move, State, opened

if TYPE_CHECKING:
    from collector.expect.beam import Beam

Moves = Mapping[State, list[Move]]

_LEAST_STATE = 3e-5
_WHOLE = 1.0 - 1e-9
"""The shares of a belief that is whole do not sum to one to the last digit."""
_NOT_BEGUN = Visit()
_LOOSENS = 0.5
"""A pull to the left at a joint that tightens to the right opens it, and is hardly ever anything else."""


class Found:
    """A way that a reading can lead to, before it is known whether it is kept."""

    __slots__ = ("begun", "full", "place", "sources", "visit", "weight")

    def __init__(self, visit: tuple[int, int, bool], begun: int, full: int, place: int) -> None:
        self.visit, self.begun, self.full, self.place = visit, begun, full, place
        self.sources: list[Source] = []
        self.weight = 0.0


class Step:
    """What one reading makes of the ways so far."""

    def __init__(self, beam: "Beam", odds: ReadingOdds, wrench: int, last: int | None) -> None:
        self._beam, self._odds, self._wrench, self._last = beam, odds, wrench, last
        self._habits = beam.own.habits
        self._best = self._least = 0.0
        self._drop = beam.drop
        self._parent = self._full = 0
        self._others: tuple[Visit, ...] = ()
        self._ahead: list[tuple[int, float]] | None = None
        self._found: dict[object, Found] = {}
        self._stayed: dict[tuple[int, bool], tuple[Belief | None, float, Belief]] = {}
        self._entered: dict[tuple[int, int], tuple[Belief | None, float, Belief]] = {}
        self._burst = odds.burst
        self._stage = 4.0 * odds.within * self._habits.by_fastener * max(odds.most_new, odds.most_tight)
        # A place that is done is hardly begun anew.
        self._late = odds.most_tight * max(self._habits.check_late, self._habits.redo)

    def found(self, nodes: list[Node]) -> Iterable[Found]:
        """All ways on, but for those too light beside the best."""
        for self._parent, node in enumerate(nodes):
            self._go_on(node)
        return self._found.values()

    def _go_on(self, node: Node) -> None:
        wrench, odds, visits = self._wrench, self._odds, node.visits
        if len(visits) <= wrench:
            visits += (_NOT_BEGUN,) * (wrench + 1 - len(visits))
        visit = visits[wrench]
        here, since, away = visit
        self._others = visits[:wrench] + visits[wrench + 1 :] if len(visits) > 1 else ()
        self._full, self._ahead = node.full, None
        if odds.is_left and not self._turns_left(here):
            self._loosen(node, visit)
            if not self._beam.has_left_hand:
                return
        last = place_of(visits, self._last)
        habits = self._habits
        share = habits.stray_on if away else habits.stray
        weight = node.weight * (1.0 - share)
        if here != NOWHERE:
            after, total = self._stay(node.beliefs[here], here, away)
            if after is not None:
                self._add(weight * total, (here, since, False), node.begun, here, after, False)
        belief = node.beliefs.get(here)
        leaving = weight * (1.0 if belief is None else belief.leave(self._beam.within[here]))
        stray = node.weight * share * (self._burst if away else 1.0)
        if not away:
            stray += leaving * habits.other * odds.other
            if leaving * habits.tried * odds.most_tried > self._least:
                stray += leaving * habits.tried * self._tried_next(node, here, last)
        # A click that belongs to nothing does not end a visit.
        self._add(stray, (here, since, True), node.begun, NOWHERE, None, False)
        self._move(node, visit, last, leaving)
        if belief is not None and belief.full < _WHOLE and weight * self._stage > self._least:
            self._change_stage(node, here, weight)

    def _move(self, node: Node, visit: Visit, last: int, leaving: float) -> None:
        """To another place, where that is likely enough at all."""
        odds, begun = self._odds, len(node.beliefs)
        most = leaving * odds.most_pause
        if most * odds.most_new > self._least:
            self._begin(node, visit, last, leaving)
        if begun and most * max(odds.most_new * self._habits.back, self._late / begun) > self._least:
            self._return(node, visit, leaving)

    def _add(
        self, weight: float, visit: tuple[int, int, bool], begun: int, place: int, after: Belief | None, leaves: bool
    ) -> None:
        if weight > self._best:
            self._best, self._least = weight, weight * self._drop
        elif weight <= self._least:
            return
        full = self._full
        if after is not None:
            # Which of two alike places lacks fasteners must not be mixed up: what is done there hangs together.
            full = full | 1 << place if after.full > 0.5 else full & ~(1 << place)
        key: object = (visit, begun, full, self._others) if self._drop else len(self._found)
        found = self._found.get(key)
        if found is None:
            found = self._found[key] = Found(visit, begun, full, place)
        found.weight += weight
        found.sources.append((weight, self._parent, after, leaves))

    def _tried_next(self, node: Node, here: int, last: int) -> float:
        """How well the reading fits a click on the bench at the torque of a place that comes next."""
        plausible = self._odds.plausible
        return sum([odds * plausible[place][10] for place, odds in self._next(node, here, last)])

    def _next(self, node: Node, here: int, last: int) -> list[tuple[int, float]]:
        """The places that may be begun next and that the reading fits, the likeliest first."""
        if self._ahead is None:
            self._ahead = self._beam.way.next(node.order, here, last, node.begun, self._odds.plausible)
        return self._ahead

    def _stay(self, belief: Belief, place: int, away: bool) -> tuple[Belief | None, float]:
        key = id(belief), away
        known = self._stayed.get(key)
        if known is None:
            odds = self._odds.back_at(place) if away else self._odds.at(place)
            # The belief itself is kept beside, so that no other one gets its number.
            known = self._stayed[key] = (*self._forward(belief, place, odds, self._beam.within[place].stays[odds[0]]), belief)
        return known[0], known[1]

    def _enter(self, belief: Belief, place: int) -> tuple[Belief | None, float]:
        key = id(belief), place
        known = self._entered.get(key)
        if known is None:
            odds = self._odds.at(place)
            known = self._entered[key] = (*self._forward(belief, place, odds, self._beam.within[place].enters[odds[0]]), belief)
        return known[0], known[1]

    def _forward(self, belief: Belief, place: int, odds: Odds, moves: Moves) -> tuple[Belief | None, float]:
        """The belief one reading on, without the states that hardly weigh anything, and the weight that it had."""
        reached: dict[int, float] = {}
        for state, weight in belief.weights.items():
            for after, share, what in moves[state]:
                if after in reached:
                    reached[after] += weight * share * odds[what]
                else:
                    reached[after] = weight * share * odds[what]
        total = sum(reached.values())
        if total <= 0.0:
            return None, 0.0
        least = _LEAST_STATE * total if self._beam.drop else 0.0
        kept = {state: weight / total for state, weight in reached.items() if weight > least}
        return Belief(kept, self._beam.places[place].fasteners), total

    def _turns_left(self, here: int) -> bool:
        return here != NOWHERE and self._beam.places[here].joint.left_hand

    def _loosen(self, node: Node, visit: Visit) -> None:
        """To the left on a thread that tightens to the right; where the plan has others, it may be one of them as well."""
        here, weight = visit.place, node.weight * (_LOOSENS if self._beam.has_left_hand else 1.0)
        if here == NOWHERE:
            self._add(weight, visit, node.begun, NOWHERE, None, False)
            return
        after = Belief(opened(node.beliefs[here].weights), self._beam.places[here].fasteners)
        self._add(weight, (here, visit.since, False), node.begun, here, after, False)

    def _begin(self, node: Node, visit: Visit, last: int, leaving: float) -> None:
        """To places that nobody has begun, the likeliest first."""
        beam, odds, here = self._beam, self._odds, visit.place
        plausible, most = odds.plausible, odds.most_new * odds.most_pause * leaving
        came_from = beam.places[here] if here != NOWHERE else None
        least = self._least
        for place, share in self._next(node, here, last):
            if most * share <= least:
                break
            one = plausible[place]
            low = self._habits.low if one[0] else 1.0 - self._habits.low
            weight = leaving * share * odds.pause_to(came_from, beam.places[place], visit.away) * low * one[7]
            if weight > least:
                begins = (place, beam.taken, False)
                self._add(weight, begins, node.begun | 1 << place, place, beam.first[place][one[0]], here != NOWHERE)
                least = self._least

    def _return(self, node: Node, visit: Visit, leaving: float) -> None:
        """Back to places that were begun."""
        beam, odds, here = self._beam, self._odds, visit.place
        came_from = beam.places[here] if here != NOWHERE else None
        most_new, late = self._habits.back * odds.most_new, self._late / len(node.beliefs)
        least = self._least / (leaving * odds.most_pause)
        for place, belief in node.beliefs.items():
            is_done = belief.full > 0.5
            if late + (0.5 if is_done else 1.0) * most_new * (1.0 - belief.full) <= least or place == here:
                continue
            if place not in odds.plausible:
                continue
            # Which one of those that are done is gone round again, nobody knows.
            found = leaving * odds.pause_to(came_from, beam.places[place], visit.away) / (len(node.beliefs) if is_done else 1)
            after, total = self._enter(belief, place)
            if after is not None:
                self._add(found * total, (place, beam.taken, False), node.begun, place, after, here != NOWHERE)

    def _change_stage(self, node: Node, here: int, weight: float) -> None:
        """To another stage of the same fastener, round after round unfinished."""
        beam = self._beam
        for other in beam.stages[here]:
            place = other.index
            if place not in self._odds.plausible:
                continue
            is_begun = node.begun >> place & 1
            after, total = self._enter(node.beliefs.get(place, beam.start), place)
            if after is not None:
                found = weight * self._odds.within * self._habits.by_fastener * (4.0 if is_begun else 1.0) * total
                self._add(found, (place, beam.taken, False), node.begun | 1 << place, place, after, False)
