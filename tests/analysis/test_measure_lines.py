"""Least-squares lines against certified values, worked examples and an independent library.

The data lie in tests/data/straight-lines.json, each with its source; those of NIST are in the public domain.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from analysis.measure_lines import drift_sums, fit_lines

DATA = json.loads((Path(__file__).parents[1] / "data" / "straight-lines.json").read_text(encoding="utf-8"))


def arrays(name):
    return np.array(DATA[name]["x"]), np.array(DATA[name]["y"])


def one_line(x, y):
    """The line through one group, with its intercept, and the standard errors that its interval stands for."""
    x, y = np.asarray(x, float), np.asarray(y, float)
    line = fit_lines(np.array([len(x)]), x, y)
    slope, mean = float(line.slope[0]), float(line.x_mean[0])
    half = (line.slope_high - line.slope_low)[0] / 2
    slope_se = float(half / stats.t.ppf(0.975, len(x) - 2)) if len(x) > 2 else None
    level_se = float(line.residual_sd[0] * np.sqrt(1 / len(x) + mean**2 / line.sxx[0]))
    return {
        "slope": slope, "intercept": float(line.y_mean[0]) - slope * mean, "sd": float(line.residual_sd[0]), "slope_se": slope_se,
        "intercept_se": level_se,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "expected", "relative"),
    [
        # NIST StRD Norris, certified values.
        pytest.param("norris", {
            "slope": 1.00211681802045, "intercept": -0.262323073774029, "sd": 0.884796396144373,
            "slope_se": 0.429796848199937e-03, "intercept_se": 0.232818234301152,
        }, 1e-11, id="norris"),
        # NIST/SEMATECH e-Handbook 2.3.6.7 prints 0.2358, 0.9870 and 0.0620; more digits by numpy.polyfit.
        pytest.param("linewidth", {"slope": 0.98703771, "intercept": 0.23576229, "sd": 0.06203196, "slope_se": 0.00344058,
                                   "intercept_se": 0.02430034}, 1e-6, id="linewidth"),
        # GUM H.3.2 prints y1 = -0.1712 (0.0029), y2 = 0.00218 (0.00067), s = 0.0035; more digits by the GTC documentation of
        # the Measurement Standards Laboratory of New Zealand. Its y1 is the line at 20 °C, so the intercept is not compared.
        pytest.param("thermometer", {"slope": 0.0021827, "sd": 0.00349756, "slope_se": 0.00066794}, 1e-5, id="thermometer"),
        # Montgomery, Peck and Vining print -37.15 (2.89) and 2627.82 (44.18); more digits by numpy.polyfit.
        pytest.param("propellant", {"slope": -37.15359094, "intercept": 2627.822359, "sd": 9236.381004**0.5,
                                    "slope_se": 2.88910655, "intercept_se": 44.1839118}, 1e-8, id="propellant"),
    ],
)  # fmt: skip
def test_a_line_has_the_published_slope_level_scatter_and_standard_errors(name, expected, relative):
    found = one_line(*arrays(name))

    assert {key: found[key] for key in expected} == pytest.approx(expected, rel=relative)


def test_three_lines_after_one_another_give_the_certified_quadratic_of_pontius():
    """A line through what two lines leave over is the last term of the quadratic (Frisch and Waugh, 1933, from memory).

    So the certified parabola of NIST StRD Pontius, x up to 3,000,000, checks our sums at y residuals of 1e-4.
    """
    x, y = arrays("pontius")
    line, square = one_line(x, y), one_line(x, x**2)
    left_y = y - line["intercept"] - line["slope"] * x
    left_square = x**2 - square["intercept"] - square["slope"] * x
    last = one_line(left_square, left_y)
    slope = line["slope"] - last["slope"] * square["slope"]
    level = line["intercept"] - last["slope"] * square["intercept"]

    assert last["slope"] == pytest.approx(-0.316081871345029e-14, rel=1e-8)
    assert slope == pytest.approx(0.732059160401003e-06, rel=1e-9)
    assert level == pytest.approx(0.673565789473684e-03, rel=1e-8)
    # The certified figures have 37 degrees of freedom, a line 38.
    assert last["sd"] * (38 / 37) ** 0.5 == pytest.approx(0.205177424076185e-03, rel=1e-9)
    assert last["slope_se"] * (38 / 37) ** 0.5 == pytest.approx(0.486652849992036e-16, rel=1e-8)


def test_a_line_through_pontius_equals_that_of_scipy():
    x, y = arrays("pontius")
    found, other = one_line(x, y), stats.linregress(x, y)

    assert found["slope"] == pytest.approx(other.slope, rel=1e-12)
    assert found["intercept"] == pytest.approx(other.intercept, rel=1e-9)
    assert found["slope_se"] == pytest.approx(other.stderr, rel=1e-9)


def test_digits_survive_an_offset_of_ten_million():
    """NIST StRD NumAcc4: 10000000.2, then 500 pairs of .1 and .3; mean and standard deviation 0.1 are exact by construction.

    The two of a pair share one x, so that the line is level and its scatter that of the values.
    """
    y = np.array([10000000.2, *[10000000.1, 10000000.3] * 500])
    x = 10_000_000 + np.array([0, *np.repeat(np.arange(1, 501), 2)]) / 7
    line = fit_lines(np.array([1001]), x, y)

    assert line.y_mean[0] == pytest.approx(10000000.2, rel=1e-15)
    assert line.slope[0] == pytest.approx(0, abs=1e-10)
    # Doubles hold these values to 1e-9, so 0.1 cannot be had to more than eight digits.
    assert line.residual_sd[0] * (999 / 1000) ** 0.5 == pytest.approx(0.1, rel=2e-8)


POINTS = st.lists(st.tuples(st.integers(0, 4 * 20_000), st.integers(-25_000, 25_000)), min_size=3, max_size=30)


@given(st.lists(POINTS.filter(lambda points: len({x for x, _ in points}) > 1), min_size=1, max_size=6))
def test_each_of_many_lines_equals_that_of_scipy(groups):
    x, y = (np.array([point[axis] for group in groups for point in group]) / (4, 1000)[axis] for axis in (0, 1))
    count = np.array([len(group) for group in groups])
    lines = fit_lines(count, x, y)

    for index, (own_x, own_y) in enumerate(zip(*(np.split(axis, np.cumsum(count)[:-1]) for axis in (x, y)), strict=True)):
        other = stats.linregress(own_x, own_y)
        # For a constant y linregress gives no standard error.
        half = stats.t.ppf(0.975, len(own_x) - 2) * other.stderr if np.ptp(own_y) else 0
        # What a rounding of the errors (1e-12 of 25 %) does to a slope over these days.
        tolerance = 1e-9 * 25 / np.ptp(own_x)
        assert lines.slope[index] == pytest.approx(other.slope, rel=1e-9, abs=tolerance)
        assert lines.slope_low[index] == pytest.approx(other.slope - half, rel=1e-6, abs=1e4 * tolerance)
        assert lines.slope_high[index] == pytest.approx(other.slope + half, rel=1e-6, abs=1e4 * tolerance)
        at_mean = other.intercept + other.slope * own_x.mean()
        assert lines.y_mean[index] == pytest.approx(at_mean, rel=1e-9, abs=1e-6)
        assert (lines.x_low[index], lines.x_high[index]) == (own_x.min(), own_x.max())


def test_the_order_of_points_and_of_groups_does_not_matter():
    x, y = np.array([1.0, 4, 2, 7, 3, 5, 9]), np.array([2.0, 3, 7, 1, 8, 2, 6])
    there = fit_lines(np.array([4, 3]), x, y)
    back = fit_lines(np.array([3, 4]), x[::-1], y[::-1])

    assert there.slope == pytest.approx(back.slope[::-1], rel=1e-13)
    assert there.residual_sd == pytest.approx(back.residual_sd[::-1], rel=1e-13)


@pytest.mark.parametrize(
    ("x", "y", "told"),
    [
        pytest.param([3.5], [1], set(), id="one-point"),
        pytest.param([3.1] * 7, [1, 2, 3, 4, 5, 6, 7], set(), id="all-at-one-x"),
        pytest.param([3.5, 4.5], [1, 3], {"slope"}, id="two-points"),
        pytest.param([3.5, 3.5, 4.5], [1, 3, 2], {"slope", "slope_low", "slope_high", "residual_sd"}, id="three-at-two-x"),
    ],
)
def test_what_too_few_points_cannot_tell_is_nan(x, y, told):
    lines = fit_lines(np.array([len(x)]), np.array(x, float), np.array(y, float))

    found = {name for name in ("slope", "slope_low", "slope_high", "residual_sd") if np.isfinite(getattr(lines, name)[0])}
    assert found == told
    assert lines.y_mean[0] == pytest.approx(np.mean(y))


@pytest.mark.parametrize("level", [0.0, 0.1, -3.7], ids=str)
def test_a_constant_is_a_level_line_without_scatter(level):
    lines = fit_lines(np.array([7]), np.array([0.1, 0.2, 0.4, 0.7, 1.1, 1.3, 2.9]), np.full(7, level))

    assert lines.slope_low[0] <= 0 <= lines.slope_high[0]
    assert lines.residual_sd[0] == pytest.approx(0, abs=1e-15)


def test_a_line_without_scatter_has_an_interval_of_no_width():
    x = np.arange(9.0)
    lines = fit_lines(np.array([9]), x, 1 + 2 * x)

    assert (lines.slope[0], lines.slope_low[0], lines.slope_high[0]) == pytest.approx((2, 2, 2), rel=1e-14)
    assert drift_sums(np.array([9]), x, 1 + 2 * x).sse[0] == pytest.approx(0, abs=1e-24)
