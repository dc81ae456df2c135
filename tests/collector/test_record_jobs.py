"""Jobs are numbered, follow one plan content, and are found by plan; wrenches enter the register once."""

import hashlib
import json
from dataclasses import replace
from pathlib import Path

import pytest

from collector.record.jobs import NewJob, OpenJob, PlanFile, add_wrench, calibrate_wrench, open_job, open_jobs, same_plan
from schemas.bodies import Calibrated, HabitsLearned, JobClosed, WrenchAdded
from schemas.errors import RecordError
from schemas.plan.load import load_plan

NEW = NewJob("Trailer WX 17", "4711", "Mira Tannwald", "Tannwald Trailers")


def with_text(text: str) -> PlanFile:
    return PlanFile("drawbar.yaml", text.encode(), load_plan(text.encode(), "drawbar.yaml"))


def test_jobs_are_numbered_from_1_also_over_runs(floor):
    with floor.recorder() as recorder:
        numbers = [open_job(recorder, floor.plan, NEW).opened.job for _ in range(2)]
    with floor.recorder() as recorder:
        numbers.append(open_job(recorder, floor.plan, NEW).opened.job)

    assert numbers == ["1", "2", "3"]


def test_a_job_is_opened_with_its_people_and_its_plan_in_one_transaction(floor, recorder):
    heads = len(recorder.query("SELECT size FROM tree_head"))

    state = open_job(recorder, floor.plan, NEW)

    kinds = [entry.kind for _, entry in recorder.entries("seq > 1")]
    assert kinds == ["person", "plan", "job"]
    assert len(recorder.query("SELECT size FROM tree_head")) == heads + 1
    assert (state.opened.order, state.opened.fitter, state.opened.workshop) == ("4711", "person-1", "Tannwald Trailers")
    assert state.opened.simulated is None
    assert recorder.query("SELECT value FROM private WHERE field = 'item' AND seq = ?", state.at.seq) == [("Trailer WX 17",)]


def test_the_plan_is_kept_as_it_was_read_and_once(floor):
    with floor.recorder() as recorder:
        open_job(recorder, floor.plan, NEW)
        open_job(recorder, floor.plan, NEW)
    with floor.recorder() as recorder:
        third = open_job(recorder, floor.plan, NEW)
        plans = list(recorder.entries("json_extract(entry, '$.kind') = 'plan'"))

    ((seq, entry),) = plans
    assert third.opened.plan == seq
    assert entry.body["text"] == floor.text
    assert entry.body["file_sha256"] == hashlib.sha256(floor.text.encode()).hexdigest()
    assert (entry.body["plan"], entry.body["file"]) == ("drawbar", "drawbar.yaml")


def test_another_text_of_the_same_content_is_kept_beside_the_first(floor, recorder):
    first = open_job(recorder, floor.plan, NEW)
    second = open_job(recorder, with_text(floor.text + "# a remark\n"), NEW)

    assert second.opened.plan != first.opened.plan
    assert second.route.content_sha256 == first.route.content_sha256


def test_a_simulated_job_says_so(floor, recorder):
    state = open_job(recorder, floor.plan, replace(NEW, simulated=True))

    assert state.opened.simulated == 1
    assert recorder.query("SELECT simulated FROM job") == [(1,)]


def test_the_open_jobs_of_a_plan_are_found_whatever_their_revision(floor, recorder):
    newer = with_text(floor.text.replace('revision: "1"', 'revision: "2"'))
    other = with_text(floor.text.replace("plan: drawbar", "plan: hitch"))
    for plan in (floor.plan, newer, other, floor.plan):
        open_job(recorder, plan, NEW)
    with recorder.transaction():
        recorder.append(JobClosed("4"))

    found = open_jobs(recorder, "drawbar")

    assert found == (
        OpenJob("1", "1", floor.plan.route.content_sha256),
        OpenJob("2", "2", newer.route.content_sha256),
    )
    assert open_jobs(recorder, "axle") == ()


def test_a_job_goes_on_with_a_plan_of_the_same_content(floor):
    with floor.recorder() as recorder:
        open_job(recorder, floor.plan, NEW)
    with floor.recorder() as recorder:
        same_plan(recorder, "1", with_text(floor.text + "# a remark\n").route)
        assert recorder.load_job("1").route.plan == "drawbar"


