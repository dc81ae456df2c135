"""A retorque is a short job of the joints of one step: held or moved where nothing is slackened, else torqued anew."""

from dataclasses import replace

import pytest

from collector.expect.in_order import InOrder
from collector.flag import flag_match
from schemas.bodies import Decided, JobOpened, PlanChanged, ReadingKept
from schemas.database import JOB
from schemas.errors import RecordError
from schemas.retorque import retorque_route
from schemas.words import StageWord, StepWord

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 9
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - id: wheel
    name: Wheel nuts
    fasteners: 2
    torque: 110
    stages: [snug, 50, 100]
    prep: oil
    work_within: 10 min
    critical: yes
    nut: prevailing
    drag: measured
    hardware: new each time
  - {id: hub, name: Hub nuts, fasteners: 1, torque: 60}
steps:
  - torque: [wheel, hub]
  - retorque: wheel
    from: 40 km
    to: 80 km
  - retorque: [hub, wheel]
    from: 500 km
    method: back off a turn
"""
READING = ReadingKept("2", wrench="W-140", unit="N·m", fit=1)


@pytest.fixture(name="short")
def _short(new_job):
    """Opens the short job of a retorque step; what is done then is done in it."""

    def short(step):
        job = new_job(PLAN)
        job.put(JobOpened("2", 1, "0" * 64, "4711", "p-1", "Tannwald Trailers", None, "1", step, "62 km"))
        return job

    return short


def verdicts(job, *torques):
    """What pulls in the short job are found to be."""
    job.state = job.fold.jobs["2"]
    given = []
    for torque in torques:
        pull = job.state.pulls[job.put(replace(READING, torque=torque, torque_nm=torque))]
        for match in InOrder().match_reading(job.state, pull):
            for flagged in flag_match(match, job.state):
                job.put(flagged)
        given.append(pull.verdict)
    return given


def proofs(job, joint):
    fasteners = range(1, job.fold.jobs["2"].joints[joint].joint.fasteners + 1)
    return [job.stored["fastener", ("2", joint, position)][3:] for position in fasteners]


def stripes(job, joint, of):
    job.put(Decided("2", "stripes", joint, None, of, of))


def test_what_is_not_slackened_has_one_round_that_shows_what_held(new_job):
    route = retorque_route(new_job(PLAN).route, 2)

    (wheel,) = route.joints
    (stage,) = wheel.stages
    assert (stage.number, stage.word, stage.step, stage.band.low_nm) == (1, StageWord.RECHECK, 2, 99)
    assert (wheel.snug, wheel.prepare, wheel.renew, wheel.work_within_s, wheel.critical, wheel.drag) == (
        False, False, False, None, False, None,
    )  # fmt: skip
    assert [(step.number, step.word, step.joints) for step in route.steps] == [(2, StepWord.RECHECK, ("wheel",))]
    assert wheel.is_check
    assert route.plan == "box-trailer"


def test_what_is_backed_off_first_is_torqued_anew_in_one_round(new_job):
    route = retorque_route(new_job(PLAN).route, 3)

    assert [(joint.id, [stage.word for stage in joint.stages]) for joint in route.joints] == [
        ("hub", [StageWord.ROUND]), ("wheel", [StageWord.ROUND]),
    ]  # fmt: skip
    assert [(step.number, step.word, step.joints) for step in route.steps] == [(3, StepWord.TORQUE, ("hub", "wheel"))]
    assert route.joint("wheel").drag == "measured", "the nut drags again"


def test_a_step_of_an_older_plan_that_names_no_method_slackens_nothing(new_job):
    route = new_job(PLAN).route
    steps = tuple(replace(step, method=None) for step in route.steps)

    assert retorque_route(replace(route, steps=steps), 3).joints[0].is_check


@pytest.mark.parametrize("number", [0, 1, 9], ids=["none", "a-torque-step", "beyond-the-plan"])
def test_another_step_is_refused(new_job, number):
    with pytest.raises(RecordError, match=f"step {number} of plan `box-trailer` is no retorque step; see `witnessmark job due`"):
        retorque_route(new_job(PLAN).route, number)


def test_rule_8_a_check_shows_that_it_held_and_is_proven_as_that(short):
    job = short(2)
    assert verdicts(job, "110", "104") == ["held", "held"]
    assert proofs(job, "wheel") == [("doubtful", "matched by order only and not confirmed")] * 2
    assert job.state.joints["wheel"].waits_for_stripes

    stripes(job, "wheel", 2)

    assert proofs(job, "wheel") == [("proven", "")] * 2
    assert ("fastener", ("2", "hub", 1)) not in job.stored
    row = dict(zip(JOB.names, job.stored["job", ("2",)], strict=True))
    assert (row["complete"], row["follows"], row["step"], row["distance"]) == (1, "1", 2, "62 km")


def test_a_check_that_was_not_made_is_missed_and_one_under_is_to_be_pulled_on(short):
    job = short(2)
    assert verdicts(job, "60") == ["under"]

    assert proofs(job, "wheel") == [("failed", "under-torque at stage 1, not made good"), ("missed", "not checked again")]
    assert verdicts(job, "110") == ["held"]
    assert proofs(job, "wheel")[0][0] == "doubtful"


def test_the_stripes_of_a_check_are_those_seen_after_it(short):
    job = short(2)
    stripes(job, "wheel", 2)
    verdicts(job, "110", "110")

    assert proofs(job, "wheel") == [("doubtful", "matched by order only and not confirmed")] * 2


def test_a_fastener_that_was_opened_in_a_check_is_torqued_and_not_held(short):
    job = short(2)
    assert verdicts(job, "110", "-40", "110", "110") == ["held", None, "in band", "held"]
    stripes(job, "wheel", 2)

    assert proofs(job, "wheel") == [("proven", "")] * 2


def test_what_was_backed_off_is_judged_in_its_band(short):
    job = short(3)

    assert verdicts(job, "60", "110", "131") == ["in band", "in band", "over"]
    assert [proof for proof, _ in proofs(job, "wheel")] == ["doubtful", "failed"]


def test_a_short_job_keeps_the_plan_of_the_job_that_it_follows(short):
    job = short(2)

    with pytest.raises(RecordError, match="job 2 is a retorque by the plan of job 1, which stays as it is"):
        job.put(PlanChanged("2", 1, "a new revision"))


def test_a_retorque_of_no_retorque_step_is_refused_by_the_record(short):
    with pytest.raises(RecordError, match="is no retorque step"):
        short(1)
