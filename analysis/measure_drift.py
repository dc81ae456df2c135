"""How the error of each wrench goes over time at each check torque: a line, how sure it is, when it crosses a limit."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import ceil, copysign, isfinite, isnan, sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from analysis.measure_lines import UPPER_TAIL, Floats, Lines, fit_lines
from analysis.measure_points import check_points, nominals, rows_by
from schemas.check import GROSS_PERCENT
from schemas.errors import RecordError

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["GROSS_PERCENT", "YEAR_DAYS", "Crossing", "DriftLine", "measure_drift", "nominals", "with_theil_sen"]

YEAR_DAYS = 365.25

_ROUNDING = 1e-9
"""Percent: an error on the edge of its limit may come out a little beyond it in binary floats."""

THEIL_SEN_CHECKS = 2000
"""Above this no Theil–Sen slope is worked out: it looks at every pair of checks."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """When a line reaches the edge of the permissible error: `on` the line itself, `from_` and `to` its 95 % confidence band.

    Days since 1970-01-01, with fraction, of any size; `edge_percent` is +limit or -limit.
    """

    on: float
    from_: float
    to: float
    edge_percent: float


@dataclass(frozen=True, slots=True)
class DriftLine:
    """The line through the checks of one wrench at one check torque; days since 1970-01-01, errors in percent.

    `checks` counts those in the line, `gross` those that are further off than GROSS_PERCENT and left out. Where every check
    is gross, `checks` is 0, no line is laid, and days and mean are those of the gross ones. `slope_percent_per_year` is None
    where all checks are of one instant; its 95 % limits and `residual_sd` are None with fewer than three checks too.
    `theil_sen_percent_per_year` is filled in by `with_theil_sen` only. `sxx` is in days². `newest_day` and
    `newest_error_percent` are of the last check, gross or not.
    """

    wrench: str
    nominal_nm: float
    checks: int
    gross: int
    first_day: float
    last_day: float
    mean_day: float
    sxx: float
    mean_error_percent: float
    slope_percent_per_year: float | None
    slope_low: float | None
    slope_high: float | None
    residual_sd: float | None
    theil_sen_percent_per_year: float | None = None
    worst_gross_percent: float | None = None
    newest_day: float = 0.0
    newest_error_percent: float = 0.0

    @property
    def error_percent_now(self) -> float:
        """The line at its last check, not today: since then nobody looked. The mean where no line can be laid."""
        return float(self.fit(self.last_day))

    @property
    def is_drifting(self) -> bool:
        """The 95 % interval of the slope leaves 0 out."""
        return self.slope_low is not None and self.slope_high is not None and (self.slope_low > 0 or self.slope_high < 0)

    def is_outside(self, limit_percent: float) -> bool:
        """The last check, or the line at its last check, lies outside -limit to +limit; on the edge is inside."""
        return max(abs(self.newest_error_percent), abs(self.error_percent_now)) > limit_percent + _ROUNDING

    def fit(self, day: ArrayLike) -> Floats:
        """The line's error in percent at a day or days; level at the mean where no line can be laid."""
        slope = (self.slope_percent_per_year or 0.0) / YEAR_DAYS
        return np.asarray(self.mean_error_percent + slope * (np.asarray(day, float) - self.mean_day))

    def confidence_half_width(self, day: ArrayLike) -> Floats:
        """Half the 95 % confidence band of the line at a day or days, in percent; NaN where no interval can be told."""
        return self._half_width(day, 0.0)

    def prediction_half_width(self, day: ArrayLike) -> Floats:
        """Half the 95 % band for a single further check at a day or days, in percent; NaN where no interval can be told.

        t · s · √(1 + 1/n + (day - mean_day)²/sxx); the confidence band is the same without the 1.
        """
        return self._half_width(day, 1.0)

    def crossing(self, limit_percent: float) -> Crossing | None:
        """When the line reaches the limit on the side that it goes to, be it past or to come; None where it is not drifting.

        `from_` and `to` are Fieller's 95 % interval (E. C. Fieller, J. R. Stat. Soc. B 16, 1954, from memory), which is finite
        just where the slope's interval leaves 0 out.
        """
        if not self.is_drifting:
            return None
        from_, to = self._band_reaches(limit_percent, 0.0)
        edge = copysign(limit_percent, self._slope_a_day)
        return Crossing(self.mean_day + (edge - self.mean_error_percent) / self._slope_a_day, from_, to, edge)

    def recalibrate_before(self, limit_percent: float) -> float | None:
        """The first whole day on which the 95 % band of single checks reaches the limit that the line goes to.

        It can lie in the past; None where the line is not drifting.
        """
        if not self.is_drifting:
            return None
        reached, _ = self._band_reaches(limit_percent, 1.0)
        return float(ceil(reached)) if isfinite(reached) else None

    @property
    def _slope_a_day(self) -> float:
        return (self.slope_percent_per_year or 0.0) / YEAR_DAYS

    @property
    def _scatter(self) -> float:
        """t · s."""
        return float("nan") if self.residual_sd is None else float(stdtrit(self.checks - 2, UPPER_TAIL)) * self.residual_sd

    def _half_width(self, day: ArrayLike, single: float) -> Floats:
        off = np.asarray(day, float) - self.mean_day
        if self.residual_sd is None:
            return np.full_like(off, np.nan)
        return np.asarray(self._scatter * np.sqrt(single + 1 / self.checks + off**2 / self.sxx))

    def _band_reaches(self, limit_percent: float, single: float) -> tuple[float, float]:
        """The days on which the two sides of a band reach the edge: (slope·u - way)² = (t·s)²·(single + 1/n + u²/sxx)."""
        slope = abs(self._slope_a_day)
        way = limit_percent - copysign(1.0, self._slope_a_day) * self.mean_error_percent
        # slope² - (t·s)²/sxx, in a form that no rounding brings to 0 while the limits of the slope have one sign.
        lead = (self.slope_low or 0.0) * (self.slope_high or 0.0) / YEAR_DAYS**2
        root = self._scatter * sqrt(lead * (single + 1 / self.checks) + way**2 / self.sxx)
        return self.mean_day + (slope * way - root) / lead, self.mean_day + (slope * way + root) / lead


