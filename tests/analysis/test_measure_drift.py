"""Lines of drift against certified values, worked examples and simulated wrenches whose truth is known.

The data of tests/data/straight-lines.json carry their source; those of NIST are in the public domain.
"""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from analysis.measure_drift import GROSS_PERCENT, THEIL_SEN_CHECKS, YEAR_DAYS, measure_drift, with_theil_sen
from schemas.errors import RecordError

DATA = json.loads((Path(__file__).parents[1] / "data" / "straight-lines.json").read_text(encoding="utf-8"))

# Made up for this test: five checks a quarter apart that rise from 0.4 % to 3.1 %.
DAYS = [0, 91, 182, 273, 364]
ERRORS = [0.4, 0.9, 1.7, 2.4, 3.1]


def checks_of(days, errors, wrench="W-140", reference=120.0):
    """Checks of one wrench against one reference."""
    days, errors = np.asarray(days, float), np.asarray(errors, float)
    return pd.DataFrame({
        "seq": np.arange(len(days)), "wrench": wrench, "day": days, "reference_nm": reference,
        "shown_nm": reference * (1 + errors / 100), "error_percent": errors,
    })  # fmt: skip


def line_of(days, errors):
    (line,) = measure_drift(checks_of(days, errors))
    return line


def line_through(name):
    """The line through published data, scaled down so that no value counts as gross, and the scale."""
    y = np.array(DATA[name]["y"])
    scale = GROSS_PERCENT / np.abs(y).max()
    return line_of(DATA[name]["x"], y * scale), scale


class TestPublished:
    @pytest.mark.parametrize(
        ("at", "fit", "mean_half", "single_half"),
        [
            # NIST StRD Norris: the line from its certified values; half widths worked out apart in numpy.
            (0, -0.2623231, 0.4731436, 1.8593305),
            (500, 500.7960859, 0.3078895, 1.8242919),
            (1000, 1001.8544949, 0.5892253, 1.8922028),
        ],
    )
    def test_bands_of_norris(self, at, fit, mean_half, single_half):
        line, scale = line_through("norris")

        assert line.fit(at) / scale == pytest.approx(fit, rel=1e-7)
        assert line.confidence_half_width(at) / scale == pytest.approx(mean_half, rel=1e-6)
        assert line.prediction_half_width(at) / scale == pytest.approx(single_half, rel=1e-6)

    def test_bands_of_the_textbook(self):
        """Montgomery, Peck and Vining, example 2.7: at x = 10 they print 2256.32 and [2048.32, 2464.32], rounding by hand."""
        line, scale = line_through("propellant")
        fit, single = line.fit(10) / scale, line.prediction_half_width(10) / scale

        assert (fit, fit - single, fit + single) == pytest.approx((2256.32, 2048.32, 2464.32), abs=0.2)
        assert line.confidence_half_width(10) / scale == pytest.approx((2305.834054 - 2206.738845) / 2, rel=1e-6)

    def test_the_thermometer_of_the_gum(self):
        """GUM H.3.4: the line at 30 °C is -0.1494 °C with u = 0.0041; t(0.95, 9) = 2.26 (GUM table G.2)."""
        line, scale = line_through("thermometer")

        assert line.fit(30) / scale == pytest.approx(-0.1494, abs=5e-5)
        assert line.confidence_half_width(30) / scale / 2.262157 == pytest.approx(0.0041, abs=5e-5)

    def test_theil_sen_of_sen_1968(self):
        """P. K. Sen, J. Am. Stat. Assoc. 63 (1968): slope 4 for these seven points, as in scipy's own tests."""
        days, errors = [1, 2, 3, 4, 10, 12, 18], np.array([9, 15, 19, 20, 45, 55, 78]) / 10
        line = with_theil_sen(line_of(days, errors), checks_of(days, errors))

        assert line.theil_sen_percent_per_year == pytest.approx(0.4 * YEAR_DAYS)


