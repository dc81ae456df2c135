"""The pauses between readings: known only where the times of one wrench tell them."""

from dataclasses import replace

import pytest

from collector.expect.click import Click
from collector.expect.gaps import see


def clicks(*times, wrenches=("W-1",)):
    return [Click(n + 1, 100.0 + n, wrenches[n % len(wrenches)], at_s) for n, at_s in enumerate(times)]


def before(found):
    """The wrench of the same person's reading before each."""
    return [one.after and one.after.wrench for one in found]


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
    assert before(found) == [None, "W-1", "W-2", "W-1", "W-2"]
    assert [one.after_gap_s for one in found] == [None, 3, 5, 2, 5]


def test_a_lump_of_one_wrench_says_nothing_of_the_other():
    found = see(clicks(0, 7, 0, 9, 0, 12, wrenches=("W-1", "W-2")))

    assert [one.gap_s for one in found] == [None, None, None, 2, None, 3]
    assert [one.after_gap_s for one in found[::2]] == [None, None, None]


def test_alone_the_pause_since_the_last_reading_is_that_of_the_wrench():
    found = see(clicks(0, 8, 30))

    assert [one.after_gap_s for one in found] == [one.gap_s for one in found]
    assert [one.click.n for one in found] == [1, 2, 3]


def side_by_side(third_s=(), every_s=8.0):
    """Two people at one vehicle: one with W-1, and at `third_s` with W-3; the other one with W-2, 3 s after each of W-1."""
    rows = [(every_s * n, "W-1") for n in range(4)] + [(every_s * n + 3.0, "W-2") for n in range(4)]
    rows = sorted(rows + [(at_s, "W-3") for at_s in third_s])
    return [Click(n, 100.0 + n, wrench, at_s) for n, (at_s, wrench) in enumerate(rows, 1)]


def test_of_two_people_the_reading_before_is_that_of_the_same_person():
    found = see(side_by_side())

    assert before(found) == [None, None, *["W-1", "W-2"] * 3]
    assert [one.after_gap_s for one in found] == [None, None, *[8.0] * 6]
    assert [one.after_gap_s for one in found] == [one.gap_s for one in found]


def test_who_takes_up_a_third_wrench_comes_from_the_own_one_and_not_from_the_other_persons():
    clicks = side_by_side(third_s=(60.0, 68.0))
    clicks += [Click(len(clicks) + 1, 100.0, "W-2", 71.0)]

    found = see(clicks)

    assert [(one.click.wrench, one.after.wrench, one.gap_s, one.after_gap_s) for one in found[8:]] == [
        ("W-3", "W-1", None, 36.0), ("W-3", "W-3", 8.0, 8.0), ("W-2", "W-2", 44.0, 44.0),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        pytest.param(side_by_side(), False, id="two-people"),
        pytest.param(clicks(0, 20, 40, 60, 80, wrenches=("W-1", "W-2")), True, id="one-with-two-wrenches"),
        pytest.param([Click(one.n, 100.0, one.wrench) for one in side_by_side()], True, id="no-times-that-tell"),
        pytest.param(clicks(0, 1, 2, 3, 4), True, id="one-wrench"),
    ],
)
def test_every_reading_says_whether_somebody_else_was_at_work(readings, expected):
    assert {one.is_alone for one in see(readings)} == {expected}


def test_the_first_reading_of_a_person_has_none_before_it_though_a_wrench_without_a_name_has():
    """The second of two people begins; the first one's wrench has no name."""
    named = side_by_side()
    unnamed = [replace(click, wrench=None if click.wrench == "W-1" else click.wrench) for click in named]

    assert [one.after is None for one in see(unnamed)] == [one.after is None for one in see(named)]
    assert [one.after is None for one in see(unnamed)] == [True, True, *[False] * 6]
