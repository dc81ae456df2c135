"""One row of checks: what it becomes, and the one line that says why it cannot be one."""

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.decode.check import COLUMNS, DecodedCheck, decode_check
from schemas.bodies import CheckMade, WrenchAdded
from schemas.errors import Fate, FrameError
from schemas.wrench import wrench_from

WRENCHES = {
    added.wrench: wrench_from(added)
    for added in (
        WrenchAdded("W-7", "SN-7", "indicating", "10", "200", "N·m", "10", "200", "highest"),
        WrenchAdded("W-1", "SN-1", "indicating", "10", "200", "N·m", "10", "200", "highest", 1, "4.2"),
    )
}
BERLIN = ZoneInfo("Europe/Berlin")
ROW = {"time": "2026-03-02", "wrench": "W-7", "reference": "100", "shown": "101", "unit": "N·m"}


def decode(zone=None, **change):
    return decode_check(ROW | change, WRENCHES, zone)


def reason(zone=None, **change):
    with pytest.raises(FrameError) as caught:
        decode(zone, **change)
    assert caught.value.fate is Fate.SET_ASIDE
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 250
    return str(caught.value)


def test_a_row_is_a_check_with_its_digits_as_given():
    assert decode(reference="100.0", shown="99.50", unit="Nm") == DecodedCheck(
        CheckMade("W-7", "2026-03-02", "100.0", "99.50", "N·m", "100.0", "99.50"), -0.5, True, ()
    )


def test_another_unit_is_kept_and_converted_exactly():
    # 1 lbf·ft in N·m: NIST SP 811, appendix B, foot and pound-force exact.
    check = decode(reference="100", shown="100", unit="lbf·ft").check

    assert (check.reference, check.unit, check.reference_nm) == ("100", "lbf·ft", "135.5817948331400400")


def test_a_simulated_wrench_marks_its_checks():
    assert decode(wrench="W-1").check.simulated == 1
    assert decode(wrench="W-1", simulated="SIMULATED").check.simulated == 1
    assert decode(simulated="").check.simulated is None


@pytest.mark.parametrize(
    ("shown", "inside"),
    [
        pytest.param("104.2", True, id="on-the-upper-edge"),
        pytest.param("95.8", True, id="on-the-lower-edge"),
        pytest.param("104.21", False, id="over"),
        pytest.param("95.79", False, id="under"),
    ],
)
def test_a_check_on_the_edge_of_the_permissible_error_is_inside(shown, inside):
    assert decode(wrench="W-1", shown=shown).inside is inside


@pytest.mark.parametrize(
    ("text", "at"),
    [
        pytest.param("2026-03-02", "2026-03-02", id="day"),
        pytest.param("2028-02-29", "2028-02-29", id="leap-day"),
        pytest.param("2026-03-02T07:30+01:00", "2026-03-02T06:30:00.000000Z", id="offset"),
        pytest.param("2026-03-02 07:30:15Z", "2026-03-02T07:30:15.000000Z", id="space-and-zulu"),
        pytest.param("2026-03-02T00:30:00.250000+01:00", "2026-03-01T23:30:00.250000Z", id="the-day-before-in-utc"),
        pytest.param("1970-01-01T00:00+01:00", "1969-12-31T23:00:00.000000Z", id="earliest"),
        pytest.param("9999-12-31", "9999-12-31", id="last-day"),
    ],
)
def test_a_time_is_a_day_or_an_instant(text, at):
    assert decode(time=text).check.checked_at == at


@pytest.mark.parametrize(
    ("zone", "text", "at"),
    [
        pytest.param(timezone(timedelta(hours=1)), "2026-03-02T07:30", "2026-03-02T06:30:00.000000Z", id="offset"),
        pytest.param(BERLIN, "2026-03-02T07:30", "2026-03-02T06:30:00.000000Z", id="winter"),
        pytest.param(BERLIN, "2026-07-02 07:30", "2026-07-02T05:30:00.000000Z", id="summer"),
        pytest.param(BERLIN, "2026-03-02T07:30+05:00", "2026-03-02T02:30:00.000000Z", id="its-own-offset-goes-before"),
        pytest.param(BERLIN, "2026-03-02", "2026-03-02", id="a-day-stays-a-day"),
        # Clocks in the EU change at 01:00 UTC on the last Sundays of March and October: directive 2000/84/EC, articles 2 and 3.
        pytest.param(BERLIN, "2026-03-29T01:59:59", "2026-03-29T00:59:59.000000Z", id="last-second-of-winter"),
        pytest.param(BERLIN, "2026-03-29T03:00", "2026-03-29T01:00:00.000000Z", id="first-of-summer"),
        pytest.param(BERLIN, "2026-10-25T01:59:59", "2026-10-24T23:59:59.000000Z", id="before-the-hour-that-comes-twice"),
        pytest.param(BERLIN, "2026-10-25T03:00", "2026-10-25T02:00:00.000000Z", id="after-it"),
        pytest.param(BERLIN, "2026-10-25T02:30+02:00", "2026-10-25T00:30:00.000000Z", id="the-first-of-the-two"),
    ],
)
def test_a_time_without_offset_is_placed_in_the_zone_that_is_named(zone, text, at):
    assert decode(zone, time=text).check.checked_at == at


