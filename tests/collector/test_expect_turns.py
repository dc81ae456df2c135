"""Joints that are pulled in turn, fastener by fastener: left, right, left, right."""

from dataclasses import replace
from random import Random

import pytest

from collector.expect.beam import Beam, Effort
from collector.expect.click import Click
from collector.expect.evidence import open_joint
from collector.expect.gaps import see
from collector.expect.habits import USUAL
from collector.expect.own import Own
from collector.expect.places import NOWHERE, places_of
from collector.expect.smooth import smooth_log
from collector.expect.ways import Away, Belief
from collector.expect.within import Did, Within, state_of
from schemas.plan.load import load_plan
from schemas.words import Kind
from tests.rigs.made_plans import HEAD

T, S, R = Kind.TIGHTENING, Kind.SHORT_PULL, Kind.REPEAT
OFTEN = replace(USUAL, turns=0.1, turns_on=0.9)
"""Somebody who is known to take joints in turn."""


def plan(*rows):
    lines = [f"  - {{id: {name}, name: Joint, fasteners: {count}, torque: {torque}}}\n" for name, count, torque in rows]
    return load_plan((HEAD + "".join(lines)).encode(), "trailer.yaml")


OTHER = plan(("left", 4, 100), ("right", 4, 60), ("eye", 2, 150))
PAIRS = plan(
    ("a-left", 4, 100), ("a-right", 4, 60), ("b-left", 4, 120), ("b-right", 4, 75), ("c-left", 4, 90), ("c-right", 4, 45),
    ("x-left", 4, 140), ("x-right", 4, 140),
)  # fmt: skip


class Log:
    """Readings one after the other, each 8 s after the one before unless a test says otherwise; `over_s` to the other side."""

    def __init__(self, seed=1, times=True, over_s=8.0):
        self.random, self.times, self.over_s, self.at_s, self.clicks = Random(seed), times, over_s, 0.0, []

    def pull(self, torque_nm, after_s=8.0, wrench="W-1", angle_deg=None):
        self.at_s += after_s
        torque_nm *= 1.0 + self.random.gauss(0.0, 0.008)
        self.clicks.append(Click(len(self.clicks) + 1, torque_nm, wrench, self.at_s if self.times else None, angle_deg))
        return self

    def in_turn(self, left_nm, right_nm, left=4, right=4):
        """Left, right, left, right; what one has more comes at the end."""
        for n in range(max(left, right)):
            if n < left:
                self.pull(left_nm, 60.0 if n == 0 else self.over_s)
            if n < right:
                self.pull(right_nm, self.over_s)
        return self

    def joint(self, torque_nm, count):
        for n in range(count):
            self.pull(torque_nm, 8.0 if n else 60.0)
        return self


def where(answer):
    return [(one.joint, one.position) for one in answer.readings]


def kinds(answer):
    return [one.kind for one in answer.readings]


def alternately(left, right, count=4):
    return [(name, n + 1) for n in range(count) for name in (left, right)]


@pytest.mark.parametrize("times", [True, False], ids=["times", "no-times"])
def test_two_joints_of_different_torque_pulled_in_turn_are_placed_to_the_fastener(times):
    answer = smooth_log(OTHER, Log(times=times).in_turn(100, 60).joint(150, 2).clicks)

    assert where(answer) == [*alternately("left", "right"), ("eye", 1), ("eye", 2)]
    assert set(kinds(answer)) == {T}
    assert answer.p_complete > 0.9


@pytest.mark.parametrize(("left", "right"), [pytest.param(3, 4, id="left"), pytest.param(4, 3, id="right")])
def test_one_left_out_of_two_joints_in_turn_is_never_complete(left, right):
    answer = smooth_log(OTHER, Log().in_turn(100, 60, left, right).joint(150, 2).clicks)

    missed, done = ("left", "right") if left < right else ("right", "left")
    assert answer.p_complete < 0.01
    assert answer.p_places[missed, 1] < 0.1 < 0.9 < answer.p_places[done, 1]


