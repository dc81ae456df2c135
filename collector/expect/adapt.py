"""What a log shows of its own fitter and wrenches, taken from a first story of it and drawn towards what is usual.

Each figure of the log counts as much as it has readings behind it, what is usual as much as so many readings as stand here.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import log
from statistics import median_high

from collector.expect.adapt_turns import Turns
from collector.expect.adapt_way import own_ways
from collector.expect.drawn import BELL, drawn_middle, drawn_sd, drawn_share, own_part
from collector.expect.habits import Habits
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import NOWHERE, Place
from collector.expect.settle import AtPlace, Settled
from collector.expect.within import CRAMPED, SHORT, START, Did, did_of, done_of

_SURE = 0.9
_USUAL_PAUSES = 8.0
_USUAL_PULLS = 30.0
_USUAL_JOINTS = 12.0
_USUAL_PAIRS = 4.0
"""Whoever takes one pair of joints in turn does so all day."""
_BIAS_PULLS = 3.0
_LEAST_TURN_SD = 0.6
"""Joints differ in how far they turn, whatever those of one log do."""
_LEAST_NEXT_SD = 0.25
_USUAL_STILLS = 10.0
_TURNED_DEG = 8.0
"""Below this a turn is hardly one, whatever the fastener did."""
_NEW = (Did.NEW, Did.NEW_LOW, Did.LOW_ALONE)


def adapt(places: tuple[Place, ...], own: Own, seen: Sequence[Seen], settled: Settled) -> Own:
    """The habits of this log: bias and spread by wrench, pauses, turns, how often what happens, and the order."""
    turns = Turns(seen, settled.chosen)
    pulls = _Pulls(places, seen, settled, turns)
    habits = own.habits
    rates = _rates(habits, settled, turns)
    return Own(
        replace(habits, **own_ways(places, habits, seen, settled), **pulls.shown(habits), **rates),
        bias={wrench: median_high(one) * len(one) / (len(one) + _BIAS_PULLS) for wrench, one in pulls.ratios.items()},
        spread={wrench: _spread(one, habits) for wrench, one in pulls.ratios.items()},
    )


class _Pulls:
    """The readings whose place is sure, looked through once."""

    def __init__(self, places: tuple[Place, ...], seen: Sequence[Seen], settled: Settled, turns: Turns) -> None:
        self.ratios: dict[str | None, list[float]] = {}
        self._nexts: list[float] = []
        self._joints: list[float] = []
        self._rounds: list[float] = []
        # Of all joints together: how far which of them turned is known no better than which was which.
        self._turns: dict[bool, list[float]] = {True: [], False: []}
        self._turns_again: list[float] = []
        self._stills: list[float] = []
        last: dict[str | None, int] = {}
        for number, at in settled.at.items():
            for rank, (index, state) in enumerate(zip(at.indices, at.path, strict=False)):
                if settled.shares[index][number] < _SURE:
                    continue
                if did_of(state) is Did.NEW:
                    self._take(seen[index], at, at.begins[rank])
                elif did_of(state) in (Did.AGAIN, Did.CHECK) and (angle_deg := seen[index].click.angle_deg) is not None:
                    self._stills.append(abs(angle_deg))
        for index, (one, number) in enumerate(zip(seen, settled.chosen, strict=True)):
            before = last.get(one.click.wrench, NOWHERE)
            if number != NOWHERE:
                last[one.click.wrench] = number
            if number != before and NOWHERE not in (number, before) and one.gap_s:
                is_round = places[number].joint is places[before].joint
                changes = self._rounds if is_round else self._joints
                (self._nexts if index in turns.indices else changes).append(log(one.gap_s))

    def _take(self, one: Seen, at: AtPlace, begins: bool) -> None:
        click, place = one.click, at.place
        _, target_nm, high_nm = place.shown_band(click.length_mm)
        if click.torque_nm is not None and not place.by_angle and click.torque_nm <= high_nm:
            self.ratios.setdefault(click.wrench, []).append(abs(click.torque_nm) / target_nm - 1.0)
        if click.angle_deg is not None and abs(click.angle_deg) > _TURNED_DEG:
            self._turns[place.begins].append(log(abs(click.angle_deg)))
            if not begins and one.before_deg is not None and abs(one.before_deg) > _TURNED_DEG:
                self._turns_again.append(log(abs(click.angle_deg / one.before_deg)))
        if one.gap_s and not begins:
            self._nexts.append(log(one.gap_s))

    def shown(self, habits: Habits) -> dict[str, float]:
        next_s, next_sd = _drawn(self._nexts, habits.next_s, habits.next_sd)
        joint_s, joint_sd = _drawn(self._joints, habits.joint_s, habits.joint_sd)
        round_s, round_sd = _drawn(self._rounds, habits.round_s, habits.round_sd)
        found = {"next_s": next_s, "next_sd": next_sd, "joint_s": joint_s, "joint_sd": joint_sd}
        turn_deg, turn_sd = _drawn(self._turns[True], habits.turn_deg, habits.turn_sd)
        later_deg, _ = _drawn(self._turns[False], habits.turn_later_deg, habits.turn_sd)
        found |= {"turn_deg": turn_deg, "turn_later_deg": later_deg, "turn_sd": max(turn_sd, _LEAST_TURN_SD)}
        # Around one, not around their own middle: what is asked is how alike one turn is to the one before.
        again_sd = max(_robust_sd([0.0, *self._turns_again], 0.0), _LEAST_NEXT_SD)
        found |= {"turn_next_sd": drawn_sd(own_part(len(self._turns_again), _USUAL_PAUSES), again_sd, habits.turn_next_sd)}
        found |= {"still_deg": drawn_share(sum(self._stills), len(self._stills), habits.still_deg, _USUAL_STILLS)}
        return {**found, "round_s": round_s, "round_sd": round_sd}


def _rates(habits: Habits, settled: Settled, turns: Turns) -> dict[str, float]:
    """How often a fastener is clicked again, a joint gone round again, a pull ends short, and a joint left unfinished."""
    pulls = again = low = low_more = more = rounds = unfinished = 0
    for number, at in settled.at.items():
        earlier = None if at.place.begins else settled.at.get(number - 1)
        before = earlier.path[-1] & CRAMPED if earlier is not None and earlier.path else START
        for rank, state in enumerate(at.path):
            did, did_before = did_of(state), did_of(before)
            pulls += did not in (Did.AGAIN, Did.CHECK)
            again += did is Did.AGAIN
            rounds += did is Did.CHECK and did_before is not Did.CHECK
            is_new = did in _NEW
            # After a stroke that was given up the next one is as anywhere.
            if before & CRAMPED and is_new and did_before not in SHORT:
                more += 1
                low_more += did is not Did.NEW
            elif is_new:
                low += did is not Did.NEW
            is_back = at.begins[rank] and rank > 0 and at.indices[rank] not in turns.indices
            unfinished += is_back and is_new and done_of(state) > 1
            before = state
    strays = sum(one == NOWHERE != before for before, one in zip((0, *settled.chosen), settled.chosen, strict=False))
    return {
        "again": drawn_share(again, pulls + again, habits.again, _USUAL_PULLS),
        "low": drawn_share(low, pulls - more, habits.low, 2.0 * _USUAL_PULLS),
        "low_more": drawn_share(low_more, more, habits.low_more, _USUAL_JOINTS),
        "check": drawn_share(rounds, max(len(settled.at), rounds), habits.check, _USUAL_JOINTS),
        "turns": drawn_share(turns.begun, max(len(settled.at) - turns.begun, turns.begun), habits.turns, _USUAL_PAIRS),
        "early": drawn_share(unfinished, pulls, habits.early, _USUAL_PULLS),
        "stray": drawn_share(strays, len(settled.chosen), habits.stray, 4.0 * _USUAL_PULLS),
    }


def _drawn(logs: Sequence[float], usual: float, usual_sd: float) -> tuple[float, float]:
    """Median and deviation of the logarithm, drawn towards what is usual."""
    if not logs:
        return usual, usual_sd
    middle = median_high(logs)
    own = own_part(len(logs), _USUAL_PAUSES)
    return drawn_middle(own, middle, usual), drawn_sd(own, max(_robust_sd(logs, middle), 0.25), usual_sd)


def _spread(ratios: Sequence[float], habits: Habits) -> float:
    sd = _robust_sd(ratios, median_high(ratios))
    return max(drawn_sd(own_part(len(ratios), _USUAL_PAUSES), sd, habits.spread), habits.spread_floor)


def _robust_sd(values: Sequence[float], middle: float) -> float:
    """The middle of the absolute deviations, as a standard deviation of a bell."""
    return BELL * median_high([abs(value - middle) for value in values])
