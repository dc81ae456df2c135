"""A wrench is fit when it is registered, its calibration is in date on the day, and the torque lies in its checked span."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from schemas.bodies import Calibrated, WrenchAdded
from schemas.wrench import Wrench, calibrate, unfit_because, wrench_from

ADDED = WrenchAdded("W-140", "SN-90417", "click, ratchet", "20", "150", "lbf·ft", "27.1", "203.37", "click")
CALIBRATED = Calibrated("W-140", "K-2210", "2026-01-10", "2027-01-09", "40.0", "200.0")
WRENCH = calibrate(wrench_from(ADDED), CALIBRATED)
DAY = date(2026, 3, 2)


def test_a_new_wrench_has_no_calibration_and_is_not_fit():
    added = wrench_from(ADDED)

    assert added == Wrench(
        "W-140", "SN-90417", "click, ratchet", Decimal("27.1"), Decimal("203.37"), "lbf·ft", "click", Decimal(4)
    )  # fmt: skip
    assert unfit_because(added, "W-140", Decimal(100), DAY) == "wrench W-140 has no calibration"


def test_the_last_calibration_takes_the_place_of_the_one_before():
    later = calibrate(WRENCH, Calibrated("W-140", "K-3001", "2026-12-01", "2027-11-30", "50", "190"))

    assert (later.certificate, later.calibrated_on, later.due_on) == ("K-3001", date(2026, 12, 1), date(2027, 11, 30))
    assert (later.span_low_nm, later.span_high_nm) == (Decimal(50), Decimal(190))
    assert (later.id, later.serial, later.low_nm, later.measures) == ("W-140", "SN-90417", Decimal("27.1"), "click")


def test_an_older_certificate_entered_late_does_not_take_the_place_of_the_newer_one():
    late = calibrate(WRENCH, Calibrated("W-140", "K-1", "2026-01-09", "2028-01-08", "20", "60"))
    adjusted = calibrate(WRENCH, Calibrated("W-140", "K-1", "2026-01-09", "2028-01-08", "20", "60", adjusted=1))

    assert late == WRENCH
    assert adjusted == replace(WRENCH, adjusted_on=date(2026, 1, 9))


def test_of_two_certificates_of_one_day_the_one_entered_last_counts():
    again = calibrate(WRENCH, Calibrated("W-140", "K-2211", "2026-01-10", "2026-07-09", "50", "190"))

    assert (again.certificate, again.due_on, again.span_low_nm) == ("K-2211", date(2026, 7, 9), Decimal(50))


@pytest.mark.parametrize(
    ("high_nm", "given", "percent"),
    [
        # The two figures of ISO 6789-1:2017 for most hand torque tools, from memory.
        pytest.param("10", None, "6", id="small-tool-on-the-edge"),
        pytest.param("10.1", None, "4", id="just-above"),
        pytest.param("200", "2.5", "2.5", id="a-figure-of-its-own"),
    ],
)
def test_the_permissible_error_is_the_usual_one_where_none_was_given(high_nm, given, percent):
    added = WrenchAdded("W-1", "S", "setting", "1", high_nm, "N·m", "1", high_nm, "click", None, given)

    assert wrench_from(added).limit_percent == Decimal(percent)


def test_the_last_day_of_an_adjustment_stays_through_a_calibration_without_one():
    adjusted = calibrate(WRENCH, Calibrated("W-140", "K-3", "2026-12-01", "2027-11-30", "50", "190", adjusted=1))
    found = calibrate(adjusted, Calibrated("W-140", "K-4", "2027-11-01", "2028-10-31", "50", "190"))
    entered_late = calibrate(found, Calibrated("W-140", "K-0", "2025-01-10", "2026-01-09", "50", "190", adjusted=1))

    assert WRENCH.adjusted_on is None
    assert adjusted.adjusted_on == found.adjusted_on == entered_late.adjusted_on == date(2026, 12, 1)


SPAN = "outside the calibrated span of wrench W-140 (40.0 to 200.0 N·m)"


@pytest.mark.parametrize(
    ("torque", "because"),
    [
        pytest.param("39.9", SPAN, id="just-below-the-span"),
        pytest.param("40", None, id="on-the-low-end"),
        pytest.param("120", None, id="inside"),
        pytest.param("200", None, id="on-the-high-end"),
        pytest.param("200.000001", SPAN, id="just-above-the-span"),
        pytest.param("-100", SPAN, id="the-other-direction"),
        pytest.param(None, SPAN, id="above-the-range-of-the-tool"),
    ],
)
def test_rule_9_the_torque_lies_in_the_checked_span(torque, because):
    assert unfit_because(WRENCH, "W-140", None if torque is None else Decimal(torque), DAY) == because


@pytest.mark.parametrize(
    ("day", "because"),
    [
        pytest.param(date(2026, 1, 9), "the pull is older than the calibration of wrench W-140 (2026-01-10)", id="before"),
        pytest.param(date(2026, 1, 10), None, id="first-day"),
        pytest.param(date(2027, 1, 9), None, id="last-day"),
        pytest.param(date(2027, 1, 10), "calibration of wrench W-140 ran out on 2027-01-09", id="after"),
        pytest.param(None, "no certain time was sent, so whether wrench W-140 was in date is not known", id="day-not-known"),
    ],
)
def test_rule_9_the_calibration_is_in_date_on_the_day_of_the_pull(day, because):
    assert unfit_because(WRENCH, "W-140", Decimal(100), day) == because


def test_rule_9_a_wrench_that_is_not_named_or_not_registered_is_not_fit():
    assert unfit_because(None, None, Decimal(100), DAY) == "the record names no wrench"
    assert unfit_because(None, "W-9", Decimal(100), DAY) == "wrench W-9 is not in the register"