def test_who_took_other_joints_in_turn_is_rather_believed_to_do_so_with_two_that_look_alike():
    in_turn, one_by_one = Log(over_s=14.0), Log()
    for left, right in ((100, 60), (120, 75), (90, 45)):
        in_turn.in_turn(left, right)
        one_by_one.joint(left, 4).joint(right, 4)
    one_by_one.over_s = 14.0
    answers = [smooth_log(PAIRS, log.in_turn(140, 140).clicks) for log in (in_turn, one_by_one)]

    shown, other = (one.p if one.joint == "x-right" else 1.0 - one.p for one in (answer.readings[-7] for answer in answers))
    assert shown > 2 * other
    assert min(answer.p_complete for answer in answers) > 0.9


def test_who_took_other_joints_in_turn_is_believed_to_do_so_with_two_that_look_alike():
    log = Log(over_s=14.0).in_turn(100, 60).in_turn(120, 75).in_turn(90, 45).in_turn(140, 140)

    answer = smooth_log(PAIRS, log.clicks, replace(USUAL, turns_on=0.95))

    assert where(answer)[-8:] == alternately("x-left", "x-right")
    assert answer.p_complete > 0.9


def test_who_took_other_joints_one_by_one_is_believed_to_do_so_with_two_that_look_alike():
    log = Log()
    for torque in (100, 60, 120, 75, 90, 45, 140, 140):
        log.joint(torque, 4)

    answer = smooth_log(PAIRS, log.clicks)

    assert where(answer)[-8:] == [(name, n) for name in ("x-left", "x-right") for n in (1, 2, 3, 4)]
    assert answer.p_complete > 0.9


def test_strokes_in_between_are_no_fasteners():
    log = Log().pull(100).pull(60).pull(70).pull(100, 2.0).pull(60).pull(100).pull(60).pull(100).pull(60)

    answer = smooth_log(OTHER, log.joint(150, 2).clicks, OFTEN)

    assert kinds(answer) == [T, T, S, *[T] * 8]
    assert where(answer)[2] == where(answer)[3] == ("left", 2)
    assert answer.tightened == {("left", 1): 4, ("right", 1): 4, ("eye", 1): 2}


def test_a_click_of_nothing_in_between_ends_no_turns():
    log = Log().pull(100).pull(60).pull(100).pull(4, 30.0).pull(60, 30.0).pull(100).pull(60).pull(100).pull(60)

    answer = smooth_log(OTHER, log.joint(150, 2).clicks, OFTEN)

    assert where(answer)[3] == (None, None)
    assert [joint for joint, _ in where(answer)[4:9]] == ["right", "left", "right", "left", "right"]
    assert answer.p_complete > 0.9


def test_a_second_click_in_between_turns_nothing_and_is_no_fastener():
    log = Log().pull(100, angle_deg=40.0).pull(60, angle_deg=40.0).pull(60, 1.0, angle_deg=1.0)
    for torque in (100, 60, 100, 60, 100, 60):
        log.pull(torque, angle_deg=40.0)
    for _ in range(2):
        log.pull(150, 60.0, angle_deg=40.0)

    answer = smooth_log(OTHER, log.clicks, OFTEN)

    assert kinds(answer) == [T, T, R, *[T] * 8]
    assert answer.p_complete > 0.9


def test_a_second_click_in_between_is_told_by_its_pause_alone():
    log = Log().pull(100).pull(60).pull(60, 1.5).pull(100).pull(60).pull(100).pull(60).pull(100).pull(60)

    answer = smooth_log(OTHER, log.joint(150, 2).clicks, OFTEN)

    assert kinds(answer) == [T, T, R, *[T] * 8]
    assert answer.p_complete > 0.9


# The ways.


def lived(*torques, habits=OFTEN, route=OTHER, drop=1e-6, **more):
    log = Log()
    for torque in torques:
        log.pull(torque, **more)
    places = places_of(route)
    beam = Beam(places, Own(habits), Effort(drop))
    for seen in see(log.clicks):
        beam.take(seen)
    return beam


def mates(beam):
    """How likely each place is the one that is pulled in turn with the place of the last reading."""
    found = {}
    for node in beam.nodes:
        mate = node.visits[0].mate
        found[mate] = found.get(mate, 0.0) + node.weight
    return found


