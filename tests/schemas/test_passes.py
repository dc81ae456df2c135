"""Which step works which stages of a joint: a joint that is opened again belongs to the step after its last opening."""

import pytest

from schemas.passes import passes_of, present_pass, walk_of
from schemas.plan.load import load_plan

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 8
unit: N·m
tolerance: 10 %
joints:
  - {id: nuts, name: Hub nuts, fasteners: 2, torque: 100, stages: [50, 100]}
  - {id: bolts, name: Guard bolts, fasteners: 1, torque: not stated}
steps:
  - torque: nuts
  - recheck: nuts
  - open: nuts
  - hold point: level
    ask: Level?
    sign: fitter
  - torque: [bolts, nuts]
    after: [level]
  - recheck: nuts
    after: [bolts]
  - open: bolts
    after: [level]
  - torque: bolts
  - retorque: nuts
    from: 50 km
"""


@pytest.fixture(name="route", scope="module")
def _route():
    return load_plan(PLAN.encode(), "plan.yaml")


def told(passes):
    return [(one.step.number, one.joint.id, [stage.number for stage in one.stages], one.opened_in) for one in passes]


def test_every_torque_step_works_the_rounds_and_every_recheck_its_own_stage(route):
    assert told(passes_of(route)) == [
        (1, "nuts", [1, 2], ()),
        (2, "nuts", [3], ()),
        (5, "bolts", [], ()),
        (5, "nuts", [1, 2], (3,)),
        (6, "nuts", [4], (3,)),
        (8, "bolts", [], (7,)),
    ]


@pytest.mark.parametrize(
    ("joint", "stage", "opened", "step"),
    [
        pytest.param("nuts", 1, (), 1, id="round-before-the-opening"),
        pytest.param("nuts", 2, (), 1, id="final-before-the-opening"),
        pytest.param("nuts", 1, (3,), 5, id="round-after-the-opening"),
        pytest.param("nuts", 3, (), 2, id="first-check"),
        pytest.param("nuts", 3, (3,), 2, id="first-check-after-the-opening"),
        pytest.param("nuts", 4, (), 6, id="second-check-though-not-opened-yet"),
        pytest.param("nuts", 4, (3,), 6, id="second-check"),
        pytest.param("bolts", None, (), 5, id="not-stated-before-the-opening"),
        pytest.param("bolts", None, (7,), 8, id="not-stated-after-the-opening"),
    ],
)
def test_a_stage_belongs_to_the_last_step_before_which_everything_was_opened(route, joint, stage, opened, step):
    walk = walk_of(route)
    worked = None if stage is None else route.joint(joint).stages[stage - 1]

    assert present_pass(walk.of_joint[joint], opened, worked).step.number == step


def test_a_joint_that_no_step_works_has_no_pass(route):
    assert present_pass((), (), route.joint("nuts").final) is None


def test_a_joint_knows_whose_torque_waits_for_it(route):
    walk = walk_of(route)

    assert walk.waiting == {"level": ("bolts", "nuts"), "bolts": ("nuts",)}
    assert walk.waiters == {"bolts", "nuts"}
    assert walk.passes == passes_of(route)


def test_the_first_round_of_a_plan_without_steps_is_one_pass_a_joint():
    text = PLAN[: PLAN.index("steps:")]

    assert told(passes_of(load_plan(text.encode(), "plan.yaml"))) == [(1, "nuts", [1, 2], ()), (2, "bolts", [], ())]


# In a whole job.


def test_a_joint_torqued_in_two_steps_is_gone_through_twice(new_job):
    job = new_job(PLAN)
    seen = []
    for torque in ("50", "50", "100", "100", "100", "100"):
        pull = job.take(torque)
        seen.append((pull.match.joint, pull.match.stage))
    job.stripes("nuts")
    assert seen == [("nuts", 1)] * 2 + [("nuts", 2)] * 2 + [("nuts", 3)] * 2

    job.say("opened", "nuts", step=3)
    job.sign("level")
    job.say("declared", "bolts")
    seen = [job.take(torque).match.stage for torque in ("50", "50", "100", "100")]
    job.stripes("nuts")
    assert seen == [1, 1, 2, 2]
    assert [proof for proof, _ in job.proofs("nuts")] == ["doubtful", "doubtful"]

    assert [job.take("100").match.stage for _ in range(2)] == [4, 4]
    job.say("opened", "bolts", step=7)
    job.say("declared", "bolts")
    job.stripes("nuts")

    assert [proof for proof, _ in job.proofs("nuts")] == ["proven", "proven"]
    assert job.complete
