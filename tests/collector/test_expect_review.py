"""The smallest question that settles most: which joints a look can settle, in which order they are asked, and which it cannot."""

from decimal import Decimal

import pytest

from collector.expect.ask import expect_answer
from collector.expect.counted_whole import as_tightened
from collector.expect.in_order import InOrder
from collector.expect.review import not_settled, review
from schemas.bodies import CountKept, Decided
from schemas.screen import AskWord
from schemas.words import Proof

PLAN = """\
plan: trailer
title: Box trailer, rear axle
revision: "1"
source: Made up
unit: N·m
tolerance: 10 %
joints:
  - {id: left, name: "U-bolt nuts, left", fasteners: 4, torque: 95}
  - {id: right, name: "U-bolt nuts, right", fasteners: 4, torque: 95}
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 140, stages: [50, 100]}
  - {id: shackle, name: Shackle bolts, fasteners: 4, torque: 60}
  - {id: plate, name: Plate rivets, fasteners: 2, torque: not stated}
  - {id: guard, name: Guard bolts, fasteners: 3, torque: 20, mark: none}
"""
TORQUES = {"left": "95", "right": "95", "hub": "140", "shackle": "60", "guard": "20"}


@pytest.fixture(name="job")
def _job(new_job):
    return new_job(PLAN)


def done(job, joint, p=None, each="0.999", skip=(), **more):
    """Every fastener of a joint pulled at every stage, and the last stage counted with `p`; gives the readings of that stage."""
    readings = []
    for stage in job.joint(joint).joint.stages:
        fasteners = range(1, job.joint(joint).joint.fasteners + 1)
        readings = [
            job.pull(joint, stage.number, at, TORQUES[joint], p=each, **more) for at in fasteners if at not in skip
        ]  # fmt: skip
        if p is not None:
            job.put(CountKept("1", p if stage.share_percent == 100 else "0.9995", joint, stage.number))
    return readings


def asked(job):
    return [question.joint for question in review(job.state)]


def left_over(job):
    return not_settled(job.state, review(job.state))


def test_a_joint_that_the_readings_are_sure_of_is_not_asked_about(job):
    done(job, "left", "0.9950")

    assert asked(job) == []


def test_a_question_says_what_to_look_at_why_and_what_a_yes_settles(job):
    done(job, "left", "0.9700")

    (question,) = review(job.state)

    assert (question.joint, question.name, question.of) == ("left", "U-bolt nuts, left", 4)
    assert question.text == "U-bolt nuts, left: look at the stripes: 4 of 4?"
    assert question.why == ("4 of 4 by count and timing, p = 0.97",)
    assert (question.p, question.settles, question.positions) == (Decimal("0.97"), Decimal("3.88"), (1, 2, 3, 4))


def test_what_gets_no_stripe_is_looked_at_all_the_same(job):
    done(job, "guard", "0.9700")

    assert review(job.state)[0].text == "Guard bolts: look at the fasteners: 3 of 3 torqued?"


def test_what_settles_most_comes_first_and_the_plan_decides_between_equals(job):
    done(job, "hub", "0.9800")
    done(job, "guard", "0.9700")
    done(job, "shackle", "0.9700")
    done(job, "left", "0.9700")

    assert asked(job) == ["left", "shackle", "guard", "hub"]


def test_where_nobody_has_counted_a_yes_is_as_likely_as_a_no(job):
    done(job, "left", each=None)

    (question,) = review(job.state)

    assert (question.p, question.settles) == (None, 2)
    assert question.why == ("matched by order only and not confirmed",)


def test_of_two_alike_joints_the_one_that_is_less_likely_whole_is_asked_about_first(job):
    done(job, "left", "0.9800", each="0.95")
    done(job, "right", "0.9300", each="0.95")
    done(job, "shackle", "0.9750")

    assert asked(job) == ["right", "left", "shackle"], "a sure joint of another band stands where it settles"


def test_alike_joints_whose_readings_are_sure_stand_where_they_settle(job):
    done(job, "left", "0.9800")
    done(job, "right", "0.9300")

    assert asked(job) == ["left", "right"]


def test_a_reading_that_may_belong_elsewhere_is_named_and_of_many_only_two(job):
    done(job, "left", "0.9950", each="0.93")

    assert review(job.state)[0].why == (
        "reading 1 may belong elsewhere, p = 0.93", "reading 2 may belong elsewhere, p = 0.93", "and 2 more like it"
    )  # fmt: skip


