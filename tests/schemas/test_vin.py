"""VINs: check digits against published samples, what the digit finds and what it cannot, and what is no VIN."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.vin import check_vin, looks_like_vin, vin_digit

SAMPLES = [
    pytest.param("1G4AH59H45G118341", "4", id="sample-of-49-CFR-565.15"),  # read
    pytest.param("1J9RP1A36A1644345", "6", id="NHTSA-outline-for-new-manufacturers"),  # read
    pytest.param("JH2RC3605MM101581", "5", id="public-sample"),  # read
    pytest.param("1M8GDM9AXKP042788", "X", id="remainder-ten"),  # from memory, recomputed by hand: 351 = 31 x 11 + 10
    pytest.param("11111111111111111", "1", id="all-ones"),  # computed by hand: 89 = 8 x 11 + 1
]


@pytest.mark.parametrize(("vin", "digit"), SAMPLES)
def test_published_vin_has_its_check_digit(vin, digit):
    assert vin_digit(vin) == digit == vin[8]
    assert check_vin(vin) is None


def test_small_letters_and_spaces_around_do_not_matter():
    assert check_vin(" 1m8gdm9axkp042788\n") is None


@pytest.mark.parametrize(
    ("vin", "right"),
    [
        # Each is the CFR sample with one slip; the right digit is computed by hand from the changed sum.
        pytest.param("1G4AH59H45G118342", "6", id="last-figure"),
        pytest.param("1G4AH59H45G118314", "1", id="two-figures-swapped"),
        pytest.param("1GA4H59H45G118341", "1", id="letter-and-figure-swapped"),
        pytest.param("1G4AH59HX5G118341", "4", id="the-check-digit-itself"),
    ],
)
def test_slip_in_copying_gives_a_remark_with_the_right_digit(vin, right):
    remark = check_vin(vin)

    assert f"VIN `{vin}`: the check digit in position 9 is {vin[8]}, the other signs make it {right};" in remark
    assert remark.isprintable()


def test_letters_of_one_value_cannot_be_told_apart():
    # A known blind spot of the scheme: A and J both count 1.
    assert check_vin("1G4JH59H45G118341") is None


@pytest.mark.parametrize(
    ("text", "what"),
    [
        pytest.param("1G4AH59H45G11834", "has 16 signs; a VIN has 17", id="one-short"),
        pytest.param("1G4AH59H45G1183411", "has 18 signs; a VIN has 17", id="one-long"),
        pytest.param("", "has 0 signs", id="empty"),
        pytest.param("1G4AH59H45G11834I", "has `I`, which no VIN has; I, O and Q are left out", id="letter-i"),
        pytest.param("1G4AH59H45G1183O1", "has `O`, which no VIN has; I, O and Q", id="letter-o"),
        pytest.param("1g4ah59h45g1183q1", "has `q`, which no VIN has; I, O and Q", id="small-q"),
        pytest.param("1G4AH59H45G-18341", "has `-`, which no VIN has; read it", id="hyphen"),
        pytest.param("1G4AH59H45G11834ſ", "has `ſ`, which no VIN has; read it", id="long-s-is-no-s"),
        pytest.param("1G4AH59H45G11834١", "has `١`, which no VIN has", id="figure-of-another-script"),
    ],
)
@pytest.mark.parametrize("act", [vin_digit, check_vin], ids=["digit", "check"])
def test_what_no_vin_has_is_refused(text, what, act):
    with pytest.raises(ValueError, match=what):
        act(text)


@pytest.mark.parametrize(
    ("text", "worth_checking"),
    [
        pytest.param("1G4AH59H45G118341", True, id="vin"),
        pytest.param(" 1g4ah59h45g118341 ", True, id="small-letters"),
        pytest.param("1G4AH59H45G11834O", True, id="with-an-o"),
        pytest.param("Trailer WX 17", False, id="a-name"),
        pytest.param("1G4AH59H45G11834", False, id="too-short"),
        pytest.param("1G4AH59H45G-18341", False, id="other-sign"),
    ],
)
def test_seventeen_letters_and_figures_are_worth_checking(text, worth_checking):
    assert looks_like_vin(text) is worth_checking


vins = st.text("0123456789ABCDEFGHJKLMNPRSTUVWXYZ", min_size=17, max_size=17)


@given(vins)
def test_vin_with_the_digit_put_in_passes(vin):
    assert check_vin(vin[:8] + vin_digit(vin) + vin[9:]) is None


@given(vins, st.sampled_from([place for place in range(17) if place != 8]), st.integers(0, 9), st.integers(0, 9))
def test_one_wrong_figure_is_always_found(vin, place, right, wrong):
    # Follows from 11 being prime and no weight but that of position 9 being a multiple of it.
    written = vin[:place] + str(right) + vin[place + 1 :]
    slipped = vin[:place] + str(wrong) + vin[place + 1 :]

    assert (vin_digit(written) == vin_digit(slipped)) == (right == wrong)
