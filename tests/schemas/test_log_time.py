"""The form of a time, what it reads as, and its place in a zone."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.log_time import Shape, TimeRule, counts_by_length, instants, order_proved, read_time, shape_of, zone_of


@pytest.mark.parametrize(
    ("text", "shape"),
    [
        pytest.param("2026-03-02T09:00", Shape.ISO, id="iso"),
        pytest.param("2026-03-02 09:00:05.25+01:00", Shape.ISO, id="iso-with-all"),
        pytest.param("14/03/2026 09:00", Shape.PARTED, id="slashes"),
        pytest.param("14.03.26 09:00", Shape.SHORT_YEAR, id="two-digit-year"),
        pytest.param("2026.03.14 09:00", Shape.YEAR_FIRST, id="year-first"),
        pytest.param("1772438405", Shape.COUNT, id="count"),
        pytest.param("14/03.2026 09:00", Shape.OTHER, id="mixed-marks"),
        pytest.param("2026-03-02", Shape.OTHER, id="day-alone"),
        pytest.param("09:00", Shape.OTHER, id="hour-alone"),
        pytest.param("١٢٣", Shape.OTHER, id="other-digits"),
    ],
)
def test_a_time_has_one_of_the_known_forms(text, shape):
    assert shape_of(text) is shape


@pytest.mark.parametrize(
    ("text", "order"),
    [
        pytest.param("13/12/2026 09:00", "day first", id="day"),
        pytest.param("12/13/2026 09:00", "month first", id="month"),
        pytest.param("12/12/2026 09:00", None, id="either"),
        pytest.param("13/13/2026 09:00", None, id="neither"),
        pytest.param("13/12/26 09:00", None, id="two-digit-year-proves-nothing"),
        pytest.param("2026-03-02T09:00", None, id="iso"),
    ],
)
def test_only_a_number_above_twelve_proves_an_order(text, order):
    assert order_proved(text) == order


@pytest.mark.parametrize(("text", "unit"), [("1772438405", "seconds"), ("1772438405000", "milliseconds"), ("57", None)])
def test_the_unit_of_a_count_goes_by_its_length(text, unit):
    assert counts_by_length(text) == unit


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        pytest.param("2026-02-30T09:00", TimeRule(), id="no-such-day"),
        pytest.param("14/03/2026 09:00", TimeRule(), id="no-order"),
        pytest.param("14/03/2026 09:00", TimeRule(order="year first"), id="four-digit-year-behind"),
        pytest.param("14/03/2026 0:30 am", TimeRule(order="day first"), id="no-hour-nought-of-a-half-day"),
        pytest.param("1772438405", TimeRule(), id="count-of-no-unit"),
        pytest.param("9" * 16, TimeRule(counts="seconds"), id="count-too-long"),
        pytest.param("9" * 15, TimeRule(counts="seconds"), id="count-beyond-any-calendar"),
        pytest.param("hello", TimeRule(order="day first"), id="no-time"),
    ],
)
def test_a_time_that_the_rule_does_not_read_is_none(text, rule):
    assert read_time(text, rule) is None


@given(
    at=st.datetimes(datetime(1990, 1, 1), datetime(2060, 1, 1)).map(lambda at: at.replace(microsecond=0)),  # noqa: DTZ001
    form=st.sampled_from(
        [
            ("%d/%m/%Y %H:%M:%S", TimeRule(order="day first")),
            ("%m.%d.%Y %I:%M:%S %p", TimeRule(order="month first")),
            ("%Y/%m/%d %H:%M:%S", TimeRule()),
            ("%Y-%m-%d %H:%M:%S", TimeRule(order="day first")),
        ]
    ),
)
def test_every_moment_comes_back_from_every_form(at, form):
    written, rule = form

    assert read_time(at.strftime(written), rule) == at


@given(st.text(max_size=30))
def test_any_text_is_a_time_or_none(text):
    for rule in (TimeRule(), TimeRule("day first", "seconds"), TimeRule("year first", "milliseconds")):
        assert read_time(text, rule) is None or shape_of(text) is not Shape.OTHER


@pytest.mark.parametrize("text", ["Nowhere/Land", "", "../etc", "Europe", "25:00"])
def test_a_zone_that_is_none_is_refused(text):
    with pytest.raises(ValueError, match="is not known; write"):
        zone_of(text)


@given(
    st.datetimes(datetime(2016, 1, 1), datetime(2035, 1, 1)),  # noqa: DTZ001
    st.sampled_from(["Europe/Berlin", "America/Chicago", "Asia/Tokyo", "+05:45"]),
)
def test_a_wall_clock_has_exactly_the_instants_at_which_it_shows_it(wall, name):
    zone = zone_of(name)

    found = instants(wall, zone)

    assert all(at.astimezone(zone).replace(tzinfo=None, fold=0) == wall for at in found)
    assert list(found) == sorted(set(found))
    if not found:
        # In the missing hour clocks show the time before and after, never this one.
        near = wall.replace(tzinfo=zone).astimezone(UTC)
        shown = {(near + timedelta(minutes=step)).astimezone(zone).replace(tzinfo=None, fold=0) for step in range(-120, 121)}
        assert wall not in shown


def test_the_repeated_hour_has_two_instants_and_the_missing_one_none():
    berlin = ZoneInfo("Europe/Berlin")

    twice = instants(datetime(2025, 10, 26, 2, 20), berlin)  # noqa: DTZ001

    assert twice == (datetime(2025, 10, 26, 0, 20, tzinfo=UTC), datetime(2025, 10, 26, 1, 20, tzinfo=UTC))
    assert instants(datetime(2026, 3, 29, 2, 30), berlin) == ()  # noqa: DTZ001
