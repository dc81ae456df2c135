"""Instants are written as the ledger keeps them."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from schemas.clock import rfc3339
from schemas.entry import Entry


# The first three are the examples of RFC 3339, section 5.8, with the instant in UTC that it gives for them.
@pytest.mark.parametrize(
    ("instant", "text"),
    [
        pytest.param("1985-04-12T23:20:50.520000+00:00", "1985-04-12T23:20:50.520000Z", id="utc"),
        pytest.param("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57.000000Z", id="eight-hours-behind"),
        pytest.param("1937-01-01T12:00:27.870000+00:20", "1937-01-01T11:40:27.870000Z", id="twenty-minutes-ahead"),
        pytest.param("2026-03-01T00:30:00.000001+01:00", "2026-02-28T23:30:00.000001Z", id="another-day-in-utc"),
    ],
)
def test_an_instant_is_written_in_utc_with_six_decimals(instant, text):
    assert rfc3339(datetime.fromisoformat(instant)) == text


def test_the_ledger_takes_what_is_written_here():
    entry = Entry("job closed", rfc3339(datetime(2026, 3, 2, 7, 15, tzinfo=UTC)), 0, "program", "00" * 16, {})

    assert b'"at":"2026-03-02T07:15:00.000000Z"' in entry.encode()


def test_later_instants_sort_later_as_text_whatever_their_zone():
    start = datetime(2026, 10, 25, 0, 0, tzinfo=UTC)
    zones = [timezone(timedelta(hours=hours)) for hours in (2, 1, -5)]

    texts = [rfc3339((start + timedelta(minutes=step)).astimezone(zones[step % 3])) for step in range(180)]

    assert texts == sorted(texts)
