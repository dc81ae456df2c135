"""Before a fastener is pulled its joint has to be ready: threads prepared, hardware new, fasteners snug, drag measured."""

import pytest

from collector.expect.ask import expect_answer
from collector.expect.ask_joint import ask_joint
from collector.expect.in_order import InOrder
from schemas.screen import Ask, AskWord
from schemas.words import Role

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 12
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - {id: nuts, name: Hub nuts, fasteners: 2, torque: 100, MORE}
"""


@pytest.fixture(name="make")
def _make(new_job):
    return lambda more: new_job(PLAN.replace("MORE", more))


def asked(job):
    return expect_answer(job.state, InOrder().expect_next(job.state))


def prepared(text):
    return Ask(AskWord.PREPARED, f"Hub nuts: {text} on all 2?", Role.FITTER, "nuts")


SNUG = Ask(AskWord.SNUG, "Hub nuts: all 2 snug?", Role.FITTER, "nuts")
DRAG = Ask(AskWord.DRAG, "Hub nuts: torque to turn the nut before it seats", Role.FITTER, "nuts", value_in="N·m")


@pytest.mark.parametrize(
    ("more", "text"),
    [
        pytest.param("prep: oil", "oil", id="compound"),
        pytest.param("prep: sealant, work_within: 10 min", "sealant", id="compound-with-a-time"),
        pytest.param("work_within: 10 min", "prepared", id="a-time-alone"),
    ],
)
def test_a_preparation_is_asked_for_before_the_first_pull_and_once(make, more, text):
    job = make(more)
    assert asked(job) == prepared(text)

    job.say("prepared", "nuts")

    assert asked(job) is None


@pytest.mark.parametrize("more", ["prep: dry", "hardware: new", "nut: prevailing, drag: included", "wheel: yes"])
def test_what_needs_no_word_is_not_asked_for(make, more):
    assert asked(make(more)) is None


def test_a_preparation_that_nobody_declared_is_asked_for_as_long_as_something_is_to_pull(make):
    job = make("prep: oil")
    job.take("100")

    assert asked(job) == prepared("oil")


def test_new_hardware_is_asked_for_after_an_opening(make):
    job = make("hardware: new each time")
    assert asked(job) is None
    for _ in range(2):
        job.take("100")
    job.stripes("nuts")
    job.say("opened", "nuts", 1)
    assert asked(job) == prepared("new hardware")

    job.say("prepared", "nuts")

    assert asked(job) is None


def test_both_are_asked_for_in_one_question(make):
    job = make("prep: oil, hardware: new each time")
    job.say("prepared", "nuts")
    job.take("100")
    job.say("opened", "nuts", 1)

    assert asked(job) == prepared("oil and new hardware")


def test_what_was_replaced_by_a_decision_is_new(make):
    job = make("prep: oil, hardware: new each time")
    job.say("prepared", "nuts")
    job.take("100")
    job.say("opened", "nuts", 1)
    job.say("replaced", "nuts", 1)

    assert asked(job) == prepared("oil")


def test_prepared_comes_before_snug_and_snug_before_the_drag(make):
    job = make("prep: oil, stages: [snug, 100], nut: prevailing, drag: measured")
    assert asked(job) == prepared("oil")
    job.say("prepared", "nuts")
    assert asked(job) == SNUG
    job.sign(snug="nuts")
    assert asked(job) == DRAG
    job.say("drag", "nuts", value="8", unit="N·m")
    assert asked(job) is None
    assert InOrder().expect_next(job.state).band.low == 98


def test_the_drag_is_asked_for_in_the_unit_of_the_joint_and_anew_after_an_opening(make):
    job = make("nut: prevailing, drag: measured, unit: lbf·ft")
    assert asked(job).value_in == "lbf·ft"
    job.say("drag", "nuts", value="8", unit="lbf·ft")
    job.take("145")
    job.say("opened", "nuts", 1)

    assert asked(job).word is AskWord.DRAG


def test_nothing_is_asked_where_no_fastener_is_left(make):
    assert ask_joint(make("prep: oil").state, None) is None


def test_a_check_that_slackens_nothing_is_asked_for_no_preparation(make, new_job):
    job = new_job(PLAN.replace("MORE", "prep: oil") + "steps:\n  - torque: nuts\n  - recheck: nuts\n")
    job.say("prepared", "nuts")
    for _ in range(2):
        job.take("100")
    job.stripes("nuts")

    assert asked(job) is None
    assert InOrder().expect_next(job.state).step == 2
