"""One reading on from a belief about a place: what it becomes, and how likely the reading was there."""

import pytest

from collector.expect.click import Click
from collector.expect.habits import USUAL
from collector.expect.odds import Seen
from collector.expect.onward import Onward
from collector.expect.own import Own
from collector.expect.places import places_of
from collector.expect.reading_odds import Looks, ReadingOdds
from collector.expect.ways import Belief
from collector.expect.within import START, Did, Within, did_of, done_of, state_of
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100}
  - {id: head, name: Head bolts, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10}
"""
PLACES = places_of(load_plan(PLAN.encode(), "axle.yaml"))
HUB, HEAD, HEAD_ANGLE = range(3)
OWN = Own(USUAL)
WITHIN = [Within(place.fasteners, USUAL) for place in PLACES]
ONE, TWO, ALL = (Belief({state_of(done, Did.NEW): 1.0}, 4) for done in (1, 2, 4))


def odds_of(torque=100.0, gap_s=8.0, before=100.0):
    return ReadingOdds(Looks(PLACES), OWN, Seen(Click(2, torque, "W-1"), gap_s, before, "W-1", gap_s))


def onward(least=0.0, **reading):
    return Onward(WITHIN, odds_of(**reading), least)


def weight_of(found, did):
    """How much of the belief and its weight is of one kind of click."""
    after, total = found
    return total * sum(weight for state, weight in after.weights.items() if did_of(state) is did)


def short_of(found):
    """The same of a pull on a new fastener that ended short."""
    return weight_of(found, Did.NEW_LOW) + weight_of(found, Did.LOW_ALONE)


def test_the_belief_goes_on_by_moves_and_odds_and_its_weight_is_that_of_all_of_them():
    at, belief = odds_of().at(HUB), Belief({state_of(1, Did.NEW): 0.25, state_of(2, Did.NEW): 0.75}, 4)

    after, total = onward().stay(belief, HUB, False, False)

    expected = {}
    for state, weight in belief.weights.items():
        for then, share, what in WITHIN[HUB].stays[0][state]:
            expected[then] = expected.get(then, 0.0) + weight * share * at[what]
    assert total == pytest.approx(sum(expected.values()))
    assert after.weights == pytest.approx({state: weight / total for state, weight in expected.items()})
    assert sum(after.weights.values()) == pytest.approx(1.0)


@pytest.mark.parametrize(
    "go",
    [
        pytest.param(lambda going: going.stay(ONE, HUB, False, False), id="stays"),
        pytest.param(lambda going: going.stay(ONE, HUB, False, True), id="in-turn"),
        pytest.param(lambda going: going.enter(TWO, HUB), id="enters"),
        pytest.param(lambda going: going.turn(TWO, HUB), id="turns"),
    ],
)
def test_a_pull_far_below_the_band_ended_short_and_one_just_below_was_mostly_taken_for_done(go):
    far, near = go(onward(torque=60.0)), go(onward(torque=89.9))

    assert short_of(far) > 100 * weight_of(far, Did.NEW)
    assert weight_of(near, Did.NEW) > short_of(near) > 0.0


def test_after_a_click_of_nothing_the_pause_is_that_of_coming_back():
    back, stays = onward(gap_s=1.5).stay(ONE, HUB, True, False), onward(gap_s=1.5).stay(ONE, HUB, False, False)
    at, back_at = odds_of(gap_s=1.5).at(HUB), odds_of(gap_s=1.5).back_at(HUB)

    assert weight_of(back, Did.AGAIN) < weight_of(stays, Did.AGAIN)
    assert weight_of(back, Did.NEW) / weight_of(stays, Did.NEW) == pytest.approx(back_at.new / at.new)


def test_in_turn_with_another_place_the_next_fastener_is_seldom_one_here():
    in_turn, alone = (onward().stay(ONE, HUB, False, mode) for mode in (True, False))

    assert weight_of(in_turn, Did.NEW) == pytest.approx((1.0 - USUAL.turns_on) * weight_of(alone, Did.NEW))
    assert weight_of(in_turn, Did.AGAIN) == pytest.approx(weight_of(alone, Did.AGAIN))


def test_in_turn_strokes_on_the_fastener_in_hand_go_on_as_ever():
    short = Belief({state_of(1, Did.NEW_LOW): 1.0}, 4)
    in_turn, alone = (onward(gap_s=2.0, before=60.0).stay(short, HUB, False, mode) for mode in (True, False))

    assert weight_of(in_turn, Did.ON) == pytest.approx(weight_of(alone, Did.ON))
    assert weight_of(in_turn, Did.NEW) < weight_of(alone, Did.NEW)


def test_the_turn_of_a_place_is_its_next_fastener_and_nothing_else():
    after, total = onward().turn(TWO, HUB)

    assert after.weights == {state_of(3, Did.NEW): 1.0}
    assert total == pytest.approx((1.0 - USUAL.low) * odds_of().at(HUB).enter_new)


def test_a_place_of_a_row_is_gone_round_from_its_first_fastener_on_by_the_odds_of_a_check():
    after, total = onward().go_round(ALL, HUB)

    assert after.weights == {state_of(4, Did.CHECK, 1): 1.0}
    assert total == pytest.approx(odds_of().at(HUB).enter_check)
    assert after.full == 1.0


def test_who_goes_round_a_row_needs_no_reason_of_its_own_at_each_place():
    going = onward()
    round_, enters = going.go_round(TWO, HUB), going.enter(TWO, HUB)

    assert weight_of(enters, Did.CHECK) == pytest.approx(USUAL.check_late * weight_of(round_, Did.CHECK))
    assert {did_of(state) for state in enters[0].weights} > {did_of(state) for state in round_[0].weights} == {Did.CHECK}


def test_the_surer_a_place_is_done_the_likelier_it_is_gone_round():
    totals = [onward().go_round(belief, HUB)[1] for belief in (ONE, TWO, ALL)]

    assert totals[0] < totals[1] < totals[2]


def test_a_place_whose_fasteners_are_all_done_has_no_turn():
    assert onward().turn(ALL, HUB) == (None, 0.0)


def test_where_a_reading_cannot_be_nothing_is_believed():
    far = onward(torque=250.0)

    assert far.enter(Belief({START: 1.0}, 2), HEAD_ANGLE) == (None, 0.0)
    assert far.stay(Belief({state_of(1, Did.NEW): 1.0}, 2), HEAD_ANGLE, False, False) == (None, 0.0)
    assert far.go_round(Belief({state_of(2, Did.NEW): 1.0}, 2), HEAD_ANGLE) == (None, 0.0)


def test_states_that_hardly_weigh_anything_are_given_up_and_the_weight_is_that_of_all():
    every, few = onward().stay(ONE, HUB, False, False), onward(least=0.2).stay(ONE, HUB, False, False)

    assert few[1] == every[1]
    assert set(few[0].weights) == {state for state, weight in every[0].weights.items() if weight > 0.2} != set(every[0].weights)


def test_what_was_worked_out_once_is_kept_for_each_way_of_going_on():
    going = onward()
    ways = [
        lambda: going.stay(ONE, HUB, False, False), lambda: going.stay(ONE, HUB, True, False),
        lambda: going.stay(ONE, HUB, False, True), lambda: going.stay(ONE, HUB, True, True), lambda: going.enter(ONE, HUB),
        lambda: going.stay(TWO, HUB, False, False), lambda: going.enter(TWO, HUB), lambda: going.enter(ONE, HEAD),
        lambda: going.go_round(ONE, HUB), lambda: going.go_round(TWO, HUB),
    ]  # fmt: skip

    first, again = [way() for way in ways], [way() for way in ways]

    assert all(after is before for (after, _), (before, _) in zip(again, first, strict=True))
    assert len({id(after) for after, _ in first}) == len(ways)


def test_a_belief_that_is_gone_leaves_nothing_to_a_later_one():
    going = onward()

    found = [done_of(max(going.stay(Belief({state_of(done, Did.NEW): 1.0}, 4), HUB, False, False)[0].weights,
                         key=lambda state: (did_of(state) is Did.NEW, state))) for done in (1, 2, 3)]  # fmt: skip

    assert found == [2, 3, 4]


@pytest.mark.parametrize("fasteners", [pytest.param(1, id="of-one"), pytest.param(4, id="of-its-own")])
def test_a_place_is_full_when_all_its_own_fasteners_are_done_whatever_the_belief_was_made_for(fasteners):
    after, _ = onward().enter(Belief({START: 1.0}, fasteners), HUB)

    assert after.full == 0.0
