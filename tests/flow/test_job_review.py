"""`job review` over a log: it asks the right joint first, takes each answer as evidence, and the record stays whole."""

import io
import json
import os
import pty
import re
import select
import sqlite3
import subprocess
import sys
from datetime import datetime, timedelta

import pytest

from collector.cli.main import main
from collector.expect.learned import habits_of
from collector.expect.probable import Probable
from collector.run import run as work
from schemas.screen import AskWord, Press, PressWord
from schemas.units import torque_text

PLAN = """\
plan: axle
title: Box trailer, rear axle
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 8 %
joints:
  - {id: left, name: "U-bolt nuts, left", fasteners: 4, torque: 85}
  - {id: right, name: "U-bolt nuts, right", fasteners: 4, torque: 95}
  - {id: shackle, name: Shackle bolts, fasteners: 2, torque: 60}
  - {id: hub, name: Hub nuts, fasteners: 5, torque: 140}
"""
PATIENCE_S = 30
# Seconds before each pull. One nut on the right was passed over and another clicked twice; of the shackle bolts as well.
DAY = (
    ("85", (60, 12, 12, 12)), ("95", (90, 12, 13, 1.5)), ("60", (80, 1.5)), ("140", (90, 12, 13, 12, 12)),
)  # fmt: skip


def log_text(day, begun="2026-03-02T08:00:00+01:00"):
    at, rows = datetime.fromisoformat(begun), ["time,wrench,torque,unit"]
    for torque, pauses in day:
        for pause in pauses:
            at += timedelta(seconds=pause)
            rows.append(f"{at.isoformat()},W-1,{torque}.{len(rows) % 7},N·m")
    return "\n".join(rows) + "\n"


@pytest.fixture(name="run")
def _run(tmp_path, monkeypatch, capsys):
    """Runs a command with the lines that are typed; gives exit code, output, and what was said on standard error."""
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))

    def run(*arguments, typed=""):
        capsys.readouterr()
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture(name="read_in")
def _read_in(tmp_path, run):
    """A job with that day read in, by a wrench that is fit; gives a way to read in more."""
    (tmp_path / "plan.yaml").write_text(PLAN, encoding="utf-8")
    run("wrench", "add", "W-1", "--serial", "4711", "--type", "indicating", "--low", "20", "--high", "200", "--unit", "N·m",
        "--measures", "highest")  # fmt: skip
    run("wrench", "calibrate", "W-1", "--certificate", "C-1", "--on", "2026-01-10", "--due", "2027-01-10")

    def read_in(day, **more):
        log = tmp_path / "log.csv"
        log.write_text(log_text(day, **more), encoding="utf-8")
        return run("collect", tmp_path / "plan.yaml", "--from", f"log:{log}")

    read_in(DAY)
    return read_in


@pytest.fixture(name="whole")
def _whole(tmp_path, run):
    """Checks that nothing was altered, and that the derived tables are those that a rebuild makes."""

    def whole():
        db = tmp_path / "audit.db"
        before = tables(db)
        assert run("verify", db)[0] == 0
        assert run("rebuild", db)[0] == 0
        assert tables(db) == before

    return whole


def tables(db):
    connection = sqlite3.connect(db)
    try:
        return {name: connection.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall()
                for name in ("job", "joint", "fastener", "reading", "decision")}  # fmt: skip
    finally:
        connection.close()


def ask(run, typed, *more, by=("--by", "Ada Holm")):
    return run("job", "review", "1", *by, *more, typed=typed)


def proofs(run, joint):
    """The proof of each fastener of a joint, by position."""
    import csv

    rows = csv.DictReader(io.StringIO(run("export", "tightenings", "--to", "-")[1].lstrip("\ufeff")))
    return [row["proof"] for row in rows if row["joint"] == joint]


def decisions(tmp_path):
    connection = sqlite3.connect(tmp_path / "audit.db")
    try:
        return connection.execute('SELECT said, joint, position, count, "of" FROM decision ORDER BY seq').fetchall()
    finally:
        connection.close()


def test_the_joint_that_settles_most_is_asked_about_first_and_sure_ones_not_at_all(run, read_in):
    code, out, _ = ask(run, "", "--list", by=())

    assert code == 1
    assert [line for line in out.splitlines() if line.endswith("?")] == [
        "U-bolt nuts, right: look at the stripes: 4 of 4?", "Shackle bolts: look at the stripes: 2 of 2?",
    ]  # fmt: skip
    assert "second click" in out


def test_the_same_as_data(run, read_in):
    code, out, _ = ask(run, "", "--json", by=())

    answer = json.loads(out)
    assert (code, answer["format"], answer["job"]) == (1, 1, "1")
    first = answer["questions"][0]
    assert (first["joint"], first["of"], first["positions"]) == ("right", 4, [1, 2, 3, 4])
    assert 0.01 < first["p"] < 0.99
    assert first["settles"] == pytest.approx(4 * first["p"])


def test_a_yes_proves_the_joint_and_the_record_gets_complete(run, read_in, whole):
    code, out, err = ask(run, "y\ny\n")

    assert code == 0
    assert "nothing on job 1 waits for a look any more" in out
    assert "recorded: 4 of 4 seen; 4 fasteners more proven" in err
    assert "the torque record is complete" in run("job", "show", "1")[1]
    assert ask(run, "", "--list", by=())[:2] == (0, "nothing on job 1 waits for a look\n")
    whole()


def test_an_answer_is_evidence_in_whose_light_all_is_counted_anew(run, read_in):
    before = p_whole(run, "right")

    ask(run, "n\n\nq\n")

    assert p_whole(run, "right") < 0.6 * before


