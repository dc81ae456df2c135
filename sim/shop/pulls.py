"""What a wrench shows of one act, and how long it took to get there: torque, angle and gap, each drawn on its own."""

import math
import random
from dataclasses import dataclass

from sim.shop.chain import Act, Gap
from sim.shop.fitters import Habits

OVER_SHARES = (1.02, 1.12)
"""An over-pull ends between these shares of the upper edge."""
GIVEN_UP_SHARES = (0.7, 0.97)
"""A pull given up ends between these shares of the lower edge."""
FIRST_STROKE_SHARES = (0.3, 0.9)
"""The first of several strokes ends between these shares of the lower edge."""
NEXT_STROKE_SHARES = (0.15, 0.8)
"""A further short stroke goes between these shares of the way from the last one to `STROKES_TOP` of the lower edge."""
STROKES_TOP = 0.98
CLICK_AGAIN = 1.005
"""A click on a tight fastener shows this share of a tightening, on average."""
ON_TIGHT_DEG = {Act.AGAIN: 4.0, Act.SLIP: 4.0, Act.RECHECK: 5.0}
"""The acts on a fastener that is tight, each with the most that it turns."""
PART_TURN, PART_SPREAD = 0.4, 0.4
"""One of several strokes turns this share of the whole, give or take (deviation of the logarithm)."""

IN_PARTS = (Act.STROKE, Act.ENDING, Act.GAVE_UP)
"""The acts that turn a fastener only a part of its way."""


@dataclass(frozen=True, slots=True)
class Place:
    """One joint and stage on one day: its band, what the wrench shows there, how far its fasteners turn.

    `shown_nm` is the middle of what a finished pull shows, with the fitter's way and the wrench's error in it, and
    `spread_nm` its deviation. `turn_deg` is the whole turn of a fastener and `turn_spread` the deviation of its logarithm.
    `slots` are the positions in the order of pulling.
    """

    joint: str
    stage: int
    is_final: bool
    slots: tuple[int, ...]
    wrench: str
    low_nm: float
    high_nm: float
    shown_nm: float
    spread_nm: float
    turn_deg: float
    turn_spread: float


def draw_torque(act: Act, place: Place, before_nm: float | None, rng: random.Random) -> float:
    """The torque shown in N·m; `before_nm` is what the last short stroke on the same fastener showed, None at the first."""
    match act:
        case Act.OVER:
            return place.high_nm * rng.uniform(*OVER_SHARES)
        case Act.LEFT | Act.GAVE_UP:
            return place.low_nm * rng.uniform(*GIVEN_UP_SHARES)
        case Act.STROKE:
            if before_nm is None:
                return place.low_nm * rng.uniform(*FIRST_STROKE_SHARES)
            return before_nm + (place.low_nm * STROKES_TOP - before_nm) * rng.uniform(*NEXT_STROKE_SHARES)
    middle = place.shown_nm * (CLICK_AGAIN if act in ON_TIGHT_DEG else 1)
    return rng.gauss(middle, place.spread_nm)


def draw_angle(act: Act, place: Place, rng: random.Random) -> float:
    """The angle turned in degrees."""
    if act in ON_TIGHT_DEG:
        return rng.uniform(0, ON_TIGHT_DEG[act])
    if act in IN_PARTS:
        return place.turn_deg * PART_TURN * math.exp(rng.gauss(0, PART_SPREAD))
    return place.turn_deg * math.exp(rng.gauss(0, place.turn_spread))


def gap_shape(gap: Gap, habits: Habits) -> tuple[float, float]:
    """Median in s and deviation of the logarithm of a gap; a second click has none of these, see `QUICK_S`."""
    return {
        Gap.MOVE: (habits.move_s, 0.35),
        Gap.STROKE: (1.8, 0.3),
        Gap.RETRY: (3.5, 0.4),
        Gap.QUICK: (1.7, 0.5),
        Gap.OPENED: (45.0, 0.4),
        Gap.ROUND: (2.5 * habits.move_s, 0.5),
        Gap.CHECK: (0.7 * habits.move_s, 0.35),
        Gap.LATE: (habits.between_s, 0.6),
    }[gap]


QUICK_S = (0.7, 4.0)
"""A second click comes within these bounds, all alike."""


def draw_gap(gap: Gap, habits: Habits, rng: random.Random) -> float:
    """The time in s since the reading before."""
    if gap is Gap.QUICK:
        return rng.uniform(*QUICK_S)
    median, spread = gap_shape(gap, habits)
    return median * math.exp(rng.gauss(0, spread))