def test_there_and_back_shows_the_turns():
    once, back, again = (mates(lived(*[100, 60, 100, 60][:count])) for count in (1, 3, 4))

    assert once == {NOWHERE: pytest.approx(1.0)}
    assert back[1] > 0.9
    assert again[0] > 0.9


def test_no_turns_begin_after_the_second_fastener():
    assert mates(lived(100, 60, angle_deg=40.0))[0] > 0.5 > 0.1 > mates(lived(100, 100, 60, angle_deg=40.0)).get(0, 0.0)


@pytest.mark.parametrize("count", [pytest.param(2, id="the-first-time"), pytest.param(3, id="back-again")])
def test_turns_come_at_the_pace_of_the_next_fastener_and_not_of_a_change(count):
    def in_turn(after_s):
        found = mates(lived(*[100, 60, 100][:count], after_s=after_s, angle_deg=40.0, habits=replace(USUAL, turns=0.02)))
        return 1.0 - found.get(NOWHERE, 0.0)

    paces = [in_turn(after_s) for after_s in (USUAL.next_s, 3 * USUAL.next_s, USUAL.joint_s)]

    assert paces == sorted(paces, reverse=True)
    assert paces[0] > 1.2 * paces[-1]


def test_after_a_click_of_nothing_in_between_the_pause_says_no_more_than_that_of_coming_back():
    def back(after_s):
        beam = Beam(places_of(OTHER), Own(OFTEN), Effort(0.0))
        for seen in see(Log().pull(100).pull(60).pull(100).pull(4, 20.0).pull(60, after_s).clicks):
            beam.take(seen)
        return 1.0 - mates(beam)[0]

    # The bench is where nobody knows: a minute is no surprise.
    assert max(back(8.0), back(60.0)) < 0.1
    assert back(60.0) < 3 * back(8.0)


def test_who_pulls_two_joints_in_turn_hardly_begins_a_third_one_in_between():
    route = plan(("left", 4, 100), ("right", 4, 60), ("third", 4, 60))

    def third(turns_on):
        beam = lived(100, 60, 100, 60, route=route, habits=replace(OFTEN, turns_on=turns_on))
        return sum(node.weight for node in beam.nodes if node.begun == 0b111)

    loose, firm = third(0.5), third(0.98)

    assert firm < 0.1 * loose


def test_a_fastener_taken_through_its_stages_one_by_one_is_in_turn_with_itself():
    joint = "  - {id: hub, name: Hub nuts, fasteners: 3, torque: 100, stages: [80, 100]}\n"
    stages = load_plan((HEAD + joint).encode(), "trailer.yaml")

    there, back = (mates(lived(*[80, 100, 80][:count], route=stages)) for count in (2, 3))
    whole = lived(*[80, 100] * 3, route=stages)

    assert there[0] > 0.5
    assert back[1] > 0.9
    assert min(whole.p_full(0), whole.p_full(1)) > 0.9
    assert lived(*[80, 100] * 2, 80, route=stages).p_full(1) < 0.05


def test_turns_end_when_the_other_joint_is_full():
    short = plan(("left", 4, 100), ("right", 2, 60))

    assert mates(lived(100, 60, 100, route=short))[1] > 0.9
    assert mates(lived(100, 60, 100, 60, 100, route=short)).get(1, 0.0) < 0.1


def test_the_more_often_people_take_turns_the_likelier_they_are():
    seldom, often = (mates(lived(100, 60, 100, habits=replace(USUAL, turns=turns)))[1] for turns in (1e-4, 0.1))

    assert often > seldom > 0.0


def test_what_is_done_at_both_joints_is_counted_through_all_turns():
    beam = lived(*[100, 60] * 4)

    assert min(beam.p_full(0), beam.p_full(1)) > 0.95
    assert lived(*[100, 60] * 3, 100).p_full(1) < 0.05


def test_a_loosening_in_between_ends_no_turns():
    assert mates(lived(100, 60, 100, -50))[1] > 0.9


