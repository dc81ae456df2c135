"""What one reading makes of the belief about a place, each worked out once: many ways share a belief."""

from collections.abc import Mapping, Sequence

from collector.expect.odds import Odds
from collector.expect.reading_odds import ReadingOdds
from collector.expect.ways import Belief
from collector.expect.within import Move, State, Within

Moves = Mapping[State, list[Move]]
Went = tuple[Belief | None, float]


class Onward:
    """The beliefs one reading on, each with the weight that it had: None and nought where the reading cannot be there.

    `within` are the moves of each place; states lighter than the share `least` are given up.
    """

    def __init__(self, within: Sequence[Within], odds: ReadingOdds, least: float) -> None:
        self._within, self._odds, self._least = within, odds, least
        # The belief itself is kept beside, so that no other one gets its number; the moves live as long as the places do.
        self._known: dict[tuple[int, int, int, bool], tuple[Went, Belief]] = {}

    def stay(self, belief: Belief, place: int, is_back: bool, is_in_turn: bool) -> Went:
        """At the same place: `is_back` after a click that belonged to nothing, `is_in_turn` with those of another place."""
        within = self._within[place]
        return self._go(belief, place, within.stays_in_turn if is_in_turn else within.stays, is_back)

    def enter(self, belief: Belief, place: int) -> Went:
        """From another place, without the odds of the way there."""
        return self._go(belief, place, self._within[place].enters)

    def go_round(self, belief: Belief, place: int) -> Went:
        """From another place that was gone round again, to this one of the same row."""
        return self._go(belief, place, self._within[place].goes_round)

    def redo(self, belief: Belief, place: int) -> Went:
        """From another stage of a joint, where one fastener was opened unseen and is done anew."""
        return self._go(belief, place, self._within[place].redoes)

    def turn(self, belief: Belief, place: int) -> Went:
        """From the place that is pulled in turn with this one, without the odds of the pause."""
        return self._go(belief, place, self._within[place].turns)

    def _go(self, belief: Belief, place: int, moves: tuple[Moves, Moves], is_back: bool = False) -> Went:
        key = id(belief), place, id(moves), is_back
        known = self._known.get(key)
        if known is None:
            odds = self._odds.back_at(place) if is_back else self._odds.at(place)
            went = self._forward(belief, odds, moves[odds.is_low], self._within[place].fasteners)
            known = self._known[key] = went, belief
        return known[0]

    def _forward(self, belief: Belief, odds: Odds, moves: Moves, fasteners: int) -> Went:
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
        least = self._least * total
        return Belief({state: weight / total for state, weight in reached.items() if weight > least}, fasteners), total
