"""The demo as a newcomer sees it: what it says, what it leaves, and that a day that was killed goes on."""

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pikepdf
import pytest

from collector.cli.main import main

DAY = ("--pace", "0")
WITNESSMARK = (sys.executable, "-m", "collector.cli.main")


def readings(database):
    with closing(sqlite3.connect(database)) as db:
        return db.execute(
            "SELECT n, at, wrench, torque, unit, sequence, tool_time, joint, stage, position, kind, verdict "
            "FROM reading ORDER BY n"
        ).fetchall()


@pytest.fixture(name="folder")
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path / "witnessmark-demo"


def test_demo_ends_with_exactly_the_mishaps_of_the_day(folder, capsys):
    assert main(["demo", *DAY]) == 0

    said = capsys.readouterr().out
    for line in (
        "missed fasteners: 1",
        "under-torque put right: 1",
        "over-torque, not made good: 1",
        "second clicks on the same fastener: 1",
        "unreadable lines: 1",
        "the torque record is NOT complete:",
    ):
        assert line in said
    assert re.search(r"nothing was altered: \d+ entries, derived tables equal, tree head [0-9a-f]{64} SIMULATED", said)
    assert sorted(path.name for path in folder.iterdir() if path.suffix not in (".lock", ".log")) == [
        "demo.db", "drift-W-025.png", "drift-W-140.png", "job-1.html", "job-1.pdf", "rear-axle.yaml",
    ]  # fmt: skip


def test_the_readme_shows_what_the_demo_says(folder, capsys):
    main(["demo", *DAY])
    said = capsys.readouterr().out.splitlines()
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"```text\n(.*?)```", readme, re.DOTALL)[1].splitlines()

    assert said[: len(shown)] == shown


def test_the_demo_leaves_a_report_of_four_pages_and_charts(folder):
    main(["demo", *DAY])

    with pikepdf.open(folder / "job-1.pdf") as pdf:
        assert len(pdf.pages) == 4
    for wrench in ("W-025", "W-140"):
        assert (folder / f"drift-{wrench}.png").read_bytes().startswith(b"\x89PNG")


def test_demo_marks_everything_it_made_as_simulated(folder, capsys):
    main(["demo", *DAY])

    assert "SIMULATED" in (folder / "job-1.html").read_text(encoding="utf-8")
    with closing(sqlite3.connect(folder / "demo.db")) as db:
        real = db.execute(
            "SELECT count(*) FROM ledger WHERE json_extract(entry, '$.kind') IN ('frame', 'reading', 'match', 'job', 'not read') "
            "AND json_extract(entry, '$.body.simulated') IS NOT 1"
        ).fetchone()
    assert real == (0,)


def test_the_same_seed_gives_the_same_readings_and_another_seed_does_not(folder, capsys):
    for name, seed in (("a", "7"), ("b", "7"), ("c", "8")):
        main(["demo", *DAY, "--seed", seed, "--folder", name])

    a, b, c = (readings(folder.parent / name / "demo.db") for name in "abc")
    assert a == b
    assert a != c


def test_demo_leaves_what_is_there_alone(folder, capsys):
    folder.mkdir()
    (folder / "mine.txt").write_text("mine")

    assert main(["demo", *DAY]) == 2
    assert "is there already; take it away, or name another folder" in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == ["mine.txt"]


@pytest.mark.parametrize("after", [pytest.param(5, id="early"), pytest.param(60, id="half-way")])
def test_a_killed_day_goes_on_with_collect_and_ends_like_one_that_was_not(folder, capsys, after):
    with subprocess.Popen([*WITNESSMARK, "demo", *DAY], stderr=subprocess.PIPE, text=True) as day:
        seen = 0
        for line in day.stderr:
            seen += "● IN BAND" in line
            if seen == after:
                os.kill(day.pid, signal.SIGKILL)
                break
        day.stderr.read()
    shown = seen
    database, plan = str(folder / "demo.db"), str(folder / "rear-axle.yaml")
    assert len(readings(database)) >= shown

    assert main(["collect", plan, "--from", "sim:rear-axle", "--pace", "0", "--db", database, "--json"]) == 1

    answer = json.loads(capsys.readouterr().out)
    assert main(["demo", *DAY, "--folder", "whole"]) == 0
    whole = readings(folder.parent / "whole" / "demo.db")
    placed = [(reading[3], *reading[7:]) for reading in readings(database)]
    assert placed == [(reading[3], *reading[7:]) for reading in whole]
    assert {row["proof"] for row in answer["joints"]} == {"proven", "missed", "failed"}
    assert main(["verify", database]) == 0


def test_a_job_with_simulated_readings_takes_no_day_into_a_real_job(folder, capsys, tmp_path):
    main(["demo", *DAY])
    plan, database = str(folder / "rear-axle.yaml"), str(tmp_path / "real.db")
    assert main(["job", "open", plan, "--item", "WM·T 4712", "--db", database]) == 0

    assert main(["collect", plan, "--from", "sim:rear-axle", "--pace", "0", "--db", database]) == 2
    assert "job 1 is a real one" in capsys.readouterr().err