@pytest.mark.parametrize(
    ("before", "joint"),
    [
        pytest.param((100, 60), "left", id="the-first-one-once"), pytest.param((100, 60), "right", id="the-second-one-once"),
        pytest.param((100, 60, 100), "right", id="the-one-that-comes-next"),
    ],
)  # fmt: skip
def test_a_joint_that_is_opened_amid_turns_is_done_again_from_its_first_fastener(before, joint):
    def opened(left, right):
        log, beam = Log(), Beam(places_of(OTHER), Own(OFTEN), Effort(1e-6))
        pair = ((100, left), (60, right)) if before[-1] == 60 else ((60, right), (100, left))
        for rank, torque in enumerate((*before, *(torque for n in range(4) for torque, count in pair if n < count))):
            if rank == len(before):
                open_joint(beam, joint, one=False)
            beam.take(see(log.pull(torque).clicks)[-1])
        return beam.p_full(0 if joint == "left" else 1)

    others = 4 - before.count(100 if joint == "right" else 60)
    four, three = (opened(*((count, others) if joint == "left" else (others, count))) for count in (4, 3))

    assert three < 0.1 < 0.9 < four


def test_a_visit_begins_anew_at_each_turn():
    best = lived(100, 60, 100).nodes[0].visits[0]

    assert (best.place, best.since, best.away, best.mate) == (0, 2, Away.THERE, 1)


# What is believed of a place that is left for one fastener.


FOUR = Within(4, USUAL)
SHORT = Belief({state_of(2, Did.NEW_LOW): 0.5, state_of(2, Did.AGAIN): 0.2, state_of(1, Did.ON): 0.3}, 4)


def test_a_place_is_left_for_one_fastener_unless_strokes_go_on():
    ready, paused = SHORT.paused(FOUR)

    assert ready == pytest.approx(0.5 * (1.0 - USUAL.continued) + 0.5)
    assert set(paused.weights) == {state_of(2, Did.NOTHING), state_of(1, Did.NOTHING)}
    assert sum(paused.weights.values()) == pytest.approx(1.0)
    assert paused.weights[state_of(1, Did.NOTHING)] == pytest.approx(0.3 / ready)


def test_the_first_turn_comes_after_one_fastener_alone():
    ready, paused = SHORT.paused(FOUR, True)

    assert (ready, paused.weights) == (pytest.approx(0.3), {state_of(1, Did.NOTHING): 1.0})


def test_where_no_first_fastener_can_have_been_the_last_one_no_turn_begins():
    ready, paused = Belief({state_of(3, Did.NEW): 1.0}, 4).paused(FOUR, True)

    assert (ready, paused.weights, paused.full) == (0.0, {}, 0.0)


def test_a_place_that_is_left_for_one_fastener_stays_as_full_as_it_was():
    belief = Belief({state_of(4, Did.NEW): 0.4, state_of(3, Did.NEW): 0.6}, 4)

    assert belief.paused(FOUR)[1].full == pytest.approx(belief.full) == 0.4


def test_a_pair_that_was_left_for_a_third_joint_is_taken_up_in_turn_again():
    log = Log().pull(100).pull(60).pull(100).pull(60).joint(150, 2).pull(100, 60.0).pull(60).pull(100).pull(60)

    answer = smooth_log(OTHER, log.clicks)

    assert [one.joint for one in answer.readings] == ["left", "right"] * 2 + ["eye"] * 2 + ["left", "right"] * 2
    assert answer.p_complete > 0.95


def test_who_goes_round_and_round_over_three_joints_leaves_every_figure_a_share():
    log = Log()
    for _ in range(12):
        log.pull(100, 60.0).pull(60).pull(100).pull(60).pull(150)

    answer = smooth_log(plan(("left", 30, 100), ("right", 30, 60), ("eye", 30, 150)), log.clicks)

    assert all(0.0 <= one.p <= 1.0 + 1e-6 for one in answer.readings)
    assert all(0.0 <= p <= 1.0 + 1e-6 for p in answer.p_places.values())


def test_who_clicks_each_fastener_three_times_has_done_them_all():
    log = Log()
    for _ in range(30):
        log.pull(100, angle_deg=40.0).pull(100, 1.5, angle_deg=0.5).pull(100, 1.5, angle_deg=0.5)

    answer = smooth_log(plan(("rim", 30, 100)), log.clicks)

    assert kinds(answer) == [T, R, R] * 30
    assert answer.p_complete > 0.95
