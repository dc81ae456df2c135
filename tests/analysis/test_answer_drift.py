"""The answer of `wrench drift --json`, as another program reads it."""

import json
from datetime import date
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest

from analysis.answer_drift import drift_json
from analysis.measure_drift import measure_drift, with_theil_sen
from analysis.measure_wrench import WrenchDrift
from schemas.wrench import Wrench

TODAY = date(2026, 1, 15)


def drift_of(days, errors, *, simulated=False, registered=False, limit="4"):
    """A wrench whose checks came so many days after 1 January 2025."""
    errors = np.array(errors, float)
    checks = pd.DataFrame({
        "seq": range(len(days)), "wrench": "W-140", "day": np.array(days, float) + 20089, "reference_nm": 120.0,
        "shown_nm": 120 * (1 + errors / 100), "error_percent": errors, "simulated": np.full(len(days), simulated),
    })  # fmt: skip
    wrench = Wrench(
        "W-140", "SN-140", "indicating", Decimal(40), Decimal(200), "N·m", "highest", Decimal(limit), simulated=registered
    )  # fmt: skip
    return WrenchDrift(wrench, checks, tuple(with_theil_sen(line, checks) for line in measure_drift(checks)), ())


def test_a_drift_with_its_days():
    answer = json.loads(json.dumps(drift_json(drift_of([0, 91, 182, 273, 364], [0.4, 0.9, 1.7, 2.4, 3.1]), TODAY)))

    # Slope and days by hand: 2.7 % in a year, 4 % on day 485 after 1 January 2025, single checks on day 439.
    half = 3.1824463 * 0.000276551 * 365.25
    assert answer == {
        "format": 1,
        "wrench": "W-140",
        "limit_percent": 4.0,
        "points": [
            {
                "nominal_nm": 120.0,
                "checks": 5,
                "gross": 0,
                "first_check": "2025-01-01",
                "last_check": "2025-12-31",
                "last_error_percent": 3.1,
                "outside": False,
                "slope_percent_per_year": pytest.approx(0.0075824176 * 365.25, rel=1e-7),
                "slope_low": pytest.approx(0.0075824176 * 365.25 - half, rel=1e-5),
                "slope_high": pytest.approx(0.0075824176 * 365.25 + half, rel=1e-5),
                "theil_sen_percent_per_year": pytest.approx(0.7 / 91 * 365.25),
                "error_percent_now": pytest.approx(3.08),
                "limit_percent": 4.0,
                "crosses_on": "2026-05-01",
                "crosses_from": "2026-03-27",
                "crosses_to": "2026-06-13",
                "recalibrate_before": "2026-03-16",
                "finding": "W-140 leaves +4 % at 120 N·m between 27 March 2026 and 13 June 2026",
            }
        ],
    }


DAYS_AHEAD = ("crosses_on", "crosses_from", "crosses_to", "recalibrate_before")


@pytest.mark.parametrize(
    ("days", "errors"),
    [
        pytest.param([0, 9], [1, 2], id="two-checks"),
        pytest.param([0, 1, 2, 3], [1, -1, 1, -1], id="no-drift"),
        pytest.param([0, 1, 2, 3], [0, 1e-9, 2e-9, 3e-9], id="further-than-any-calendar"),
    ],
)
def test_days_that_cannot_be_told_are_null(days, errors):
    (point,) = drift_json(drift_of(days, errors), TODAY)["points"]

    assert [point[key] for key in DAYS_AHEAD] == [None] * 4


def test_what_one_check_cannot_tell_is_null():
    (point,) = drift_json(drift_of([0], [1.5]), TODAY)["points"]

    assert (point["checks"], point["error_percent_now"]) == (1, 1.5)
    assert {point[key] for key in ("slope_percent_per_year", "slope_low", "slope_high", "theil_sen_percent_per_year")} == {None}


def test_a_wrench_without_checks_has_no_points():
    assert drift_json(drift_of([], []), TODAY) == {"format": 1, "wrench": "W-140", "limit_percent": 4.0, "points": []}


@pytest.mark.parametrize(
    "what", [pytest.param({"simulated": True}, id="checks"), pytest.param({"registered": True}, id="wrench")]
)
def test_what_is_simulated_says_so(what):
    assert drift_json(drift_of([0, 9], [1, 2], **what), TODAY)["simulated"] == 1


def test_the_limit_is_that_of_the_wrench():
    (point,) = drift_json(drift_of([0, 91, 182, 273, 364], [0.4, 0.9, 1.7, 2.4, 3.1], limit="2.5"), TODAY)["points"]

    assert point["limit_percent"] == 2.5
    assert point["finding"].startswith("W-140 has been outside +2.5 % at 120 N·m since about 15 October 2025")
