"""Rows of joints that are gone round again: where such a round begins, and how it goes on."""

import pytest

from collector.expect.places import NOWHERE, places_of
from collector.expect.rows import Rows
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

BAR, FIRST, SECOND, STAY, THIRD, FOURTH, ROUND, FINAL = range(8)
"""A bar, two wheels, a stay, two wheels, and a joint in two stages, whose first one has the torque of the wheels."""
JOINTS = (("bar", 90), ("w1", 110), ("w2", 110), ("stay", 60), ("w3", 110), ("w4", 110), ("hub", "220, stages: [50, 100]"))
ALL = 0b1111_1111


def rows(steps=""):
    joints = "".join(f"  - {{id: {name}, name: Joint, fasteners: 2, torque: {torque}}}\n" for name, torque in JOINTS)
    if steps:
        steps = "steps:\n" + "".join(f"  - torque: {name}\n" for name, _ in JOINTS) + steps
    return Rows(places_of(load_plan((HEAD + joints + steps).encode(), "wheels.yaml")))


@pytest.mark.parametrize(
    ("here", "done", "begins"),
    [
        pytest.param(FOURTH, ALL, {FIRST, THIRD}, id="from-the-last-one-at-the-first-or-at-those-just-done"),
        pytest.param(SECOND, ALL, {FIRST, THIRD}, id="at-the-next-one-or-at-those-just-done"),
        pytest.param(SECOND, 1 << FIRST | 1 << SECOND, {FIRST}, id="where-only-these-are-done"),
        pytest.param(FOURTH, 1 << SECOND | 1 << FOURTH, {SECOND}, id="with-what-is-done-only"),
        pytest.param(FIRST, 1 << FIRST, set(), id="no-other-is-done"),
        pytest.param(BAR, ALL, set(), id="no-other-of-that-torque"),
        pytest.param(ROUND, ALL, set(), id="from-a-round-before-the-final"),
        pytest.param(NOWHERE, ALL, set(), id="from-nowhere"),
    ],
)
def test_a_round_over_what_is_done_begins_with_a_row(here, done, begins):
    assert rows().begins(here, done) == begins


def test_it_goes_on_to_the_next_one_that_is_done_and_ends_with_the_last():
    assert [rows().next(here, ALL) for here in (FIRST, SECOND, THIRD, FOURTH)] == [SECOND, THIRD, FOURTH, NOWHERE]
    assert rows().next(FIRST, 1 << FIRST | 1 << FOURTH) == FOURTH
    assert [rows().next(here, ALL) for here in (BAR, ROUND, NOWHERE)] == [NOWHERE] * 3


@pytest.mark.parametrize(
    "steps",
    [
        pytest.param("".join(f"  - recheck: w{n}\n" for n in (1, 2, 3, 4)), id="checked-again-later"),
        pytest.param("  - open: w2\n  - torque: w2\n", id="one-opened-and-done-anew-later"),
    ],
)
def test_what_a_later_step_does_with_the_wheels_ends_no_row_of_them(steps):
    assert [rows(steps).next(here, ALL) for here in (FIRST, SECOND, THIRD, FOURTH)] == [SECOND, THIRD, FOURTH, NOWHERE]


def test_the_wheels_of_another_pass_are_no_part_of_the_row():
    again = rows("  - open: w1\n  - torque: w1\n  - open: w2\n  - torque: w2\n")
    first, second = FINAL + 1, FINAL + 2

    assert (again.begins(second, ALL | 0b11 << first), again.next(first, ALL | 0b11 << first)) == ({first}, second)
    assert again.next(FOURTH, ALL | 0b11 << first) == NOWHERE


def test_a_check_of_tight_ones_is_itself_no_row():
    checked = rows("  - recheck: w1\n  - recheck: w2\n")

    assert (checked.next(FINAL + 1, ALL << 2), checked.begins(FINAL + 1, ALL << 2)) == (NOWHERE, set())
