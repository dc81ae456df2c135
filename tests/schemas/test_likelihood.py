"""A probability is kept so that it never reads better than it is, and a person's count lifts it by Bayes' rule."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.likelihood import P_LIMIT, confirmed_p, p_shown, p_text, read_limit, read_p

PROBABILITIES = st.floats(0, 1)


@pytest.mark.parametrize(
    ("p", "text"),
    [
        pytest.param(0.0, "0.0000", id="never"),
        pytest.param(1e-9, "0.0000", id="hardly-ever"),
        pytest.param(0.5, "0.5000", id="half"),
        pytest.param(0.89999999, "0.8999", id="just-below-0.9"),
        pytest.param(0.98999999, "0.9899", id="just-below-0.99"),
        pytest.param(0.99, "0.9900", id="on-the-limit"),
        pytest.param(0.99999, "0.9999", id="nearly-certain"),
        pytest.param(1.0, "0.9999", id="certain"),
        pytest.param(1.0000000000000002, "0.9999", id="above-1-by-an-error-of-floats"),
        pytest.param(-1e-17, "0.0000", id="below-0-by-an-error-of-floats"),
        pytest.param(Decimal("0.9949999"), "0.9949", id="decimal"),
    ],
)
def test_four_decimals_rounded_down(p, text):
    assert p_text(p) == text


@pytest.mark.parametrize("p", [float("nan"), Decimal("NaN")], ids=["float", "decimal"])
def test_what_is_no_number_is_not_kept(p):
    with pytest.raises(ValueError, match="a probability that is no number"):
        p_text(p)


@given(PROBABILITIES)
def test_no_text_is_better_than_its_probability(p):
    kept = Decimal(p_text(p))

    assert kept <= Decimal(str(p))
    assert kept < 1
    assert Decimal(str(p)) - kept <= Decimal("0.0001")
    assert p_text(kept) == p_text(p)


@pytest.mark.parametrize("text", ["0", "0.9950", "1"])
def test_a_probability_is_read(text):
    assert read_p(text) == Decimal(text)


@pytest.mark.parametrize("text", ["1.01", "-0.1"])
def test_a_number_outside_0_to_1_is_no_probability(text):
    with pytest.raises(ValueError, match=f"`{text}` is no probability"):
        read_p(text)


@pytest.mark.parametrize("text", ["sure", "NaN"])
def test_what_is_no_number_is_no_probability(text):
    with pytest.raises(ArithmeticError):
        read_p(text)


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        pytest.param(None, "0.99", id="none-asked-for"),
        pytest.param("0.99", "0.99", id="the-lowest"),
        pytest.param("0.995", "0.995", id="more"),
        pytest.param("0.9999", "0.9999", id="the-highest"),
    ],
)
def test_a_shop_may_ask_for_more(text, limit):
    assert read_limit(text) == Decimal(limit)


@pytest.mark.parametrize(
    "text", ["0.9", "0.98", "0.9899", "0.99999", "1", "1.0", "99 %", "", "0.99\n"],
    ids=["0.9", "0.98", "just-below", "never-reached", "1", "1.0", "percent", "empty", "line-end"],
)  # fmt: skip
def test_a_shop_may_not_ask_for_less_nor_for_what_is_never_reached(text):
    with pytest.raises(ValueError, match=r"write one from 0\.99 to 0\.9999, four decimals at most"):
        read_limit(text)


# 50 of 100 whole joints: 49 yes; 50 that are not whole: 1 yes. So 49 of 50 that got a yes are whole. And 0.67 is the least
# that a yes lifts over the limit: 0.67 * 0.98 / (0.67 * 0.98 + 0.33 * 0.02) = 0.6566 / 0.6632.
@pytest.mark.parametrize(
    ("p", "lifted"),
    [
        pytest.param("0", "0", id="what-cannot-be-stays-so"),
        pytest.param("0.5", "0.98", id="even"),
        pytest.param("0.67", "0.990048", id="just-over-the-limit"),
        pytest.param("0.66", "0.989596", id="just-below"),
        pytest.param("1", "1", id="what-is-certain-stays-so"),
    ],
)
def test_a_persons_yes_lifts_a_probability_by_bayes_rule(p, lifted):
    assert confirmed_p(Decimal(p)) == pytest.approx(Decimal(lifted), abs=Decimal("0.000001"))


@given(st.decimals("0.0001", "0.9999", places=4))
def test_a_yes_never_lowers_and_never_makes_certain(p):
    assert p < confirmed_p(p) < 1


@pytest.mark.parametrize(
    ("p", "limit", "shown"),
    [
        pytest.param("0.97", "0.99", "0.97", id="two-decimals"),
        pytest.param("0.9312", "0.99", "0.93", id="rounded"),
        pytest.param("0.9899", "0.99", "0.9899", id="not-as-the-limit"),
        pytest.param("0.9876", "0.99", "0.988", id="as-few-as-needed"),
        pytest.param("0.99", "0.99", "0.99", id="the-limit"),
        pytest.param("0.9972", "0.99", "0.997", id="not-as-1"),
        pytest.param("0.99996", "0.99", "0.99996", id="not-as-1-lifted"),
        pytest.param("1", "0.99", "1.00", id="1"),
        pytest.param("0", "0.99", "0.00", id="0"),
        pytest.param("0.993", "0.995", "0.993", id="decimals-of-the-limit"),
        pytest.param("0.9949", "0.995", "0.9949", id="not-as-a-higher-limit"),
    ],
)
def test_a_probability_never_reads_as_the_limit_or_as_1_when_it_is_below(p, limit, shown):
    assert p_shown(Decimal(p), Decimal(limit)) == shown


def test_what_lies_nearer_to_1_than_all_digits_is_shown_whole():
    near = Decimal("0." + "9" * 30)

    assert p_shown(near, P_LIMIT) == str(near)
