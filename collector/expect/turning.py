"""How likely a fastener turns so far: in a tightening, in a stroke that goes on, when it was tight already."""

from math import exp, log, pi, sqrt
from typing import TYPE_CHECKING, NamedTuple

from collector.expect.own import Own
from collector.expect.places import Place

if TYPE_CHECKING:
    from collector.expect.odds import Seen

T5 = 8.0 / (3.0 * sqrt(5.0) * pi)
"""The density of Student's t with five degrees of freedom at nought: tails wide enough that one odd pull decides little."""
_ALIKE = 0.6
"""The fasteners of a joint are alike, but for one in a while that was snugged further."""
_ON_WHOLE, _ON_PART, _ON_REST = 0.25, 0.35, 0.4
"""A stroke that goes on turns as much as a whole tightening, a part of any size, or what the torque says is left."""
_REST_SD, _LEAST_REST = 0.6, 0.1


class Turning(NamedTuple):
    """Densities of a turning angle: of a tightening, of the next one of a joint, of a tight fastener, of a stroke.

    `on` is that of a stroke which goes on from where the one before ended.
    """

    new: float
    following: float
    still: float
    stroke: float
    on: float


def turning_at(seen: "Seen", place: Place, own: Own) -> Turning:
    """The densities of a reading's turning angle, 1 without any; of the place only counts that it `begins` and `turns`."""
    angle_deg, before_deg = seen.click.angle_deg, seen.before_deg
    if angle_deg is None:
        return Turning(1.0, 1.0, 1.0, 1.0, 1.0)
    habits, still = own.habits, still_odds(angle_deg, own)
    usual = habits.turn_deg if place.begins else habits.turn_later_deg
    turned = turned_odds(angle_deg, usual, habits.turn_sd) if place.turns else still
    following = turned
    if before_deg is not None and place.turns and abs(before_deg) >= 3.0 * habits.still_deg:
        # Mostly about what the one before turned.
        alike = turned_odds(angle_deg, abs(before_deg), habits.turn_next_sd)
        following = _ALIKE * alike + (1.0 - _ALIKE) * turned
    # A stroke turns less than a whole tightening.
    part = turned_odds(angle_deg, usual / 3.0, 1.0)
    on = _ON_WHOLE * turned + _ON_PART * part + _ON_REST * turned_odds(angle_deg, usual * _rest(seen), _REST_SD)
    return Turning(turned, following, still, 0.5 * turned + 0.5 * part, on)


def _rest(seen: "Seen") -> float:
    """The share of its whole turn that a fastener still has to go: as the torque rises, from where the reading before ended."""
    torque_nm, before_nm = abs(seen.click.torque_nm or 0.0), abs(seen.before_nm or 0.0)
    return min(max(1.0 - before_nm / torque_nm, _LEAST_REST), 1.0) if torque_nm else 1.0


def bell(value: float, middle: float, sd: float) -> float:
    z = (value - middle) / sd
    return T5 / sd * (1.0 + z * z / 5.0) ** -3


def turned_odds(angle_deg: float, middle_deg: float, sd: float) -> float:
    at = max(abs(angle_deg), 0.2)
    if at >= middle_deg:
        return bell(log(at), log(middle_deg), sd) / at
    # Far less than the others turned is no tightening: the tail on that side is short (Student's t with 15 degrees of freedom).
    z = log(at / middle_deg) / sd
    return T5 / sd * (1.0 + z * z / 15.0) ** -8 / at


def still_odds(angle_deg: float, own: Own) -> float:
    mean = own.habits.still_deg
    return exp(-abs(angle_deg) / mean) / mean
