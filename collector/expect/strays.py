"""How likely a reading is as a click that belongs to nothing of the job: a trial on the bench, another vehicle."""

from collections.abc import Iterable
from math import log
from typing import NamedTuple

from collector.expect.odds import Gaps, Seen, Torque
from collector.expect.own import Own
from collector.expect.turning import bell, still_odds, turned_odds

_RANGE = log(40.0)
"""A click of another job lies anywhere between a fortieth of a torque and that torque, by the logarithm."""
_OF_THE_PLAN = 0.5
"""Another vehicle in the same shop has torques that this plan has too."""


def stray_odds(seen: Seen, own: Own, gaps: Gaps) -> float:
    """The density of a click that belongs to nothing here, at any torque."""
    torque_nm = seen.click.torque_nm
    density = gaps.stray
    density *= _anywhere(torque_nm, own)
    if seen.click.angle_deg is not None:
        density *= 0.5 * (still_odds(seen.click.angle_deg, own) + turned_odds(seen.click.angle_deg, own.habits.turn_deg, 1.0))
    return density


class Bursts(NamedTuple):
    """Of a click of nothing here that comes after another one: as a further trial, and as one more on another vehicle."""

    tried: float
    elsewhere: float


def burst_odds(seen: Seen, own: Own, gaps: Gaps) -> Bursts:
    """How likely such a click is beside one that comes by itself: most are of one torque."""
    torque_nm, before_nm = seen.click.torque_nm, seen.before_nm
    if torque_nm is None or before_nm is None:
        return Bursts(1.0, 1.0)
    # The difference of two pulls of one torque; a wrench that shows a little off what it should must not look like a stranger.
    spread = 2.0 * own.spread_of(seen.click.wrench) * max(abs(torque_nm), 0.1)
    alike = bell(torque_nm, before_nm, spread) * max(abs(torque_nm), 0.1) * _RANGE / gaps.stray
    turns, share = turns_of(seen, own), own.habits.stray_alike
    tried = alike * turns.tried * (0.5 * gaps.next + 0.3 * gaps.stroke + 0.2 * gaps.joint)
    elsewhere = alike * turns.elsewhere * (0.8 * gaps.next + 0.2 * gaps.joint)
    return Bursts((1.0 - share) + share * tried, (1.0 - share) + share * elsewhere)


def turns_of(seen: Seen, own: Own) -> Bursts:
    """How likely its turning angle is, beside that of any: trials turn nothing, and a joint of another vehicle turns."""
    angle_deg = seen.click.angle_deg
    if angle_deg is None:
        return Bursts(1.0, 1.0)
    still, turned = still_odds(angle_deg, own), turned_odds(angle_deg, own.habits.turn_deg, 1.0)
    either = 0.5 * (still + turned)
    return Bursts((0.05 * turned + 0.95 * still) / either, (0.9 * turned + 0.1 * still) / either)


def other_odds(seen: Seen, own: Own, gaps: Gaps, torques: Iterable[tuple[Torque, float]]) -> float:
    """How likely a click of nothing here is as the first one on another vehicle, after a change, beside one by itself.

    `torques` are those of the plan, each with the share of the places that have it.
    """
    planned = sum(share * torque.good for torque, share in torques) / _anywhere(seen.click.torque_nm, own)
    known = 1.0 - _OF_THE_PLAN + _OF_THE_PLAN * planned
    return known * turns_of(seen, own).elsewhere * gaps.joint / gaps.stray


def _anywhere(torque_nm: float | None, own: Own) -> float:
    """The density of a torque of which nothing is known."""
    return own.habits.over if torque_nm is None else 1.0 / (max(abs(torque_nm), 0.1) * _RANGE)
