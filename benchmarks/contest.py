"""The matchers that are measured against each other, all behind one question: what was each reading, is all done."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.optimize import linear_sum_assignment

from benchmarks.oracle import ask_oracle
from collector.expect.click import Click
from collector.expect.smooth import LogAnswer, Placed, smooth_log
from schemas.passes import passes_of
from schemas.route import Band, Route
from schemas.words import Kind
from sim.shop.truth import ShopDay

SPREAD = 0.025
"""Assignment: the spread of a torque, as a share of the target."""
DISPLACED = 0.02
"""Assignment: what one place off the plan's order costs, in squared spreads."""
UNASSIGNED = 16.0
"""Assignment: what a reading that tightens nothing costs, in squared spreads."""


_STRAY = Placed(None, None, None, Kind.STRAY, 1.0)


class Contestant(Protocol):
    """Whoever answers for a log."""

    def answer(self, route: Route, clicks: Sequence[Click]) -> LogAnswer:
        """One place a reading, in the order of the log, and how sure it is that all was done."""
        ...


@dataclass(frozen=True, slots=True)
class Slot:
    """One fastener at one stage."""

    joint: str
    stage: int
    position: int
    band: Band


def slots_of(route: Route) -> tuple[Slot, ...]:
    """Every fastener at every measured stage, in the plan's order."""
    return tuple(
        Slot(one.joint.id, stage.number, position, stage.band)
        for one in passes_of(route)
        for stage in one.stages
        for position in one.joint.order_of(stage)
    )


class Smooth:
    """This program's matcher."""

    def answer(self, route: Route, clicks: Sequence[Click]) -> LogAnswer:
        """As it stands."""
        return smooth_log(route, clicks)


class InOrderRule:
    """The plan's order as the only clue: each reading is the next open fastener, one below its band stays at it."""

    def answer(self, route: Route, clicks: Sequence[Click]) -> LogAnswer:
        """Claims complete as soon as everything was counted once."""
        slots, placed, at = slots_of(route), list[Placed](), 0
        under: int | None = None
        for row, click in enumerate(clicks):
            if click.torque_nm is not None and click.torque_nm < 0 and placed:
                placed.append(_like(placed[-1], Kind.LOOSENING))
            elif at == len(slots):
                placed.append(_STRAY)
            else:
                if under is not None:
                    placed[under] = _like(placed[under], Kind.SHORT_PULL)
                placed.append(_in(slots[at]))
                is_under = click.torque_nm is not None and click.torque_nm < float(slots[at].band.low_nm)
                under = row if is_under else None
                at += not is_under
        return _counted(slots, set(range(at + (under is not None))), placed)


class Assignment:
    """The cheapest one-to-one match of readings and fasteners: torque off the target, place off the order, or neither."""

    def answer(self, route: Route, clicks: Sequence[Click]) -> LogAnswer:
        """What is assigned to no fastener is a second click on the one before; claims complete when all have a reading."""
        slots = slots_of(route)
        targets = np.array([float(slot.band.target_nm) for slot in slots])
        torques = np.array([np.inf if click.torque_nm is None else click.torque_nm for click in clicks])
        off = (torques[:, None] - targets) / (SPREAD * targets)
        displaced = np.abs(np.arange(len(clicks))[:, None] - np.arange(len(slots)))
        # Twice the price of no fastener at all is never paid, and keeps what is infinite out of the solver.
        cost = np.minimum(off**2 + DISPLACED * displaced, 2 * UNASSIGNED)
        rows, columns = linear_sum_assignment(np.hstack([cost, np.full((len(clicks), len(clicks)), UNASSIGNED)]))
        of_reading = {int(row): int(column) for row, column in zip(rows, columns, strict=True) if column < len(slots)}
        placed: list[Placed] = []
        for row in range(len(clicks)):
            if row in of_reading:
                placed.append(_in(slots[of_reading[row]]))
            elif placed and placed[-1].kind is not Kind.STRAY:
                placed.append(_like(placed[-1], Kind.REPEAT))
            else:
                placed.append(_STRAY)
        return _counted(slots, set(of_reading.values()), placed)


@dataclass(frozen=True, slots=True)
class Oracle:
    """Is told the day, all but what no log shows; it gives probabilities alone: nobody can do better with this log."""

    day: ShopDay

    def answer(self, route: Route, clicks: Sequence[Click]) -> LogAnswer:
        """Places no reading."""
        told = ask_oracle(self.day)
        return LogAnswer((), told.p_places, told.p_complete, {})


CONTESTANTS: Mapping[str, Callable[[ShopDay], Contestant]] = {
    "smooth": lambda _: Smooth(),
    "in order": lambda _: InOrderRule(),
    "assignment": lambda _: Assignment(),
    "oracle": Oracle,
}
"""Who takes part, by name; only the oracle looks at the day that it is made with."""


def _in(slot: Slot) -> Placed:
    return Placed(slot.joint, slot.stage, slot.position, Kind.TIGHTENING, 1.0)


def _like(placed: Placed, kind: Kind) -> Placed:
    return Placed(placed.joint, placed.stage, placed.position, kind, 1.0)


def _counted(slots: Sequence[Slot], done: set[int], placed: Sequence[Placed]) -> LogAnswer:
    """The answer of one who only counts: sure of what it counted, both ways."""
    wanted: dict[tuple[str, int], int] = {}
    got: dict[tuple[str, int], int] = {}
    for index, slot in enumerate(slots):
        place = (slot.joint, slot.stage)
        wanted[place] = wanted.get(place, 0) + 1
        got[place] = got.get(place, 0) + (index in done)
    p_places = {place: float(got[place] == count) for place, count in wanted.items()}
    return LogAnswer(tuple(placed), p_places, float(len(done) == len(slots)), got)
