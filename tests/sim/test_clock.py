"""The simulated clock: moved on by hand, never back."""

import itertools
from datetime import UTC, datetime, timedelta, timezone

import pytest

from schemas.clock import Clock
from sim.clock import SimClock

START_AT = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)


def test_time_stands_still_until_it_is_advanced() -> None:
    clock: Clock = SimClock(START_AT)

    assert clock.now() == clock.now() == START_AT


def test_advance_adds_up_to_parts_of_a_second() -> None:
    clock = SimClock(START_AT)

    clock.advance(1.5)
    clock.advance(0)
    clock.advance(60)

    assert clock.now() == START_AT + timedelta(seconds=61.5)


def test_now_is_utc_whatever_the_zone_of_the_start() -> None:
    clock = SimClock(START_AT.astimezone(timezone(timedelta(hours=1))))

    assert clock.now() == START_AT
    assert clock.now().tzinfo is UTC


def test_advance_backwards_is_refused() -> None:
    clock = SimClock(START_AT)

    with pytest.raises(ValueError, match="never runs backwards"):
        clock.advance(-0.1)
    assert clock.now() == START_AT


def test_a_start_without_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="give an aware instant"):
        SimClock(START_AT.replace(tzinfo=None))


def test_monotonic_count_is_the_real_one_since_the_clock_was_made() -> None:
    clock = SimClock(START_AT, itertools.count(1_000, 7).__next__)

    clock.advance(3600)

    assert [clock.monotonic_ns(), clock.monotonic_ns()] == [7, 14]
