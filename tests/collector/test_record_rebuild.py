"""The derived tables are made anew from the ledger, row for row the same, whatever happened to them."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from analysis.verify import verify_file
from collector.cli.main import main
from collector.record.checks import add_checks, void_check
from schemas.bodies import CheckMade, HandedOver, JointAdded, PlanChanged, PlanKept
from schemas.database import PROJECTIONS
from schemas.frame import LinkChange
from schemas.plan.load import load_plan
from schemas.route_body import joint_to_body, route_to_body
from schemas.screen import Press, PressWord
from schemas.words import Link

Tables = dict[str, list[tuple[object, ...]]]


def projections(path: Path) -> Tables:
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as db:
        return {table.name: [tuple(row) for row in db.execute(table.select_sql())] for table in PROJECTIONS}


def live_day(floor) -> None:
    """Every kind of entry, and revisions: put right, same again, not this job, opened, gap, set aside, a name of its own."""
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        floor.run(
            bench,
            LinkChange("serial:/dev/bench", Link.OPEN, floor.clock.now(), 1),
            floor.pull(50), floor.pull(40), floor.pull(60), floor.pull(100), floor.pull(101),
            Press(PressWord.SAME_AGAIN), floor.pull(99), Press(PressWord.YES),
            LinkChange("serial:/dev/bench", Link.LOST, floor.clock.now(), 2, "cable out"),
            Press(PressWord.YES, name="Runa Veld"), Press(PressWord.YES),
            floor.frame(b"@half"), floor.pull("----"), floor.pull("OL"), floor.pull(-30), Press(PressWord.OPENED),
            floor.pull(80, 20), floor.pull(81, 21), floor.pull(30, 22), Press(PressWord.NOT_THIS_JOB), Press(PressWord.NO),
            Press(PressWord.OTHER_JOINT, "guard"), floor.pull("20.1", 23), floor.pull(33, 24), Press(PressWord.QUIT),
        )  # fmt: skip
        assert bench.job.missing
        assert any(pull.revisions for pull in bench.job.pulls.values())
    log = "time,wrench,torque,unit,seq\n2026-03-02T09:00:00+01:00,W-7,50,Nm,30\n,W-7,50,Nm,31\nx,W-7,,Nm,32\n"
    with floor.recorder() as recorder:
        floor.import_log(recorder, log)
        days = ("2026-02-23", "2026-03-02")
        add_checks(recorder, [CheckMade("W-7", day, "100", "101", "N·m", "100", "101") for day in days], "p")
        void_check(recorder, int(str(recorder.query("SELECT min(seq) FROM wrench_check")[0][0])), "typed for another wrench", "p")
    with floor.recorder() as recorder:
        change_plan(floor, recorder)


def change_plan(floor, recorder) -> None:
    """What changes which rows there are: a joint is added, one grows, one is taken out; and the work is handed over."""
    job, by = recorder.load_job("1"), recorder.person("Mira Tannwald")
    recorder.load_job("2")
    with recorder.transaction():
        for signs in ("leaver", "taker"):
            recorder.append(HandedOver("1", signs, by, recorder.person("Ole Brand"), ("to pull: Guard, position 2",)), by)
        added = {**joint_to_body(floor.plan.route.joint("guard")), "id": "flap"}
        recorder.append(JointAdded("1", added, "sheet 12"), by)
    with recorder.transaction():
        text = floor.text.replace('revision: "1"', 'revision: "2"').replace("clamp, fasteners: 2", "clamp, fasteners: 3")
        text = text.replace("  - {id: guard, name: Guard, fasteners: 2, torque: 20}\n", "").replace("  - torque: guard\n", "")
        route = load_plan(text.encode(), "drawbar-2.yaml")
        plan = PlanKept(route.plan, "drawbar-2.yaml", "2" * 64, route.content_sha256, text, route_to_body(route))
        recorder.append(PlanChanged("1", recorder.append(plan), "the guard is left out"), by)
    assert list(job.joints) == ["clamp", "eye", "flap"]


def test_a_rebuild_gives_the_very_same_rows(floor):
    live_day(floor)
    before = projections(floor.path)

    with floor.recorder() as recorder:
        entries = recorder.rebuild()
        size = recorder.query("SELECT max(seq) FROM ledger")

    assert [(entries,)] == size
    assert projections(floor.path) == before
    assert {name for name, rows in before.items() if not rows} == {"report"}


def spoil(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as db:
        for statement in statements:
            db.execute(statement)
        db.commit()


@pytest.mark.parametrize(
    ("statement", "finding"),
    [
        pytest.param(
            "UPDATE fastener SET proof = 'proven', why = '' WHERE joint = 'eye' AND position = 2",
            "projection fastener, row (1, eye, 2): proof, why differs from what the entries say", id="changed",
        ),
        pytest.param(
            "INSERT INTO person VALUES ('person-9', 9)", "projection person has a row (person-9) that no entry makes", id="added"
        ),
        pytest.param("DELETE FROM job WHERE job = '2'", "projection job lacks the row (2)", id="removed"),
    ],
)  # fmt: skip
def test_a_damaged_row_is_found_and_repaired(floor, capsys, statement, finding):
    live_day(floor)
    before = projections(floor.path)
    spoil(floor.path, statement)

    found = main(["verify", str(floor.path)])
    said = capsys.readouterr().out
    repaired = main(["rebuild", str(floor.path)])
    clean = main(["verify", str(floor.path)])

    assert (found, repaired, clean) == (1, 0, 0)
    assert f"{floor.path}: {finding}\n" in said
    assert projections(floor.path) == before


def test_opening_a_file_for_writing_repairs_nothing_in_silence(floor):
    live_day(floor)
    spoil(floor.path, "UPDATE wrench SET serial = 'SN-8'")

    with floor.recorder():
        pass

    assert verify_file(floor.path).findings == ["projection wrench, row (W-7): serial differs from what the entries say"]


def test_all_derived_tables_can_be_emptied_and_come_back(floor):
    live_day(floor)
    before = projections(floor.path)
    spoil(floor.path, *(f"DELETE FROM {table.name}" for table in PROJECTIONS))

    with floor.recorder() as recorder:
        recorder.rebuild()

    assert projections(floor.path) == before
    assert verify_file(floor.path).findings == []


def test_a_rebuild_that_fails_leaves_the_tables_as_they_were(floor):
    live_day(floor)
    spoil(floor.path, "CREATE TRIGGER no BEFORE INSERT ON link BEGIN SELECT RAISE(ABORT, 'no rebuild today'); END")
    before = projections(floor.path)

    assert main(["rebuild", str(floor.path)]) == 2
    assert projections(floor.path) == before


def test_after_a_rebuild_the_job_goes_on(floor):
    live_day(floor)
    with floor.recorder() as recorder:
        recorder.rebuild()
        bench = floor.bench(recorder, recorder.load_job("1"))
        floor.run(bench, floor.pull(20, 25))
        assert recorder.query("SELECT count(*) FROM reading WHERE job = '1'") == [(len(bench.job.pulls),)]

    assert verify_file(floor.path).findings == []
