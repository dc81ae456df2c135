"""Habits are shown, learned and forgotten through the command line; a later job is matched by them, an earlier one stays."""

import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import asdict
from importlib.resources import files

import pytest

from collector.cli.main import main
from collector.expect.habits import USUAL
from schemas.bodies import Decided, HabitsLearned, JobClosed
from schemas.screen import Press, PressWord

PLAN = """\
plan: axle
title: Box trailer, axle
revision: "1"
source: Shop procedure 9, section 2
unit: N·m
tolerance: 10 %
joints:
""" + "".join(f"  - {{id: {name}, name: Bolts {name}, fasteners: 5, torque: 100}}\n" for name in "abcdef")  # fmt: skip
BRACKET = """\
plan: bracket
title: Bracket
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 8 %
joints:
  - {id: J01, name: Bracket bolts, fasteners: 3, torque: 95}
  - {id: J02, name: Cover bolts, fasteners: 2, torque: 100}
"""
# The third pull may be a second click, or the next bolt.
PULLS = ((0, "95"), (9, "96"), (3, "94"), (11, "95"), (40, "99"), (6, "101"))


@pytest.fixture(name="run")
def _run(monkeypatch, capsys):
    """Runs a command; gives exit code, standard output and standard error."""

    def run(*arguments):
        capsys.readouterr()
        return main(list(arguments)), *capsys.readouterr()

    return run


@pytest.fixture(name="lived", scope="module")
def _lived(tmp_path_factory):
    """The database of a simulated day, whose job is closed."""
    folder = tmp_path_factory.mktemp("lived")
    plan = folder / "rear-axle.yaml"
    plan.write_bytes(files("sim.workshop").joinpath("rear-axle.yaml").read_bytes())
    database = folder / "audit.db"
    assert main(["collect", str(plan), "--from", "sim:rear-axle", "--pace", "0", "--db", str(database)]) == 1
    assert main(["job", "close", "1", "--by", "Runa Veld", "--db", str(database)]) == 0
    return database


@pytest.fixture(name="day")
def _day(lived, tmp_path, monkeypatch):
    """A copy of it, which the commands find by themselves."""
    copy = tmp_path / "audit.db"
    shutil.copy(lived, copy)
    monkeypatch.setenv("WITNESSMARK_DB", str(copy))
    return copy


@pytest.fixture(name="shop")
def _shop(floor, monkeypatch):
    """A workshop whose one job, a real one, is done, counted joint by joint, and still open."""
    monkeypatch.setenv("WITNESSMARK_DB", str(floor.path))
    floor.text = PLAN
    with floor.recorder() as recorder:
        bench, left = floor.bench(recorder), 30
        floor.run(bench)
        while left or floor.screens[-1].ask:
            ask = floor.screens[-1].ask
            floor.run(bench, Press(PressWord.YES, ask=ask) if ask else floor.pull(100))
            left -= not ask
    return floor


def close(shop, job="1"):
    with shop.recorder() as recorder, recorder.transaction():
        recorder.load_job(job)
        recorder.append(JobClosed(job))


def shown(run):
    return json.loads(run("habits", "show", "--json")[1])


def learn(run, *more):
    return run("habits", "learn", "--by", "Runa Veld", *more)


def rows(path, sql, *values):
    with closing(sqlite3.connect(path)) as db:
        return db.execute(sql, values).fetchall()


def entries(path, kind):
    found = rows(path, "SELECT seq, entry FROM ledger WHERE json_extract(entry, '$.kind') = ? ORDER BY seq", kind)
    return {seq: json.loads(text)["body"] for seq, text in found}


