"""Ways in which a record could have become complete though it should not; each from the keys and the wire."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from analysis.verify import verify_file
from collector.cli.main import main
from collector.cli.wrench import added_wrench
from collector.record.jobs import add_wrench, calibrate_wrench
from collector.record.recorder import Recorder
from schemas.bodies import Calibrated, Decided
from schemas.errors import RecordError
from schemas.screen import Press, PressWord

YES, NO, SAME, NOT_OURS = (Press(word) for word in (PressWord.YES, PressWord.NO, PressWord.SAME_AGAIN, PressWord.NOT_THIS_JOB))
PLAN = """\
plan: two
title: Two bolts
revision: "1"
source: Shop sheet 1
unit: N·m
tolerance: 10 %
joints:
  - {id: pair, name: Pair, fasteners: 2, torque: 100}
"""


@pytest.fixture(name="bench")
def _bench(floor, recorder):
    floor.text = PLAN
    return floor.bench(recorder)


def complete(bench):
    return bench.recorder.query("SELECT complete FROM job")[0][0]


def pulls(floor, *torques):
    return [torque if isinstance(torque, Press) else floor.pull(torque) for torque in torques]


def test_a_clean_job_is_complete(floor, bench):
    floor.run(bench, *pulls(floor, 100, 101, YES))

    assert complete(bench) == 1


@pytest.mark.parametrize(
    "events",
    [
        pytest.param((100, 101, YES, -60, SAME), id="same-again-of-a-loosening"),
        pytest.param((100, 101, YES, -60, NOT_OURS), id="not-this-job-of-a-loosening"),
        pytest.param((100, 160, NOT_OURS, 101, YES), id="not-this-job-of-an-over-pull"),
        pytest.param((100, 101, 160, YES), id="over-when-all-is-done"),
        pytest.param((100, 101, YES, 160), id="over-after-the-stripes"),
        pytest.param((100, 101, NO), id="not-all-stripes"),
        pytest.param((100, 101, NO, YES), id="yes-after-no-without-a-pull"),
        pytest.param((100, 160, NO, YES), id="no-to-the-stripes-of-an-over-pull"),
    ],
)
def test_what_must_not_become_complete_does_not(floor, bench, events):
    floor.run(bench, *pulls(floor, *events))

    assert complete(bench) == 0
    assert verify_file(floor.path).findings == []


def test_after_not_all_stripes_the_missing_one_is_pulled_and_asked_again(floor, bench):
    floor.run(bench, *pulls(floor, 100, 101, NO, 99, YES))

    assert complete(bench) == 1
    assert bench.recorder.query("SELECT kind FROM reading ORDER BY n") == [("tightening",), ("repeat",), ("tightening",)]


def test_no_stripe_on_the_only_fastener_of_a_joint_makes_its_pull_a_stray(floor, recorder):
    floor.text = PLAN.replace("fasteners: 2", "fasteners: 1")
    bench = floor.bench(recorder)
    floor.run(bench, *pulls(floor, 100, NO))
    assert complete(bench) == 0
    assert recorder.query("SELECT kind, reason FROM reading") == [("stray", "the fitter said: no stripe seen on it")]

    floor.run(bench, *pulls(floor, 101, YES))
    assert complete(bench) == 1


def test_a_stage_done_before_the_decision_does_not_count_after_it(floor, bench):
    floor.run(bench, *pulls(floor, 100, 160))
    with bench.recorder.transaction():
        for said in ("opened", "replaced"):
            bench.recorder.append(Decided("1", said, "pair", 2), bench.by)
    floor.run(bench, *pulls(floor, 101, YES))
    assert complete(bench) == 1

    floor.run(bench, *pulls(floor, 170))
    with bench.recorder.transaction():
        bench.recorder.append(Decided("1", "opened", "pair", 2), bench.by)
    floor.run(bench, *pulls(floor, 102))
    with bench.recorder.transaction():
        bench.recorder.append(Decided("1", "replaced", "pair", 2), bench.by)
    floor.run(bench, YES)
    assert complete(bench) == 0


def test_a_snug_round_is_signed_anew_after_opening(floor, recorder):
    floor.text = PLAN.replace("torque: 100}", "torque: 100, stages: [snug, 100]}")
    bench = floor.bench(recorder)
    floor.run(bench, *pulls(floor, YES, 100, 101, YES))
    assert complete(bench) == 1
    with recorder.transaction():
        recorder.append(Decided("1", "opened", "pair"), bench.by)
    screen = floor.run(bench, *pulls(floor, 100))

    assert "snug?" in screen.ask.text
    floor.run(bench, *pulls(floor, 101))
    floor.run(bench, YES)
    assert complete(bench) == 0


def test_a_number_of_any_length_loses_no_frame(floor, bench):
    frame = floor.pull(50)
    huge = replace(frame, raw=frame.raw.replace(b"50", b"1" + b"0" * 40).replace(b"Nm", b"lbf.ft"))

    floor.run(bench, huge)

    assert bench.recorder.query("SELECT verdict FROM reading") == [("over",)]


def test_the_same_person_in_another_spelling_is_the_same_person(bench):
    assert bench.recorder.person("jo  FITTER ") == bench.recorder.person("Jo Fitter")
    with pytest.raises(RecordError, match="a name is empty"):
        bench.recorder.person("  ")


def test_a_foreign_trigger_is_found_and_stops_the_writer(floor, bench):
    bench.recorder.__exit__()
    with closing(sqlite3.connect(floor.path)) as db:
        db.execute("CREATE TRIGGER quiet BEFORE INSERT ON ledger BEGIN SELECT RAISE(IGNORE); END")
        db.execute("CREATE VIEW extra AS SELECT 1")
        db.execute("PRAGMA user_version = 0")
        db.commit()

    findings = "\n".join(verify_file(floor.path).findings)
    for said in ("trigger quiet does not belong", "view extra does not belong", "version reads 0"):
        assert said in findings
    with pytest.raises(RecordError, match="trigger quiet does not belong there"), Recorder(floor.path, floor.clock, "test"):
        pass


def test_a_report_never_overwrites_the_database_nor_an_earlier_report_in_vain(floor, bench, tmp_path, capsys):
    report = tmp_path / "r.html"
    report.write_text("an earlier one")

    assert main(["job", "report", "1", "--db", str(floor.path), "--to", str(report)]) == 2
    assert report.read_text() == "an earlier one"
    assert main(["job", "report", "1", "--db", str(floor.path), "--to", str(floor.path)]) == 2
    (tmp_path / "link.html").symlink_to(floor.path)
    assert main(["job", "report", "1", "--db", str(floor.path), "--to", str(tmp_path / "link.html")]) == 2
    assert "belongs to the audit database" in capsys.readouterr().err
    assert verify_file(floor.path).findings == []


@pytest.mark.parametrize("pace", ["-1", "nan", "inf"])
def test_a_pace_that_cannot_be_is_refused(pace, capsys):
    with pytest.raises(SystemExit, match="2"):
        main(["demo", f"--pace={pace}"])

    assert "not a number of seconds from 0 on" in capsys.readouterr().err


def test_a_simulated_wrench_proves_nothing_of_a_real_pull(floor, recorder):
    floor.text = PLAN
    added = added_wrench("W-7", "SN-7", "indicating", "10", "200", "Nm", "highest", simulated=True)
    add_wrench(recorder, added, "program")
    calibrate_wrench(recorder, Calibrated("W-7", "C", "2026-01-01", "2026-12-31", "10", "200", 1), "program")
    bench = floor.bench(recorder)

    floor.run(bench, *pulls(floor, 100, 101, YES))

    assert complete(bench) == 0
    assert "is a simulated one" in recorder.query("SELECT why FROM fastener")[0][0]