@pytest.mark.parametrize("text", ["2026-10-25T02:30", "2026-10-25 23:59:59", "2026-10-25T00:00"])
def test_without_a_zone_a_time_without_offset_is_its_day_and_says_so(text):
    found = decode(None, time=text)

    assert found.check.checked_at == "2026-10-25"
    assert found.remarks == (f"the hour of `{text}` is left out, as it states no offset from UTC; --zone keeps it",)


@pytest.mark.parametrize("text", ["2026-10-25T02:00", "2026-10-25 02:30", "2026-10-25T02:59:59"])
def test_a_time_that_comes_twice_is_not_guessed(text):
    said = reason(BERLIN, time=text)

    assert "comes twice in Europe/Berlin, as clocks are put back; add its offset (+01:00)" in said


@pytest.mark.parametrize("text", ["2026-03-29T02:00", "2026-03-29 02:30", "2026-03-29T02:59:59"])
def test_a_time_that_the_clock_never_showed_is_refused(text):
    assert "does not exist in Europe/Berlin, as clocks are put forward; correct it" in reason(BERLIN, time=text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param("", "is no whole ISO 8601 day or time; write 2026-03-02, or 2026-03-02T07:30+01:00", id="empty"),
        pytest.param("02.03.2026", "is no whole ISO 8601", id="day-first"),
        pytest.param("03/02/2026", "is no whole ISO 8601", id="month-first"),
        pytest.param("2026-02-30", "is no whole ISO 8601", id="a-day-beyond-the-calendar"),
        pytest.param("2026-02-29", "is no whole ISO 8601", id="no-leap-year"),
        pytest.param("2026-03-02T25:00Z", "is no whole ISO 8601", id="hour-25"),
        *(
            pytest.param(
                text,
                f"time `{text}` is no whole ISO 8601 day; it looks like a spreadsheet's day count: give its column the form of a "
                "date as 2026-03-02 there, and save the file anew",
                id=f"day-count-{text}",
            )
            for text in ("46083", "44621", "46083.3125")
        ),
        pytest.param("4608", "is no whole ISO 8601 day or time; write 2026-03-02", id="a-number-of-four-digits"),
        pytest.param("1772436600", "is no whole ISO 8601 day or time; write 2026-03-02", id="seconds-since-1970"),
        pytest.param("20260302", "is no whole ISO 8601", id="a-day-without-hyphens-is-no-midnight"),
        pytest.param("2026-W10", "is no whole ISO 8601", id="a-week-is-no-monday"),
        pytest.param("2026-W10-1", "is no whole ISO 8601", id="week-day"),
        pytest.param("2026-03-02x07:30Z", "is no whole ISO 8601", id="any-sign-for-the-T"),
        pytest.param("２０２６-03-02", "is no whole ISO 8601", id="full-width"),
        pytest.param("10000-01-01", "is no whole ISO 8601", id="year-10000"),
        pytest.param("0026-03-02", "lies before 1970; correct its year", id="year-26"),
        pytest.param("0999-03-02T10:00Z", "lies before 1970; correct its year", id="year-999"),
        pytest.param("9999-12-31T23:59-05:00", "is beyond any calendar; correct it", id="year-10000-in-utc"),
        pytest.param("2026-03-02\x1b[31m", r"time `2026-03-02\x1b[31m` is no whole", id="control-signs-are-written-out"),
        pytest.param("x" * 100_000, "x…` is no whole ISO 8601", id="very-long"),
    ],
)
def test_a_time_that_is_not_certain_is_refused(text, says):
    assert says in reason(time=text)


