"""Band edges are exact in decimal, in the joint's unit and in N·m."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.errors import UnitError
from schemas.plan.bands import band_of_limits, band_of_torque, band_with_drag, counts_drag, stage_band
from schemas.plan.tolerance import read_tolerance
from schemas.route import Band
from schemas.units import find_unit

NM = find_unit("N·m")[0]
LBF_FT = find_unit("lbf·ft")[0]
LBF_IN = find_unit("lbf·in")[0]
# Exact product of the pound, the foot and standard gravity: NIST Special Publication 811 (2008), appendix B.
NM_PER_LBF_FT = "1.3558179483314004"


# The three figures that binary floating point misses: 9.0*(1+20/100), 10.0*(1-8/100), 6.0*(1+15/100).
@pytest.mark.parametrize(
    ("torque", "tolerance", "low", "high"),
    [
        pytest.param("9.0", "20 %", "7.2", "10.8", id="9-plus-20-percent"),
        pytest.param("10.0", "8 %", "9.2", "10.8", id="10-minus-8-percent"),
        pytest.param("6.0", "15 %", "5.1", "6.9", id="6-plus-15-percent"),
        pytest.param("95", "±5 N·m", "90", "100", id="unit"),
        pytest.param("95", "+10 % -0 %", "95", "104.5", id="one-sided"),
        pytest.param("95", "+5 N·m -2.5 Nm", "92.5", "100", id="two-sides"),
    ],
)
def test_the_edges_around_a_torque_are_exact(torque: str, tolerance: str, low: str, high: str) -> None:
    band = band_of_torque(Decimal(torque), read_tolerance(tolerance), NM)

    assert band == Band(*map(Decimal, (low, torque, high, low, torque, high)))
    assert band.high_is_in_band


def test_the_torque_keeps_its_digits_and_computed_edges_have_no_closing_zeros() -> None:
    band = band_of_torque(Decimal("100.20"), read_tolerance("10 %"), NM)

    assert (str(band.low), str(band.target), str(band.high)) == ("90.18", "100.20", "110.22")
    assert str(band_of_torque(Decimal("100"), read_tolerance("10 %"), NM).high) == "110"


def test_stated_edges_are_the_band_and_their_middle_the_target() -> None:
    band = band_of_limits(Decimal(70), Decimal(81), LBF_FT)

    assert (band.low, band.target, band.high) == (70, Decimal("75.5"), 81)


def test_an_edge_in_another_unit_is_exact_in_newton_metres() -> None:
    band = band_of_limits(Decimal(70), Decimal(80), LBF_FT)

    assert band.high_nm == Decimal("108.465435866512032") == Decimal(NM_PER_LBF_FT) * 80
    assert band.high_nm < Decimal("108.5"), "rounded to one decimal the two would be alike"


def test_an_intermediate_stage_reaches_from_ten_percent_below_its_share_to_just_under_the_final() -> None:
    final = band_of_torque(Decimal(95), read_tolerance("10 %"), NM)

    assert stage_band(Decimal(50), final, NM) == Band(
        low=Decimal("42.75"),
        target=Decimal("47.5"),
        high=Decimal("85.5"),
        low_nm=Decimal("42.75"),
        target_nm=Decimal("47.5"),
        high_nm=Decimal("85.5"),
        high_is_in_band=False,
    )


def test_the_share_of_stated_edges_is_of_their_middle() -> None:
    stage = stage_band(Decimal(60), band_of_limits(Decimal(70), Decimal(80), LBF_FT), LBF_FT)

    assert (stage.low, stage.target, stage.high) == (Decimal("40.5"), 45, 70)
    assert stage.low_nm == Decimal(NM_PER_LBF_FT) * Decimal("40.5")


def test_a_share_just_below_the_final_band_is_a_stage_and_one_on_its_edge_is_none() -> None:
    final = band_of_torque(Decimal(100), read_tolerance("8 %"), NM)

    assert stage_band(Decimal("91.9"), final, NM).high == 92
    with pytest.raises(ValueError, match=r"^stage 92 % is 92 N·m, which is not below the final's lower edge 92; write"):
        stage_band(Decimal(92), final, NM)


@pytest.mark.parametrize("tolerance", [pytest.param("±95 N·m", id="to-zero"), pytest.param("±96 N·m", id="below")])
def test_a_tolerance_that_leaves_no_lower_edge_is_refused(tolerance: str) -> None:
    with pytest.raises(ValueError, match=r"reaches down to (0|-1) N·m; write a smaller one"):
        band_of_torque(Decimal(95), read_tolerance(tolerance), NM)


def test_a_tolerance_in_another_unit_than_the_torque_is_refused() -> None:
    with pytest.raises(ValueError, match=r"in lbf·ft and the torque in N·m; write both in N·m"):
        band_of_torque(Decimal(95), read_tolerance("±5 ft-lb"), NM)


def test_a_tolerance_in_what_is_no_torque_unit_is_refused() -> None:
    with pytest.raises(UnitError, match=r"unit `J` is an energy"):
        band_of_torque(Decimal(95), read_tolerance("±5 J"), NM)


@pytest.mark.parametrize("low", ["80", "81"])
def test_edges_that_enclose_nothing_are_refused(low: str) -> None:
    with pytest.raises(ValueError, match=f"`low` {low} is not below `high` 80"):
        band_of_limits(Decimal(low), Decimal(80), NM)


# Always added: FAA AC 43.13-1B para 7-40 (read). From a third of the recommended torque on: the US Army's TB 43-0218 (read).
@pytest.mark.parametrize(
    ("drag", "third_of", "counts"),
    [
        pytest.param("12", None, True, id="always"),
        pytest.param("12", "50", False, id="12-of-50"),
        pytest.param("30", "50", True, id="30-of-50"),
        pytest.param("16.666", "50", False, id="just-below-a-third"),
        pytest.param("20", "60", True, id="a-third"),
        pytest.param("0", None, True, id="none-at-all"),
    ],
)
def test_drag_counts_always_or_from_a_third_of_the_torque_on(drag: str, third_of: str | None, counts: bool) -> None:
    assert counts_drag(Decimal(drag), None if third_of is None else Decimal(third_of)) is counts


@pytest.mark.parametrize(("drag", "low", "high"), [("12", 62, 82), ("30", 80, 100)])
def test_drag_lifts_every_edge_by_itself(drag: str, low: int, high: int) -> None:
    band = band_with_drag(band_of_limits(Decimal(50), Decimal(70), LBF_IN), Decimal(drag), LBF_IN)

    assert (band.low, band.target, band.high) == (low, (low + high) / 2, high)
    # The pound-force inch is a twelfth of the pound-force foot: NIST Special Publication 811 (2008), appendix B.
    assert band.low_nm * 12 == low * Decimal(NM_PER_LBF_FT)
    assert band.high_is_in_band


def test_drag_leaves_the_upper_edge_of_an_intermediate_stage_outside() -> None:
    final = band_of_torque(Decimal(40), read_tolerance("10 %"), NM)
    stage = band_with_drag(stage_band(Decimal(50), final, NM), Decimal(4), NM)

    assert (stage.low, stage.target, stage.high, stage.high_is_in_band) == (22, 24, 40, False)
    assert stage.high_nm == band_with_drag(final, Decimal(4), NM).low_nm


NUMBERS = st.decimals("0.001", "999999.999", places=3)


# The reference is rational arithmetic of the standard library.
@given(NUMBERS, st.decimals("0.001", "99.999", places=3), st.decimals("1", "99", places=2))
def test_bands_equal_rational_arithmetic(torque: Decimal, percent: Decimal, share: Decimal) -> None:
    final = band_of_torque(torque, read_tolerance(f"{percent} %"), LBF_FT)

    part = Fraction(torque) * Fraction(percent) / 100
    assert Fraction(final.low) == Fraction(torque) - part
    assert Fraction(final.high_nm) == (Fraction(torque) + part) * Fraction(NM_PER_LBF_FT)
    if Fraction(share) + Fraction(percent) < 100:
        stage = stage_band(share, final, LBF_FT)
        assert Fraction(stage.low_nm) == Fraction(torque) * Fraction(share) * 9 / 1000 * Fraction(NM_PER_LBF_FT)
        assert stage.low_nm < stage.target_nm < stage.high_nm == final.low_nm
