"""What is said of drift: the days of the sentences are worked out by hand from the constructed lines."""

from dataclasses import replace
from datetime import date
from math import inf

import numpy as np
import pandas as pd
import pytest

from analysis.measure_drift import DriftLine, measure_drift
from analysis.wording_drift import calendar_day, day_text, finding, saying, signed, torque_name

START = date(2025, 1, 1)
TODAY = date(2026, 1, 15)


def line_of(days, errors, nominal=120.0):
    """The line through checks so many days after 1 January 2025."""
    errors = np.array(errors, float)
    checks = pd.DataFrame({
        "seq": range(len(days)), "wrench": "W-140", "day": np.array(days, float) + (START - date(1970, 1, 1)).days,
        "reference_nm": nominal, "shown_nm": nominal * (1 + errors / 100), "error_percent": errors,
    })  # fmt: skip
    (line,) = measure_drift(checks)
    return line


# Five checks a quarter apart; the line reaches +4 % on day 485 of 2025 on, its 95 % interval is day 450 to day 528.
RISING = line_of([0, 91, 182, 273, 364], [0.4, 0.9, 1.7, 2.4, 3.1])
FALLING = line_of([0, 91, 182, 273, 364], [-0.4, -0.9, -1.7, -2.4, -3.1])
LEAVES = "+4 % at 120 N·m between 27 March 2026 and 13 June 2026"


def straight(start, per_year, checks=5):
    """Checks on a straight line, one in 73.05 days."""
    years = np.arange(checks) / 5
    return line_of(years * 365.25, start + per_year * years)


@pytest.mark.parametrize(
    ("line", "today", "said"),
    [
        pytest.param(RISING, TODAY, f"leaves {LEAVES}", id="ahead"),
        pytest.param(RISING, date(2026, 5, 1), f"leaves {LEAVES}", id="within-the-interval"),
        pytest.param(RISING, date(2026, 6, 13), f"leaves {LEAVES}", id="on-its-last-day"),
        pytest.param(RISING, date(2026, 6, 14), f"left {LEAVES}, if it went on as in its checks", id="unseen-since"),
        pytest.param(FALLING, TODAY, f"leaves {LEAVES}".replace("+", "−"), id="downwards"),
        # 0.8 years of 365.25 days after the first check the line stands at 1.8 %; 4 % is 2.2 years later, on day 1095.75.
        pytest.param(straight(1, 1), TODAY, "leaves +4 % at 120 N·m on 1 January 2028", id="without-scatter"),
        pytest.param(
            straight(0, 0.31), TODAY, "drifts +0.31 % a year at 120 N·m and stays inside ±4 % for more than 10 years", id="slow"
        ),
        pytest.param(
            straight(0, -1e-9), TODAY, "drifts +0.00 % a year at 120 N·m and stays inside ±4 % for more than 10 years",
            id="further-than-any-calendar",
        ),
        # 4 % after 2.5 years of 2 % from -1 %: day 913.125 after 1 January 2025.
        pytest.param(
            straight(-1, 2, 20), date(2029, 1, 1), "has been outside +4 % at 120 N·m since 3 July 2027",
            id="outside-since",
        ),
        pytest.param(
            straight(5, 2), TODAY, "has been outside +4 % at 120 N·m since before its first check on 1 January 2025",
            id="outside-since-ever",
        ),
        pytest.param(
            straight(-9, 2), TODAY, "shows −7.4 % at 120 N·m, outside ±4 %, and drifts back by +2.00 % a year",
            id="on-its-way-back",
        ),
        pytest.param(
            line_of([0], [0.44]), TODAY, "shows +0.4 % at 120 N·m: no drift can be told from 1 check", id="one-check"
        ),
        pytest.param(
            line_of([0, 9], [0.4, 0.3]), TODAY, "shows +0.3 % at 120 N·m: no drift can be told from 2 checks", id="two-checks"
        ),
        pytest.param(
            line_of(range(14), [0.1, -0.1] * 7), TODAY, "shows +0.0 % at 120 N·m: no drift can be told from 14 checks",
            id="only-scatter",
        ),
        pytest.param(
            line_of(range(4), [5, 6, 6, 5]), TODAY, "shows +5.5 % at 120 N·m, outside ±4 %: no drift can be told from 4 checks",
            id="outside-without-drift",
        ),
        pytest.param(
            line_of([0, 1], [99, -30]), TODAY,
            "has no check to go by at 120 N·m; 2 checks are up to 99 % off and not in the line",
            id="nothing-but-gross-checks",
        ),
    ],
)  # fmt: skip
def test_the_finding_of_a_line(line, today, said):
    assert saying(line, 4.0, today) == said
    assert finding(line, 4.0, today) == f"W-140 {said}"


