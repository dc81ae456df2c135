"""What makes a record the same record: the wrench's own numbering with a whole time, else the row within its job."""

from dataclasses import replace
from decimal import Decimal

import pytest

from collector.decode.identity import decode_memory_identity, decode_row_identity
from schemas.frame import Reading

READING = Reading("95.2", "N·m", Decimal("95.2"), sequence=7, tool_time="2026-03-02T08:15:30+01:00")


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
        pytest.param(replace(READING, tool_time="2026-03-02T08:15:30"), "W-140", id="no-offset"),
        pytest.param(replace(READING, tool_time="yesterday"), "W-140", id="no-time-at-all"),
    ],
)
def test_what_could_be_another_days_pull_has_no_identity_of_its_own(reading, wrench):
    assert decode_memory_identity(reading, wrench) is None


def test_equal_rows_of_a_job_are_told_apart_by_their_count_and_jobs_by_their_number():
    first = decode_row_identity(b"95.2,Nm", 1, "1")

    assert first == decode_row_identity(b"95.2,Nm", 1, "1")
    assert len({first, decode_row_identity(b"95.2,Nm", 2, "1"), decode_row_identity(b"95.2,Nm", 1, "2")}) == 3
