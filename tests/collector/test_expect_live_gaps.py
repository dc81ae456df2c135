"""The pauses before live readings: of the same wrench, of any; unknown after a gap in the link and in what was buffered."""

import pytest

from collector.expect.click import Click
from collector.expect.live_gaps import LiveGaps


def see(gaps, at_s, torque=100.0, wrench="W-1"):
    return gaps.see(Click(1, torque, wrench, at_s))


def test_the_first_reading_has_no_pause_and_nothing_before_it():
    seen = see(LiveGaps(), 5.0)

    assert (seen.gap_s, seen.before_nm, seen.after, seen.after_gap_s) == (None, None, None, None)


def test_a_pause_is_that_of_the_same_wrench_and_that_of_any():
    gaps = LiveGaps()
    see(gaps, 0.0, 50.0)
    see(gaps, 30.0, 20.0, "W-2")

    seen = see(gaps, 38.0)

    assert (seen.gap_s, seen.before_nm, seen.after.wrench, seen.after_gap_s) == (38.0, 50.0, "W-2", 8.0)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        pytest.param(None, 8.0, id="no-time-before"),
        pytest.param(0.0, None, id="no-time-now"),
        pytest.param(8.0, 8.1, id="buffered-so-they-came-together"),
        pytest.param(8.0, 3.0, id="a-clock-set-back"),
    ],
)
def test_a_pause_that_nobody_knows_is_not_nought(first, second):
    gaps = LiveGaps()
    see(gaps, first)

    seen = see(gaps, second)

    assert (seen.gap_s, seen.after_gap_s, seen.before_nm) == (None, None, 100.0)


def test_after_the_link_was_lost_one_pause_is_unknown():
    gaps = LiveGaps()
    see(gaps, 0.0)
    gaps.link_was_lost()

    assert [see(gaps, 8.0).gap_s, see(gaps, 16.0).gap_s] == [None, 8.0]


def test_a_copy_goes_on_from_where_it_was_taken():
    gaps = LiveGaps()
    see(gaps, 0.0)
    gaps.link_was_lost()
    copy = gaps.copy()
    see(gaps, 8.0, 60.0)

    assert see(copy, 20.0).gap_s is None, "the copy has heard that the link was lost"
    seen = see(gaps, 20.0)
    assert (seen.gap_s, seen.before_nm) == (12.0, 60.0)
