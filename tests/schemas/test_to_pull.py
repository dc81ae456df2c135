"""What is still to be pulled at a stage, in the stage's own order."""

import pytest

from schemas.to_pull import positions_to_pull

PLAN = """\
plan: hubs
title: Hubs
revision: "1"
source: Shop procedure 9
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 3, torque: 100, order: [3, 1, 2], stages: [100, 100], start: [3, 2], then_angle: 90,
     angle_tolerance: 10}
  - {id: eye, name: Eye, fasteners: 2, torque: 80}
steps:
  - torque: [hub, eye]
  - recheck: eye
"""


@pytest.fixture(name="job")
def _job(new_job):
    return new_job(PLAN)


def left(job, joint, stage):
    state = job.joint(joint)
    return positions_to_pull(state, state.joint.stages[stage - 1])


def test_each_stage_goes_in_its_own_order(job):
    assert left(job, "hub", 1) == (3, 1, 2)
    assert left(job, "hub", 2) == (2, 3, 1)


@pytest.mark.parametrize(
    ("verdict", "still"),
    [("in band", (1, 2)), ("over", (1, 2)), ("under", (3, 1, 2))],
)
def test_an_under_pull_is_continued_and_an_over_pull_waits_for_its_opening(job, verdict, still):
    job.pull("hub", 1, 3, verdict=verdict)

    assert left(job, "hub", 1) == still


def test_what_a_person_answers_for_is_not_pulled(job):
    job.say("declared", "hub", 1)
    job.say("not fitted", "hub", 2, reason="sheared")

    assert left(job, "hub", 1) == (3,)


def test_what_was_turned_by_hand_is_not_turned_by_a_wrench(job):
    job.say("declared", "hub", 1, step=1)

    assert left(job, "hub", 3) == (2, 3)
    assert 1 in left(job, "hub", 1), "its torque is"


def test_what_was_missed_is_tightened_before_it_is_checked_again(job):
    assert left(job, "eye", 2) == ()

    job.pull("eye", 1, 2)

    assert left(job, "eye", 2) == (2,)
