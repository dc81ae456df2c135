"""What has to be done with each wrench, and what of it first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from analysis.measure_drift import DriftLine, measure_drift, nominals
from analysis.wording_drift import calendar_day, day_text, saying, signed, torque_name
from schemas.wrench import Wrench

if TYPE_CHECKING:
    import pandas as pd


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


def measure_due(wrenches: Iterable[Wrench], checks: "pd.DataFrame", today: date) -> tuple[Due, ...]:
    """Every wrench, what is overdue before what is not, then by day, then by id.

    Args:
        wrenches: those of the register.
        checks: as `load_checks` gives them, of all wrenches.
        today: decides what is overdue.
    """
    lines: dict[str, list[DriftLine]] = {}
    for line in measure_drift(checks):
        lines.setdefault(line.wrench, []).append(line)
    last = _last_errors(checks)
    found = [_due(wrench, lines.get(wrench.id, []), last, today) for wrench in wrenches]
    return tuple(sorted(found, key=lambda due: (not due.is_overdue, due.by, due.wrench.id)))


def _last_errors(checks: "pd.DataFrame") -> dict[tuple[str, float], float]:
    """The error of the last check of each wrench at each check torque, in percent."""
    if checks.empty:
        return {}
    ordered = checks.assign(nominal_nm=nominals(checks)).sort_values(["day", "seq"])
    last = ordered.drop_duplicates(["wrench", "nominal_nm"], keep="last")
    return dict(zip(zip(last["wrench"], last["nominal_nm"], strict=True), last["error_percent"], strict=True))


class _Task(NamedTuple):
    is_later: bool
    by: date
    what: str


def _due(wrench: Wrench, lines: list[DriftLine], last: Mapping[tuple[str, float], float], today: date) -> Due:
    limit = float(wrench.limit_percent)
    tasks = [_of_calibration(wrench, today)]
    for line in lines:
        task = _of_line(line, last[line.wrench, line.nominal_nm], limit, today)
        tasks += [] if task is None else [task]
    first = min(tasks)
    last_day = calendar_day(max(line.last_day for line in lines)) if lines else None
    findings = tuple(saying(line, limit, today) for line in lines)
    return Due(wrench, first.what, first.by, not first.is_later, findings, last_day)


def _of_calibration(wrench: Wrench, today: date) -> _Task:
    if wrench.due_on is None:
        return _Task(False, date.min, "has no calibration and counts as not fit: record one with `witnessmark wrench calibrate`")
    if wrench.due_on < today:
        ran_out = f"calibration ran out on {day_text(wrench.due_on)}: not fit until it is calibrated again"
        return _Task(False, wrench.due_on, ran_out)
    return _Task(True, wrench.due_on, f"calibrate by {day_text(wrench.due_on)}")


def _of_line(line: DriftLine, last_error: float, limit: float, today: date) -> _Task | None:
    """What a line, or the last check in it, asks for: nothing while neither shows a way out of the limit."""
    day, at = calendar_day(line.last_day) or today, torque_name(line.nominal_nm)
    if line.gross:
        checks = "1 of its checks" if line.gross == 1 else f"{line.gross} of its checks"
        return _Task(False, day, f"look at it: {checks} at {at} cannot be right")
    for error in (last_error, line.error_percent_now):
        if abs(error) > limit:
            out = f"take it out of use: it shows {signed(error)} at {at}, outside ±{limit:g} %"
            return _Task(False, day, out)
    crossing = line.crossing(limit)
    begins = calendar_day(crossing.from_) if crossing else None
    if begins is None:
        return None
    return _Task(begins > today, begins, f"calibrate before {day_text(begins)}, or it may leave its limit at {at}")
