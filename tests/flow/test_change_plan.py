"""A new revision during an open job is taken over only by a named decision; what it changes on done joints is in doubt."""

from argparse import Namespace
from contextlib import closing

import pytest

from analysis.load import load_job, open_audit
from analysis.verify import verify_file
from collector.cli.collect import choose_job
from collector.cli.job_plan import run_change_plan
from collector.record.jobs import NewJob, same_plan
from schemas.bodies import JobClosed, JobOpened, JointAdded
from schemas.errors import PlanError, RecordError
from schemas.plan.load import load_plan
from schemas.route_body import joint_to_body
from schemas.words import Proof

ONE = """\
plan: drawbar
title: Box trailer, drawbar
revision: "1"
source: Shop procedure 7, section 2
unit: N·m
tolerance: 10 %
joints:
  - {id: clamp, name: Drawbar clamp, fasteners: 2, torque: 100}
  - {id: eye, name: Towing eye, fasteners: 2, torque: 80}
  - {id: guard, name: Guard, fasteners: 1, torque: 20}
"""
TWO = ONE.replace('revision: "1"', 'revision: "2"').replace("torque: 100}", "torque: 105}")


@pytest.fixture(name="shop")
def _shop(floor):
    """A job after the first revision; its clamp is torqued."""
    floor.text = ONE
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder), floor.pull("100.0"), floor.pull("101.0"))
    return floor


def change(floor, text, by="Runa Veld", job="1", why="the maker corrected the clamp"):
    path = floor.path.with_name("next.yaml")
    path.write_text(text, encoding="utf-8")
    return run_change_plan(Namespace(db=str(floor.path), job=job, plan=str(path), by=by, why=why))


def test_the_difference_is_printed_and_the_decision_recorded_by_name(shop, capsys):
    assert change(shop, TWO) == 0

    out, err = capsys.readouterr()
    assert out.splitlines() == [
        "plan: revision 1 → 2",
        "clamp: torque 100 → 105 N·m",
        "clamp: band 90 to 110 → 94.5 to 115.5 N·m",
    ]
    assert "job 1 goes on after revision 2 of plan `drawbar`, no longer after 1" in err
    db = open_audit(shop.path)
    row = tuple(db.execute("SELECT by, reason, plan.revision FROM plan_changed JOIN plan ON plan.seq = plan_seq").fetchone())
    db.close()
    assert row == ("person-1", "the maker corrected the clamp", "2")
    assert verify_file(shop.path).findings == []


def test_after_it_collect_goes_on_with_the_new_file_and_refuses_the_old_one_in_one_line(shop):
    first = shop.plan
    change(shop, TWO)
    shop.text = TWO

    with shop.recorder() as recorder:
        chosen = Namespace(job=None, plan="next.yaml")
        new = NewJob("unnamed", "", "not named", "Tannwald Trailers")
        assert choose_job(recorder, shop.plan, chosen, new).opened.job == "1", "no new job"
        assert recorder.load_job("1").route.revision == "2"
        with pytest.raises(RecordError, match=r"follows revision 2 of plan `drawbar`, and this file \(revision 1") as refused:
            same_plan(recorder, "1", first.route)
    assert "\n" not in str(refused.value)
    assert "job change-plan 1" in str(refused.value)


def test_before_it_collect_refuses_the_new_file_and_says_how_it_is_taken_over(shop):
    shop.text = TWO

    with shop.recorder() as recorder, pytest.raises(RecordError, match="take this one over with `witnessmark job change-plan 1`"):
        choose_job(recorder, shop.plan, Namespace(job=None, plan="next.yaml"), None)


