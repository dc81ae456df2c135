"""One reading of one wrench: the ways that each way so far can go on with, those alike as one."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from collector.expect.beam_back import go_back, go_round, redo_stages
from collector.expect.onward import Onward
from collector.expect.places import NOWHERE
from collector.expect.reading_odds import ReadingOdds
from collector.expect.way import Ahead
from collector.expect.ways import Away, Belief, Leaves, Node, Source, Visit, place_of
from collector.expect.within import opened

if TYPE_CHECKING:
    from collector.expect.beam import Beam

_LEAST_STATE = 3e-5
_LEAST_AHEAD = 1e-4
"""Nobody tries a wrench for a place that is as unlikely to come next as this."""
_WHOLE = 1.0 - 1e-9
"""The shares of a belief that is whole do not sum to one to the last digit."""
_NOT_BEGUN = Visit()
_STAYS, _FOR_GOOD, _IN_TURN, _TAKES_TURNS = (int(leaves) for leaves in Leaves)
_THERE, _TRIED, _ELSEWHERE = (int(away) for away in Away)
_LOOSENS = 0.5
"""A pull to the left at a joint that tightens to the right opens it, and is hardly ever anything else."""


class Found:
    """A way that a reading can lead to, before it is known whether it is kept."""

    __slots__ = ("begun", "full", "place", "sources", "visit", "weight")

    def __init__(self, visit: tuple[int, int, int, int], begun: int, full: int, place: int) -> None:
        self.visit, self.begun, self.full, self.place = visit, begun, full, place
        self.sources: list[Source] = []
        self.weight = 0.0


class Step:
    """What one reading makes of the ways so far."""

    def __init__(self, beam: "Beam", odds: ReadingOdds, wrench: int, last: int | None) -> None:
        self.beam, self.odds, self._wrench, self._last = beam, odds, wrench, last
        self.habits = habits = beam.own.habits
        self._best = self.least = 0.0
        self._drop = beam.drop
        self._parent = self._full = 0
        self._others: tuple[Visit, ...] = ()
        self._ahead: Ahead | None = None
        self._found: dict[object, Found] = {}
        self.onward = Onward(beam.within, odds, _LEAST_STATE if beam.drop else 0.0)
        self._shares = habits.stray, habits.tried_on, habits.other_on
        self._bursts = 1.0, *odds.bursts
        self._stage = 4.0 * odds.within * self.habits.by_fastener * max(odds.most_new, odds.most_tight)
        self._turns = habits.turns * max(odds.gaps.next, odds.gaps.stray) * odds.most_new
        self._redo, self._redo_on = odds.most_tight * habits.redo * odds.gaps.opened, odds.most_tight * odds.within
        # A place that is done is hardly begun anew.
        self.late = odds.most_tight * (habits.check_late + habits.redo) + odds.most_new * habits.reopened

    def found(self, nodes: list[Node]) -> Iterable[Found]:
        """All ways on, but for those too light beside the best."""
        for self._parent, node in enumerate(nodes):
            self._go_on(node)
        return self._found.values()

    def _go_on(self, node: Node) -> None:
        wrench, odds, visits = self._wrench, self.odds, node.visits
        if len(visits) <= wrench:
            visits += (_NOT_BEGUN,) * (wrench + 1 - len(visits))
        visit = visits[wrench]
        here, since, away, mate = visit
        self._others = visits[:wrench] + visits[wrench + 1 :] if len(visits) > 1 else ()
        self._full, self._ahead = node.full, None
        if odds.is_left and not self._turns_left(here):
            self._loosen(node, visit)
            if not self.beam.has_left_hand:
                return
        last = place_of(visits, self._last)
        weight = node.weight * (1.0 - self._shares[away])
        is_in_turn = mate != NOWHERE and self.beam.belief(node, mate).full <= 0.5
        if here != NOWHERE:
            after, total = self.onward.stay(node.beliefs[here], here, away != _THERE, is_in_turn)
            if after is not None:
                self.add(weight * total, (here, since, _THERE, mate), node.begun, here, after, _STAYS)
        belief = node.beliefs.get(here)
        leaving = weight * (1.0 if belief is None else belief.leave(self.beam.within[here]))
        if is_in_turn:
            self._turn(node, visit, weight)
            leaving *= 1.0 - self.habits.turns_on
        self._stray(node, visit, last, leaving)
        if belief is not None and belief.checking(self.beam.within[here]):
            leaving *= 1.0 - go_round(self, node, visit, leaving)
        self._move(node, visit, last, leaving)
        if belief is not None and mate == NOWHERE and weight * self._turns > self.least:
            self._take_turns(node, visit, last, weight)
        if belief is None or not self.beam.stages[here]:
            return
        if belief.full < _WHOLE and weight * self._stage > self.least:
            self._change_stage(node, here, weight)
        if weight * max(self._redo, self._redo_on * belief.redoing()) > self.least:
            redo_stages(self, node, visit, weight)

    def _stray(self, node: Node, visit: Visit, last: int, leaving: float) -> None:
        """By a click that belongs to nothing, which does not end a visit."""
        here, since, away, mate = visit
        habits = self.habits
        weight = node.weight * self._shares[away] * self._bursts[away]
        if not away:
            elsewhere = leaving * habits.other * self.odds.other
            self.add(elsewhere, (here, since, _ELSEWHERE, mate), node.begun, NOWHERE, None, _STAYS)
            if weight + leaving * habits.tried * self.odds.most_tried > self.least:
                weight += leaving * habits.tried * self._tried_next(node, here, last)
        self.add(weight, (here, since, away or _TRIED, mate), node.begun, NOWHERE, None, _STAYS)

    def _move(self, node: Node, visit: Visit, last: int, leaving: float) -> None:
        """To another place, where that is likely enough at all."""
        odds = self.odds
        most = leaving * odds.most_pause
        if most * odds.most_new > self.least:
            self._begin(node, visit, last, leaving)
        if node.beliefs and most * (odds.most_new + self.late) > self.least:
            go_back(self, node, visit, leaving)

    def add(
        self, weight: float, visit: tuple[int, int, int, int], begun: int, place: int, after: Belief | None, leaves: int
    ) -> None:
        if weight > self._best:
            self._best, self.least = weight, weight * self._drop
        elif weight <= self.least:
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
        plausible, found = self.odds.plausible, 0.0
        for place, share in self._next(node, here, last):
            if share < _LEAST_AHEAD:
                break
            if place in plausible:
                found += share * plausible[place].tried
        return found

    def _next(self, node: Node, here: int, last: int) -> Ahead:
        """The places that may be begun next, the likeliest first."""
        if self._ahead is None:
            self._ahead = self.beam.way.next(node.order, here, last, node.begun)
        return self._ahead

    def _turns_left(self, here: int) -> bool:
        return here != NOWHERE and self.beam.places[here].joint.left_hand

    def _loosen(self, node: Node, visit: Visit) -> None:
        """To the left on a thread that tightens to the right; where the plan has others, it may be one of them as well."""
        here, weight = visit.place, node.weight * (_LOOSENS if self.beam.has_left_hand else 1.0)
        if here == NOWHERE:
            self.add(weight, visit, node.begun, NOWHERE, None, _STAYS)
            return
        after = Belief(opened(node.beliefs[here].weights), self.beam.places[here].fasteners)
        self.add(weight, (here, visit.since, _THERE, visit.mate), node.begun, here, after, _STAYS)

    def _begin(self, node: Node, visit: Visit, last: int, leaving: float) -> None:
        """To places that nobody has begun, the likeliest first."""
        beam, odds, here = self.beam, self.odds, visit.place
        plausible, most = odds.plausible, odds.most_new * odds.most_pause * leaving
        came_from, leaves = (beam.places[here], _FOR_GOOD) if here != NOWHERE else (None, _STAYS)
        least = self.least
        for place, share in self._next(node, here, last):
            if most * share <= least:
                break
            if place not in plausible:
                continue
            after, total = self.onward.enter(beam.belief(node, place), place)
            weight = leaving * share * odds.pause_to(came_from, beam.places[place], visit.away) * total
            if weight > least:
                self.add(weight, (place, beam.taken, _THERE, NOWHERE), node.begun | 1 << place, place, after, leaves)
                least = self.least

    def _take_turns(self, node: Node, visit: Visit, last: int, weight: float) -> None:
        """To another place, whose fasteners are pulled in turn with those of this one: a new one, or one left unfinished."""
        beam, odds, here = self.beam, self.odds, visit.place
        belief = node.beliefs[here]
        if belief.full > 0.5:
            return
        pause = self._pause_in_turn(visit)
        ready, _ = belief.paused(beam.within[here], True)
        turning = weight * ready * self.habits.turns * pause
        for place, share in self._next(node, here, last):
            if turning * odds.most_new * share <= self.least:
                break
            if place in odds.plausible:
                after, total = self.onward.enter(beam.belief(node, place), place)
                begins = place, beam.taken, _THERE, here
                self.add(turning * share * total, begins, node.begun | 1 << place, place, after, _TAKES_TURNS)
        ready, _ = belief.paused(beam.within[here])
        turning = weight * ready * self.habits.turns * pause
        for place, other in node.beliefs.items():
            if place != here and other.full <= 0.5 and place in odds.plausible:
                after, total = self.onward.turn(other, place)
                if after is not None:
                    self.add(turning * total, (place, beam.taken, _THERE, here), node.begun, place, after, _IN_TURN)

    def _turn(self, node: Node, visit: Visit, weight: float) -> None:
        """To the next fastener of the place that is pulled in turn with this one."""
        beam, odds, here, mate = self.beam, self.odds, visit.place, visit.mate
        pause = self._pause_in_turn(visit)
        if mate not in odds.plausible or weight * pause * odds.most_new <= self.least:
            return
        belief = node.beliefs[here]
        ready, _ = belief.paused(beam.within[here])
        # Its joint may have been opened meanwhile.
        after, total = self.onward.turn(beam.belief(node, mate), mate)
        if after is not None:
            turning = weight * ready * self.habits.turns_on * pause * total
            back = here if belief.full <= 0.5 else NOWHERE
            self.add(turning, (mate, beam.taken, _THERE, back), node.begun | 1 << mate, mate, after, _IN_TURN)

    def _pause_in_turn(self, visit: Visit) -> float:
        """The odds of the pause before a fastener of another place, pulled in turn."""
        return self.odds.gaps.stray if visit.away else self.odds.gaps.next

    def _change_stage(self, node: Node, here: int, weight: float) -> None:
        """To another stage of the same fastener, round after round unfinished."""
        beam = self.beam
        for other in beam.stages[here]:
            place = other.index
            if place not in self.odds.plausible:
                continue
            is_begun = node.begun >> place & 1
            after, total = self.onward.enter(beam.belief(node, place), place)
            if after is not None:
                found = weight * self.odds.within * self.habits.by_fastener * (4.0 if is_begun else 1.0) * total
                self.add(found, (place, beam.taken, _THERE, NOWHERE), node.begun | 1 << place, place, after, _STAYS)