def test_a_second_click_that_may_have_been_the_missing_one_is_named_and_a_yes_makes_it_one(job):
    readings = done(job, "left", skip=(4,))
    click = job.read("95")
    job.match(click, "left", 1, 3, kind="repeat", p="0.999")
    job.put(CountKept("1", "0.9000", "left", 1))

    (question,) = review(job.state)
    (match,) = as_tightened(job.joint("left"))

    assert question.why == ("3 of 4 by count and timing, p = 0.90", "reading 4 is taken for a second click")
    assert (question.settles, question.positions) == (Decimal("3.6"), (1, 2, 3, 4))
    assert (match.reading, match.kind, match.position) == (click, "tightening", 4)
    assert match.revises == job.state.pulls[click].match_seq
    assert [job.state.pulls[seq].match.position for seq in readings] == [1, 2, 3], "asking changes nothing"
    assert job.joint("left").proof(4)[0] == "missed"


def test_of_several_second_clicks_the_last_ones_are_the_missing_fasteners_in_their_order(job):
    done(job, "left", skip=(2, 4))
    clicks = [job.read("95") for _ in range(3)]
    for click in clicks:
        job.match(click, "left", 1, 3, kind="repeat", p="0.999")

    matches = as_tightened(job.joint("left"))

    missing = [position for position in job.joint("left").joint.order_of(job.joint("left").joint.final) if position in (2, 4)]
    assert [(match.reading, match.position) for match in matches] == list(zip(clicks[1:], missing, strict=True))


def test_a_second_click_of_which_a_person_named_the_fastener_is_not_made_the_missing_one(job):
    done(job, "left", skip=(4,))
    job.match(job.read("95"), "left", 1, 3, kind="repeat", p="0.999")
    job.match(job.read("95"), "left", 1, 3, kind="repeat", p="0.999", position_by="confirmed")

    assert [match.reading for match in as_tightened(job.joint("left"))] == [list(job.state.pulls)[-2]]


def test_nothing_is_made_of_second_clicks_where_none_is_missing_or_the_pull_was_not_good(job):
    done(job, "left", "0.9700")
    job.match(job.read("95"), "left", 1, 3, kind="repeat", p="0.999")
    done(job, "right", skip=(4,))
    job.match(job.read("60"), "right", 1, 3, kind="repeat", verdict="under", p="0.999")

    assert as_tightened(job.joint("left")) == as_tightened(job.joint("right")) == ()


def test_a_reading_that_came_much_sooner_than_the_others_may_be_a_second_click(job):
    for minute, position in ((1, 1), (3, 2), (5, 3), (5, 4)):
        job.minute = minute
        job.pull("left", 1, position, "95", p="0.999")
    job.put(CountKept("1", "0.9000", "left", 1))

    assert review(job.state)[0].why[-1] == "reading 4 may be a second click"


def test_pulls_at_an_even_pace_name_no_reading(job):
    done(job, "left", "0.9000")

    assert review(job.state)[0].why == ("4 of 4 by count and timing, p = 0.90",)


def test_what_a_yes_alone_does_not_prove_is_asked_last(job):
    done(job, "left", "0.3000")
    done(job, "hub", "0.9700")

    assert [(question.joint, question.settles) for question in review(job.state)] == [("hub", Decimal("1.94")), ("left", 0)]


def under(job):
    done(job, "left", "0.9500", skip=(4,))
    job.pull("left", 1, 4, "80", "under", p="0.999")


def unfit(job):
    done(job, "left", "0.9950", unfit="calibration of wrench W-140 ran out on 2026-01-01")


def first_round(job):
    done(job, "hub", "0.9950")
    job.put(CountKept("1", "0.9000", "hub", 1))


def denied(job):
    done(job, "left", "0.9700")
    job.say("stripes", "left", of=4)


def missed(job):
    done(job, "left", skip=(3, 4))
    job.put(CountKept("1", "0.0010", "left", 1))


def seen_in_vain(job):
    done(job, "left", "0.3000")
    job.say("stripes", "left", count=4, of=4)
    job.put(CountKept("1", "0.9545", "left", 1))


