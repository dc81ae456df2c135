"""A record of a log is the same record whenever the log is read in again, and two real clicks are two."""

from dataclasses import replace
from decimal import Decimal

import pytest

from collector.decode.identity import decode_identity
from schemas.frame import Reading

RAW = b"2026-03-02T08:15:30+01:00,W-7,95.2,Nm"
READING = Reading("95.2", "N·m", Decimal("95.2"), wrench="W-7", sequence=12, tool_time="2026-03-02T08:15:30+01:00")


# The expected digests are those of `printf '…' | sha256sum` over the JSON list of job, wrench, number, time, hex and count.
@pytest.mark.parametrize(
    ("reading", "digest"),
    [
        pytest.param(READING, "5444df82356df09a44a5228d489ebca3917e61ea09bdfc538aa5c68586fb7dc1", id="with-a-time"),
        pytest.param(None, "bf4a9179c38f68071c58e5cabb73e7f1f4e1152344e28bf5c6ef2708dc4992d2", id="unreadable"),
    ],
)
def test_the_identity_is_the_sha_256_of_what_names_a_record(reading, digest):
    assert decode_identity(b"95.2", reading, 1, "7") == digest


def test_the_same_record_has_the_same_identity_in_whatever_job_it_is_read_in():
    assert decode_identity(RAW, READING, 1, "7") == decode_identity(RAW, READING, 1, "8")


@pytest.mark.parametrize(
    "other",
    [
        pytest.param((RAW, READING, 2), id="the-second-equal-row"),
        pytest.param((RAW + b" ", READING, 1), id="another-text"),
        pytest.param((RAW, replace(READING, wrench="W-8"), 1), id="another-wrench"),
        pytest.param((RAW, replace(READING, sequence=13), 1), id="another-number"),
        pytest.param((RAW, replace(READING, sequence=None), 1), id="no-number"),
        pytest.param((RAW, replace(READING, tool_time="2026-03-02T08:15:31+01:00"), 1), id="another-time"),
        pytest.param((RAW, None, 1), id="not-decoded"),
    ],
)
def test_anything_else_is_another_record(other):
    assert decode_identity(*other, "7") != decode_identity(RAW, READING, 1, "7")


@pytest.mark.parametrize(
    "reading", [pytest.param(replace(READING, tool_time=None), id="no-time"), pytest.param(None, id="not-decoded")]
)
def test_a_record_without_a_time_is_the_same_only_within_its_job(reading):
    assert decode_identity(RAW, reading, 1, "7") == decode_identity(RAW, reading, 1, "7")
    assert decode_identity(RAW, reading, 1, "7") != decode_identity(RAW, reading, 1, "8")


def test_a_text_and_a_number_of_the_same_digits_do_not_mix():
    by_wrench = replace(READING, wrench="1", sequence=None, tool_time=None)
    by_number = replace(READING, wrench=None, sequence=1, tool_time=None)

    assert decode_identity(RAW, by_wrench, 1, "7") != decode_identity(RAW, by_number, 1, "7")