def measure_drift(checks: "pd.DataFrame") -> tuple[DriftLine, ...]:
    """Lay a least-squares line through the checks of each wrench at each check torque.

    Args:
        checks: one row a check, in any order; `wrench` str, `seq`, `day` in days since 1970-01-01, `reference_nm` and
            `shown_nm` in N·m, `error_percent`; all finite.

    Returns:
        One line a wrench and check torque, by wrench and torque; none without checks.

    Raises:
        RecordError: a number is not finite.
    """
    _require_finite(checks)
    if checks.empty:
        return ()
    points = check_points(checks)
    groups, error = len(points.wrench), checks["error_percent"].to_numpy()
    total = np.bincount(points.of_row, minlength=groups)
    is_gross = np.abs(error) > GROSS_PERCENT
    gross = np.bincount(points.of_row[is_gross], minlength=groups)
    worst = np.full(groups, np.nan)
    np.fmax.at(worst, points.of_row[is_gross], np.abs(error[is_gross]))
    rows = rows_by(points.of_row, groups)
    # A point of nothing but gross checks still has days and a mean.
    if is_gross.any():
        rows = rows[(~is_gross | (gross == total)[points.of_row])[rows]]
    laid = total - gross
    lines = fit_lines(np.where(laid == 0, gross, laid), checks["day"].to_numpy()[rows], error[rows])
    front = (column.tolist() for column in (points.wrench, points.nominal_nm, laid, gross))
    newest = (column.tolist() for column in _newest(checks, points.of_row, groups))
    return tuple(map(DriftLine, *front, *_columns(lines, laid == 0), [None] * groups, _or_none(worst), *newest))


def _newest(checks: "pd.DataFrame", of_row: NDArray[np.intp], groups: int) -> tuple[Floats, Floats]:
    """Day and error of the last check of each point; among those of one instant the last one entered."""
    day = checks["day"].to_numpy()
    last_day = np.full(groups, -np.inf)
    np.maximum.at(last_day, of_row, day)
    rows = np.flatnonzero(day == last_day[of_row])
    rows = rows[np.argsort(checks["seq"].to_numpy()[rows], kind="stable")]
    row = np.zeros(groups, np.intp)
    row[of_row[rows]] = rows
    return last_day, checks["error_percent"].to_numpy()[row]


def with_theil_sen(line: DriftLine, checks: "pd.DataFrame") -> DriftLine:
    """The same line with its Theil–Sen slope, the median slope of all pairs of checks, which single outliers hardly move.

    None stays where the line has no slope or more than 2,000 checks. `checks` as for `measure_drift`: all of its wrench.
    """
    if line.slope_percent_per_year is None or line.checks > THEIL_SEN_CHECKS:
        return line
    # scipy.stats takes most of a second to load, and only this needs it.
    from scipy.stats import theilslopes

    own = (checks["wrench"] == line.wrench).to_numpy() & (nominals(checks) == line.nominal_nm)
    own &= np.abs(checks["error_percent"].to_numpy()) <= GROSS_PERCENT
    slope = theilslopes(checks["error_percent"].to_numpy()[own], checks["day"].to_numpy()[own]).slope
    return replace(line, theil_sen_percent_per_year=float(slope) * YEAR_DAYS)


def _require_finite(checks: "pd.DataFrame") -> None:
    for column in ("day", "reference_nm", "shown_nm", "error_percent"):
        finite = np.isfinite(checks[column].to_numpy())
        if not finite.all():
            row = checks.iloc[int(np.argmin(finite))]
            raise RecordError(
                f"wrench `{row['wrench']}`, check {row['seq']}: `{column}` is {row[column]}, which is no number to reckon with; "
                "take that check back"
            )


def _columns(lines: Lines, lone: NDArray[np.bool_]) -> Iterator[Iterable[float | None]]:
    """The fields of DriftLine from `first_day` to `residual_sd`, each as one column."""
    for values in (lines.x_low, lines.x_high, lines.x_mean, lines.sxx, lines.y_mean):
        yield values.tolist()
    for values in (lines.slope, lines.slope_low, lines.slope_high):
        yield _or_none(np.where(lone, np.nan, values) * YEAR_DAYS)
    yield _or_none(np.where(lone, np.nan, lines.residual_sd))


def _or_none(values: Floats) -> list[float | None]:
    return [None if isnan(value) else value for value in values.tolist()]
