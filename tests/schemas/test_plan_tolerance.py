"""A tolerance is read in the forms that drawings use, and in no other."""

from decimal import Decimal

import pytest

from schemas.plan.tolerance import Side, Tolerance, read_tolerance


def both(value: str, unit: str) -> Tolerance:
    return Tolerance(Side(Decimal(value), unit), Side(Decimal(value), unit))


def sides(above: str, below: str, unit: str) -> Tolerance:
    return Tolerance(Side(Decimal(above), unit), Side(Decimal(below), unit))


@pytest.mark.parametrize(
    ("text", "tolerance"),
    [
        pytest.param("8 %", both("8", "%"), id="percent"),
        pytest.param("8%", both("8", "%"), id="percent-close"),
        pytest.param("±8 %", both("8", "%"), id="plus-minus-percent"),
        pytest.param("±5 N·m", both("5", "N·m"), id="plus-minus-unit"),
        pytest.param("± 5.50 N·m", both("5.50", "N·m"), id="plus-minus-space"),
        pytest.param("+/-5 N·m", both("5", "N·m"), id="typed-plus-minus"),
        pytest.param("+-5 ft-lb", both("5", "ft-lb"), id="typed-short"),
        pytest.param("+10 % -0 %", sides("10", "0", "%"), id="two-sides"),
        pytest.param("−0 % +10 %", sides("10", "0", "%"), id="other-order-and-minus-sign"),
        pytest.param("+5 N·m -2 N·m", sides("5", "2", "N·m"), id="two-sides-unit"),
        pytest.param("+5 ft-lb -2 ft-lb", sides("5", "2", "ft-lb"), id="hyphen-in-the-unit"),
        pytest.param("+5%-2%", sides("5", "2", "%"), id="no-spaces"),
    ],
)
def test_a_tolerance_is_read(text: str, tolerance: Tolerance) -> None:
    assert read_tolerance(text) == tolerance


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("8", "this is no tolerance", id="bare-number"),
        pytest.param("5 N·m", "this is no tolerance", id="unit-without-sign"),
        pytest.param("±5", "neither % nor a unit", id="sign-without-unit"),
        pytest.param("+5 -2 %", "neither % nor a unit", id="one-side-without-unit"),
        pytest.param("+5 % +2 %", "this is no tolerance", id="twice-above"),
        pytest.param("8,5 %", "this is no tolerance", id="comma"),
        pytest.param("08 %", "this is no tolerance", id="leading-zero"),
        pytest.param("1e1 %", "this is no tolerance", id="exponent"),
        pytest.param("٨ %", "this is no tolerance", id="other-digits"),
        pytest.param("0 %", "no width", id="zero"),
        pytest.param("+0 % -0.0 %", "no width", id="zero-sides"),
        pytest.param("100 %", "leaves no lower edge", id="all"),
    ],
)
def test_another_form_is_refused_with_what_to_write(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words) as caught:
        read_tolerance(text)
    assert "write" in str(caught.value)
