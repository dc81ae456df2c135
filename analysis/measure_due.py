"""What has to be done with each wrench, and what of it first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from analysis.measure_drift import DriftLine
from analysis.wording_drift import calendar_day, day_text, saying, signed, torque_name
from schemas.wrench import Wrench


@dataclass(frozen=True, slots=True)
class Due:
    """One wrench: what to do in words, by when, and whether it is wanting already.

    `findings` has one sentence a check torque, `last_day` is the day of its last check.
    """

    wrench: Wrench
    what: str
    by: date
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
        return f"last checked {self.last_day}" if self.last_day else "never checked"


def measure_due(wrenches: Iterable[Wrench], lines: Mapping[str, tuple[DriftLine, ...]], today: date) -> tuple[Due, ...]:
    """Every wrench, what is overdue before what is not, then by day, then by id."""
    found = [_due(wrench, lines.get(wrench.id, ()), today) for wrench in wrenches]
    return tuple(sorted(found, key=lambda due: (not due.is_overdue, due.by, due.wrench.id)))


Task = tuple[date, str]


def _due(wrench: Wrench, lines: tuple[DriftLine, ...], today: date) -> Due:
    limit = float(wrench.limit_percent)
    tasks = [_of_calibration(wrench, today), *(task for line in lines if (task := _of_line(line, limit, today)))]
    by, what = min(tasks)
    last_day = calendar_day(max(line.last_day for line in lines)) if lines else None
    # The last day of a calibration is still in date; on the first day of a crossing the wrench may be out.
    is_overdue = by < today or (by == today and by != wrench.due_on)
    return Due(wrench, what, by, is_overdue, tuple(saying(line, limit, today) for line in lines), last_day)


def _of_calibration(wrench: Wrench, today: date) -> Task:
    if wrench.due_on is None:
        return date.min, "has no calibration and counts as not fit: record one with `witnessmark wrench calibrate`"
    if wrench.due_on < today:
        return wrench.due_on, f"calibration ran out on {day_text(wrench.due_on)}: not fit until it is calibrated again"
    return wrench.due_on, f"calibrate by {day_text(wrench.due_on)}"


def _of_line(line: DriftLine, limit: float, today: date) -> Task | None:
    """What a line asks for: nothing while it shows no way out of the limit."""
    day, at = calendar_day(line.last_day) or today, torque_name(line.nominal_nm)
    if line.gross:
        checks = "1 of its checks" if line.gross == 1 else f"{line.gross} of its checks"
        return min(day, today), f"look at it: {checks} at {at} cannot be right"
    if abs(line.error_percent_now) > limit:
        return min(day, today), f"take it out of use: it shows {signed(line.error_percent_now)} at {at}, outside ±{limit:g} %"
    crossing = line.crossing(limit)
    begins = calendar_day(crossing.from_) if crossing else None
    if begins is None:
        return None
    return begins, f"calibrate before {day_text(begins)}, or it may leave its limit at {at}"