@pytest.mark.parametrize("name", ["reference", "shown"])
@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param("", "is empty", id="empty"),
        pytest.param("-5", "-5 is below 0, and only checks in the tightening direction are kept", id="negative"),
        pytest.param("5-", "5- is below 0", id="minus-behind"),
        pytest.param("12,5", "12,5 can be 12.5 or 125; the format's decimal mark is `.`", id="decimal-comma"),
        pytest.param("1,234.5", "is not plain digits", id="groups"),
        pytest.param("1e2", "has an exponent", id="exponent"),
        pytest.param("１００", "holds U+FF11 (FULLWIDTH DIGIT ONE)", id="full-width"),
        pytest.param("٣", "holds U+0663 (ARABIC-INDIC DIGIT THREE)", id="arabic"),
        pytest.param("NaN", "is not a number", id="nan"),
        pytest.param("inf", "is not a number", id="infinity"),
        pytest.param("#N/A", "is not plain digits", id="a-spreadsheet's-error"),
        pytest.param("True", "is not plain digits", id="truth"),
        pytest.param("12\0", r"12\x00 is not plain digits", id="nul"),
        pytest.param("=1+1", "is not plain digits", id="formula"),
        pytest.param("0x10", "is not plain digits", id="hexadecimal"),
        pytest.param("1" * 31, "has 31 signs, and no tool shows more than 30", id="more-digits-than-a-tool-has"),
        pytest.param("0." + "0" * 2000 + "1", "has 2003 signs", id="more-than-can-be-converted-exactly"),
    ],
)
def test_a_torque_that_is_not_plain_digits_is_refused_by_its_name(name, text, says):
    said = reason(**{name: text})

    assert said.startswith(f"`{name}`")
    assert says in said


@pytest.mark.parametrize("text", ["0", "0.000", "-0", "+0"])
def test_a_reference_of_nothing_gives_no_error_in_percent(text):
    assert reason(reference=text) == "`reference` is 0, and an error in percent needs a torque above 0"


@pytest.mark.parametrize(("text", "digits"), [("-0", "0"), ("+99", "99"), ("099.0", "99.0"), ("0", "0")])
def test_signs_and_zeros_in_front_are_no_digits(text, digits):
    assert (decode(shown=text).check.shown, decode(shown=text).check.shown_nm) == (digits, digits)


@pytest.mark.parametrize(
    ("unit", "says"),
    [
        pytest.param("", "the unit is empty; write a unit of torque", id="empty"),
        pytest.param("J", "unit `J` is an energy, not a torque", id="energy"),
        pytest.param("N", "unit `N` is a force, not a torque", id="force"),
        pytest.param("furlong", "unit `furlong` is not known", id="unknown"),
        pytest.param("N\ufffdm", "lost a character on its way", id="damaged"),
    ],
)
def test_a_unit_that_is_no_torque_is_refused(unit, says):
    assert says in reason(unit=unit)


@pytest.mark.parametrize(
    ("unit", "symbol", "remarks"),
    [
        pytest.param("Nm", "N·m", (), id="Nm"),
        pytest.param("ft-lb", "lbf·ft", ("`ft-lb` read as lbf·ft: a mass stands in the place of the force",), id="ft-lb"),
        pytest.param("NM", "N·m", ("`NM` read as N·m: letter case is unusual",), id="NM"),
    ],
)
def test_a_unit_read_with_goodwill_is_told(unit, symbol, remarks):
    decoded = decode(unit=unit)

    assert (decoded.check.unit, decoded.remarks) == (symbol, remarks)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        pytest.param({"wrench": ""}, "no wrench is named", id="none"),
        pytest.param({"wrench": "W-9"}, "wrench W-9 is not in the register; add it, then read the file again", id="unknown"),
        pytest.param({"wrench": "w-7"}, "wrench w-7 is not in the register", id="another-case-is-another-wrench"),
        pytest.param({"wrench": "W\x1b[2J"}, r"wrench W\x1b[2J is not in the register", id="control-signs"),
        pytest.param({"void": "typed twice"}, "the check was taken back where it was exported (typed twice)", id="void"),
        pytest.param({"simulated": "SIMULATED"}, "is SIMULATED: made by a program, not by a wrench", id="simulated"),
        pytest.param({"simulated": "x"}, "has another word than SIMULATED in its column `simulated`", id="another-word"),
        pytest.param(
            {"simulated": "SIMULATED", "wrench": "W-9"}, "is SIMULATED: made by a program", id="simulated-before-unknown"
        ),
    ],
)
def test_a_row_that_is_no_check_of_a_known_wrench_is_refused(change, says):
    assert reason(**change).startswith(says)


