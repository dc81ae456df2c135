"""One question at a time: the stripes of a finished joint, then hold points that stand before, then the snug round."""

import pytest

from collector.expect.ask import expect_answer
from collector.expect.in_order import InOrder
from schemas.screen import Ask, AskWord
from schemas.words import Role

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 4
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 1, torque: 100}
  - {id: u-bolts, name: U-bolt nuts, fasteners: 2, torque: 95, stages: [snug, 100]}
  - {id: guard, name: Guard bolts, fasteners: 1, torque: 20}
steps:
  - torque: hub
  - hold point: level
    ask: Frame level within 3 mm
    sign: fitter
  - torque: u-bolts
  - hold point: ride-height
    ask: Loaded to ride height
    sign: lead
  - torque: guard
  - hold point: caps
    ask: Caps on, both hubs
    sign: second person
"""
STRIPES = Ask(AskWord.STRIPES, "Hub nuts: stripes: 1 of 1?", Role.FITTER, "hub", None, 1)
LEVEL = Ask(AskWord.HOLD_POINT, "Frame level within 3 mm", Role.FITTER, None, "level")
SNUG = Ask(AskWord.SNUG, "U-bolt nuts: all 2 snug?", Role.FITTER, "u-bolts")
RIDE_HEIGHT = Ask(AskWord.HOLD_POINT, "Loaded to ride height", Role.LEAD, None, "ride-height")
CAPS = Ask(AskWord.HOLD_POINT, "Caps on, both hubs", Role.SECOND_PERSON, None, "caps")


@pytest.fixture(name="job")
def _job(new_job):
    return new_job(PLAN)


def asked(job):
    return expect_answer(job.state, InOrder().expect_next(job.state))


def answer(job, ask):
    match ask.word:
        case AskWord.STRIPES:
            job.say("stripes", ask.joint, count=ask.of, of=ask.of)
        case AskWord.HOLD_POINT:
            job.sign(ask.hold_point)
        case AskWord.SNUG:
            job.sign(snug=ask.joint)


def test_a_whole_job_is_asked_for_in_the_order_of_the_plan(job):
    seen = []
    pulls = [("hub", 1, "100"), ("u-bolts", 1, "95"), ("u-bolts", 2, "95"), ("guard", 1, "20")]
    for joint, position, torque in [*pulls, (None, None, None)]:
        while (ask := asked(job)) is not None:
            seen.append(ask)
            answer(job, ask)
        if joint:
            job.pull(joint, 1, position, torque)

    assert [ask for ask in seen if ask.word is not AskWord.STRIPES] == [LEVEL, SNUG, RIDE_HEIGHT, CAPS]
    assert [ask.joint for ask in seen if ask.word is AskWord.STRIPES] == ["hub", "u-bolts", "guard"]
    assert asked(job) is None


def test_nothing_is_asked_before_the_first_joint(job):
    assert asked(job) is None


def test_the_stripes_come_before_the_hold_point_and_that_before_the_snug_round(job):
    job.pull("hub", 1, 1)
    assert asked(job) == STRIPES
    answer(job, STRIPES)
    assert asked(job) == LEVEL
    answer(job, LEVEL)
    assert asked(job) == SNUG
    answer(job, SNUG)
    assert asked(job) is None


def test_the_joint_in_hand_is_asked_about_before_one_done_earlier(job):
    job.pull("hub", 1, 1)
    job.pull("guard", 1, 1, "20")

    assert asked(job).joint == "guard"
    answer(job, asked(job))
    assert asked(job) == STRIPES


def test_not_all_stripes_seen_is_not_asked_again_at_once(job):
    job.pull("hub", 1, 1)
    job.say("stripes", "hub", count=0, of=1)

    assert asked(job) == LEVEL


def test_a_stroke_below_the_band_is_continued_before_the_stripes_are_asked_for(job):
    job.pull("hub", 1, 1, "80", "under")
    assert asked(job) is None

    job.pull("hub", 1, 1, "100")

    assert asked(job) == STRIPES


def test_rule_10_another_joint_may_be_taken_and_asks_for_what_stands_before_it(job):
    job.say("other joint", "guard")

    assert asked(job) == LEVEL
    answer(job, LEVEL)
    assert asked(job) == RIDE_HEIGHT


def test_rule_10_a_joint_taken_first_does_not_ask_for_what_comes_after_it(job):
    job.say("other joint", "hub")

    assert asked(job) is None


def test_rule_2_every_hold_point_is_asked_for_when_no_fastener_is_left(job):
    for joint, torque, count in (("hub", "100", 1), ("u-bolts", "95", 2), ("guard", "20", 1)):
        for position in range(1, count + 1):
            job.pull(joint, 1, position, torque)
        job.say("stripes", joint, count=count, of=count)

    for ask in (LEVEL, RIDE_HEIGHT, CAPS):
        assert asked(job) == ask
        answer(job, ask)
    assert asked(job) is None


def test_a_joint_without_a_snug_round_is_not_asked_for_one(job):
    job.say("other joint", "guard")
    for ask in (LEVEL, RIDE_HEIGHT):
        answer(job, ask)

    assert asked(job) is None
