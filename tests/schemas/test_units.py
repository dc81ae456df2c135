"""Units of torque: which spellings are read as what, which are refused, and that no digit is lost."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.errors import UnitError
from schemas.units import UNITS, Unit, find_unit, to_nm, torque_text

# The exact definitions, as printed in NIST Special Publication 811 (2008), Appendix B.
FOOT, INCH = Fraction("0.3048"), Fraction("0.0254")
POUND, GRAVITY = Fraction("0.45359237"), Fraction("9.80665")
OUNCE = POUND / 16

FACTORS = {
    "N·m": Fraction(1),
    "cN·m": Fraction(1, 100),
    "dN·m": Fraction(1, 10),
    "mN·m": Fraction(1, 1000),
    "daN·m": Fraction(10),
    "kN·m": Fraction(1000),
    "MN·m": Fraction(10**6),
    "lbf·ft": POUND * GRAVITY * FOOT,
    "lbf·in": POUND * GRAVITY * INCH,
    "ozf·in": OUNCE * GRAVITY * INCH,
    "kgf·m": GRAVITY,
    "kgf·cm": GRAVITY / 100,
    "gf·cm": GRAVITY / 100_000,
    "dyn·cm": Fraction(1, 10**7),
}

# The spellings people ask unit libraries for, gathered from public questions to four of them.
PLAIN = {
    "N·m": ("Nm", "N.m", "N·m", "N⋅m", "N•m", "N*m", "N m", "N\u00a0m", "newton metre", "Newton-meter"),
    "cN·m": ("Ncm", "cN·m", "cNm"),
    "dN·m": ("dNm",),
    "mN·m": ("mN·m",),
    "kN·m": ("kN·m",),
    "MN·m": ("MN·m",),
    "lbf·ft": ("lbf·ft", "lbf.ft", "lbf-ft", "ft·lbf", "ft-lbf"),
    "lbf·in": ("in·lbf", "lbf.in", "lbf·in"),
    "ozf·in": ("ozf·in",),
    "kgf·m": ("kgf·m",),
    "kgf·cm": ("kgf.cm",),
}
REMARKED = {
    "N·m": ("N-m", "NM", "nm"),
    "lbf·ft": ("ft-lb", "ft-lbs", "ft lb", "ft.lb", "ftlb", "lb-ft", "lb.ft", "foot-pound", "pound-feet"),
    "lbf·in": ("in-lb", "in lbs", "inlb", "lb-in", "inch-pounds"),
    "ozf·in": ("in-oz",),
    "kgf·m": ("kg-m",),
    "kgf·cm": ("kg·cm",),
}
# Further ones: common practice, no source.
PLAIN_TOO = {
    "N·m": (" Nm ", "N . m", "Newtonmeter", "N・m", "NEWTON METRES", "N∙m", "N\u202fm"),
    "mN·m": ("mNm", "N·mm", "Millinewton metre"),
    "MN·m": ("meganewton metre",),
    "daN·m": ("daNm",),
    "lbf·ft": ("pound-force foot", "foot-pound-force", "ftlbf"),
    "kgf·m": ("kp·m", "kilopond metre", "m·kgf"),
    "gf·cm": ("gf·cm",),
    "dyn·cm": ("dyn·cm", "dyne centimetre"),
}
REMARKED_TOO = {
    "kN·m": ("kN-m",),
    "lbf·ft": ("FT-LB", "ft. lbs.", "ft.-lb", "LBF·FT", "Foot-Pounds"),
    "lbf·in": ("in. lb", "inch\u2011pound"),
    "kgf·m": ("kgm", "m·kg", "KGF·M"),
    "gf·cm": ("g·cm",),
}


def cases(*tables):
    return [
        pytest.param(spelling, symbol, id=ascii(spelling))
        for table in tables
        for symbol, spellings in table.items()
        for spelling in spellings
    ]


finite = st.decimals(allow_nan=False, allow_infinity=False)
units = st.sampled_from(UNITS)


@pytest.mark.parametrize(("spelling", "symbol"), cases(PLAIN, PLAIN_TOO))
def test_usual_spelling_is_read_without_remark(spelling, symbol):
    unit, remark = find_unit(spelling)

    assert (unit.symbol, Fraction(unit.nm_per_unit), remark) == (symbol, FACTORS[symbol], None)


@pytest.mark.parametrize(("spelling", "symbol"), cases(REMARKED, REMARKED_TOO))
def test_loose_spelling_is_read_with_a_remark_of_one_line(spelling, symbol):
    unit, remark = find_unit(spelling)

    assert (unit.symbol, Fraction(unit.nm_per_unit)) == (symbol, FACTORS[symbol])
    assert f"read as {symbol}: " in remark
    assert remark.isprintable()


@pytest.mark.parametrize(
    ("spelling", "remark"),
    [
        pytest.param("in-lb", "`in-lb` read as lbf·in: a mass stands in the place of the force", id="mass"),
        pytest.param("NM", "`NM` read as N·m: letter case is unusual", id="case"),
        pytest.param("N-m", "`N-m` read as N·m: the hyphen stands for a product", id="hyphen"),
        pytest.param(
            "FT-LB",
            "`FT-LB` read as lbf·ft: a mass stands in the place of the force, letter case is unusual",
            id="two-at-once",
        ),
    ],
)
def test_remark_says_what_was_read_with_goodwill(spelling, remark):
    assert find_unit(spelling)[1] == remark


@pytest.mark.parametrize(
    ("spelling", "reason"),
    [
        pytest.param("N/m", "`N/m` is a quotient", id="force-per-length"),
        pytest.param("lb/ft", "`lb/ft` is a quotient", id="mass-per-length"),
        pytest.param("J", "`J` is an energy", id="joule-though-of-the-same-dimension"),
        pytest.param("lb", "`lb` is a mass", id="pound"),
        pytest.param("N", "`N` is a force", id="newton"),
        pytest.param("mN", "`mN` is a force", id="millinewton-is-not-metre-newton"),
        pytest.param("m N", "`m N` is not known; nearest are", id="millinewton-with-a-gap"),
        pytest.param("psi", "`psi` is a pressure", id="psi"),
        pytest.param("km", "`km` is a length", id="kilometre"),
        pytest.param("%", "`%` is a percentage", id="percent"),
        pytest.param("deg", "`deg` is an angle", id="degree"),
        pytest.param("", "the unit is empty; write a unit of torque", id="empty"),
        pytest.param(" \t", "the unit is empty; write a unit of torque", id="only-spaces"),
        pytest.param("?m", r"`\?m` lost a character", id="question-mark"),
        pytest.param("N\ufffdm", "lost a character", id="replacement-character"),
        pytest.param("Nms", "`Nms` is not known; nearest are `Nm`", id="impulse-is-no-plural"),
        pytest.param("KN·m", "`KN·m` is not known; nearest are .*`kN·m`", id="prefix-in-wrong-case"),
        pytest.param("MN·M", "`MN·M` is not known; nearest are `MN·m`", id="mega-or-milli"),
        pytest.param("mn·m", "`mn·m` is not known; nearest are .*`mN·m`", id="milli-with-small-newton"),
        pytest.param("N·m²", "`N·m²` is not known; nearest are `N·m`", id="square"),
        pytest.param("N−m", "`N−m` is not known; nearest are", id="true-minus-sign"),
        pytest.param("N··m", "is not known; nearest are `N·m`", id="separator-twice"),
        pytest.param("N\nm", r"`N\\nm` is not known", id="line-end-is-shown-escaped"),
        pytest.param("zzz\ud800", r"`zzz\\ud800` is not known; write a unit", id="nothing-near"),
        pytest.param("z" * 60, f"`{'z' * 40}…` is not known; write a unit", id="long-is-cut"),
    ],
)
def test_what_is_no_torque_is_refused_in_one_line(spelling, reason):
    with pytest.raises(UnitError, match=reason) as refused:
        find_unit(spelling)

    assert str(refused.value).isprintable()


@given(st.text() | st.text("NMmnkcdftlbozginpur .-·*/s", max_size=8))
def test_any_text_is_a_unit_or_a_unit_error(spelling):
    try:
        unit, _ = find_unit(spelling)
    except UnitError as refused:
        assert str(refused).isprintable()  # noqa: PT017 - either outcome is right, the text is checked
    else:
        assert unit in UNITS


def test_every_unit_has_the_factor_of_its_definition_and_is_found_by_its_own_symbol():
    assert {unit.symbol: Fraction(unit.nm_per_unit) for unit in UNITS} == FACTORS
    assert [find_unit(unit.symbol) for unit in UNITS] == [(unit, None) for unit in UNITS]


@pytest.mark.parametrize(
    ("symbol", "printed", "step"),
    [
        # NIST SP 811 (2008), Table B.8, as printed, rounded to seven figures.
        pytest.param("lbf·ft", "1.355818", "1e-6", id="lbf-ft"),
        pytest.param("lbf·in", "0.1129848", "1e-7", id="lbf-in"),
        pytest.param("ozf·in", "0.007061552", "1e-9", id="ozf-in"),
        pytest.param("kgf·m", "9.80665", "1e-5", id="kgf-m"),
        pytest.param("dyn·cm", "0.00000010", "1e-8", id="dyn-cm"),
    ],
)
def test_factor_agrees_with_the_printed_table(symbol, printed, step):
    assert find_unit(symbol)[0].nm_per_unit.quantize(Decimal(step)) == Decimal(printed)


@given(finite)
def test_one_pound_foot_is_twelve_pound_inches_and_192_ounce_inches(value):
    # Follows from the definitions (foot = 12 inches, pound = 16 ounces), whatever the value.
    pound_foot, pound_inch, ounce_inch = (find_unit(symbol)[0] for symbol in ("lbf·ft", "lbf·in", "ozf·in"))

    in_nm = Fraction(to_nm(value, pound_foot))

    assert in_nm == 12 * Fraction(to_nm(value, pound_inch)) == 192 * Fraction(to_nm(value, ounce_inch))


@given(finite, units)
def test_conversion_back_gives_the_value_again_exactly(value, unit):
    assert Fraction(to_nm(value, unit)) / FACTORS[unit.symbol] == Fraction(value)


def test_conversion_ignores_the_precision_of_the_surroundings():
    with localcontext() as context:
        context.prec = 3
        converted = to_nm(Decimal("70.25"), find_unit("lbf·ft")[0])

    assert Fraction(converted) == Fraction("70.25") * FACTORS["lbf·ft"]


def test_digits_that_would_have_to_be_rounded_are_refused():
    with pytest.raises(UnitError, match="too many digits to be converted exactly"):
        to_nm(Decimal("1" * 1000), find_unit("lbf·ft")[0])


@pytest.mark.parametrize("value", ["NaN", "sNaN", "Infinity", "-Infinity"])
@pytest.mark.parametrize("act", [lambda value: to_nm(value, Unit("N·m", Decimal(1))), torque_text], ids=["nm", "text"])
def test_what_is_not_finite_is_refused(value, act):
    with pytest.raises(UnitError, match=f"`{value}` is not a finite number"):
        act(Decimal(value))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        pytest.param("95.20", "95.20", id="closing-zero-stays"),
        pytest.param("1E+3", "1000", id="large-exponent"),
        pytest.param("1E-9", "0.000000001", id="small-exponent"),
        pytest.param("-4.5", "-4.5", id="loosening"),
    ],
)
def test_text_is_plain_digits(value, text):
    assert torque_text(Decimal(value)) == text


@given(finite.filter(lambda value: abs(value.adjusted()) < 2000))
def test_text_reads_back_as_the_same_value_whatever_the_surroundings(value):
    with localcontext() as context:
        context.prec = 3
        text = torque_text(value)

    assert Decimal(text) == value
    assert set(text) <= set("-.0123456789")