def test_an_interval_that_reaches_beyond_ten_years_is_told_from_its_beginning_on():
    days = np.arange(11) * 30
    # 0.3 % a year reaches 4 % in 2038; with this scatter the interval begins some years earlier.
    line = line_of(days, 0.3 * days / 365.25 + 0.045 * (-1) ** np.arange(11))
    begins, on = calendar_day(line.crossing(4.0).from_), calendar_day(line.crossing(4.0).on)

    assert begins.year < 2036 < on.year
    assert saying(line, 4.0, TODAY) == f"leaves +4 % at 120 N·m not before {day_text(begins)}"


def test_a_line_that_just_left_is_outside_since_about_a_day_while_its_interval_goes_on():
    line = line_of([0, 91, 182, 273, 364, 490], [0.4, 0.9, 1.7, 2.4, 3.1, 4.1])
    crossing = line.crossing(4.0)
    begins, on = (day_text(calendar_day(day)) for day in (crossing.from_, crossing.on))

    assert saying(line, 4.0, date(2026, 5, 7)) == f"has been outside +4 % at 120 N·m since about {on} (not before {begins})"


@pytest.mark.parametrize(
    ("errors", "said"),
    [
        pytest.param([99], "1 check is 99 % off and not in the line", id="one"),
        pytest.param([99, -99.6], "2 checks are up to 100 % off and not in the line", id="two"),
    ],
)
def test_gross_checks_are_counted_at_the_end(errors, said):
    days = [0, 91, 182, 273, 364]
    line = line_of([*days, *range(200, 200 + len(errors))], [0.4, 0.9, 1.7, 2.4, 3.1, *errors])

    assert saying(line, 4.0, TODAY) == f"leaves {LEAVES}; {said}"


@pytest.mark.parametrize(
    ("slope", "said"),
    [
        pytest.param(RISING.slope_low, "", id="on-the-edge-of-the-interval"),
        pytest.param(-0.026, "; single checks bend this line: most go −0.03 % a year (Theil–Sen)", id="outside-it"),
    ],
)
def test_a_robust_slope_is_told_where_it_disagrees(slope, said):
    assert saying(replace(RISING, theil_sen_percent_per_year=slope), 4.0, TODAY) == f"leaves {LEAVES}{said}"


def test_a_line_without_the_worst_of_its_gross_checks_still_counts_them():
    line = DriftLine("W-9", 60.0, 1, 2, 0.0, 0.0, 0.0, 0.0, 0.5, None, None, None, None)

    assert finding(line, 4.0, TODAY) == (
        "W-9 shows +0.5 % at 60 N·m: no drift can be told from 1 check; 2 checks are off and not in the line"
    )


def test_words_for_days_torques_and_percentages():
    assert [day_text(date(2026, month, 3)) for month in (1, 5, 12)] == ["3 January 2026", "3 May 2026", "3 December 2026"]
    assert [torque_name(nominal) for nominal in (120.0, 8.94)] == ["120 N·m", "8.94 N·m"]
    assert [signed(value) for value in (0.35, -0.04, -2.0)] == ["+0.3 %", "+0.0 %", "−2.0 %"]


@pytest.mark.parametrize(
    ("day", "expected"),
    [(0.0, date(1970, 1, 1)), (-0.5, date(1969, 12, 31)), (20454.99, date(2026, 1, 1)), (4e9, None), (-1e300, None), (inf, None)],
)
def test_a_day_that_no_calendar_reaches_is_none(day, expected):
    assert calendar_day(day) == expected