@pytest.mark.parametrize(
    ("make", "line"),
    [
        pytest.param(under, "failed (under-torque at stage 1, not made good): U-bolt nuts, left, position 4", id="under"),
        pytest.param(
            unfit, "doubtful (calibration of wrench W-140 ran out on 2026-01-01): U-bolt nuts, left, all 4", id="wrench-not-fit"
        ),
        pytest.param(first_round, "doubtful (stage 1: 2 of 2 by count and timing, p = 0.90): Hub nuts, all 2", id="round-before"),
        pytest.param(denied, "doubtful (not all of 4 stripes seen): U-bolt nuts, left, all 4", id="seen-not-whole"),
        pytest.param(missed, "missed (no tightening of the final stage): U-bolt nuts, left, positions 3, 4", id="surely-missed"),
        pytest.param(
            seen_in_vain,
            "doubtful (counted 4 of 4, but the readings bear it out with p = 0.95 only: look at the joint): "
            "U-bolt nuts, left, all 4",
            id="seen-and-still-not-sure",
        ),
        pytest.param(lambda job: None, "missed (not declared; its torque is not stated): Plate rivets, all 2", id="to-declare"),
    ],
)
def test_what_no_look_settles_is_not_asked_and_is_told(job, make, line):
    make(job)

    assert asked(job) == []
    assert any(told.startswith(line) for told in left_over(job)), left_over(job)


def test_what_is_left_loose_is_not_asked_about(new_job):
    job = new_job(f"{PLAN}steps:\n  - loose: left\n  - torque: [right, hub, shackle, plate, guard, left]\n")
    job.put(CountKept("1", "0.3000", "left", 1))

    assert asked(job) == []
    assert any("left loose" in line for line in left_over(job))


def test_a_joint_that_was_seen_is_asked_about_again_once_the_link_was_lost(job):
    done(job, "left", "0.9950")
    job.say("stripes", "left", count=4, of=4)
    job.link("lost", "left")

    assert review(job.state)[0].why == ("the link was lost while this joint was in hand",)


def test_what_is_not_fitted_is_not_counted(job):
    done(job, "left", "0.9700", skip=(2,))
    job.say("not fitted", "left", 2, reason="Part on order")

    (question,) = review(job.state)

    assert (question.of, question.positions) == (3, (1, 3, 4))


def test_after_a_later_check_it_is_asked_whether_all_were_checked(new_job):
    job = new_job(f"{PLAN}steps:\n  - torque: [left, right, hub, shackle, plate, guard]\n  - recheck: left\n")
    done(job, "left", skip=(1, 2, 3, 4))
    for stage in (1, 2):
        for position in (1, 2, 3, 4):
            job.pull("left", stage, position, "95", "in band" if stage == 1 else "held", p="0.999")
        job.put(CountKept("1", "0.9950" if stage == 1 else "0.9600", "left", stage))

    (question,) = review(job.state)

    assert (question.text, question.p) == ("U-bolt nuts, left: look at the fasteners: 4 of 4 checked again?", Decimal("0.96"))


COVERED = f"{PLAN}steps:\n  - torque: left\n  - {{torque: right, covers: [left]}}\n  - torque: [hub, shackle, plate, guard]\n"


@pytest.mark.parametrize(
    ("p", "seen", "is_asked"),
    [
        pytest.param("0.9950", 4, False, id="proven-by-count-and-seen"),
        pytest.param("0.9700", 4, False, id="proven-by-the-look"),
        pytest.param("0.3000", 4, True, id="seen-and-still-not-sure"),
        pytest.param("0.9950", None, True, id="not-all-seen"),
    ],
)
def test_before_a_joint_is_covered_it_is_asked_about_again_only_where_it_is_in_doubt(new_job, p, seen, is_asked):
    job = new_job(COVERED)
    done(job, "left", p)
    assert ask_now(job).word is AskWord.STRIPES
    job.put(Decided("1", "stripes", "left", count=seen, of=4))

    assert (ask_now(job) is not None and ask_now(job).word is AskWord.COVERED) is is_asked


def test_a_joint_that_the_count_alone_proves_is_asked_about_once_and_not_when_it_is_covered(new_job):
    job = new_job(COVERED)
    done(job, "left", "0.9950")
    seen = []

    while (ask := ask_now(job)) is not None and ask not in seen:
        seen.append(ask)
        job.put(Decided("1", "stripes", "left", count=4, of=4))

    assert job.joint("left").worst() is Proof.PROVEN
    assert [ask.word for ask in seen] == [AskWord.STRIPES]


def ask_now(job):
    return expect_answer(job.state, InOrder().expect_next(job.state))
