"""How likely a reading is at a place, for each thing that it can be there: torque, pause and turning angle together.

All odds are to those of a click that belongs to nothing of the job, so that they can be multiplied with plain shares.
"""

from dataclasses import dataclass
from math import exp, log
from typing import NamedTuple

from collector.expect.click import Click
from collector.expect.own import Own
from collector.expect.places import Place
from collector.expect.turning import T5, Turning, bell

_PAUSE_S, _PAUSE_SD, _PAUSED = 150.0, 1.6, 0.02
"""Anybody may be called away: two gaps in a hundred are of another kind."""
_AT_ONCE = 0.75
"""Of the pulls below the band so many are pulled on at once; the others at the pace of the next: a new grip, a new try."""
_SET_WRONG = 2.0
"""A wrench that is set for another joint pulls as much too far as this, as a share of the target; beyond it was elsewhere."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One reading as the model takes it: `gap_s` since the same wrench's last one, None where unknown; `before_nm` its torque.

    `after` is the same person's reading before, None where there was none, `after_gap_s` the pause since that one; `before_deg`
    its own last angle. `is_alone`: nobody else was at work; live, where nobody knows yet, all are taken for one person's.
    """

    click: Click
    gap_s: float | None
    before_nm: float | None
    after: Click | None = None
    after_gap_s: float | None = None
    before_deg: float | None = None
    is_alone: bool = True


class Odds(NamedTuple):
    """Of one reading at one place. `is_low`: it ends below the band. The others: as the next fastener's pull, continued on the
    same one, a second click, a check of a tight one (the first of its round after
    a longer pause), a tightening of one that was opened unseen.

    `enter_*` are those of the first reading after the wrench came from another place; `tried` of a click on the bench at the
    torque of this place; `under` of one that ends below the band and was taken for done.
    """

    is_low: bool
    new: float
    on: float
    again: float
    check: float
    check_first: float
    redo: float
    enter_new: float
    enter_check: float
    enter_redo: float
    tried: float
    under: float
    enter_under: float


class Gaps:
    """The densities of one gap under each reason for it; 1 for all of them where the gap is not known."""

    __slots__ = ("again", "joint", "next", "round", "stray", "stroke")

    next: float
    again: float
    stroke: float
    round: float
    joint: float
    stray: float

    def __init__(self, own: Own, gap_s: float | None) -> None:
        if gap_s is None:
            self.next = self.again = self.stroke = self.round = self.joint = self.stray = 1.0
            return
        habits, at = own.habits, log(max(gap_s, 0.4))
        paused = _PAUSED * bell(at, log(_PAUSE_S), _PAUSE_SD)
        self.next = bell(at, log(habits.next_s), habits.next_sd) + paused
        # Who has lost count comes back to the same one at the pace of the next.
        self.again = 0.65 * bell(at, log(habits.again_s), habits.again_sd) + 0.35 * self.next
        at_once = bell(at, log(habits.stroke_s), habits.stroke_sd) + paused
        self.stroke = _AT_ONCE * at_once + (1.0 - _AT_ONCE) * self.next
        self.round = bell(at, log(habits.round_s), habits.round_sd) + paused
        self.joint = bell(at, log(habits.joint_s), habits.joint_sd) + paused
        # Nobody knows how odd clicks come: half of them as in a joint, half after a change.
        self.stray = 0.5 * (bell(at, log(habits.next_s), 1.2) + self.joint)

    @property
    def opened(self) -> float:
        """That of the pause before a fastener that was opened: it takes a while."""
        return 0.5 * (self.round + self.joint)

    def away(self) -> "Gaps":
        """The same after a click that belonged to nothing: whatever goes on at the joint, the pause is that of coming back."""
        back = Gaps.__new__(Gaps)
        back.next = back.stroke = back.round = back.stray = self.stray
        back.again, back.joint = 0.1 * self.stray, self.joint
        return back