class TestWorkedByHand:
    def test_a_drift_its_crossing_and_the_day_to_recalibrate(self):
        line = line_of(DAYS, ERRORS)
        crossing = line.crossing(4.0)

        assert line.slope_percent_per_year == pytest.approx(0.0075824176 * 365.25, rel=1e-8)
        assert (line.slope_high - line.slope_low) / 2 == pytest.approx(3.1824463 * 0.000276551 * 365.25, rel=1e-5)
        assert line.residual_sd == pytest.approx(0.0795822, rel=1e-6)
        assert (line.checks, line.gross, line.mean_day, line.sxx) == (5, 0, 182, 82810)
        assert line.fit([455, 546]) == pytest.approx([3.77, 4.46])
        assert line.prediction_half_width([455, 546]) == pytest.approx([0.3670176, 0.4237954], rel=1e-6)
        assert (crossing.on, crossing.edge_percent) == (pytest.approx(485.3333333), 4.0)
        assert line.recalibrate_before(4.0) == 439
        assert line.error_percent_now == pytest.approx(0.32 + 0.0075824176 * 364)

    def test_downwards_is_the_mirror_image(self):
        up, down = line_of(DAYS, ERRORS), line_of(DAYS, [-error for error in ERRORS])
        crossing, mirrored = up.crossing(4.0), down.crossing(4.0)

        assert mirrored.edge_percent == -4.0
        assert (mirrored.on, mirrored.from_, mirrored.to) == pytest.approx((crossing.on, crossing.from_, crossing.to))
        assert down.recalibrate_before(4.0) == up.recalibrate_before(4.0)

    def test_the_interval_of_a_crossing_is_where_the_confidence_band_reaches_the_limit(self):
        line = line_of(DAYS, ERRORS)
        crossing = line.crossing(4.0)
        ends = np.array([crossing.from_, crossing.to])

        assert crossing.from_ < crossing.on < crossing.to
        assert line.fit(ends) + np.array([1, -1]) * line.confidence_half_width(ends) == pytest.approx([4, 4])

    def test_a_line_without_scatter_crosses_on_one_day(self):
        crossing = line_of([0, 10, 20, 30], [0, 0.5, 1, 1.5]).crossing(4.0)

        assert (crossing.on, crossing.from_, crossing.to) == pytest.approx((80, 80, 80))

    @pytest.mark.parametrize(
        ("errors", "on"),
        [
            pytest.param([5.0, 6.1, 6.9, 8.0], -10, id="out-before-the-first-check"),
            pytest.param([3.0, 4.1, 4.9, 6.0], 10, id="out-between-checks"),
            pytest.param([-9.0, -7.9, -7.1, -6.0], 132.35, id="on-its-way-back-through-the-whole-band"),
        ],
    )
    def test_a_crossing_may_lie_in_the_past_or_beyond_the_other_limit(self, errors, on):
        line = line_of([0, 10, 20, 30], errors)

        assert line.crossing(4.0).on == pytest.approx(on, abs=1)
        assert line.crossing(4.0).edge_percent == 4.0

    def test_a_crossing_further_off_than_any_calendar_is_a_number_all_the_same(self):
        line = line_of([0, 1, 2, 3], [0, 1e-9, 2e-9, 3e-9])

        assert line.crossing(4.0).on == pytest.approx(4e9)
        assert line.recalibrate_before(4.0) == pytest.approx(4e9, rel=1e-3)

    @given(st.lists(st.integers(-100, 100), min_size=4, max_size=12), st.floats(0.01, 0.2), st.sampled_from([-1, 1]))
    def test_the_day_to_recalibrate_is_the_first_whole_day_on_which_the_band_reaches_the_limit(self, noise, pace, way):
        days = np.arange(len(noise)) * 7.3
        line = line_of(days, way * pace * days + np.array(noise) / 1000)
        assume(line.is_drifting)
        day = line.recalibrate_before(4.0)

        towards = np.sign(line.slope_percent_per_year) * line.fit([day - 1, day]) + line.prediction_half_width([day - 1, day])
        assert day == int(day)
        assert towards[0] < 4 + 1e-6
        assert towards[1] >= 4 - 1e-6