def collect(run, folder, day, job=None):
    """The answer of a log with the same pulls on that day, in a job of its own."""
    (folder / "bracket.yaml").write_text(BRACKET, encoding="utf-8")
    log, at_s, lines = folder / f"{day}.csv", 0, ["time,wrench,torque,unit"]
    for pause_s, torque in PULLS:
        at_s += pause_s
        lines.append(f"2026-03-{day:02}T08:{at_s // 60:02}:{at_s % 60:02}+01:00,W-9,{torque},Nm")
    log.write_text("\n".join(lines) + "\n", encoding="utf-8")
    more = ("--job", job) if job else ()
    return json.loads(run("collect", str(folder / "bracket.yaml"), "--from", f"log:{log}", "--json", *more)[1])


def test_every_figure_is_shown_with_where_it_comes_from_and_its_reason(day, run):
    code, out, _ = run("habits", "show")

    lines = out.splitlines()
    assert (code, lines[0]) == (0, "the figures that come with the program; nothing was learned yet")
    assert len(lines) == 1 + len(asdict(USUAL))
    assert (
        "  again_s = 1.8 (the program): A second click on the same fastener comes at once, before the socket is moved." in lines
    )


def test_show_as_json_holds_the_same(day, run):
    told = shown(run)

    assert (told["version"], told["entry"], told["jobs"]) == (0, None, [])
    assert {row["name"]: row["value"] for row in told["figures"]} == asdict(USUAL)
    assert all(row["reason"] and row["version"] == 0 for row in told["figures"])


def test_learning_of_a_simulated_day_says_so_and_leaves_a_file_that_verifies(day, run):
    code, out, err = learn(run, "--simulated")

    (seq, body), = entries(day, "habits").items()  # fmt: skip
    assert (code, body["version"], body["jobs"]) == (0, 1, ["1"])
    assert body["method"].startswith("SIMULATED: medians and robust deviations of ")
    assert out.startswith("version 1: SIMULATED: ")
    assert f"  next_s: 8 becomes {float(body['figures']['next_s']):g}\n" in out
    assert f"is entry {seq};" in err
    assert run("verify", str(day))[0] == 0
    told = shown(run)
    assert (told["version"], told["entry"], told["by"], told["simulated"]) == (1, seq, "Runa Veld", 1)
    assert {row["name"] for row in told["figures"] if row["version"]} == set(body["figures"])
    assert run("habits", "show")[1].splitlines()[0].endswith(" SIMULATED")


def test_the_version_counts_up_and_forgetting_is_a_version_of_its_own(day, run):
    learn(run, "--simulated")
    learn(run, "--simulated", "--job", "1", "--job", "1")

    code, out, _ = run("habits", "forget", "--by", "Runa Veld")

    assert code == 0
    assert out.startswith("version 3: back to the figures that come with the program\n  ")
    found = list(entries(day, "habits").values())
    assert [body["version"] for body in found] == [1, 2, 3]
    assert [body["jobs"] for body in found] == [["1"], ["1"], []]
    # Learned anew from the same jobs it is the same set: what was learned before does not add to itself.
    assert found[0]["figures"] == found[1]["figures"]
    assert {row["name"]: row["value"] for row in shown(run)["figures"]} == asdict(USUAL)
    assert run("habits", "show")[1].startswith("version 3 (entry ")
    assert run("verify", str(day))[0] == 0


def test_there_is_nothing_to_forget_where_nothing_was_learned(day, run):
    code, _, err = run("habits", "forget", "--by", "Runa Veld")

    assert (code, err.count("\n")) == (2, 1)
    assert "there is nothing to forget" in err


def test_a_dry_run_prints_what_would_change_and_leaves_the_file_as_it_is(day, run):
    before = day.read_bytes()

    code, out, err = learn(run, "--simulated", "--dry-run")

    assert (code, day.read_bytes() == before) == (0, True)
    assert "  next_s: 8 becomes " in out
    assert "nothing was recorded" in err


