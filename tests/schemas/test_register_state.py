"""The register as the ledger tells it: wrenches, calibrations, checks and what was taken back, each with its row."""

from dataclasses import replace
from decimal import Decimal

import pytest

from schemas import database as db
from schemas.bodies import Calibrated, CheckMade, CheckVoided, WrenchAdded, WrenchMeasured
from schemas.errors import RecordError
from schemas.fastener_state import At
from schemas.register_state import RegisterState

ADDED = WrenchAdded("W-7", "SN-7", "indicating", "10", "150", "lbf·ft", "13.5", "203.3", "highest")
CALIBRATED = Calibrated("W-7", "C-7", "2026-01-10", "2027-01-09", "13.5", "203.3")
CHECK = CheckMade("W-7", "2026-03-02", "100", "73.7", "lbf·ft", "135.6", "99.9", file=3, line=2, raw="00", identity="ab")


def at(seq):
    return At(seq, "2026-03-02T07:00:00.000000Z", "person-1")


def named(row):
    table, values = row
    return dict(zip(table.names, values, strict=True))


@pytest.fixture(name="state")
def _state():
    state = RegisterState()
    state.apply(at(1), ADDED)
    return state


def test_an_added_wrench_has_a_row_without_calibration():
    table, row = RegisterState().apply(at(1), ADDED)

    assert table is db.WRENCH
    assert named((table, row)) == {
        "wrench": "W-7", "seq": 1, "serial": "SN-7", "type": "indicating", "low": "10", "high": "150", "unit": "lbf·ft",
        "measures": "highest", "certificate": None, "calibrated_on": None, "due_on": None, "span_low_nm": None,
        "span_high_nm": None, "simulated": 0, "limit_percent": "4", "adjusted_on": None,
        "length_mm": None,
    }  # fmt: skip


def test_the_length_that_was_entered_last_counts_and_a_calibration_leaves_it(state):
    added = RegisterState().apply(at(1), replace(ADDED, length_mm="400"))
    assert named(added)["length_mm"] == "400"

    assert named(state.apply(at(2), WrenchMeasured("W-7", "412")))["length_mm"] == "412"
    assert named(state.apply(at(3), WrenchMeasured("W-7", "410.5")))["length_mm"] == "410.5"
    assert named(state.apply(at(4), CALIBRATED))["length_mm"] == "410.5"
    assert state.wrenches["W-7"].length_mm == Decimal("410.5")


def test_a_calibration_changes_the_row_of_its_wrench(state):
    row = named(state.apply(at(2), CALIBRATED))

    assert (row["seq"], row["certificate"], row["calibrated_on"], row["due_on"]) == (1, "C-7", "2026-01-10", "2027-01-09")
    assert (row["span_low_nm"], row["span_high_nm"], row["adjusted_on"]) == ("13.5", "203.3", None)


def test_an_adjustment_names_its_day_and_the_next_calibration_keeps_it(state):
    state.apply(at(2), Calibrated("W-7", "C-7", "2026-01-10", "2027-01-09", "13.5", "203.3", adjusted=1))

    row = named(state.apply(at(3), Calibrated("W-7", "C-8", "2026-06-01", "2027-05-31", "13.5", "203.3")))

    assert (row["calibrated_on"], row["adjusted_on"]) == ("2026-06-01", "2026-01-10")


def test_a_check_has_its_digits_its_day_and_its_error(state):
    table, row = state.apply(at(5), CHECK)

    assert table is db.WRENCH_CHECK
    assert named((table, row)) == {
        "seq": 5, "wrench": "W-7", "at": "2026-03-02", "day": 20514.0, "by": "person-1", "reference": "100", "shown": "73.7",
        "unit": "lbf·ft", "reference_nm": "135.6", "shown_nm": "99.9", "reference_nm_real": 135.6,
        "error_percent": pytest.approx(-26.327433), "file": 3, "line": 2, "identity": "ab", "void": None, "simulated": 0,
    }  # fmt: skip
    assert state.has_check(5)
    assert not state.has_check(4)


def test_a_simulated_wrench_and_its_check_say_so():
    state = RegisterState()
    wrench = state.apply(at(1), WrenchAdded("W-7", "SN", "setting", "1", "9", "N·m", "1", "9", "click", 1, "6"))
    check = state.apply(at(2), CheckMade("W-7", "2026-03-02", "5", "5", "N·m", "5", "5", simulated=1))

    assert named(wrench)["simulated"] == named(check)["simulated"] == 1


def test_a_check_that_is_taken_back_keeps_its_row_and_gets_the_reason(state):
    kept = named(state.apply(at(5), CHECK))

    assert named(state.apply(at(9), CheckVoided(5, "typed 73.7 for 99.7"))) == kept | {"void": "typed 73.7 for 99.7"}


@pytest.mark.parametrize(
    ("body", "message"),
    [
        pytest.param(Calibrated("W-9", "C", "2026-01-10", "2027-01-09", "1", "2"), "wrench W-9, which", id="calibration"),
        pytest.param(CheckMade("W-9", "2026-03-02", "1", "1", "N·m", "1", "1"), "wrench W-9, which was never added", id="check"),
        pytest.param(CheckVoided(1, "why"), "takes back a check in entry 1, where none is; run `verify`", id="void"),
    ],
)
def test_what_was_never_entered_is_refused(state, body, message):
    with pytest.raises(RecordError, match=message):
        state.apply(at(2), body)