class TestFewOrOdd:
    def test_no_checks_give_no_line(self):
        assert measure_drift(checks_of([], [])) == ()

    @pytest.mark.parametrize(
        ("days", "errors", "slope"),
        [
            pytest.param([5], [1.5], None, id="one-check"),
            pytest.param([5, 15], [1.5, 2.5], 36.525, id="two-checks"),
            pytest.param([5, 5], [1.5, 2.5], None, id="two-at-one-instant"),
            pytest.param([5.3] * 6, [1, 2, 3, 1, 2, 3], None, id="six-at-one-instant"),
        ],
    )
    def test_too_few_to_tell(self, days, errors, slope):
        line = line_of(days, errors)

        assert line.slope_percent_per_year == pytest.approx(slope)
        assert (line.slope_low, line.slope_high, line.residual_sd) == (None, None, None)
        assert not line.is_drifting
        assert (line.crossing(4.0), line.recalibrate_before(4.0)) == (None, None)
        assert np.isnan(line.confidence_half_width([5, 6])).all()
        assert np.isnan(line.prediction_half_width(5))
        assert line.error_percent_now == pytest.approx(np.mean(errors) if slope is None else errors[-1])

    @pytest.mark.parametrize("level", [0.0, 0.1, 3.3], ids=str)
    def test_an_error_that_stays_is_no_drift(self, level):
        line = line_of([1, 2, 4, 8, 16.7], [level] * 5)

        assert not line.is_drifting
        assert line.error_percent_now == pytest.approx(level)

    def test_rows_in_any_order_and_several_at_one_instant(self):
        checks = checks_of([*DAYS, 182], [*ERRORS, 1.6])
        mixed = checks.sample(frac=1, random_state=7)

        assert measure_drift(mixed)[0].slope_percent_per_year == pytest.approx(measure_drift(checks)[0].slope_percent_per_year)
        assert (measure_drift(mixed)[0].first_day, measure_drift(mixed)[0].last_day) == (0, 364)

    def test_a_line_for_each_wrench_and_check_torque_in_order(self):
        parts = [("W-9", 60), ("W-10", 120), ("W-10", 20), ("W-9", 20)]
        checks = pd.concat([checks_of(DAYS, np.array(ERRORS) * (number + 1), *part) for number, part in enumerate(parts)])
        lines = measure_drift(checks)

        assert [(line.wrench, line.nominal_nm) for line in lines] == [("W-10", 20), ("W-10", 120), ("W-9", 20), ("W-9", 60)]
        slope = line_of(DAYS, ERRORS).slope_percent_per_year
        assert [line.slope_percent_per_year for line in lines] == pytest.approx([slope * times for times in (3, 2, 4, 1)])


class TestGross:
    def test_a_gross_check_is_counted_and_bends_no_line(self):
        plain, line = line_of(DAYS, ERRORS), line_of([*DAYS, 300, 500], [*ERRORS, 99, -GROSS_PERCENT - 0.1])

        assert (line.checks, line.gross, line.worst_gross_percent) == (5, 2, 99)
        assert line.slope_percent_per_year == pytest.approx(plain.slope_percent_per_year)
        assert line.last_day == 364

    def test_as_many_gross_checks_as_good_ones(self):
        line = line_of([0, 1, 2, 3], [1, 30, 2, 40])

        assert (line.checks, line.gross, line.mean_error_percent, line.last_day) == (2, 2, 1.5, 2)

    @pytest.mark.parametrize("error", [GROSS_PERCENT, -GROSS_PERCENT])
    def test_just_as_far_off_is_not_gross(self, error):
        assert line_of([0], [error]).gross == 0

    def test_nothing_but_gross_checks_gives_their_mean_and_no_line(self):
        gross, good = measure_drift(pd.concat([checks_of([1, 2, 9], [30, 40, 50], "A"), checks_of(DAYS, ERRORS, "B")]))

        assert (gross.checks, gross.gross, gross.worst_gross_percent) == (0, 3, 50)
        assert (gross.first_day, gross.last_day, gross.error_percent_now) == (1, 9, 40)
        assert (gross.slope_percent_per_year, gross.residual_sd, gross.crossing(4.0)) == (None, None, None)
        assert good.checks == 5


