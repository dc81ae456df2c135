"""What makes a record the same record: the wrench's own numbering with a whole time, else the row within its job."""

from dataclasses import replace
from decimal import Decimal

import pytest

from collector.decode.identity import (
    decode_live_identity,
    decode_memory_identity,
    decode_row_identity,
    decode_wall_identity,
)
from schemas.frame import Reading
from schemas.log_time import TimeRule

READING = Reading("95.2", "N·m", Decimal("95.2"), sequence=7, tool_time="2026-03-02T08:15:30+01:00")
SENT = replace(READING, tool_time="2026-03-02 08:15:30")


def test_the_same_instant_written_otherwise_is_the_same_pull():
    other = replace(READING, torque="95.20", tool_time="2026-03-02T07:15:30Z")

    assert decode_memory_identity(READING, "W-140") == decode_memory_identity(other, "W-140")


@pytest.mark.parametrize(
    ("other", "wrench"),
    [
        pytest.param(replace(READING, sequence=8), "W-140", id="number"),
        pytest.param(replace(READING, tool_time="2026-03-02T08:15:31+01:00"), "W-140", id="time"),
        pytest.param(READING, "W-141", id="wrench"),
    ],
)
def test_another_number_time_or_wrench_is_another_pull(other, wrench):
    assert decode_memory_identity(other, wrench) != decode_memory_identity(READING, "W-140")


@pytest.mark.parametrize(
    ("reading", "wrench"),
    [
        pytest.param(READING, None, id="no-wrench"),
        pytest.param(replace(READING, sequence=None), "W-140", id="no-number"),
        pytest.param(replace(READING, tool_time=None), "W-140", id="no-time"),
        pytest.param(replace(READING, tool_time="08:15:30"), "W-140", id="time-of-day-only"),
        pytest.param(replace(READING, tool_time="2026-03-02"), "W-140", id="day-only"),
        pytest.param(replace(READING, tool_time="2000-01-01 00:00:10"), "W-140", id="clock-that-was-never-set"),
        pytest.param(replace(READING, tool_time="14/03/2026 09:00", pulled_at="unknown"), "W-140", id="no-certain-moment"),
        pytest.param(replace(READING, tool_time="yesterday"), "W-140", id="no-time-at-all"),
        pytest.param(replace(READING, tool_time="9999-12-31 23:59:59-14:00"), "W-140", id="end-of-all-time"),
        pytest.param(replace(READING, tool_time="0001-01-01 00:00:00+14:00"), "W-140", id="beginning-of-all-time"),
    ],
)
def test_what_could_be_another_days_pull_has_no_identity_of_its_own(reading, wrench):
    assert decode_memory_identity(reading, wrench) is None


@pytest.mark.parametrize(
    "other",
    [
        pytest.param(replace(READING, tool_time="2026-03-02T08:15:30"), id="as-sent"),
        pytest.param(replace(SENT, pulled_at="2026-03-02T08:15:30+01:00"), id="zone-declared"),
        pytest.param(replace(SENT, pulled_at="unknown"), id="in-the-repeated-hour"),
    ],
)
def test_a_time_without_offset_is_the_same_pull_whichever_zone_is_declared(other):
    assert decode_memory_identity(other, "W-140") == decode_memory_identity(SENT, "W-140") is not None
    assert decode_memory_identity(other, "W-140") != decode_memory_identity(READING, "W-140")


@pytest.mark.parametrize(
    ("tool_time", "rule"),
    [
        pytest.param("02/03/2026 08:15:30", TimeRule(order="day first"), id="day-first"),
        pytest.param("3/2/2026 8:15:30 AM", TimeRule(order="month first"), id="month-first-half-days"),
        pytest.param("2026/03/02 08:15:30", TimeRule(), id="year-first"),
    ],
)
@pytest.mark.parametrize("pulled_at", ["2026-03-02T08:15:30", "2026-03-02T08:15:30+01:00", "unknown"])
def test_a_time_in_another_form_is_the_same_pull_however_it_is_placed(tool_time, rule, pulled_at):
    other = replace(READING, tool_time=tool_time, pulled_at=pulled_at)

    assert decode_memory_identity(other, "W-140", rule) == decode_memory_identity(SENT, "W-140") is not None


def test_a_count_from_1970_is_the_same_pull_as_its_instant():
    # GNU date: date -u -d 2026-03-02T07:15:30Z +%s
    counted = replace(READING, tool_time="1772435730", pulled_at="2026-03-02T07:15:30+00:00")

    assert decode_memory_identity(counted, "W-140", TimeRule(counts="seconds")) == decode_memory_identity(READING, "W-140")


def test_a_pull_sent_with_its_offset_is_the_one_that_was_downloaded_without_it():
    assert decode_wall_identity(READING, "W-140") == decode_memory_identity(SENT, "W-140")
    assert decode_wall_identity(SENT, "W-140") is None


def test_a_count_placed_in_a_zone_is_the_pull_that_was_downloaded_with_that_zones_wall_clock():
    counted = replace(READING, tool_time="1772435730", pulled_at="2026-03-02T08:15:30+01:00")

    assert decode_wall_identity(counted, "W-140") == decode_memory_identity(SENT, "W-140")


def test_a_pull_whose_moment_was_placed_is_the_one_that_was_read_live():
    placed = replace(READING, tool_time="2026-03-02 08:15:30", pulled_at="2026-03-02T08:15:30+01:00")

    assert decode_live_identity(placed, "W-140") == decode_memory_identity(READING, "W-140")


@pytest.mark.parametrize(
    ("reading", "wrench"),
    [
        pytest.param(READING, "W-140", id="stands-for-itself"),
        pytest.param(replace(READING, pulled_at="2026-03-02T08:15:30"), "W-140", id="wall-clock"),
        pytest.param(replace(READING, pulled_at="unknown"), "W-140", id="unknown"),
        pytest.param(replace(READING, pulled_at="2026-03-02T08:15:30+01:00"), None, id="no-wrench"),
    ],
)
def test_without_a_certain_moment_no_live_pull_is_named(reading, wrench):
    assert decode_live_identity(reading, wrench) is None


def test_equal_rows_of_a_job_are_told_apart_by_their_count_and_jobs_by_their_number():
    first = decode_row_identity(b"95.2,Nm", 1, "1")

    assert first == decode_row_identity(b"95.2,Nm", 1, "1")
    assert len({first, decode_row_identity(b"95.2,Nm", 2, "1"), decode_row_identity(b"95.2,Nm", 1, "2")}) == 3
