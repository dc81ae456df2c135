"""The pauses between readings: known only where the times of one wrench tell them."""

import pytest

from collector.expect.click import Click
from collector.expect.gaps import see


def clicks(*times, wrenches=("W-1",)):
    return [Click(n + 1, 100.0 + n, wrenches[n % len(wrenches)], at_s) for n, at_s in enumerate(times)]


def pauses(*times, **more):
    return [one.gap_s for one in see(clicks(*times, **more))]


@pytest.mark.parametrize(
    ("times", "expected"),
    [
        pytest.param((), [], id="nothing"),
        pytest.param((5,), [None], id="one"),
        pytest.param((0, 8, 9.5), [None, 8, 1.5], id="three"),
        pytest.param((0, None, 9), [None, None, None], id="one-without-a-time"),
        pytest.param((None, None, None, None), [None] * 4, id="no-times"),
        pytest.param((0, 8, 5, 13), [None, 8, None, 8], id="the-clock-went-back"),
        pytest.param((0, 8, 8, 20), [None, 8, 0, 12], id="two-at-one-moment"),
        pytest.param((0, 8, 8, 8, 20, 28), [None, None, None, None, None, 8], id="three-at-one-moment-came-in-a-lump"),
        pytest.param((0, 9, 20, 20, 20), [None, 9, None, None, None], id="a-lump-at-the-end"),
        pytest.param((5, 5, 5, 9, 9, 9, 20), [None] * 7, id="lump-after-lump"),
    ],
)
def test_a_pause_is_known_where_times_tell_it(times, expected):
    assert pauses(*times) == expected


def test_each_wrench_has_its_own_pauses_and_its_own_torque_before():
    found = see(clicks(0, 3, 8, 10, 15, wrenches=("W-1", "W-2")))

    assert [one.gap_s for one in found] == [None, None, 8, 7, 7]
    assert [one.before_nm for one in found] == [None, None, 100.0, 101.0, 102.0]
    assert [one.after for one in found] == [None, "W-1", "W-2", "W-1", "W-2"]
    assert [one.after_gap_s for one in found] == [None, 3, 5, 2, 5]


def test_a_lump_of_one_wrench_says_nothing_of_the_other():
    found = see(clicks(0, 7, 0, 9, 0, 12, wrenches=("W-1", "W-2")))

    assert [one.gap_s for one in found] == [None, None, None, 2, None, 3]
    assert [one.after_gap_s for one in found[::2]] == [None, None, None]


def test_alone_the_pause_since_the_last_reading_is_that_of_the_wrench():
    found = see(clicks(0, 8, 30))

    assert [one.after_gap_s for one in found] == [one.gap_s for one in found]
    assert [one.click.n for one in found] == [1, 2, 3]