class TestTheilSen:
    def test_one_outlier_moves_it_less_than_the_line(self):
        days, errors = np.arange(12) * 30.0, np.arange(12) * 0.1
        errors[-1] += 9
        line = with_theil_sen(line_of(days, errors), checks_of(days, errors))

        assert line.theil_sen_percent_per_year == pytest.approx(0.1 / 30 * YEAR_DAYS, rel=1e-6)
        assert line.slope_percent_per_year > 2 * line.theil_sen_percent_per_year

    def test_it_looks_at_its_own_checks_only_and_at_no_gross_ones(self):
        checks = pd.concat([
            checks_of([*DAYS, 400], [*ERRORS, 90]),
            checks_of(DAYS, np.array(ERRORS) * -3, reference=60.0),
            checks_of(DAYS, ERRORS[::-1], "W-9"),
        ])  # fmt: skip
        line = next(line for line in measure_drift(checks) if (line.wrench, line.nominal_nm) == ("W-140", 120))

        # The median of the ten slopes between two of the five checks, by hand: 0.7 in 91 days.
        assert with_theil_sen(line, checks).theil_sen_percent_per_year == pytest.approx(0.7 / 91 * YEAR_DAYS)

    def test_none_without_a_slope_or_with_too_many_checks(self):
        lone = checks_of([5], [1.5])
        days = np.arange(THEIL_SEN_CHECKS + 1.0)
        many = checks_of(days, np.sin(days))

        for checks in (lone, many):
            assert with_theil_sen(measure_drift(checks)[0], checks).theil_sen_percent_per_year is None


@pytest.mark.parametrize("column", ["day", "reference_nm", "shown_nm", "error_percent"])
@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf], ids=str)
def test_a_number_that_is_none_is_refused_by_name(column, value):
    checks = checks_of(DAYS, ERRORS)
    checks.loc[3, column] = value

    with pytest.raises(RecordError, match=f"wrench `W-140`, check 3: `{column}` is {value}, .*; take that check back"):
        measure_drift(checks)


WRENCHES, CHECKS = 2000, 40
PACE, SCATTER = 1.2, 0.3


class TestSimulated:
    """Two thousand simulated wrenches whose true line is known; the share of hits has a standard deviation of 0.5 %."""

    @pytest.fixture
    def dice(self):
        return np.random.default_rng(20260302)

    def table(self, dice, pace):
        days = np.sort(dice.uniform(0, 2 * YEAR_DAYS, (WRENCHES, CHECKS)), axis=1).ravel()
        errors = 0.4 + pace * days / YEAR_DAYS + dice.normal(0, SCATTER, days.size)
        wrench = np.repeat([f"W-{number:04}" for number in range(WRENCHES)], CHECKS)
        return checks_of(days, errors, wrench)

    def test_95_percent_intervals_hold_the_truth_in_93_to_97_percent(self, dice):
        lines = measure_drift(self.table(dice, PACE))
        true_day = (4 - 0.4) / PACE * YEAR_DAYS
        crossings = [line.crossing(4.0) for line in lines]
        single = 0.4 + PACE * 3 + dice.normal(0, SCATTER, WRENCHES)
        off = [abs(value - line.fit(3 * YEAR_DAYS)) for value, line in zip(single, lines, strict=True)]

        assert len(lines) == WRENCHES
        assert 0.93 < np.mean([one.from_ <= true_day <= one.to for one in crossings]) < 0.97
        assert 0.93 < np.mean([line.slope_low <= PACE <= line.slope_high for line in lines]) < 0.97
        single_half = [line.prediction_half_width(3 * YEAR_DAYS) for line in lines]
        assert 0.93 < np.mean(np.array(off) <= np.array(single_half)) < 0.97

    def test_without_drift_about_5_percent_are_called_drifting(self, dice):
        lines = measure_drift(self.table(dice, 0.0))

        assert 0.03 < np.mean([line.is_drifting for line in lines]) < 0.065

    def test_the_slopes_are_those_of_scipy(self, dice):
        checks = self.table(dice, PACE)
        lines = measure_drift(checks)

        for line in lines[::100]:
            own = checks[checks["wrench"] == line.wrench]
            other = stats.linregress(own["day"], own["error_percent"])
            assert line.slope_percent_per_year == pytest.approx(other.slope * YEAR_DAYS)
