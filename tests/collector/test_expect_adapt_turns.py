"""Which joints of a log are pulled in turn: a habit and not one visit in between."""

import pytest

from collector.expect.adapt_turns import Turns
from collector.expect.click import Click
from collector.expect.gaps import see
from collector.expect.places import NOWHERE, places_of
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: a, name: A, fasteners: 4, torque: 100}
  - {id: b, name: B, fasteners: 4, torque: 100}
  - {id: c, name: C, fasteners: 4, torque: 60}
  - {id: d, name: D, fasteners: 4, torque: 60}
  - {id: e, name: E, fasteners: 4, torque: 80, stages: [50, 100]}
"""
PLACES = places_of(load_plan(PLAN.encode(), "axle.yaml"))
A, B, C, D, E_HALF, E_FULL = range(6)


def turns(*chosen, wrenches=None):
    """What is found in a story in which each reading is at that place."""
    wrenches = wrenches or ["W-1"] * len(chosen)
    seen = see([Click(n + 1, 60.0, wrench) for n, wrench in enumerate(wrenches)])
    found = Turns(seen, chosen)
    return found.begun, found.indices


def test_two_joints_pulled_in_turn_are_found_once_with_all_their_visits_but_the_first():
    assert turns(A, B, A, B, A, B) == (1, {1, 2, 3, 4, 5})


@pytest.mark.parametrize(
    "chosen",
    [
        pytest.param((), id="nothing"),
        pytest.param((A, A, A, B, B, B), id="one-after-the-other"),
        pytest.param((A, B, C, D, A, B, C, D), id="round-by-round-over-all"),
        pytest.param((A, B), id="two-visits"),
        pytest.param((NOWHERE, A, NOWHERE, A, NOWHERE, A), id="strays-in-between"),
    ],
)
def test_what_is_no_turn_is_not_taken_for_one(chosen):
    assert turns(*chosen) == (0, set())


def test_a_fastener_taken_through_both_stages_before_the_next_one_is_in_turn_too():
    assert turns(E_HALF, E_FULL, E_HALF, E_FULL) == (1, {1, 2, 3})


def test_once_there_and_back_is_a_joint_that_was_left_half_done():
    assert turns(A, A, B, B, B, B, A, A) == (0, set())


def test_strokes_and_second_clicks_are_of_the_same_visit():
    assert turns(A, A, B, B, B, A, B, B) == (1, {2, 5, 6})


def test_clicks_of_nothing_are_no_visit():
    assert turns(A, NOWHERE, B, A, NOWHERE, NOWHERE, B) == (1, {2, 3, 6})


def test_each_pair_is_one_habit_begun():
    assert turns(A, B, A, B, C, D, C, D) == (2, {1, 2, 3, 5, 6, 7})


def test_the_same_pair_may_be_begun_again():
    assert turns(A, B, A, B, C, A, B, A, B)[0] == 2


def test_two_wrenches_at_two_joints_take_no_turns():
    assert turns(A, B, A, B, A, B, wrenches=["W-1", "W-2"] * 3) == (0, set())


def test_each_wrench_has_its_own_turns():
    both = turns(A, C, B, D, A, C, B, D, wrenches=["W-1", "W-2"] * 4)

    assert both == (2, {2, 3, 4, 5, 6, 7})
