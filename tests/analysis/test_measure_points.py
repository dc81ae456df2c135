"""Which check torque a check belongs to, worked out by hand and row by row."""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.measure_points import check_points, nominals


def table(rows):
    """Checks from (wrench, reference, shown)."""
    return pd.DataFrame(rows, columns=["wrench", "reference_nm", "shown_nm"]).astype({"reference_nm": float, "shown_nm": float})


@pytest.mark.parametrize(
    ("pairs", "nominal"),
    [
        pytest.param([(120, 120.4), (120, 121), (120, 119)], [120] * 3, id="a-reference-that-is-set"),
        pytest.param([(118.4, 120), (121.1, 120), (119.6, 120)], [120] * 3, id="a-wrench-that-is-set"),
        pytest.param([(100, 101), (100, 102), (98.7, 99), (101.3, 99)], [100] * 4, id="half-of-an-even-number"),
        pytest.param([(118.4, 120), (121.1, 120), (119.6, 119.9), (119.7, 120.1)], [120] * 4, id="half-of-the-shown"),
        pytest.param([(119.83, 120.4), (120.11, 121), (120.24, 119)], [120] * 3, id="nothing-in-common"),
        pytest.param([(119.83, 120.4), (121.37, 121)], [120] * 2, id="roundest-between-two"),
        pytest.param([(120.83, 120.4), (121.37, 121)], [121] * 2, id="middle-of-two-to-three-digits"),
        pytest.param([(59.7, 1), (59.9, 2), (60.2, 3), (60.5, 4), (60.9, 5)], [60] * 5, id="a-round-value-in-the-middle-half"),
        pytest.param([(62.3, 1), (62.4, 2), (62.5, 3), (62.6, 4), (62.7, 5)], [62.5] * 5, id="no-rounder-value-is-near"),
        pytest.param([(8.937, 9)], [8.94], id="one-check"),
        pytest.param([(60, 60), (63, 60)], [60, 60], id="within-5-percent"),
        pytest.param([(60, 60.1), (63.01, 63)], [60, 63], id="beyond-5-percent"),
        pytest.param([(100, 1), (104, 2), (108, 3), (112, 4)], [100, 104, 108, 112], id="set-torques-4-percent-apart"),
        pytest.param([(97.4, 1), (98.9, 2), (100.2, 3), (101.8, 4), (103.1, 5)], [100] * 5, id="a-hand-that-scatters-widely"),
        pytest.param([(100, 1), (100, 2), (104.9, 3), (110, 4), (110, 5)], [100, 100, 105, 110, 110], id="a-stray-is-no-bridge"),
        pytest.param(
            [(100 + step, step) for step in range(0, 20)], [105] * 11 + [115] * 9, id="a-run-without-gaps-ends-after-10-percent"
        ),
        pytest.param([(100, 101), (100, 102), (130, 100)], [100, 100, 100], id="a-lone-check-belongs-to-what-it-shows"),
        pytest.param([(180, 1), (60, 2), (180, 3), (120, 4), (60, 5)], [180, 60, 180, 120, 60], id="in-any-order"),
        pytest.param([(119, 120), (121, 120), (95, 120), (96, 120)], [120] * 4, id="a-set-wrench-whose-error-jumped"),
    ],
)
def test_references_that_lie_together_are_one_check_torque(pairs, nominal):
    assert nominals(table([("W-1", *pair) for pair in pairs])).tolist() == nominal


def test_wrenches_are_apart_and_points_come_by_wrench_and_torque():
    points = check_points(table([("W-9", 61, 1), ("W-10", 60, 2), ("W-9", 20, 3), ("W-10", 60, 4), ("W-9", 61, 5)]))

    assert points.wrench.tolist() == ["W-10", "W-9", "W-9"]
    assert points.nominal_nm.tolist() == [60, 20, 61]
    assert points.of_row.tolist() == [2, 0, 1, 0, 2]


