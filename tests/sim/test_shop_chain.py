"""The chain of one joint: its ways to go on are all there are, and each leaves the state that it must."""

from dataclasses import replace

import pytest

from sim.shop.chain import Act, Gap, Ground, Last, State, next_steps
from sim.shop.day import live_day

GROUND = Ground(fasteners=4, is_cramped=False, is_final=True)


@pytest.fixture(name="habits")
def _habits():
    day = live_day("rough", 1, angle=False, times=False)
    return replace(next(iter(day.secret.habits.values())), skip=0.01, slip=0.002, over=0.01, recheck_round=0.3, recheck_late=0.1)


def steps_by(habits, state, act, ground=GROUND):
    return [step for step in next_steps(state, ground, habits) if step.act is act]


@pytest.mark.parametrize(
    "state",
    [
        pytest.param(State(), id="begin"),
        pytest.param(State(0, 1, 0, Last.DONE), id="after-a-tightening"),
        pytest.param(State(0, 1, 0, Last.REPEATED), id="after-a-second-click"),
        pytest.param(State(0, 2, 0, Last.OVER), id="after-an-over-pull"),
        pytest.param(State(0, 2, 2, Last.STROKING, 2), id="among-strokes"),
        pytest.param(State(0, 2, 2, Last.STROKING, 5), id="after-the-most-strokes"),
        pytest.param(State(0, 2, 2, Last.GAVE_UP), id="after-a-pull-given-up"),
        pytest.param(State(0, 3, 2, Last.DONE), id="at-the-end-of-the-work"),
        pytest.param(State(1, 3, 2), id="at-the-end-of-a-recheck"),
        pytest.param(State(2, 1, 4), id="in-a-late-recheck"),
    ],
)
def test_the_ways_on_are_all_there_are(habits, state):
    assert sum(step.weight for step in next_steps(state, GROUND, habits)) == pytest.approx(1, abs=1e-5)


def test_a_slip_clicks_the_last_fastener_once_more_and_leaves_the_next_one_undone(habits):
    (slip,) = steps_by(habits, State(0, 0, 0, Last.DONE), Act.SLIP)

    assert (slip.slot, slip.gap) == (0, Gap.MOVE)
    assert (slip.after.slot, slip.after.missed) == (1, 0b10)


def test_a_skipped_fastener_stays_missed_until_a_recheck_finds_it(habits):
    skipped = next(step for step in steps_by(habits, State(0, 0, 0, Last.DONE), Act.CLICK) if step.slot == 2)
    assert skipped.after.missed == 0b10

    found = next(step for step in steps_by(habits, State(1, 0, 0b10), Act.CLICK) if step.slot == 1)
    assert found.after.missed == 0
    assert not [step for step in steps_by(habits, State(1, 0, 0b10), Act.RECHECK) if step.slot == 1]


def test_what_the_end_leaves_undone_is_kept_as_missed(habits):
    (end,) = steps_by(habits, State(0, 2, 0, Last.DONE), None)

    assert end.after.missed == 0b1000


def test_only_the_last_stage_is_rechecked_and_over_pulled(habits):
    early = GROUND._replace(is_final=False)

    acts = {step.act for step in next_steps(State(0, 3, 0, Last.DONE), early, habits)}
    assert acts == {None, Act.AGAIN, Act.REDO}
    assert Act.OVER not in {step.act for step in next_steps(State(), early, habits)}
    assert Act.RECHECK in {step.act for step in next_steps(State(0, 3, 0, Last.DONE), GROUND, habits)}


def test_where_there_is_no_room_nearly_every_fastener_begins_with_a_stroke(habits):
    cramped = GROUND._replace(is_cramped=True)

    def weight(ground):
        return sum(step.weight for step in steps_by(habits, State(), Act.STROKE, ground))

    assert weight(cramped) > 0.9
    assert weight(GROUND) < 0.05