def test_a_done_joint_that_the_revision_changes_is_in_doubt_and_an_unchanged_one_is_not(shop):
    with shop.recorder() as recorder:
        shop.run(shop.bench(recorder, recorder.load_job("1")), shop.pull("80.0"), shop.pull("80.5"))
    change(shop, TWO)

    with shop.recorder() as recorder:
        state = recorder.load_job("1")
        clamp, eye = (state.joints[name].proof(1) for name in ("clamp", "eye"))
    assert clamp[0] is Proof.DOUBTFUL
    assert "done before revision 2 changed this joint" in clamp[1]
    assert not any("revision" in why for why in eye[1])


def test_a_revision_may_take_joints_out_and_put_others_in(shop, capsys):
    with shop.recorder() as recorder:
        shop.run(shop.bench(recorder, recorder.load_job("1")))
    text = TWO.replace("{id: eye, name: Towing eye, fasteners: 2", "{id: hook, name: Hook, fasteners: 1")

    change(shop, text)

    assert "eye: taken out (Towing eye, 2 fasteners)" in capsys.readouterr().out
    with shop.recorder() as recorder:
        assert list(recorder.load_job("1").joints) == ["clamp", "hook", "guard"]
    assert verify_file(shop.path).findings == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param(ONE.replace("drawbar\n", "axle\n", 1), "follows plan `drawbar`, and next.yaml is plan `axle`", id="other"),
        pytest.param(f"# seen by Jo\n{ONE}", "says the same as the plan of job 1; there is nothing to take over", id="same"),
    ],
)
def test_what_is_no_other_revision_is_refused(shop, text, said):
    with pytest.raises(RecordError, match=said):
        change(shop, text)


def test_a_revision_that_no_registered_wrench_covers_is_refused(shop):
    with pytest.raises(PlanError, match="no registered wrench covers"):
        change(shop, TWO.replace("torque: 105", "torque: 500"))


def test_a_closed_job_and_a_retorque_keep_their_plan(shop):
    with shop.recorder() as recorder, recorder.transaction():
        first = recorder.load_job("1")
        recorder.append(JobClosed("1"), "person-1")
        assert first.closed is not None
    with pytest.raises(RecordError, match="job 1 is closed; nothing is added to it"):
        change(shop, TWO)
    retorque = ONE + "steps:\n" + "".join(f"  - torque: {one}\n" for one in ("clamp", "eye", "guard"))
    shop.text = retorque + "  - {retorque: clamp, from: 40 km}\n"
    with shop.recorder() as recorder, recorder.transaction():
        whole = shop.job(recorder)
        recorder.append(JobOpened("3", whole.plan_seq, "0" * 64, "", "person-1", "x", follows="2", step=4), "person-1")
    with pytest.raises(RecordError, match="job 3 is a retorque of job 2 and keeps the revision"):
        change(shop, TWO, job="3")


def test_a_revision_that_only_writes_it_otherwise_can_be_taken_over(shop, capsys):
    change(shop, ONE.replace("torque: 20}", "torque: 20, tolerance: 10 %}"))

    assert capsys.readouterr().out.splitlines() == ["no difference in what the plans say"]


def test_a_joint_that_was_added_to_the_job_stays_in_it(shop):
    shop_plan = ONE.replace("id: guard, name: Guard", "id: stay, name: Stay bolt")
    added = load_plan(shop_plan.encode(), "x").joint("stay")
    with shop.recorder() as recorder, recorder.transaction():
        recorder.load_job("1")
        recorder.append(JointAdded("1", joint_to_body(added), "sheet 3"), "person-1")

    change(shop, TWO)

    with shop.recorder() as recorder:
        assert list(recorder.load_job("1").joints) == ["clamp", "eye", "guard", "stay"]


def test_what_stands_open_on_the_new_revision_is_kept_with_the_job_too(shop):
    change(shop, TWO.replace("fasteners: 1, torque: 20}", "fasteners: 1, torque: 20, wheel: yes}"))

    with closing(open_audit(shop.path)) as db:
        record = load_job(db, "1")
    assert [line.partition(":")[0] for line in record.findings] == ["wheel-without-retorque"]
