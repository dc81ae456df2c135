"""A check of a wrench in numbers: its error, its day, its limit, whether units were mixed up, what makes it the same check."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from schemas.bodies import CheckMade
from schemas.check import check_identity, check_key, day_of, error_percent, is_inside, unit_hint
from schemas.units import UNITS, find_unit

CHECK = CheckMade("W-7", "2026-03-02", "120.50", "121", "N·m", "120.50", "121")


@pytest.mark.parametrize(
    ("reference", "shown", "percent"),
    [
        pytest.param("100", "104", 4.0, id="shows-too-much"),
        pytest.param("100", "96", -4.0, id="shows-too-little"),
        pytest.param("100", "100.00", 0.0, id="right"),
        pytest.param("100", "0", -100.0, id="shows-nothing"),
        pytest.param("3", "4", 100 / 3, id="no-end-of-digits"),
    ],
)
def test_the_error_is_that_of_the_shown_value_in_percent_of_the_reference(reference, shown, percent):
    # ISO 6789's deviation: (indicated - reference) / reference * 100 (from memory).
    assert error_percent(Decimal(reference), Decimal(shown)) == percent


@pytest.mark.parametrize(
    ("shown", "limit", "inside"),
    [
        pytest.param("104", "4", True, id="on-the-upper-edge"),
        pytest.param("96", "4", True, id="on-the-lower-edge"),
        pytest.param("104.000001", "4", False, id="just-over"),
        pytest.param("95.999999", "4", False, id="just-under"),
        # The binary float 4.2 is above 4.2, so an edge judged in floats lies outside.
        pytest.param("104.2", "4.2", True, id="on-an-edge-that-no-binary-float-holds"),
        pytest.param("95.8", "4.2", True, id="on-such-an-edge-below"),
    ],
)
def test_a_check_on_the_edge_of_the_permissible_error_is_inside(shown, limit, inside):
    assert is_inside(Decimal(100), Decimal(shown), Decimal(limit)) is inside


@pytest.mark.parametrize(
    ("at", "day"),
    [
        pytest.param("1970-01-01", 0.0, id="first-day"),
        # 1900-03-01 is day 61 in spreadsheets that count from 1900, 1970-01-01 day 25569 and 2026-03-02 day 46083 (ECMA-376
        # part 1, 18.17.4.1, from memory).
        pytest.param("2026-03-02", 46083.0 - 25569, id="day"),
        pytest.param("2026-03-02T06:00:00.000000Z", 46083.25 - 25569, id="instant"),
        pytest.param("2026-03-02T01:00:00+01:00", 46083.0 - 25569, id="instant-with-offset"),
        pytest.param("1969-12-31T12:00:00Z", -0.5, id="before"),
    ],
)
def test_days_count_from_1970_with_the_fraction_of_an_instant(at, day):
    assert day_of(at) == day


# Exact factors to N·m: NIST Special Publication 811 (2008), appendix B; foot 0.3048 m, inch 0.0254 m, pound-force
# 4.4482216152605 N, kilogram-force 9.80665 N.
FOOT_POUND, INCH_POUND, KGF_M = Decimal("1.3558179483314004"), Decimal("0.1129848290276167"), Decimal("9.80665")
KGF_CM = KGF_M / 100


@pytest.mark.parametrize(
    ("unit", "reference", "shown", "hint"),
    [
        pytest.param("N·m", 100, 100 / FOOT_POUND, "`shown` looks like lbf·ft", id="shown-in-foot-pounds"),
        pytest.param("N·m", 100, 100 * FOOT_POUND, "`reference` looks like lbf·ft", id="reference-in-foot-pounds"),
        pytest.param("lbf·ft", 100, 100 * FOOT_POUND, "`shown` looks like N·m", id="shown-in-newton-metres"),
        pytest.param("N·m", 10, 10 / INCH_POUND, "`shown` looks like lbf·in", id="shown-in-inch-pounds"),
        pytest.param("lbf·ft", 10, 120, "`shown` looks like lbf·in", id="twelve-inches-a-foot"),
        pytest.param("N·m", 100, 100 / KGF_M, "`shown` looks like kgf·m", id="shown-in-kilogram-metres"),
        pytest.param("N·m", 100, 10, "`shown` looks like daN·m", id="shown-in-dekanewton-metres"),
        pytest.param("N·m", 100, 100 * FOOT_POUND * Decimal("0.972"), "`reference` looks like lbf·ft", id="gross-2.9-off"),
        pytest.param("N·m", 100, 100 / FOOT_POUND * Decimal("0.969"), None, id="gross-3.1-off"),
        pytest.param("lbf·in", 100, 100 * INCH_POUND / KGF_CM, "`shown` looks like kgf·cm", id="a-ratio-of-1.15"),
        pytest.param("kgf·cm", 100, 100 * KGF_CM / INCH_POUND, "`shown` looks like lbf·in", id="the-other-way"),
        pytest.param("lbf·in", 100, 100 * INCH_POUND / KGF_CM * Decimal("0.991"), "`shown` looks like kgf·cm", id="0.9-off"),
        pytest.param("lbf·in", 100, 100 * INCH_POUND / KGF_CM * Decimal("1.011"), None, id="1.1-off"),
        pytest.param("N·m", 100, 100 / FOOT_POUND * Decimal("1.029"), None, id="2.9-off-and-not-gross"),
        pytest.param("N·m", 100, 199, None, id="a-slip-of-the-pen"),
        pytest.param("N·m", 100, 100, None, id="its-own-unit"),
    ],
)
def test_a_ratio_that_is_a_factor_between_units_names_the_unit(unit, reference, shown, hint):
    assert unit_hint(Decimal(reference), Decimal(shown), find_unit(unit)[0]) == hint


@given(st.sampled_from(UNITS), st.sampled_from(UNITS), st.integers(1, 10**6))
def test_a_value_in_any_other_unit_is_named_as_one_of_that_ratio(unit, other, reference):
    shown = reference * unit.nm_per_unit / other.nm_per_unit
    assume(abs(shown / reference - 1) > Decimal("0.25"))

    column, _, symbol = (unit_hint(Decimal(reference), shown, unit) or "").partition("` looks like ")

    # Two units can stand in one ratio, so the hint names one that fits within 3 %, not always the one that it was.
    named = find_unit(symbol)[0].nm_per_unit / unit.nm_per_unit
    read = shown * named / reference if column == "`shown" else shown / (reference * named)
    assert abs(read - 1) < Decimal("0.0310")


@pytest.mark.parametrize(
    ("change", "same"),
    [
        pytest.param({}, True, id="equal"),
        pytest.param({"reference": "120.5"}, True, id="reference-as-a-spreadsheet-keeps-it"),
        pytest.param({"shown": "121.000"}, True, id="shown-with-zeros"),
        pytest.param({"file": 4, "line": 2, "raw": "00", "identity": "x"}, True, id="another-file-and-line"),
        pytest.param({"wrench": "W-8"}, False, id="wrench"),
        pytest.param({"checked_at": "2026-03-03"}, False, id="day"),
        pytest.param({"reference": "12050"}, False, id="zeros-before-the-point-count"),
        pytest.param({"shown": "1210"}, False, id="shown"),
        pytest.param({"unit": "lbf·ft"}, False, id="unit"),
    ],
)
def test_a_check_is_the_same_where_it_states_the_same(change, same):
    other = replace(CHECK, **change)

    assert (check_key(CHECK) == check_key(other)) is same
    assert (check_identity(CHECK, 1) == check_identity(other, 1)) is same


def test_equal_checks_are_told_apart_by_their_count():
    assert len({check_identity(CHECK, nth) for nth in (1, 2, 3)}) == 3
