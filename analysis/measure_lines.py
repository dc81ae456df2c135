"""Straight lines by least squares through many groups of points at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

UPPER_TAIL = 0.975
"""Both tails of a 95 % interval leave 2.5 %."""


@dataclass(frozen=True, slots=True)
class Lines:
    """Least-squares lines of y over x, one value a group in every array.

    `sxx` is the sum of (x - x_mean)²; `slope`, its 95 % limits and `residual_sd` are NaN where they cannot be told: the
    slope where all x are equal, limits and residual also with fewer than three points.
    """

    x_low: Floats
    x_high: Floats
    x_mean: Floats
    y_mean: Floats
    sxx: Floats
    slope: Floats
    slope_low: Floats
    slope_high: Floats
    residual_sd: Floats


@dataclass(frozen=True, slots=True)
class Sums:
    """What a line needs of the points of its group; one value a group.

    `slope` is NaN where `sxx` is 0; `sse` is the sum of squared distances from the line, in y.
    """

    x_mean: Floats
    y_mean: Floats
    sxx: Floats
    slope: Floats
    sse: Floats


def drift_sums(count: Indices, x: Floats, y: Floats) -> Sums:
    """Sums over each group, centred on its means before they are squared, so that digits survive a large offset.

    Args:
        count: how many points each group has, one or more.
        x, y: finite; the points of the first group, then those of the second, and so on.
    """
    starts = np.cumsum(count) - count
    x_mean, y_mean = np.add.reduceat(x, starts) / count, np.add.reduceat(y, starts) / count
    dx, dy = x - np.repeat(x_mean, count), y - np.repeat(y_mean, count)
    sxx = np.add.reduceat(dx * dx, starts)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = np.add.reduceat(dx * dy, starts) / sxx
    # From the distances themselves: the difference of two nearly equal sums would lose half of the digits.
    dy -= np.repeat(slope, count) * dx
    return Sums(x_mean, y_mean, sxx, slope, np.add.reduceat(dy * dy, starts))


def fit_lines(count: Indices, x: Floats, y: Floats) -> Lines:
    """Lay a line through each group; arguments as for `drift_sums`.

    The 95 % limits are slope ± t(0.975, count - 2) · residual_sd / √sxx, as in any textbook of regression.
    """
    starts = np.cumsum(count) - count
    x_low, x_high = np.minimum.reduceat(x, starts), np.maximum.reduceat(x, starts)
    sums = drift_sums(count, x, y)
    # Means of equal values can be off by a rounding, so whether they are equal is seen from the values themselves.
    slope = np.where(x_high > x_low, sums.slope, np.nan)
    free = np.where((x_high > x_low) & (count > 2), count - 2, np.nan)
    residual_sd = np.sqrt(sums.sse / free)
    with np.errstate(invalid="ignore", divide="ignore"):
        half = stdtrit(free, UPPER_TAIL) * residual_sd / np.sqrt(sums.sxx)
    return Lines(x_low, x_high, sums.x_mean, sums.y_mean, sums.sxx, slope, slope - half, slope + half, residual_sd)
