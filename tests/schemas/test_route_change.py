"""A joint that was added, and another revision of the plan: what was done stays, what it changes is in doubt, nothing is lost."""

from dataclasses import replace
from decimal import Decimal

import pytest

from schemas.bodies import JointAdded, PlanChanged
from schemas.errors import RecordError
from schemas.plan.load import load_plan
from schemas.route_body import joint_to_body
from schemas.route_change import with_joint

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 11
unit: N·m
tolerance: 10 %
joints:
  - {id: nuts, name: Hub nuts, fasteners: 2, torque: 100}
  - {id: cap, name: Dust cap, fasteners: 1, torque: 20}
  - {id: guard, name: Guard bolts, fasteners: 1, torque: not stated}
steps:
  - torque: nuts
  - torque: cap
  - torque: guard
"""
CAP = load_plan(PLAN.encode(), "plan.yaml").joint("cap")
FLAP = replace(CAP, id="flap", name="Mud flap")
DOUBT = "done before revision 2 changed this joint"


def change(job, *edits, revision="2"):
    text = PLAN.replace('revision: "1"', f'revision: "{revision}"')
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    seq = job.put(PlanChanged("1", job.keep_plan(text), "the procedure was revised"), "p-2")
    fresh = {(table.name, row[: table.keys]) for fold in [replay(job)] for table, row in fold}
    assert set(job.stored) == fresh, "what is stored is what the entries make"
    return seq


def replay(job):
    fold = type(job.fold)()
    for at, body in job.entries:
        fold.apply(at, body)
    return fold.take_rows()


def work(job):
    for torque in ("100", "100"):
        job.take(torque)
    job.stripes("nuts")
    job.take("20")
    job.say("stripes", "cap", count=1, of=1)
    job.say("declared", "guard")


@pytest.fixture(name="job")
def _job(new_job):
    job = new_job(PLAN)
    work(job)
    assert job.complete
    return job


# A joint that the plan does not have.


def test_an_added_joint_is_worked_last_and_counts_for_the_record(job):
    job.put(JointAdded("1", joint_to_body(FLAP), "sheet 12"), "p-2")
    assert job.proofs("flap") == [("missed", "no tightening of the final stage")]
    assert not job.complete

    pull = job.take("20")
    job.say("stripes", "flap", count=1, of=1)

    assert (pull.match.joint, pull.verdict) == ("flap", "in band")
    assert job.complete
    assert job.stored["joint_added", (len(job.entries) - 3,)][3:] == ("p-2", "flap", "Mud flap", 1, "sheet 12")


def test_an_added_joint_has_a_step_of_its_own_after_the_last(job):
    route = with_joint(job.route, FLAP)

    assert (route.steps[-1].number, route.steps[-1].joints) == (4, ("flap",))
    assert with_joint(replace(job.route, steps=()), FLAP).steps[0].number == 1
    assert route.joint("flap") == FLAP


@pytest.mark.parametrize("name", ["nuts", "flap"])
def test_a_joint_that_is_there_already_is_not_added_over(job, name):
    job.put(JointAdded("1", joint_to_body(FLAP), "sheet 12"))

    with pytest.raises(RecordError, match=f"joint `{name}` is in job 1 already; give the new one another id"):
        job.put(JointAdded("1", joint_to_body(replace(FLAP, id=name)), "sheet 12"))


def test_an_id_that_was_taken_out_is_not_given_again(job):
    change(job, ("  - {id: cap, name: Dust cap, fasteners: 1, torque: 20}\n", ""), ("  - torque: cap\n", ""))

    with pytest.raises(RecordError, match="joint `cap` is in job 1 already"):
        job.put(JointAdded("1", joint_to_body(replace(FLAP, id="cap")), "sheet 12"))


def test_no_revision_forgets_a_joint_that_was_added(job):
    job.put(JointAdded("1", joint_to_body(FLAP), "sheet 12"))

    change(job)

    assert job.proofs("flap") == [("missed", "no tightening of the final stage")]
    assert job.take("20").match.joint == "flap"


def test_a_revision_that_has_the_added_joint_itself_takes_it_over(job):
    job.put(JointAdded("1", joint_to_body(FLAP), "sheet 12"))
    job.take("20")
    job.say("stripes", "flap", count=1, of=1)

    change(
        job,
        ("steps:\n", "  - {id: flap, name: Mud flap, fasteners: 1, torque: 21}\nsteps:\n"),
        ("  - torque: guard\n", "  - torque: guard\n  - torque: flap\n"),
    )

    assert job.proofs("flap") == [("doubtful", DOUBT)]
    assert [joint.id for joint in job.state.route.joints].count("flap") == 1


# Another revision.


def test_a_joint_that_stays_as_it_was_keeps_its_proof(job):
    change(job, ("torque: 20}", "torque: 21}"))

    assert job.proofs("nuts") == [("proven", "")] * 2
    assert job.proofs("cap") == [("doubtful", DOUBT)]
    assert not job.complete


def test_a_joint_that_was_not_begun_goes_by_the_new_revision_without_a_doubt(new_job):
    job = new_job(PLAN)
    change(job, ("torque: 100}", "torque: 80}"))
    verdicts = [job.take(torque).verdict for torque in ("80", "100")]
    job.stripes("nuts")

    assert verdicts == ["in band", "over"]
    assert job.proofs("nuts")[0] == ("proven", "")


def test_what_was_changed_is_proven_when_it_was_done_again_by_the_new_revision(job):
    change(job, ("torque: 100}", "torque: 105}"))
    assert job.proofs("nuts") == [("doubtful", DOUBT)] * 2

    job.say("opened", "nuts", 1)
    job.take("105")
    job.stripes("nuts")
    assert job.proofs("nuts") == [("proven", ""), ("doubtful", DOUBT)]

    job.say("let stand", "nuts", 2, reason="in the new band as well")
    assert job.proofs("nuts")[1] == ("proven", f"{DOUBT}: the lead lets it stand (in the new band as well)")


def test_what_the_lead_let_stand_before_says_nothing_of_the_change(job):
    job.say("let stand", "nuts", reason="fine")

    change(job, ("torque: 100}", "torque: 105}"))

    assert job.proofs("nuts") == [("doubtful", DOUBT)] * 2


def test_a_doubt_of_one_change_is_not_forgotten_by_the_next(job):
    change(job, ("torque: 100}", "torque: 105}"))
    change(job, ("torque: 100}", "torque: 105}"), ("torque: 20}", "torque: 21}"), revision="3")

    assert job.proofs("nuts") == [("doubtful", DOUBT)] * 2


def test_a_declared_joint_that_is_changed_is_declared_anew(job):
    change(job, ("Guard bolts, fasteners: 1, torque: not stated", "Guard bolts M8, fasteners: 1, torque: not stated"))
    assert job.proofs("guard") == [("doubtful", f"declared; {DOUBT}")]

    job.say("declared", "guard")

    assert job.proofs("guard") == [("declared", "declared")]


@pytest.mark.parametrize(
    "edit",
    [
        pytest.param(("fasteners: 2, torque: 100", "fasteners: 3, torque: 100"), id="more-fasteners"),
        pytest.param(("torque: 100}", "torque: 100, stages: [50, 100]}"), id="another-round"),
        pytest.param(("torque: 100}", "torque: not stated}"), id="no-torque-any-more"),
    ],
)
def test_a_joint_of_another_shape_begins_anew(job, edit):
    change(job, edit)

    assert {proof for proof, _ in job.proofs("nuts")} == {"missed"}


def test_a_joint_that_loses_a_fastener_loses_its_rows(job):
    assert ("fastener", ("1", "nuts", 2)) in job.stored

    change(job, ("fasteners: 2, torque: 100", "fasteners: 1, torque: 100"))

    assert ("fastener", ("1", "nuts", 2)) not in job.stored
    assert ("tightening", ("1", "nuts", 2, 1)) not in job.stored


def test_a_joint_that_is_taken_out_has_no_rows_and_its_pulls_stay(job):
    change(job, ("  - {id: cap, name: Dust cap, fasteners: 1, torque: 20}\n", ""), ("  - torque: cap\n", ""))

    assert ("fastener", ("1", "cap", 1)) not in job.stored
    assert job.complete
    assert [row[22] for (table, _), row in job.stored.items() if table == "reading"] == ["nuts", "nuts", "cap"]
    assert job.state.state_of("cap").joint.name == "Dust cap"


def test_a_joint_that_comes_back_has_what_was_done_on_it(job):
    change(job, ("  - {id: cap, name: Dust cap, fasteners: 1, torque: 20}\n", ""), ("  - torque: cap\n", ""))
    change(job, revision="3")

    assert job.proofs("cap") == [("proven", "")]
    assert job.state.former == {}
    assert job.complete


def test_a_pull_is_revised_though_its_joint_was_taken_out(job):
    cap = list(job.state.pulls.values())[2]
    change(job, ("  - {id: cap, name: Dust cap, fasteners: 1, torque: 20}\n", ""), ("  - torque: cap\n", ""))

    job.match(cap.seq, None, None, None, kind="stray", verdict=None, revises=cap.match_seq)

    assert job.state.strays == 1
    assert job.state.state_of("cap").fasteners[0].stages == [None]


def test_steps_that_only_move_leave_the_proof_of_a_joint(new_job):
    steps = ("  - torque: nuts\n", "  - torque: nuts\n  - recheck: nuts\n")
    job = new_job(PLAN.replace(*steps))
    for torque in ("100", "100"):
        job.take(torque)
    job.stripes("nuts")
    for torque in ("100", "100"):
        job.take(torque)
    job.stripes("nuts")
    assert job.proofs("nuts") == [("proven", "")] * 2

    change(job, ("  - torque: nuts\n", "  - caution: Mind the spring\n  - torque: nuts\n  - recheck: nuts\n"))

    assert job.proofs("nuts") == [("proven", "")] * 2
    assert job.joint("nuts").joint.stages[1].step == 3


def test_what_the_new_revision_leaves_loose_and_opens_is_asked_for_by_its_steps(job):
    change(job, ("  - torque: nuts\n", "  - loose: cap\n  - torque: nuts\n  - open: nuts\n  - torque: nuts\n"))

    assert job.joint("cap").loose
    assert job.joint("nuts").to_open == (3,)
    assert job.proofs("nuts") == [("doubtful", "not opened again yet (step 3)")] * 2


def test_what_the_new_revision_waits_for_counts_for_what_was_done_before_it(job):
    steps = "  - hold point: level\n    ask: Level?\n    sign: lead\n  - torque: cap\n    after: [level]\n"
    change(job, ("  - torque: cap\n", steps))

    assert job.proofs("cap") == [("doubtful", "torqued before `level` was signed")]


def test_a_plan_that_is_not_in_the_ledger_is_refused(job):
    with pytest.raises(RecordError, match="takes job 1 over to a plan that is not there; run `verify`"):
        job.put(PlanChanged("1", 99, "no reason"))


def test_the_job_names_the_revision_that_it_goes_on_with(job):
    seq = change(job, ("torque: 20}", "torque: 21}"))

    row = job.stored["job", ("1",)]
    assert (row[2], row[4]) == (seq - 1, "2")
    assert job.stored["plan_changed", (seq,)][3:] == ("p-2", seq - 1, "the procedure was revised")
    assert job.state.route.joint("cap").final.band.target == Decimal(21)


def test_a_pull_of_before_does_not_come_to_a_joint_that_began_anew(job):
    early = list(job.state.pulls.values())[2]
    change(job, ("torque: 100}", "torque: 100, stages: [50, 100]}"))

    job.match(early.seq, "nuts", 1, 1, revises=early.match_seq)

    assert job.joint("nuts").fasteners[0].stages == [None, None]
    later = job.pull("nuts", 1, 1, "50")
    assert job.joint("nuts").fasteners[0].stages[0].seq == later


def test_that_a_joint_began_anew_is_not_forgotten_by_the_next_change(job):
    early = list(job.state.pulls.values())[2]
    change(job, ("torque: 100}", "torque: 100, stages: [50, 100]}"))
    change(job, ("torque: 100}", "torque: 110, stages: [50, 100]}"), revision="3")

    job.match(early.seq, "nuts", 1, 1, revises=early.match_seq)

    assert job.joint("nuts").fasteners[0].stages == [None, None]


def test_what_the_new_revision_does_not_leave_loose_or_open_any_more_is_forgotten(job):
    change(job, ("  - torque: nuts\n", "  - loose: cap\n  - torque: nuts\n  - open: nuts\n  - torque: nuts\n"))
    change(job, revision="3")

    assert (job.joint("cap").loose, job.joint("nuts").to_open) == (False, ())
    assert job.proofs("nuts") == [("proven", "")] * 2
    assert job.complete