def p_whole(run, joint):
    rows = json.loads(run("job", "show", "1", "--json")[1])["joints"]
    return next(row["p_complete"] for row in rows if row["id"] == joint)


def test_no_and_which_makes_that_one_missed_until_it_is_pulled(run, read_in, whole, tmp_path):
    code, out, err = ask(run, "y\nn\n2\n")

    assert (code, "to be pulled: 2" in err) == (0, True)
    assert "not settled by looking: missed (no tightening of the final stage): Shackle bolts, position" in out
    assert decisions(tmp_path)[-2:] == [("stripes", "shackle", None, None, 2), ("not done", "shackle", 2, None, None)]
    assert proofs(run, "shackle")[1] == "missed"
    whole()

    read_in((("60", (0,)),), begun="2026-03-02T11:00:00+01:00")

    assert "missed" not in proofs(run, "shackle")
    whole()


def test_no_without_a_position_leaves_the_joint_in_doubt(run, read_in, whole, tmp_path):
    ask(run, "n\n\nq\n")

    assert decisions(tmp_path) == [("stripes", "right", None, None, 4)]
    assert set(proofs(run, "right")) <= {"doubtful", "missed"}
    assert "U-bolt nuts, right" not in ask(run, "", "--list", by=())[1].split("not settled")[0]
    whole()


def test_not_looked_changes_nothing_and_is_told_in_the_report(run, read_in, whole, tmp_path):
    before = proofs(run, "right")

    code, out, err = ask(run, "l\n")

    assert code == 1
    assert "not looked at, so it stays open" in err
    assert "still to be looked at: U-bolt nuts, right; Shackle bolts" in out
    assert (proofs(run, "right"), decisions(tmp_path)) == (before, [("not looked", "right", None, None, None)])
    run("job", "report", "1", "--to", tmp_path / "r.html")
    assert "not looked at, or not to be reached" in (tmp_path / "r.html").read_text(encoding="utf-8")
    whole()


@pytest.mark.parametrize(
    "typed", ["", "\n", "q\n", "y", "n\n", "n\nq\n"], ids=["end", "enter", "q", "cut", "cut-which", "q-which"]
)
def test_who_leaves_records_nothing(run, read_in, tmp_path, typed):
    assert ask(run, typed)[0] == 1
    assert decisions(tmp_path) == []


def test_what_is_no_answer_is_asked_again(run, read_in, tmp_path):
    _, _, err = ask(run, "perhaps\nN\n9\n0\n1-2\n3, 1\nq\n")

    assert err.count("positions are numbers from 1 to 4") == 3
    assert [row for row in decisions(tmp_path) if row[0] == "not done"] == [
        ("not done", "right", 1, None, None), ("not done", "right", 3, None, None)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        pytest.param(("1",), "add --by NAME", id="nobody-named"),
        pytest.param(("7", "--by", "Ada Holm"), "there is no job 7", id="no-such-job"),
        pytest.param(("7", "--list"), "there is no job 7", id="no-such-job-to-list"),
    ],
)
def test_what_cannot_be_asked_is_one_line(run, read_in, arguments, said):
    code, out, err = run("job", "review", *arguments)

    assert (code, out, said in err, err.count("\n")) == (2, "", True, 1)


def test_nothing_is_asked_of_a_closed_job(run, read_in):
    run("job", "close", "1", "--by", "Ada Holm")

    assert [ask(run, "y\n")[0], ask(run, "", "--list")[0]] == [2, 2]


def test_at_a_real_terminal_the_answers_are_typed(run, read_in, tmp_path):
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "collector.cli.main", "job", "review", "1", "--by", "Ada Holm"]
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env={**os.environ, "NO_COLOR": "1"}) as review:
        os.close(theirs)
        try:
            shown = read_until(ours, "", "Enter: leave")
            os.write(ours, b"y\n")
            shown = read_until(ours, shown, "Enter: leave", "proven", "Enter: leave")
            os.write(ours, b"\n")
            shown = read_until(ours, shown, "still to be looked at: Shackle bolts")
            code = review.wait(timeout=PATIENCE_S)
        finally:
            review.kill()
    os.close(ours)

    assert "U-bolt nuts, right: look at the stripes: 4 of 4?" in shown
    assert "still to be looked at" in shown
    assert code == 1
    assert decisions(tmp_path) == [("stripes", "right", None, 4, 4)]


def read_until(terminal, shown, *texts):
    """All that was shown, once these texts stand in it one after the other."""
    while re.search(".*".join(map(re.escape, texts)), shown, re.DOTALL) is None:
        assert select.select([terminal], [], [], PATIENCE_S)[0], shown
        shown += os.read(terminal, 4096).decode(errors="replace")
    return shown


def test_on_an_ordinary_day_no_joint_is_asked_about_twice(floor, recorder):
    bench = floor.bench(recorder)
    bench.matcher = Probable(habits_of(None))
    asked = []

    work(ordinary_day(floor, asked), bench, floor.screens.append)

    assert floor.screens[-1].complete
    stripes = [ask.joint for ask in asked if ask.word is AskWord.STRIPES]
    assert len(stripes) <= len(bench.job.joints)
    assert not [ask for ask in asked if ask.word is AskWord.COVERED]


def ordinary_day(floor, asked):
    """Answers what the screen asks and pulls what it shows next, at a fitter's pace, until nothing is left."""
    while True:
        screen = floor.screens[-1]
        if screen.ask is not None:
            asked.append(screen.ask)
            yield Press(PressWord.YES, name="Runa Veld", ask=screen.ask)
        elif screen.target is not None:
            floor.clock.instant += timedelta(seconds=9 if screen.target.position > 1 else 60)
            yield floor.pull(torque_text(screen.target.band.target))
        else:
            return
