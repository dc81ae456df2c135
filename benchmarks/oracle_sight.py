"""What one reading looks like for each thing that could have been done: the simulator's pulls, turned round."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sim.shop.chain import Act, Gap
from sim.shop.day import Secret
from sim.shop.fitters import Habits
from sim.shop.pulls import (
    CLICK_AGAIN,
    FIRST_STROKE_SHARES,
    GIVEN_UP_SHARES,
    IN_PARTS,
    NEXT_STROKE_SHARES,
    ON_TIGHT_DEG,
    OVER_SHARES,
    PART_SPREAD,
    PART_TURN,
    QUICK_S,
    STROKES_TOP,
    Place,
    gap_shape,
)
from sim.shop.truth import ShopDay

_DIGIT = 0.1
_FLOOR = 1e-9


@dataclass(frozen=True, slots=True)
class Sight:
    """Likelihoods of one reading: by act, of a first stroke, and of the gap before it by what the gap was spent on.

    `is_after_break` where the fitter had been elsewhere since the last reading of the same place: then `gaps` says nothing.
    """

    acts: Mapping[Act, float]
    first_stroke: float
    gaps: Mapping[Gap, float]
    is_after_break: bool


def sights_of(day: ShopDay, secret: Secret, place: Place, indexes: Sequence[int]) -> tuple[Sight, ...]:
    """The readings of one place, named by their indexes in the log, as sights."""
    habits = secret.habits[place.joint]
    found = []
    for before, index in zip((None, *indexes), indexes, strict=False):
        row = day.readings[index]
        torque_nm, angle_deg = float(row.torque), None if row.angle is None else float(row.angle)
        before_nm = None if before is None else float(day.readings[before].torque)
        acts = {act: _torque(act, torque_nm, place, before_nm) * _angle(act, angle_deg, place) for act in Act}
        first = _torque(Act.STROKE, torque_nm, place, None) * _angle(Act.STROKE, angle_deg, place)
        stream = secret.stream_of[index]
        is_after_break = before is not None and stream in secret.stream_of[before + 1 : index]
        gaps = {gap: _gap(gap, day, secret, habits, before, index) for gap in Gap}
        found.append(Sight(acts, first, gaps, is_after_break))
    return tuple(found)


def _torque(act: Act, torque_nm: float, place: Place, before_nm: float | None) -> float:
    """The probability of these digits; `before_nm` is None for a first stroke."""
    match act:
        case Act.OVER:
            return _even(torque_nm, place.high_nm, OVER_SHARES)
        case Act.LEFT | Act.GAVE_UP:
            return _even(torque_nm, place.low_nm, GIVEN_UP_SHARES)
        case Act.STROKE:
            if before_nm is None:
                return _even(torque_nm, place.low_nm, FIRST_STROKE_SHARES)
            way_nm = place.low_nm * STROKES_TOP - before_nm
            return _even(torque_nm - before_nm, way_nm, NEXT_STROKE_SHARES) if way_nm > 0 else _FLOOR
    middle_nm = place.shown_nm * (CLICK_AGAIN if act in ON_TIGHT_DEG else 1)
    ends = [(torque_nm + side - middle_nm) / (place.spread_nm * math.sqrt(2)) for side in (-_DIGIT / 2, _DIGIT / 2)]
    return (math.erf(ends[1]) - math.erf(ends[0])) / 2 + _FLOOR


def _even(value: float, unit: float, shares: tuple[float, float]) -> float:
    """Evenly spread between two shares of `unit`, as the probability of one digit; edges are rounded outwards."""
    is_inside = unit * shares[0] - _DIGIT / 2 <= value <= unit * shares[1] + _DIGIT / 2
    return (_DIGIT / (unit * (shares[1] - shares[0]) + _DIGIT) if is_inside else 0.0) + _FLOOR


def _angle(act: Act, angle_deg: float | None, place: Place) -> float:
    if angle_deg is None:
        return 1.0
    if act in ON_TIGHT_DEG:
        return (_DIGIT / ON_TIGHT_DEG[act] if angle_deg <= ON_TIGHT_DEG[act] else 0.0) + _FLOOR
    if act in IN_PARTS:
        return _log_normal(angle_deg, place.turn_deg * PART_TURN, PART_SPREAD) * _DIGIT + _FLOOR
    return _log_normal(angle_deg, place.turn_deg, place.turn_spread) * _DIGIT + _FLOOR


def _gap(gap: Gap, day: ShopDay, secret: Secret, habits: Habits, before: int | None, index: int) -> float:
    """The likelihood of the time since the reading before; 1 where nothing is known of it."""
    if before is None:
        return 1.0
    begun_s, at_s = day.readings[before].at_s, day.readings[index].at_s
    lump = range(*secret.lump)
    if begun_s is None or at_s is None or before in lump or index in lump:
        return 1.0
    gap_s = at_s - begun_s
    if not secret.whole_seconds:
        return _gap_density(gap, gap_s, habits, 0.1) + _FLOOR
    # The difference of two whole seconds, both cut off: a triangle one second to each side.
    parts = ((-0.75, 0.125), (-0.25, 0.375), (0.25, 0.375), (0.75, 0.125))
    return sum(share * _gap_density(gap, gap_s + off, habits, 0.0) for off, share in parts) + _FLOOR


def _gap_density(gap: Gap, gap_s: float, habits: Habits, slack_s: float) -> float:
    if gap is Gap.QUICK:
        return 1 / (QUICK_S[1] - QUICK_S[0]) if QUICK_S[0] - slack_s <= gap_s <= QUICK_S[1] + slack_s else 0.0
    return _log_normal(gap_s, *gap_shape(gap, habits))


def _log_normal(value: float, median: float, spread: float) -> float:
    if value <= 0:
        return 0.0
    away = math.log(value / median) / spread
    return math.exp(-away * away / 2) / (value * spread * math.sqrt(2 * math.pi))