def test_what_is_missing_counts_as_empty():
    for name in COLUMNS:
        row = {key: value for key, value in ROW.items() if key != name}
        with pytest.raises(FrameError, match=r"empty|no wrench|no whole ISO 8601"):
            decode_check(row, WRENCHES)


@pytest.mark.parametrize(
    ("reference", "shown", "percent", "ask"),
    [
        pytest.param("100", "199", "+99.0", "look at the wrench, and at what was typed", id="99-percent"),
        pytest.param("100", "0", "-100.0", "look at the wrench, and at what was typed", id="nothing-shown"),
        # NIST SP 811, appendix B: 1 lbf·ft = 1.3558 N·m.
        pytest.param("100", "135.58", "+35.6", "were units mixed up? `reference` looks like lbf·ft", id="units"),
        pytest.param("100", "73.756", "-26.2", "were units mixed up? `shown` looks like lbf·ft", id="units-the-other-way"),
    ],
)
def test_a_gross_error_is_kept_and_told(reference, shown, percent, ask):
    decoded = decode(reference=reference, shown=shown)

    assert decoded.is_gross
    assert not decoded.inside
    assert decoded.remarks == (f"shows {shown} at {reference} N·m, {percent} %: kept, and in no drift line; {ask}",)


@pytest.mark.parametrize("shown", ["125", "75", "110"])
def test_an_error_up_to_a_quarter_is_not_gross(shown):
    assert not decode(shown=shown).is_gross
    assert decode(shown=shown).remarks == ()


# 1 lbf·in = 0.1129848 N·m and 1 kgf·cm = 0.0980665 N·m: NIST SP 811, appendix B; 1.1521 lies between them.
@pytest.mark.parametrize(
    ("reference", "shown", "percent", "hint"),
    [
        pytest.param("1000", "1152.1", "+15.2", "`shown` looks like kgf·cm", id="shown"),
        pytest.param("1152.1", "1000", "-13.2", "`reference` looks like kgf·cm", id="reference"),
    ],
)
def test_mixed_up_units_are_asked_about_below_a_gross_error_too(reference, shown, percent, hint):
    decoded = decode(reference=reference, shown=shown, unit="lbf·in")

    assert not decoded.is_gross
    assert decoded.remarks == (f"shows {shown} at {reference} lbf·in, {percent} %: were units mixed up? {hint}",)


def test_a_check_inside_its_limit_is_not_asked_about():
    # 1 daN·m is 1.0197 kgf·m; 2 % off is what a wrench may be.
    assert decode(reference="10", shown="9.81", unit="kgf·m").remarks == ()


@pytest.mark.parametrize(("reference", "told"), [("9.99", True), ("10", False), ("200", False), ("200.01", True)])
def test_a_reference_outside_the_range_of_the_wrench_is_told(reference, told):
    says = f"the reference of {reference} N·m lies outside the range of wrench W-7 (10 to 200 N·m)"

    assert decode(reference=reference, shown=reference).remarks == ((says,) if told else ())


def tried(zone, **change):
    """The check or, where there is none, the reason."""
    try:
        return decode(zone, **change)
    except FrameError as error:
        return str(error)


@given(st.fixed_dictionaries({name: st.text(max_size=40) for name in ("time", "reference", "shown", "unit")}))
def test_any_texts_are_a_check_or_one_line(texts):
    found = tried(UTC, **texts)

    assert found.isprintable() if isinstance(found, str) else Decimal(found.check.reference_nm) > 0


@given(st.datetimes(datetime(1970, 1, 2), datetime(9999, 12, 30)))  # noqa: DTZ001  # times without offset are meant
def test_every_local_time_is_one_instant_or_refused(local):
    found = tried(BERLIN, time=local.isoformat())

    utc = local.replace(tzinfo=UTC)
    around = [utc + timedelta(hours=hours) for hours in (-2, -1)]  # Berlin is one or two hours ahead
    instants = [instant for instant in around if instant.astimezone(BERLIN).replace(tzinfo=None) == local]
    if isinstance(found, str):
        assert (len(instants), "comes twice" in found) in {(0, False), (2, True)}
    else:
        assert [datetime.fromisoformat(found.check.checked_at)] == instants