def test_a_job_does_not_go_on_after_another_content(floor, recorder):
    open_job(recorder, floor.plan, NEW)
    changed = with_text(floor.text.replace("torque: 80", "torque: 81").replace('revision: "1"', 'revision: "2"'))

    with pytest.raises(
        RecordError,
        match=r"job 1 follows revision 1 of plan `drawbar`, and this file \(revision 2 of `drawbar`\) says something else; go on",
    ):
        same_plan(recorder, "1", changed.route)


def test_a_closed_job_does_not_go_on(floor, recorder):
    open_job(recorder, floor.plan, NEW)
    with recorder.transaction():
        recorder.append(JobClosed("1"))

    with pytest.raises(RecordError, match="job 1 is closed; open a new one with `witnessmark job open`"):
        same_plan(recorder, "1", floor.plan.route)


ADDED = WrenchAdded("W-7", "SN-7", "setting", "10", "200", "lbf·ft", "13.55817948", "271.1635896", "click")
CALIBRATED = Calibrated("W-7", "C-7", "2026-01-01", "2026-12-31", "13.55817948", "271.1635896")


def test_a_wrench_enters_the_register_once(recorder):
    add_wrench(recorder, ADDED, "person-1")
    size = len(recorder.query("SELECT seq FROM ledger"))

    with pytest.raises(RecordError, match="wrench W-7 is in the register already; choose another id"):
        add_wrench(recorder, replace(ADDED, serial="SN-8"), "person-1")

    assert len(recorder.query("SELECT seq FROM ledger")) == size
    assert recorder.query("SELECT serial FROM wrench") == [("SN-7",)]


def test_only_a_wrench_of_the_register_is_calibrated(recorder):
    with pytest.raises(RecordError, match="wrench W-7 is not in the register; add it with `witnessmark wrench add`"):
        calibrate_wrench(recorder, CALIBRATED, "person-1")


def test_a_calibration_is_an_entry_of_its_own_and_the_last_one_counts(floor):
    with floor.recorder() as recorder:
        add_wrench(recorder, ADDED, "person-1")
        calibrate_wrench(recorder, CALIBRATED, "person-2")
        calibrate_wrench(recorder, replace(CALIBRATED, certificate="C-8", due_on="2027-12-31"), "person-2")
    with floor.recorder() as recorder:
        calibrations = recorder.entries("json_extract(entry, '$.kind') = 'calibration'")
        entries = [(entry.by, entry.body["certificate"]) for _, entry in calibrations]

    assert entries == [("person-2", "C-7"), ("person-2", "C-8")]
    assert recorder.fold.wrenches["W-7"].certificate == "C-8"
    assert str(recorder.fold.wrenches["W-7"].due_on) == "2027-12-31"


def test_the_command_opens_the_job_that_the_next_command_finds(floor, tmp_path: Path, capsys):
    from collector.cli.main import main

    (tmp_path / "drawbar.yaml").write_text(floor.text, encoding="utf-8")
    opening = ["job", "open", str(tmp_path / "drawbar.yaml"), "--item", "WX 17", "--db", str(floor.path), "--json"]

    assert main(opening) == 0
    assert json.loads(capsys.readouterr().out) == {"format": 1, "job": "1"}
    with floor.recorder() as recorder:
        assert [job.job for job in open_jobs(recorder, "drawbar")] == ["1"]


def test_a_job_keeps_the_limit_that_the_shop_asks_for(floor, recorder):
    opened = open_job(recorder, floor.plan, replace(NEW, p_limit="0.995"))

    assert (opened.opened.p_limit, str(opened.limit)) == ("0.995", "0.995")
    assert {str(state.limit) for state in opened.joints.values()} == {"0.995"}
    assert recorder.query("SELECT p_limit FROM job") == [("0.995",)]


def test_a_writer_knows_the_habits_that_were_learned_in_an_earlier_run(floor):
    learned = HabitsLearned(1, {"next_s": "7.2"}, ("1",), "median of gaps")
    with floor.recorder() as recorder, recorder.transaction():
        seq = recorder.append(learned)

    with floor.recorder() as recorder:
        assert recorder.fold.habits == (seq, learned)