class Torque(NamedTuple):
    """Densities of a torque at a place: as a finished pull, as one that ends short, as one that continues the reading before.

    `under` is that of one below the band that the fitter took for done.
    """

    is_low: bool
    is_after_over: bool
    good: float
    short: float
    rising: float
    under: float = 0.0

    @property
    def most(self) -> float:
        """The largest of them, a short pull for the little that it is."""
        return max(self.good, 0.1 * self.short)


def odds_at(seen: Seen, place: Place, own: Own, gaps: Gaps, stray: float, torque: Torque, turning: Turning) -> Odds:
    """The odds of one reading at one place; `stray` is its density as a click of nothing here."""
    habits = own.habits
    turned, next_turned, still, stroke, on = turning
    wrong = habits.other_wrench if place.joint.wrenches and seen.click.wrench not in place.joint.wrenches else 1.0
    unit = wrong / stray
    # A pull that ends short is a stroke, and turns as one.
    new = (torque.short * stroke if torque.is_low else torque.good * turned) * unit
    following = new if torque.is_low else torque.good * next_turned * unit
    tight, enter_redo = torque.good * still * unit, torque.good * turned * unit
    redo = enter_redo
    if torque.is_after_over:
        # Whoever pulled over may open it and do it again.
        redo *= habits.redo_over / habits.redo
    return Odds(
        torque.is_low,
        following * gaps.next,
        torque.rising * on * gaps.stroke * unit,
        tight * gaps.again,
        tight * gaps.next,
        tight * 0.5 * (gaps.next + gaps.round),
        redo * gaps.opened,
        new,
        tight,
        enter_redo,
        tight * gaps.stray,
        torque.under * next_turned * unit * gaps.next,
        torque.under * turned * unit,
    )


def torque_at(seen: Seen, place: Place, own: Own) -> Torque:
    """The densities of a reading's torque at one place."""
    habits, click = own.habits, seen.click
    low, target, high = place.shown_band(click.length_mm)
    torque = click.torque_nm
    if torque is None:
        return Torque(False, False, habits.over, 0.0, habits.over)
    if place.joint.left_hand:
        torque = abs(torque)
    elif torque < 0.0:
        return Torque(True, False, 0.0, 0.0, 0.0)
    is_low = torque < low
    if place.by_angle:
        # What it comes to depends on the angle alone.
        good = 1.0 / (2.0 * target) if low <= torque <= 3.0 * target else 0.0
        return Torque(is_low, False, good, 0.5 / max(low, 0.1) if is_low else 0.0, good)
    spread = own.spread_of(click.wrench) * target
    z = (torque - target * (1.0 + own.bias.get(click.wrench, 0.0))) / spread
    good = (1.0 - habits.over - habits.anywhere) * T5 / spread * (1.0 + z * z / 5.0) ** -3
    if low <= torque <= high:
        good += habits.anywhere / (high - low)
    after_over = high < (seen.before_nm or 0.0) < 1.6 * high
    rises = _rises(torque, seen.before_nm or 0.0)
    if not is_low:
        if torque >= high:
            good += habits.over * _over_odds((torque - high) / target) / target
        return Torque(False, after_over, good, 0.0, rises * good)
    # Anywhere from a quarter of the band's edge up to it; what lies below that was hardly a pull.
    hardly = 1.0 if torque > 0.25 * low else 0.05
    rising = hardly / max(low - min(seen.before_nm or 0.0, 0.95 * low), 0.05 * low)
    # Far below is no wrench a little off and no tired arm: the tail is short.
    under = T5 / spread * (1.0 + z * z / 15.0) ** -8
    return Torque(True, after_over, good, hardly / (0.75 * low), rises * rising, under)


def _over_odds(beyond: float) -> float:
    """The density of how far an over-pull ends beyond its band, as a share of the target: anywhere up to `_SET_WRONG`.

    It sums to more than one, on purpose: rather is a stray held against a fastener than an over-pull lost.
    """
    return 2.0 * exp(-max(beyond - _SET_WRONG, 0.0) / 0.1)


def _rises(torque_nm: float, before_nm: float) -> float:
    """A stroke goes on from where the one before ended; one that ends far below it is hardly on the same fastener."""
    return 1.0 if torque_nm > before_nm else 0.1 if torque_nm > 0.85 * before_nm else 0.01
