"""What has to be done first with the wrenches of a shop, with a day that is given and never looked up."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pandas as pd
import pytest

from analysis.measure_drift import measure_drift
from analysis.measure_due import measure_due
from schemas.wrench import Wrench

TODAY = date(2026, 3, 2)
W = Wrench(
    "W-1", "SN-1", "indicating", Decimal(40), Decimal(200), "N·m", "highest", Decimal(4), "C-1", date(2026, 1, 10),
    date(2027, 1, 9), Decimal(40), Decimal(200),
)  # fmt: skip


def checks(*errors, wrench="W-1", torque=100.0, every=7):
    """Weekly checks with these errors in percent, the last one on the day."""
    last = (TODAY - date(1970, 1, 1)).days
    days = [last - every * back for back in reversed(range(len(errors)))]
    table = pd.DataFrame({"wrench": wrench, "seq": range(len(errors)), "day": days, "error_percent": errors})
    table["reference_nm"] = torque
    table["shown_nm"] = torque * (1 + table["error_percent"] / 100)
    return table.astype({"day": "float64", "error_percent": "float64"})


def only(wrench=W, given=None):
    (due,) = measure_due([wrench], checks() if given is None else given, TODAY)
    return due


STEADY = (0.1, -0.1) * 20
RISING = tuple(0.05 * week + (0.1 if week % 2 else -0.1) for week in range(60))


@pytest.mark.parametrize(
    ("due_on", "overdue", "what"),
    [
        pytest.param(None, True, "has no calibration and counts as not fit", id="never"),
        pytest.param(TODAY - timedelta(days=1), True, "calibration ran out on 1 March 2026: not fit", id="yesterday"),
        pytest.param(TODAY, False, "calibrate by 2 March 2026", id="last-day-is-still-in-date"),
        pytest.param(date(2027, 1, 9), False, "calibrate by 9 January 2027", id="in-date"),
    ],
)
def test_a_wrench_is_due_when_its_calibration_is(due_on, overdue, what):
    due = only(replace(W, due_on=due_on))

    assert due.is_overdue is overdue
    assert what in due.what
    assert due.findings == ()
    assert due.checked == "never checked"


def test_steady_checks_ask_for_nothing_more():
    due = only(given=checks(*STEADY))

    assert due.what == "calibrate by 9 January 2027"
    assert due.last_day == TODAY
    assert due.findings == ("shows +0.0 % at 100 N·m: no drift can be told from 40 checks",)


def test_a_line_that_leaves_its_limit_before_the_calibration_is_due_comes_first():
    given = checks(*RISING)
    due = only(given=given)

    begins = date(1970, 1, 1) + timedelta(days=int(measure_drift(given)[0].crossing(4.0).from_))
    assert TODAY < begins < W.due_on
    assert due.by == begins
    assert not due.is_overdue
    assert due.what == f"calibrate before {begins.day} {begins:%B} {begins.year}, or it may leave its limit at 100 N·m"


@pytest.mark.parametrize(
    ("errors", "what"),
    [
        pytest.param((5.0,) * 6, "take it out of use: it shows +5.0 % at 100 N·m, outside ±4 %", id="outside"),
        pytest.param((*STEADY, 4.1), "take it out of use: it shows +4.1 % at 100 N·m, outside ±4 %", id="the-last-check-alone"),
        pytest.param((-4.01,), "take it out of use: it shows −4.0 % at 100 N·m, outside ±4 %", id="one-check-is-enough"),
        pytest.param((*STEADY, 99.0), "take it out of use: it shows +99.0 % at 100 N·m, outside ±4 %", id="absurd"),
        pytest.param(
            (*STEADY, 99.0, 0.1), "look at it: a check at 100 N·m was grossly off; void what was mistyped", id="absurd-before"
        ),
        pytest.param(
            (*STEADY, 99.0, 40.0, 0.1), "look at it: 2 checks at 100 N·m were grossly off; void what was mistyped", id="two"
        ),
        pytest.param((30.0, *STEADY, 7.0), "take it out of use: it shows +7.0 % at 100 N·m, outside ±4 %", id="both"),
    ],
)
def test_what_a_check_shows_to_be_wrong_is_overdue(errors, what):
    due = only(given=checks(*errors))

    assert due.is_overdue
    assert due.what == what


def test_an_earlier_check_outside_that_later_ones_do_not_bear_out_asks_for_nothing():
    assert not only(given=checks(*STEADY, 4.1, *STEADY)).is_overdue


def test_on_the_day_a_calibration_ends_a_failed_check_still_comes_first():
    due = only(replace(W, due_on=TODAY), checks(*STEADY, 5.0))

    assert due.is_overdue
    assert due.what.startswith("take it out of use")


def test_a_failed_check_at_one_torque_comes_before_a_drift_at_another():
    drifting = checks(*(0.0655 * week + (0.3 if week % 2 else -0.3) for week in range(61)))
    failing = checks(0.1, 0.2, 10.0, torque=60.0)

    assert only(given=pd.concat([drifting, failing], ignore_index=True)).what == (
        "take it out of use: it shows +10.0 % at 60 N·m, outside ±4 %"
    )


def test_a_failed_check_comes_before_a_calibration_that_ran_out():
    assert only(replace(W, due_on=TODAY - timedelta(days=30)), checks(6.0)).what.startswith("take it out of use")


def test_the_last_check_is_the_last_one_also_where_it_is_gross():
    assert only(given=checks(*STEADY, 99.0)).last_day == TODAY


def test_what_was_seen_before_the_last_calibration_was_answered_by_it():
    seen = checks(*(0.0655 * week + (0.3 if week % 2 else -0.3) for week in range(61)), 9.0)
    seen["day"] -= 7.0

    assert only(given=seen).is_overdue
    assert not only(replace(W, calibrated_on=TODAY), seen).is_overdue


def test_a_wrench_that_was_adjusted_and_not_checked_since_says_so():
    due = only(replace(W, adjusted_on=date(2026, 1, 10)))

    assert due.checked == "not checked since it was adjusted on 2026-01-10"


def test_a_crossing_that_may_have_begun_is_overdue():
    due = only(given=checks(*(0.0655 * week + (0.3 if week % 2 else -0.3) for week in range(61))))

    assert due.is_overdue
    assert due.what.startswith("calibrate before ")


def test_on_the_edge_of_the_limit_is_inside():
    assert not only(given=checks(4.0, 4.0, 4.0)).is_overdue


def test_what_is_overdue_stands_before_what_is_not_and_the_sooner_before_the_later():
    names = ("A", "B", "C", "D", "E")
    a, b, c, d, e = (replace(W, id=name) for name in names)
    shop = [a, replace(b, due_on=date(2026, 4, 1)), replace(c, due_on=date(2026, 2, 1)), replace(d, due_on=None), e]

    found = measure_due(shop, checks(6.0, wrench="E"), TODAY)

    assert [due.wrench.id for due in found] == ["E", "D", "C", "B", "A"]
    assert [due.is_overdue for due in found] == [True, True, True, False, False]
