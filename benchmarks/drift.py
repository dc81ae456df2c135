"""Drift measures over very many checks, against the bare numpy arithmetic on the same numbers."""

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from analysis.measure_drift import YEAR_DAYS, measure_drift
from benchmarks.measure import in_turn, timed, times_as_long
from benchmarks.table import Row

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

TIMES = 3.0
_TORQUES_NM = (20.0, 60.0, 100.0)


def rows(quick: bool) -> list[Row]:
    """How many times as long measuring takes, from the table that `load_checks` gives to all lines.

    The rows of a table do not say which check torque they belong to, so bare numpy has to find that too; how it stands
    where that is known beforehand is told for information.
    """
    checks, wrenches = (20_000, 20) if quick else (1_000_000, 1_000)
    numbers = _numbers(checks, wrenches)
    table = _table(numbers)
    known = _points(numbers)
    found = [line.slope_percent_per_year for line in measure_drift(table)]
    if not np.allclose(np.array(found, float), _slopes(numbers, known)):
        raise AssertionError("both ways must find the same slopes")
    ours, bare, told = in_turn(
        1 if quick else 7,
        lambda: timed(lambda: measure_drift(table)),
        lambda: timed(lambda: _slopes(numbers, _points(numbers))),
        lambda: timed(lambda: _slopes(numbers, known)),
    )
    what = f"drift measures over {checks:,} checks of {wrenches:,} wrenches"
    ratio = times_as_long(ours, bare)
    return [
        Row(
            what, f"bare numpy: which rows are of one check torque, lines and their limits: {median(bare) * 1000:.0f} ms",
            f"{median(ours) * 1000:.0f} ms", f"{ratio:.1f} × as long", f"{TIMES:.0f} × as long", ratio <= TIMES,
        ),
        Row(
            what, f"bare numpy: the lines alone, where the check torque of each row is known: {median(told) * 1000:.0f} ms",
            f"{median(ours) * 1000:.0f} ms", f"{times_as_long(ours, told):.1f} × as long", "for information", None,
        ),
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Numbers:
    """Made-up checks, by wrench and day; `wrench` counts from 0."""

    wrench: Indices
    day: Floats
    reference_nm: Floats
    shown_nm: Floats
    error_percent: Floats


def _numbers(count: int, wrenches: int) -> _Numbers:
    dice = np.random.default_rng(1)
    wrench = np.repeat(np.arange(wrenches), count // wrenches)
    which = np.tile(np.arange(count // wrenches) % len(_TORQUES_NM), wrenches)
    day = np.tile(np.arange(count // wrenches) // len(_TORQUES_NM) * 7.0 + 15000, wrenches)
    reference = np.round(np.array(_TORQUES_NM)[which] * dice.uniform(0.997, 1.003, count), 2)
    slope = dice.normal(0, 0.5, wrenches)[wrench]
    shown = np.round(reference * (1 + (slope * (day - 15000) / YEAR_DAYS + dice.normal(0, 0.3, count)) / 100), 2)
    return _Numbers(wrench, day, reference, shown, (shown - reference) / reference * 100)


def _table(numbers: _Numbers) -> "pd.DataFrame":
    """The same as `load_checks` gives them."""
    import pandas as pd

    names = np.array([f"W-{number:04d}" for number in range(int(numbers.wrench[-1]) + 1)])
    return pd.DataFrame(
        {
            "seq": np.arange(1, len(numbers.day) + 1), "wrench": names[numbers.wrench], "day": numbers.day,
            "reference_nm": numbers.reference_nm, "shown_nm": numbers.shown_nm, "error_percent": numbers.error_percent,
            "simulated": True,
        }
    ).astype({"wrench": "str"})  # fmt: skip


def _points(numbers: _Numbers) -> Indices:
    """A number for each row's wrench and check torque: sorted references of a wrench, cut where one is 5 % above the other."""
    order = np.argsort(numbers.reference_nm)
    order = order[np.argsort(numbers.wrench[order].astype(np.uint16), kind="stable")]
    wrench, reference = numbers.wrench[order], numbers.reference_nm[order]
    point = np.empty(len(order), np.intp)
    point[order] = np.cumsum(np.append(False, (wrench[1:] != wrench[:-1]) | (reference[1:] > 1.05 * reference[:-1])))
    return point


def _slopes(numbers: _Numbers, point: Indices) -> Floats:
    """Slopes in percent a year, worked out with all that a line has: means, sums, residuals, limits."""
    order = np.argsort(point.astype(np.uint16), kind="stable")
    x, y = numbers.day[order], numbers.error_percent[order]
    count = np.bincount(point)
    starts = np.cumsum(count) - count
    x_mean, y_mean = np.add.reduceat(x, starts) / count, np.add.reduceat(y, starts) / count
    dx, dy = x - np.repeat(x_mean, count), y - np.repeat(y_mean, count)
    sxx, sxy = np.add.reduceat(dx * dx, starts), np.add.reduceat(dx * dy, starts)
    slope = sxy / sxx
    left = dy - np.repeat(slope, count) * dx
    residual_sd = np.sqrt(np.add.reduceat(left * left, starts) / (count - 2))
    half = stdtrit(count - 2, 0.975) * residual_sd / np.sqrt(sxx)
    # Worked out to be timed: the limits and the ends of the days.
    np.stack((slope - half, slope + half, np.minimum.reduceat(x, starts), np.maximum.reduceat(x, starts)))
    return np.asarray(slope * YEAR_DAYS)