def test_a_set_learned_from_simulated_jobs_matches_no_real_one_and_changes_no_earlier_record(day, run, tmp_path):
    first = collect(run, tmp_path, 2)
    run("job", "close", "2", "--by", "Runa Veld")
    tables = ("job", "joint", "reading", "fastener")
    before = {table: rows(day, f"SELECT * FROM {table} WHERE job = '2'") for table in tables}
    learn(run, "--simulated")
    later = collect(run, tmp_path, 3)

    counts = [body for body in entries(day, "count").values() if body["job"] in ("2", "3")]
    assert {(body["job"], body.get("habits")) for body in counts} == {("2", None), ("3", None)}
    assert [row["joint"] for row in first["readings"]] == [row["joint"] for row in later["readings"]]
    assert first["p_complete"] == later["p_complete"]
    assert run("rebuild", str(day))[0] == 0
    assert {table: rows(day, f"SELECT * FROM {table} WHERE job = '2'") for table in tables} == before
    assert run("verify", str(day))[0] == 0


def test_a_job_that_is_worked_live_is_matched_by_the_learned_set(day, lived, run):
    learn(run, "--simulated")
    (seq,) = entries(day, "habits")

    run("collect", str(lived.with_name("rear-axle.yaml")), "--from", "sim:rear-axle", "--pace", "0")

    named = {(body["job"], body.get("habits")) for body in entries(day, "count").values()}
    assert named == {("1", None), ("2", seq)}


def test_a_simulated_job_is_left_out_unless_it_is_asked_for(day, run):
    code, out, err = learn(run)

    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "no real job is closed" in err
    assert entries(day, "habits") == {}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        pytest.param(("--job", "7", "--simulated"), "there is no job 7 in this database", id="no-such-job"),
        pytest.param(("--job", "1"), "job 1 is a simulated one, and the two are never mixed; add --simulated", id="simulated"),
        pytest.param(("--job", "2", "--simulated"), "job 2 is a real one", id="real"),
        pytest.param(("--job", "3"), "job 3 is open; habits are learned from closed jobs", id="open"),
        pytest.param((), "nothing is confirmed in job 2: a person has to count a joint", id="nobody-counted"),
    ],
)
def test_what_cannot_be_learned_from_is_refused_in_one_line(day, run, tmp_path, more, said):
    collect(run, tmp_path, 2)
    run("job", "close", "2", "--by", "Runa Veld")
    collect(run, tmp_path, 3)

    code, out, err = learn(run, *more)

    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err
    assert entries(day, "habits") == {}


def test_a_real_job_is_learned_from_without_being_named(shop, run):
    close(shop)

    code, out, _ = learn(run)

    (body,) = entries(shop.path, "habits").values()
    assert (code, body["jobs"], "SIMULATED" in out) == (0, ["1"], False)
    assert "30 readings of 6 confirmed joints" in body["method"]
    assert "simulated" not in shown(run)


def test_a_joint_that_was_opened_again_since_is_not_learned_from(shop, run):
    with shop.recorder() as recorder:
        recorder.load_job("1")
        with recorder.transaction():
            for joint in "abcd":
                recorder.append(Decided("1", "opened", joint))
    close(shop)

    code, _, err = learn(run)

    assert code == 2
    assert "10 readings of 2 confirmed joints are too few for any figure" in err


def test_many_jobs_are_counted_and_a_figure_that_is_not_known_any_more_is_left_out(floor, run, monkeypatch):
    monkeypatch.setenv("WITNESSMARK_DB", str(floor.path))
    with floor.recorder() as recorder, recorder.transaction():
        recorder.append(HabitsLearned(4, {"next_s": "7.250", "hurry": "3"}, tuple(map(str, range(1, 16))), "medians"))

    out = run("habits", "show")[1]

    assert "learned from jobs 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 3 more: medians\n" in out
    assert "  next_s = 7.25 (version 4; the program: 8): From one fastener to the next" in out
    assert "hurry" not in out


def test_no_file_is_made_where_there_is_none(tmp_path, run):
    database = tmp_path / "none.db"

    for action in (["show"], ["learn", "--by", "Runa Veld"], ["forget", "--by", "Runa Veld"]):
        assert run("habits", *action, "--db", str(database))[0] == 2

    assert not database.exists()