def test_references_far_apart_under_one_set_value_are_one_point():
    points = check_points(table([("W-1", 119, 120), ("W-1", 95, 120), ("W-1", 121, 120), ("W-1", 96, 120), ("W-1", 60, 60)]))

    assert points.nominal_nm.tolist() == [60, 120]
    assert points.of_row.tolist() == [1, 1, 1, 1, 0]


def test_without_checks_there_is_no_point():
    points = check_points(table([]))

    assert (points.of_row.tolist(), points.wrench.tolist(), points.nominal_nm.tolist()) == ([], [], [])
    assert nominals(table([])).shape == (0,)


def test_more_wrenches_than_small_integers_hold():
    wrenches = [f"W-{number:05}" for number in range(70_000)]
    points = check_points(table([(wrench, 100, 100) for wrench in wrenches]))

    assert points.wrench.tolist() == wrenches


def slowly(rows):
    """The rule of the check torque, one wrench and one row after the other."""
    found = {}
    for wrench in {row[0] for row in rows}:
        own = sorted(row for row in rows if row[0] == wrench)
        points = []
        for start, end in pairwise(cut(own, 1.05)):
            run = own[start:end]
            parts = pairwise(cut(run, 1.02)) if run[-1][1] > run[0][1] * 1.05 else [(0, len(run))]
            for first, last in parts:
                part = run[first:last]
                while part:
                    points.append([row for row in part if row[1] < part[0][1] * 1.1])
                    part = [row for row in part if row[1] >= part[0][1] * 1.1]
        named = [(point, nominal_of(point)) for point in points]
        several = {nominal for point, nominal in named if len(point) > 1}
        for point, nominal in named:
            lone = len(point) == 1 and point[0][2] in several
            found.update(((wrench, row[1]), point[0][2] if lone else nominal) for row in point)
    return [found[row[0], row[1]] for row in rows]


def cut(own, factor):
    return [0, *(at for at in range(1, len(own)) if own[at][1] > own[at - 1][1] * factor), len(own)]


def nominal_of(point):
    references, shown = ([row[axis] for row in point] for axis in (1, 2))
    common = [
        min((value for value in values if values.count(value) >= max(2, len(values) / 2)), default=None)
        for values in (references, shown)
    ]
    low, high = (sorted(references)[share * len(references) // 4] for share in (1, 3))
    digits = (float(f"{np.median(references):.{count}g}") for count in (1, 2, 3))
    round_values = [value for count, value in enumerate(digits, 1) if low <= value <= high or count == 3]
    return next((value for value in common if value is not None), round_values[0])


TENTHS = st.integers(1, 40).map(lambda tenths: 10 + tenths / 10)
ROWS = st.lists(st.tuples(st.sampled_from(["A", "B", "C"]), TENTHS, TENTHS), min_size=1, max_size=60)
# Values that few rows share, so that half of them is now and then just reached.
FEW = st.lists(st.tuples(st.just("A"), TENTHS, st.sampled_from([10.0, 11.0, 12.0])), min_size=8, max_size=60)


@given(ROWS | FEW)
def test_all_rows_at_once_give_what_the_rule_gives_row_by_row(rows):
    assert nominals(table(rows)).tolist() == slowly(rows)


@pytest.mark.parametrize("shape", ["together", "every-other", "in-pairs", "last", "first"])
@pytest.mark.parametrize("count", range(12, 24))
def test_half_of_many_shown_values_is_found_wherever_they_stand(count, shape):
    """So that the quick look whether half can be alike never overlooks it."""
    half = (count + 1) // 2
    places = {
        "together": range(3, 3 + half),
        "every-other": range(0, 2 * half, 2),
        "in-pairs": [place for place in range(count) if place % 4 < 2][:half],
        "last": range(count - half, count),
        "first": range(half),
    }[shape]
    shown = [50 + row / 7 for row in range(count)]
    for place in places:
        shown[min(place, count - 1)] = 49.5
    assert shown.count(49.5) == half
    rows = [("W-1", 50 + row / 1000, value) for row, value in enumerate(shown)]

    assert nominals(table(rows)).tolist() == [49.5] * count
