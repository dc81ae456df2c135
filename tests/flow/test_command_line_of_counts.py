"""What the command line tells of counts and places: numbers where the answer promises numbers, and every revision in the open."""

import io
import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest

from collector.cli.collect import note_gap
from collector.cli.main import main
from collector.expect.habits import USUAL
from collector.expect.learned import Set
from collector.expect.probable import Probable

DATA = Path(__file__).parents[1] / "data"
PLAN = """\
plan: {plan}
title: Two joints
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 8 %
joints:
  - {{id: J01, name: Bracket bolts, fasteners: 3, torque: {torque}, stages: [50, 100]}}
  - {{id: J02, name: Cover bolts, fasteners: 2, torque: 25}}
"""
ROWS = "time,wrench,torque,unit\n2026-03-02T08:00:00+01:00,W-1,{0},Nm\n2026-03-02T08:00:09+01:00,W-1,{1},Nm\n"


@pytest.fixture(name="shop")
def _shop(tmp_path):
    def write(plan, torque=95, file=None):
        path = tmp_path / f"{file or plan}.yaml"
        path.write_text(PLAN.format(plan=plan, torque=torque), encoding="utf-8")
        return str(path)

    return write


@pytest.fixture(name="collect")
def _collect(tmp_path, capsys):
    def collect(rows, *arguments):
        (tmp_path / "log.csv").write_text(rows, encoding="utf-8")
        code = main(["collect", *arguments, "--from", f"log:{tmp_path / 'log.csv'}", "--db", str(tmp_path / "a.db"), "--json"])
        out, err = capsys.readouterr()
        return code, json.loads(out) if out else None, err

    return collect


def entries(database):
    with closing(sqlite3.connect(database)) as db:
        return [kind for (kind,) in db.execute("SELECT json_extract(entry, '$.kind') FROM ledger ORDER BY seq")]


def test_a_log_of_which_nothing_could_be_read_counts_as_nought_in_numbers(shop, collect):
    code, answer, _ = collect(ROWS.format('"95,400"', '"25,100"'), shop("bracket"))

    assert code == 1
    assert [row["line"] for row in answer["set_aside"]] == [2, 3]
    assert answer["readings"] == []
    assert answer["p_complete"] == 0.0
    assert [(row["id"], row["stage"], row["p_complete"]) for row in answer["joints"]] == [
        ("J01", 1, 0.0),
        ("J01", 2, 0.0),
        ("J02", 1, 0.0),
    ]


def test_one_plan_named_twice_is_refused_before_anything_is_recorded(shop, collect, tmp_path):
    code, answer, err = collect(ROWS.format("95", "25"), shop("bracket"), "--also", shop("bracket", file="copy"))

    assert (code, answer) == (2, None)
    assert "plan `bracket` is named twice" in err
    assert not (tmp_path / "a.db").exists()


def test_where_the_second_job_cannot_go_on_the_first_is_not_read_in_either(shop, collect, tmp_path):
    collect(ROWS.format("60", "25"), shop("rail", 60))
    before = entries(tmp_path / "a.db")

    code, answer, err = collect(ROWS.format("95", "60"), shop("bracket"), "--also", shop("rail", 61))

    assert (code, answer) == (2, None)
    assert "of plan `rail`" in err
    assert entries(tmp_path / "a.db") == [*before, "session"]


@pytest.mark.parametrize(
    ("moved", "told"),
    [
        pytest.param(0, None, id="none"),
        pytest.param(1, "1 earlier reading was placed anew in the light of all;", id="one"),
        pytest.param(3, "3 earlier readings were placed anew in the light of all;", id="three"),
    ],
)
def test_closing_says_how_many_readings_it_placed_anew(tmp_path, capsys, monkeypatch, moved, told):
    # How many the matcher moves is its own affair.
    monkeypatch.setattr("collector.cli.job.place_all", lambda *_: moved)
    old = shutil.copy(DATA / "schema-3.db", tmp_path / "old.db")

    code = main(["job", "close", "1", "--by", "Runa Veld", "--db", str(old)])

    err = capsys.readouterr().err
    assert code == 0
    assert "job 1 is closed" in err
    assert (told or "job 1") in err
    assert ("placed anew" in err) == bool(moved)


@pytest.mark.parametrize(
    ("moved", "told"),
    [
        pytest.param(0, None, id="none"),
        pytest.param(1, "; 1 reading placed anew\n", id="one"),
        pytest.param(2, "; 2 readings placed anew\n", id="two"),
    ],
)
def test_an_answer_in_a_review_says_how_many_readings_it_moved(tmp_path, capsys, monkeypatch, moved, told):
    old = shutil.copy(DATA / "schema-3.db", tmp_path / "old.db")
    monkeypatch.setattr("collector.cli.job_review.place_all", lambda *_: moved)
    monkeypatch.setattr("sys.stdin", io.StringIO("y\n"))

    main(["job", "review", "1", "--by", "Runa Veld", "--db", str(old)])

    err = capsys.readouterr().err
    assert (told or "recorded: ") in err
    assert ("placed anew" in err) == bool(moved)


@pytest.mark.parametrize(
    ("numbers", "told"),
    [
        pytest.param([5], "reading 5 looks otherwise than on record", id="one"),
        pytest.param([5, 7], "readings 5, 7 look otherwise than on record", id="two"),
    ],
)
def test_going_on_says_which_readings_look_otherwise_now(capsys, monkeypatch, numbers, told):
    monkeypatch.setattr(Probable, "differing", lambda *_: numbers)
    bench = SimpleNamespace(matcher=Probable(Set(USUAL)), job=SimpleNamespace(joint_in_hand=None))

    note_gap(bench, "serial:port")

    assert told in capsys.readouterr().err
