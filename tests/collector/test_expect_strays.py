"""Clicks that belong to nothing of the job: by themselves, in rows, and as the first one on another vehicle."""

from dataclasses import replace
from math import exp, log

import pytest

from collector.expect.beam import Beam, Effort
from collector.expect.click import Click
from collector.expect.gaps import see
from collector.expect.habits import USUAL
from collector.expect.odds import Gaps, Seen, Torque, torque_at
from collector.expect.own import Own
from collector.expect.places import NOWHERE, places_of
from collector.expect.reading_odds import Looks, ReadingOdds
from collector.expect.settle import place_shares
from collector.expect.strays import burst_odds, other_odds, stray_odds, turns_of
from collector.expect.turning import still_odds, turned_odds
from collector.expect.ways import Away
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 100}
  - {id: cover, name: Cover bolts, fasteners: 2, torque: 100}
  - {id: eye, name: Eye, fasteners: 2, torque: 60}
"""
PLACES = places_of(load_plan(PLAN.encode(), "axle.yaml"))
OWN = Own(USUAL)


def seen(torque, gap_s=None, before=None, angle=None, before_angle=None):
    return Seen(Click(1, torque, "W-1", None, angle), gap_s, before, "W-1", gap_s, before_angle)


# By itself.


def test_a_stray_click_is_as_likely_in_every_doubling_of_torque():
    gaps = Gaps(OWN, None)

    assert stray_odds(seen(50.0), OWN, gaps) == pytest.approx(2 * stray_odds(seen(100.0), OWN, gaps))
    assert stray_odds(seen(-50.0), OWN, gaps) == stray_odds(seen(50.0), OWN, gaps)
    assert stray_odds(seen(0.0), OWN, gaps) > 0.0
    assert 0.0 < stray_odds(seen(50.0, angle=5.0), OWN, gaps) < stray_odds(seen(50.0), OWN, gaps)


# In a row.


def burst(value, before, angle=None, gap_s=8.0):
    return burst_odds(seen(value, gap_s, before, angle), OWN, Gaps(OWN, gap_s))


def test_strays_come_in_rows_of_one_torque():
    assert min(burst(47.0, 47.5)) > 5.0 > 1.0 > max(burst(47.0, 90.0))
    assert burst(None, 47.0) == burst(47.0, None) == (1.0, 1.0)


@pytest.mark.parametrize("value", [pytest.param(90.0, id="another-torque"), pytest.param(None, id="over-range")])
def test_one_of_another_torque_may_come_in_a_row_all_the_same(value):
    assert min(burst(value, 47.0)) >= 0.99 * (1.0 - USUAL.stray_alike)


def test_trials_follow_one_another_at_once_and_the_pulls_of_a_joint_as_fasteners_do():
    at_once, next_one = burst(47.0, 47.0, gap_s=2.0), burst(47.0, 47.0, gap_s=8.0)

    assert at_once.tried > at_once.elsewhere
    assert next_one.elsewhere > next_one.tried


@pytest.mark.parametrize("kind", ["tried", "elsewhere"])
def test_the_pauses_of_a_row_shift_odds_and_add_none(kind):
    """Over all pauses the density of a second stray's pause comes to as much as that of one by itself."""
    steps = [log(0.4) + 0.01 * n for n in range(1700)]
    shares = [(getattr(burst(47.0, 47.0, gap_s=exp(one)), kind), Gaps(OWN, exp(one)).stray) for one in steps]
    unknown = getattr(burst_odds(seen(47.0, None, 47.0), OWN, Gaps(OWN, None)), kind)

    assert sum(0.01 * odds * alone for odds, alone in shares) == pytest.approx(unknown, rel=0.05)


@pytest.mark.parametrize(
    ("angle", "kind", "usual"),
    [
        pytest.param(40.0, "elsewhere", True, id="on-another-vehicle-they-turn"),
        pytest.param(2.0, "tried", True, id="trials-turn-nothing"),
        pytest.param(40.0, "tried", False, id="turns-after-a-tight-one"),
        pytest.param(2.0, "elsewhere", False, id="tight-after-one-that-turned"),
    ],
)
def test_in_a_row_of_strays_all_turn_or_none_does(angle, kind, usual):
    unknown = getattr(burst(47.0, 47.5), kind)

    found = getattr(burst(47.0, 47.5, angle), kind)

    assert (found > 1.5 * unknown) is usual
    assert (found < 0.4 * unknown) is not usual


def test_without_a_turn_nothing_is_told_of_it():
    assert turns_of(seen(47.0), OWN) == (1.0, 1.0)
    assert turns_of(seen(47.0, before_angle=40.0), OWN) == (1.0, 1.0)


@pytest.mark.parametrize("kind", ["tried", "elsewhere"])
def test_the_turns_of_a_row_shift_odds_and_add_none(kind):
    """Over all angles the density of a second stray's angle comes to as much as that of one by itself."""
    share = USUAL.stray_alike
    alike = getattr(burst(47.0, 47.5), kind) - (1.0 - share)

    def density(angle):
        ratio = (getattr(burst(47.0, 47.5, angle), kind) - (1.0 - share)) / alike
        return ratio * 0.5 * (still_odds(angle, OWN) + turned_odds(angle, USUAL.turn_deg, 1.0))

    steps = [0.1 * n for n in range(1, 10_000)]
    alone = sum(0.5 * (still_odds(one, OWN) + turned_odds(one, USUAL.turn_deg, 1.0)) for one in steps)
    assert sum(map(density, steps)) == pytest.approx(alone, rel=0.1)


