"""What has to be done with each wrench, and what of it first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import IntEnum
from typing import TYPE_CHECKING, NamedTuple

from analysis.measure_drift import DriftLine, measure_drift
from analysis.wording_drift import calendar_day, day_text, saying, signed, torque_name
from schemas.wrench import Wrench

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Due:
    """One wrench: what to do in words, by when (None: at once), and whether it is wanting already.

    `findings` has one sentence a check torque, `last_day` is the day of its last check.
    """

    wrench: Wrench
    what: str
    by: date | None
    is_overdue: bool
    findings: tuple[str, ...]
    last_day: date | None

    @property
    def calibration(self) -> str:
        """Its calibration in words."""
        wrench = self.wrench
        return f"calibrated {wrench.calibrated_on}, in date to {wrench.due_on}" if wrench.due_on else "not calibrated"

    @property
    def checked(self) -> str:
        """Its last check in words."""
        if self.last_day:
            return f"last checked {self.last_day}"
        adjusted = self.wrench.adjusted_on
        return f"not checked since it was adjusted on {adjusted}" if adjusted else "never checked"


def measure_due(wrenches: Iterable[Wrench], checks: "pd.DataFrame", today: date) -> tuple[Due, ...]:
    """Every wrench, what has to be done first on top: what is wrong now, then what comes soonest, then by id.

    Args:
        wrenches: those of the register.
        checks: as `load_checks` gives them, of all wrenches.
        today: decides what is overdue.
    """
    lines: dict[str, list[DriftLine]] = {}
    for line in measure_drift(checks):
        lines.setdefault(line.wrench, []).append(line)
    found = [_due(wrench, lines.get(wrench.id, []), today) for wrench in wrenches]
    return tuple(due for _, due in sorted(found, key=lambda one: (one[0].press, one[0].by or date.min, one[1].wrench.id)))


class _Press(IntEnum):
    """How much a task presses; all before LATER are overdue."""

    OUT_OF_USE = 0
    NOT_FIT = 1
    LOOK = 2
    MAY_BE_OUT = 3
    LATER = 4


class _Task(NamedTuple):
    press: _Press
    by: date | None
    what: str


def _due(wrench: Wrench, lines: list[DriftLine], today: date) -> tuple[_Task, Due]:
    limit = float(wrench.limit_percent)
    # What was seen before the last calibration was answered by it.
    since = [line for line in lines if wrench.calibrated_on is None or _day(line.newest_day) >= wrench.calibrated_on]
    tasks = [_of_calibration(wrench, today), *(task for line in since if (task := _of_line(line, limit, today)))]
    first = min(tasks, key=lambda task: (task.press, task.by or date.min, task.what))
    last_day = _day(max(line.newest_day for line in lines)) if lines else None
    findings = tuple(saying(line, limit, today) for line in lines)
    return first, Due(wrench, first.what, first.by, first.press < _Press.LATER, findings, last_day)


def _day(day: float) -> date:
    return calendar_day(day) or date.max


def _of_calibration(wrench: Wrench, today: date) -> _Task:
    if wrench.due_on is None:
        what = "has no calibration and counts as not fit: record one with `witnessmark wrench calibrate`"
        return _Task(_Press.NOT_FIT, None, what)
    if wrench.due_on < today:
        what = f"calibration ran out on {day_text(wrench.due_on)}: not fit until it is calibrated again"
        return _Task(_Press.NOT_FIT, wrench.due_on, what)
    return _Task(_Press.LATER, wrench.due_on, f"calibrate by {day_text(wrench.due_on)}")


def _of_line(line: DriftLine, limit: float, today: date) -> _Task | None:
    """What a line, or the last check in it, asks for: nothing while neither shows a way out of the limit."""
    at = torque_name(line.nominal_nm)
    if line.is_outside(limit):
        worst = max(line.newest_error_percent, line.error_percent_now, key=abs)
        what = f"take it out of use: it shows {signed(worst)} at {at}, outside ±{limit:g} %"
        return _Task(_Press.OUT_OF_USE, _day(line.newest_day), what)
    if line.gross:
        checks = "a check" if line.gross == 1 else f"{line.gross} checks"
        what = f"look at it: {checks} at {at} {'was' if line.gross == 1 else 'were'} grossly off; void what was mistyped"
        return _Task(_Press.LOOK, _day(line.newest_day), what)
    crossing = line.crossing(limit)
    begins = calendar_day(crossing.from_) if crossing else None
    if begins is None:
        return None
    press = _Press.LATER if begins > today else _Press.MAY_BE_OUT
    return _Task(press, begins, f"calibrate before {day_text(begins)}, or it may leave its limit at {at}")
