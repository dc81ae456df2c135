"""The route of a job is that of its plan as it stands, of a retorque its one step, with the joints that were added."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from analysis.load import load_job, open_audit
from analysis.load.routes import routes_of_job
from schemas.bodies import JobClosed, JointAdded, PlanChanged
from schemas.errors import RecordError
from schemas.route_body import joint_to_body
from schemas.words import Proof, StageWord

# Of the plan of the tests with two guard bolts more, without the hub nuts.
LATER = """\
plan: box-trailer-hubs
title: Box trailer, hubs
revision: "3"
source: Shop procedure 114, section 6
unit: N·m
tolerance: 10 %
joints:
  - {id: guard, name: Guard bolts, fasteners: 4, torque: 20}
"""


@pytest.fixture
def routes(path, shop):
    """The routes of a job, as they are read from the file."""

    def routes(job: str = "2026-0001"):
        with closing(open_audit(path)) as db:
            row = db.execute("SELECT * FROM job WHERE job = ?", (job,)).fetchone()
            return routes_of_job(db, row)

    return routes


@pytest.fixture
def load(path, shop):
    def load(job: str = "2026-0001"):
        with closing(open_audit(path)) as db:
            return load_job(db, job)

    return load


def add_joint(shop, name: str = "spare") -> int:
    joint = shop.recorder.fold.jobs[shop.job].route.joint("guard")
    return shop.append(JointAdded(shop.job, joint_to_body(replace(joint, id=name, name="Spare wheel clamp")), "Shop sheet 9"))


def test_a_plain_job_goes_by_the_plan_that_it_was_opened_with(shop, routes) -> None:
    assert routes().now == shop.recorder.fold.jobs[shop.job].route
    assert len(routes().since) == 1


def test_an_added_joint_is_torqued_last_from_then_on(shop, routes) -> None:
    seq = add_joint(shop)

    found = routes()

    assert [joint.id for joint in found.now.joints] == ["hub-nuts", "guard", "spare"]
    assert found.now.steps[-1].joints == ("spare",)
    assert [joint.id for joint in found.before(seq).joints] == ["hub-nuts", "guard"]
    assert found.now == shop.recorder.fold.jobs[shop.job].route


def test_a_change_of_the_plan_keeps_the_joints_that_were_added_on_the_job(shop, routes) -> None:
    add_joint(shop, "early")
    seq = shop.append(PlanChanged(shop.job, shop.keep_plan(LATER), "the hubs are done elsewhere"))
    add_joint(shop, "late")

    found = routes()

    assert [joint.id for joint in found.now.joints] == ["guard", "early", "late"]
    assert found.now == shop.recorder.fold.jobs[shop.job].route
    assert [joint.id for joint in found.before(seq).joints] == ["hub-nuts", "guard", "early"]
    assert found.joint_at(seq - 1, "guard").fasteners == 2
    assert found.joint_at(seq, "guard").fasteners == 4
    assert found.joint_at(seq, "late") is None
    assert found.joint_at(1, "guard").fasteners == 2  # before the job there is none, so its first one


def test_a_revision_that_has_an_added_joint_itself_takes_it_over(shop, routes) -> None:
    add_joint(shop)
    own = LATER + "  - {id: spare, name: Spare wheel clamp, fasteners: 3, torque: 30}\n"
    shop.append(PlanChanged(shop.job, shop.keep_plan(own), "the clamp is in the plan now"))

    assert [(joint.id, joint.fasteners) for joint in routes().now.joints] == [("guard", 4), ("spare", 3)]
    assert routes().now == shop.recorder.fold.jobs[shop.job].route


def test_a_retorque_goes_round_the_joints_of_its_step_once(shop, make_shop, routes) -> None:
    later = make_shop(job="2026-0002")
    later.open(follows=shop.job, step=5, distance="52 km")

    (joint,) = routes("2026-0002").now.joints

    assert joint.id == "hub-nuts"
    assert [(stage.word, stage.step, stage.band.target_nm) for stage in joint.stages] == [(StageWord.RECHECK, 5, 100)]
    assert routes("2026-0002").now == shop.recorder.fold.jobs["2026-0002"].route


def test_a_step_that_is_no_retorque_is_an_error(shop, path, routes) -> None:
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("UPDATE job SET follows = '1', step = 4")

    with pytest.raises(RecordError, match="step 4 of plan `box-trailer-hubs` is no retorque step"):
        routes()


def test_a_reading_on_a_joint_that_is_gone_stays_with_the_name_that_it_had(shop, load) -> None:
    shop.pull("hub-nuts", 1, 1, "50.0")
    shop.say("stripes", "hub-nuts", count=4, of=4)
    shop.append(PlanChanged(shop.job, shop.keep_plan(LATER), "the hubs are done elsewhere"))

    record = load()

    (reading,) = record.readings
    assert (reading.joint, reading.joint_name, reading.stage, reading.verdict) == ("hub-nuts", "Hub nuts, left", 1, "in band")
    assert [row.joint for row in record.joints] == ["guard"]
    assert [fastener.joint for fastener in record.fasteners] == ["guard"] * 4
    assert (record.plan.revision, record.decisions[0].joint_name) == ("3", "Hub nuts, left")
    (change,) = record.plan_changes
    assert (change.revision, change.reason, change.by, change.gone, change.gone_names) == (
        "3", "the hubs are done elsewhere", "Mira Tannwald", ("hub-nuts",), ("Hub nuts, left",),
    )  # fmt: skip


def test_a_reading_is_shown_in_the_unit_that_its_joint_had_when_it_was_judged(shop, load) -> None:
    shop.pull("guard", 1, 1, "15.0", unit="lbf·ft")
    shop.append(PlanChanged(shop.job, shop.keep_plan(LATER), "four bolts"))

    # NIST Special Publication 811 (2008), B.8: 1 lbf·ft = 1.355 818 N·m
    assert (load().readings[0].torque_shown, load().readings[0].unit_shown) == ("20.34", "N·m")


def test_a_report_can_be_loaded_of_a_plan_in_the_ledger_only(shop, load, path) -> None:
    changed = shop.append(PlanChanged(shop.job, shop.keep_plan(LATER), "four bolts"))
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM fastener WHERE joint = 'guard'")

    assert {fastener.proof for fastener in load().fasteners} == {Proof.MISSED}
    assert changed


def test_the_first_job_says_what_became_of_its_retorques(shop, make_shop, load) -> None:
    (due,) = load().retorques
    assert (due.joints, due.span, due.method, due.jobs) == (("Hub nuts, left",), "40 km to 80 km", "not slackened first", ())
    assert due.is_due

    begun = make_shop(job="2026-0002")
    begun.open(follows=shop.job, step=5, distance="52 km")
    assert [job.text for job in load().retorques[0].jobs] == ["job 2026-0002 after 52 km: open"]
    begun.append(JobClosed("2026-0002"))
    assert [job.text for job in load().retorques[0].jobs] == ["job 2026-0002 after 52 km: closed unfinished"]
    assert load().retorques[0].is_due

    other = make_shop(job="2026-0003")
    other.open(follows=shop.job, step=5)
    other.append(JobClosed("2026-0003", "offered, not done", "customer lives abroad"))
    (due,) = load().retorques
    assert due.jobs[1].text == "job 2026-0003: offered, not done (customer lives abroad)"
    assert not due.is_due


def test_a_retorque_that_was_done_says_whether_its_record_is_complete(shop, make_shop, load) -> None:
    begun = make_shop(job="2026-0002")
    begun.open(follows=shop.job, step=5)
    for position in range(1, 5):
        begun.match(begun.read("100"), "hub-nuts", 1, position, verdict="held" if position < 4 else "moved", p="0.995")
    begun.append(JobClosed("2026-0002"))

    (due,) = load().retorques
    record = load("2026-0002")

    assert due.jobs[0].text == "job 2026-0002: done, its record not complete"
    assert (record.follows, record.step, record.outcome) == (shop.job, 5, None)
    assert [fastener.final.verdict for fastener in record.fasteners] == ["held", "held", "held", "moved"]


