"""Offset adapters: published worked examples both ways, and a band that never opens on its way through the lever."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from schemas.adapter import IN_LINE, applied, band_through_adapter, set_value
from schemas.plan.bands import band_of_torque, stage_band
from schemas.plan.tolerance import read_tolerance
from schemas.route import Band
from schemas.units import find_unit

D = Decimal


def band(torque, tolerance="8 %", unit="N·m"):
    return band_of_torque(D(torque), read_tolerance(tolerance), find_unit(unit)[0])


@pytest.mark.parametrize(
    ("torque", "length", "offset", "angle", "printed"),
    [
        # Printed in the manual named, read unless said; the unit of length does not matter (theirs are inches).
        pytest.param("300", "10", "4", "0", "214", id="TM-1-1500-204-23-9"),
        pytest.param("40", "12", "4", "0", "30", id="TM-9-2350-261-20-1"),
        pytest.param("100", "12", "6", "0", "66.7", id="NAVEDTRA"),
        pytest.param("40", "12", "4", "90", "40.0", id="NAVEDTRA-right-angle-changes-nothing"),
        pytest.param("135", "10", "1.5", "0", "117.39", id="rotorcraft-manual-ahead"),
        pytest.param("135", "10", "1.5", "180", "158.82", id="rotorcraft-manual-back"),
        pytest.param("70", "12", "2", "0", "60", id="TM-9-254"),
        pytest.param("30", "10", "1.5", "0", "26.09", id="FAA-AC-43.13-1B-figure-7-2-ahead-from-memory"),
        pytest.param("30", "10", "1.5", "180", "35.29", id="FAA-AC-43.13-1B-figure-7-2-back-from-memory"),
        # Computed outside of this project from the formula.
        pytest.param("40", "12", "4", "45", "32.370", id="computed-45"),
        pytest.param("40", "12", "4", "135", "52.336", id="computed-135"),
        pytest.param("100", "400", "50", "30", "90.232", id="computed-30"),
        pytest.param("100", "400", "50", "60", "94.118", id="computed-60"),
        # TM 5-3805-274-13&P prints 17, rounded up.
        pytest.param("19", "22", "3", "0", "16.72", id="TM-5-3805-274-13&P-before-its-rounding"),
    ],
)
def test_published_example_is_met_both_ways(torque, length, offset, angle, printed):
    lever = D(length), D(offset), D(angle)
    half_a_digit = D(1).scaleb(D(printed).as_tuple().exponent) / 2

    setting = set_value(D(torque), *lever)

    assert abs(setting - D(printed)) <= half_a_digit
    assert applied(setting, *lever) == pytest.approx(D(torque), abs=D("1e-40"))
    # A printed setting is half a digit off at most; no lever here is twice the wrench's, so neither is what it applies.
    assert abs(applied(D(printed), *lever) - D(torque)) <= half_a_digit * 2


def test_setting_of_sixty_applies_seventy():
    # TM 9-254, figure 4-5 (read): the inverse direction, a wrench of 12 with 2 ahead.
    assert applied(D(60), D(12), D(2), D(0)) == 70


@pytest.mark.parametrize(
    ("angle", "cosine"),
    [
        pytest.param("0", Fraction(1), id="0"),
        pytest.param("60.0", Fraction(1, 2), id="60"),
        pytest.param("90", Fraction(0), id="90"),
        pytest.param("120", Fraction(-1, 2), id="120"),
        pytest.param("180", Fraction(-1), id="180"),
    ],
)
def test_cosine_of_plain_angles_is_exact(angle, cosine):
    assert Fraction(applied(D(1), D(1), D("0.25"), D(angle))) == 1 + cosine / 4


def test_other_angle_is_good_to_fifteen_digits():
    # cos 45° = √2 / 2, by decimal's own square root; cos 60.5° computed by another program, 15 digits.
    assert abs(applied(D(1), D(1), D(1), D(45)) - 1 - D(2).sqrt() / 2) < D("1e-15")
    assert abs(applied(D(1), D(1), D(1), D("60.5")) - 1 - D("0.492423560103467")) < D("1e-15")


def test_precision_of_the_surroundings_does_not_matter():
    with localcontext() as context:
        context.prec = 3
        setting = set_value(D("123.456"), D(400), D(50), D(0))
        through = band_through_adapter(band("123.456"), D(400), D(50), D(0))

    assert str(setting).startswith("109.7386666666666")
    assert (through.low_nm, through.high_nm) == (D("100.960"), D("118.517"))


@pytest.mark.parametrize(
    ("lever", "what"),
    [
        pytest.param(("50", "50", "180"), "50 mm at 180 degrees reaches back to the hand of a wrench of 50 mm", id="at-the-hand"),
        pytest.param(("50", "120", "120"), "turn it, or take a longer wrench", id="past-the-hand"),
        pytest.param(("0", "50", "0"), "length of wrench or adapter is not above zero", id="no-wrench"),
        pytest.param(("400", "0", "0"), "length of wrench or adapter is not above zero", id="no-adapter"),
        pytest.param(("400", "50", "-1"), "-1 degrees is no angle", id="negative-angle"),
        pytest.param(("400", "50", "180.5"), "180.5 degrees is no angle of an adapter; give it from 0", id="beyond-half-a-turn"),
    ],
)
@pytest.mark.parametrize("way", [set_value, applied], ids=["set-value", "applied"])
def test_lever_that_cannot_be_is_refused_both_ways(lever, what, way):
    with pytest.raises(ValueError, match=what):
        way(D(100), *map(D, lever))


def test_band_is_shown_in_the_joints_unit_and_judged_in_newton_metres():
    through = band_through_adapter(band("40", "10 %", "lbf·ft"), D(12), D(4), D(0))

    # 36, 40, 44 lbf·ft times 12/16, and the same times 1.3558179483314 (exact), inward: 36.607085, 40.674538, 44.741992 N·m.
    assert (through.low, through.target, through.high) == (27, 30, 33)
    assert (through.low_nm, through.target_nm, through.high_nm) == (D("36.608"), D("40.67"), D("44.741"))


@pytest.mark.parametrize(
    ("torque", "tolerance", "edges"),
    [
        # 100 x 12 / 16.9 = 71.0059…: edges worked by hand.
        pytest.param("100", "10 %", ("63.906", "71.01", "78.106"), id="inward"),
        pytest.param("100", "+0 % -10 %", ("63.906", "71.005", "71.005"), id="target-on-the-upper-edge-stays-in-band"),
        pytest.param("100", "+10 % -0 %", ("71.006", "71.01", "78.106"), id="target-on-the-lower-edge"),
        pytest.param("0.05", "2 %", ("0.0348", "0.0355", "0.03621"), id="narrow-band-is-rounded-finer"),
    ],
)
def test_edges_are_rounded_inward_and_the_target_stays_between(torque, tolerance, edges):
    through = band_through_adapter(band(torque, tolerance), D(12), D("4.9"), D(0))

    assert (through.low_nm, through.target_nm, through.high_nm) == tuple(map(D, edges))
    assert (through.low, through.target, through.high) == tuple(map(D, edges))


def test_closing_zeros_of_a_computed_value_are_left_out():
    through = band_through_adapter(band("40", "10 %"), D(12), D(4), D(0))

    assert list(map(str, (through.low, through.target, through.high))) == ["27", "30", "33"]


def test_upper_edge_that_is_over_stays_over_and_above_the_target():
    final = band("100", "10 %")
    stage = stage_band(D("89.9999"), final, find_unit("N·m")[0])

    through = band_through_adapter(stage, D(12), D("4.9"), D(0))

    assert not through.high_is_in_band
    assert band_through_adapter(final, D(12), D("4.9"), D(0)).high_is_in_band
    assert through.low < through.target < through.high == D("63.905")


torques = st.decimals("0.01", "2000", places=2)
levers = st.tuples(st.decimals("100", "2000", places=1), st.decimals("1", "90", places=1), st.decimals("0", "180", places=1))


@given(torques, st.sampled_from(["2 %", "8 %", "+0 % -5 %", "+5 % -0 %"]), levers)
@example(D("0.01"), "2 %", (D(100), D(90), D(180)))
def test_whatever_lies_in_the_shown_band_lies_in_the_fasteners_own(torque, tolerance, lever):
    own = band(torque, tolerance)

    through = band_through_adapter(own, *lever)

    assert through.low_nm <= through.target_nm <= through.high_nm
    # The cosine is good to 15 digits, so the edges are too.
    assert applied(through.low_nm, *lever) >= own.low_nm * (1 - D("1e-13"))
    assert applied(through.high_nm, *lever) <= own.high_nm * (1 + D("1e-13"))
    assert through.high_nm - through.low_nm >= (set_value(own.high_nm, *lever) - set_value(own.low_nm, *lever)) * D("0.9")


@given(torques, levers)
def test_longer_lever_ahead_always_needs_a_lower_setting(torque, lever):
    setting = set_value(torque, *lever)

    assert (setting < torque) == (lever[2] < 90)
    assert (setting > torque) == (lever[2] > 90)


def test_band_of_no_width_is_one_point_at_most():
    point = Band(D(40), D(40), D(40), D(40), D(40), D(40))

    through = band_through_adapter(point, D(12), D(4), D(0))

    assert (through.low_nm, through.target_nm, through.high_nm) == (30, 30, 30)


def test_bar_in_line_is_said_to_need_no_correction():
    assert "nothing is corrected" in IN_LINE