# The first one on another vehicle.


def other(value, gap_s=None, angle=None):
    return ReadingOdds(Looks(PLACES), OWN, seen(value, gap_s, angle=angle)).other


def test_another_vehicle_has_torques_of_this_plan_or_any():
    three, one, none = other(100.0), other(60.0), other(33.0)

    assert three > one > 1.0 > none
    # Half of its torques are as of nothing known.
    assert none == pytest.approx(0.5, abs=0.01)
    assert other(None) == pytest.approx(1.0)


def test_the_torques_of_a_plan_count_by_the_places_that_have_them():
    reading, gaps = seen(100.0), Gaps(OWN, None)
    hub, eye = (torque_at(reading, PLACES[place], OWN) for place in (0, 3))
    anywhere = stray_odds(reading, OWN, gaps)

    found = other_odds(reading, OWN, gaps, [(hub, 0.75), (eye, 0.25)])

    assert found == pytest.approx(0.5 + 0.5 * (0.75 * hub.good + 0.25 * eye.good) / anywhere)
    assert found == pytest.approx(other(100.0))


def test_on_the_way_to_another_vehicle_the_pause_is_that_of_a_change():
    nothing = [(Torque(False, False, 0.0, 0.0, 0.0), 1.0)]
    gaps = Gaps(OWN, 90.0)

    assert other_odds(seen(33.0, 90.0), OWN, gaps, nothing) == pytest.approx(0.5 * gaps.joint / gaps.stray)
    assert other(100.0, 90.0) > other(100.0) > other(100.0, 5.0)


def test_a_joint_of_another_vehicle_turns_as_joints_do():
    assert other(33.0, angle=40.0) > 1.5 * other(33.0)
    assert other(33.0, angle=2.0) < 0.4 * other(33.0)


def lived(*torques, pauses, habits=USUAL, drop=3e-4, angles=None):
    at_s, clicks = 0.0, []
    for n, (torque, pause) in enumerate(zip(torques, pauses, strict=True)):
        at_s += pause
        clicks.append(Click(n + 1, torque, "W-1", at_s, angles[n] if angles else None))
    beam = Beam(PLACES, Own(habits), Effort(drop))
    for one in see(clicks):
        beam.take(one)
    return beam


def test_a_joint_of_another_vehicle_in_between_is_nobodys():
    day = (100, 101, 60, 61, 140, 141, 139, 140, 100, 99)
    beam = lived(*day, pauses=(0, 8, 60, 8, 90, 8, 8, 8, 90, 8))
    beam.end()

    found = [share.get(NOWHERE, 0.0) for share in place_shares(beam)]

    assert min(found[4:8]) > 0.9
    assert max(found[:4] + found[8:]) < 0.2


def test_people_go_to_another_vehicle_when_a_joint_is_done_and_hardly_before():
    def nobody(pulls, often):
        habits = replace(USUAL, other=often)
        beam = lived(*[100] * pulls, 33, pauses=[0, *[8] * (pulls - 1), 90], habits=habits, drop=0.0)
        p = place_shares(beam)[-1][NOWHERE]
        return p / (1.0 - p)

    inside, done = (nobody(pulls, USUAL.other) / nobody(pulls, 1e-12) for pulls in (1, 2))

    assert 1.0 < inside < 1.1
    assert done > 1.4


def of_kind(beam):
    """How likely the last click was one of the place, a trial, one on another vehicle."""
    found = dict.fromkeys(Away, 0.0)
    for node in beam.nodes:
        found[node.visits[0].away] += node.weight
    return found


@pytest.mark.parametrize(
    ("angles", "pauses", "kind"),
    [
        pytest.param((40, 41, 38, 39, 40), (0, 8, 90, 8, 8), Away.ELSEWHERE, id="turning-at-the-pace-of-a-joint"),
        pytest.param((40, 41, 1, 1, 1.5), (0, 8, 90, 2, 2), Away.TRIED, id="tight-and-one-at-once-after-the-other"),
    ],
)
def test_a_row_of_strays_is_of_one_kind_by_its_turns_and_pauses(angles, pauses, kind):
    found = of_kind(lived(100, 101, 33, 33.2, 32.9, pauses=pauses, angles=angles, drop=0.0))

    assert found[kind] > 0.9
    assert found[Away.THERE] < 0.05


def test_a_row_on_another_vehicle_goes_on_longer_than_one_of_trials():
    def longer(tried_on, other_on):
        habits = replace(USUAL, tried_on=tried_on, other_on=other_on)
        beam = lived(100, 101, *[100] * 4, pauses=(0, 8, 90, 8, 8, 8), habits=habits, drop=1e-6)
        return sum(share.get(NOWHERE, 0.0) for share in place_shares(beam)[2:])

    # No other torque and no turn tells them from the next joints of the plan.
    assert longer(0.3, 0.9) > longer(0.3, 0.3)
    assert longer(0.9, 0.3) > longer(0.3, 0.3)


def test_after_a_row_of_strays_the_wrench_is_where_it_was_before():
    beam = lived(100, 33, 33, 33, 101, pauses=(0, 30, 8, 8, 30), drop=0.0)

    assert of_kind(beam)[Away.THERE] > 0.9
    assert max(place_shares(beam)[-1].items(), key=lambda one: one[1])[0] == 0
