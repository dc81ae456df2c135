"""`plan check` as its users type it: what it prints, its JSON, its exit, and what the database and the settings add to it."""

import json
import subprocess
import sys

import pytest

from collector.cli.main import main

SOUND = """\
plan: hubs
title: Hubs
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 10 %
joints:
  - {id: flange, name: Flange bolts, fasteners: 8, torque: 40, thread: M10, grade: "8.8", prep: dry}
  - id: caps
    name: Cap screws
    fasteners: 6
    torque: 9
    thread: M6
    grade: "8.8"
    prep: oil
    basis: as prepared
"""
SLIPPED = SOUND.replace("torque: 9\n", "torque: 90\n")
ACCEPTED = SLIPPED.replace(
    "joints:\n", "accepted:\n  - {finding: over-proof-load, joints: [caps], reason: Sheet 9 means it}\njoints:\n"
)


@pytest.fixture(name="run")
def _run(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))
    monkeypatch.chdir(tmp_path)

    def run(*arguments, plan=None):
        if plan is not None:
            (tmp_path / "hubs.yaml").write_text(plan, encoding="utf-8")
        code = main(list(arguments))
        out, err = capsys.readouterr()
        return code, out, err

    return run


def answer(run, plan):
    code, out, _ = run("plan", "check", "hubs.yaml", "--json", plan=plan)
    told = json.loads(out)
    assert told["format"] == 1
    return code, told["findings"], told["not_checked"]


def add_wrench(run, *more):
    return run(
        "wrench", "add", "W-1", "--serial", "4711", "--type", "indicating", "--low", "5", "--high", "39", "--unit", "Nm",
        "--measures", "highest", *more,
    )  # fmt: skip


def test_a_sound_plan_ends_with_what_was_looked_at_and_what_was_not(run):
    code, out, err = run("plan", "check", "hubs.yaml", plan=SOUND)

    assert (code, err) == (0, "")
    wrenches, units, last = out.splitlines()
    assert (
        wrenches
        == "hubs.yaml: not checked: range and precision of the wrench, 2 joints (flange and caps): no wrench is registered"
    )
    # 9 lbf·ft would be above the proof load of the cap screws, so their unit stands.
    assert units.startswith("hubs.yaml: not checked: unit of the torque, flange: the unit could not be cross-checked: ")
    assert last.startswith("hubs.yaml: nothing wrong found: 14 fasteners in 2 joints (this is plausibility, not joint design: ")


def test_a_finding_is_a_few_lines_that_say_what_why_and_what_to_do(run):
    code, out, _ = run("plan", "check", "hubs.yaml", plan=SLIPPED)

    assert code == 1
    where, what, why, remedy, *_, last = out.splitlines()
    assert where == "hubs.yaml, line 12, caps: over-proof-load (warning)"
    assert what.startswith("    90 N·m on M6x1, class 8.8, oil, gives ")
    assert what.endswith("; 90 lbf·in or 9 N·m would be usual")
    assert why.startswith("    why: Beyond its proof load")
    assert remedy == "    what to do: compare it with the source that the plan names; the maker's value rules"
    assert last.startswith("hubs.yaml: 0 errors and 1 warning open (")


def test_what_the_plan_accepts_comes_after_with_its_reason_and_exit_is_clean(run):
    code, out, _ = run("plan", "check", "hubs.yaml", plan=ACCEPTED)

    assert code == 0
    assert "hubs.yaml, line 14, caps: over-proof-load (accepted)" in out
    assert "    accepted: Sheet 9 means it" in out
    assert "nothing wrong found: 14 fasteners in 2 joints; 1 accepted" in out
    assert "why:" not in out
    code, [found], _ = answer(run, ACCEPTED)
    assert (code, found["accepted"], found["level"]) == (0, "Sheet 9 means it", "warning")


def test_json_has_the_fields_of_each_finding(run):
    code, [found], not_checked = answer(run, SLIPPED)

    assert code == 1
    assert set(found) == {"id", "level", "joint", "joints", "line", "place", "what", "why", "remedy"}
    assert (found["id"], found["joint"], found["joints"], found["line"]) == ("over-proof-load", "caps", ["caps"], 12)
    assert not_checked[0].startswith("range and precision of the wrench, 2 joints")


def test_an_error_of_structure_is_a_finding_and_the_rest_was_not_checked(run):
    wrong = SOUND.replace("fasteners: 6", "fasteners: 0").replace("prep: oil", "prep: oil\n    stages: [50]")

    code, findings, not_checked = answer(run, wrong)

    assert code == 1
    assert [(found["id"], found["level"], found["joint"], found["line"]) for found in findings] == [
        ("field", "error", "caps", 11)
    ]
    assert findings[0]["remedy"].startswith("write a whole number")
    assert not_checked == ["everything else: it is checked once these errors are put right"]
    assert "1 error and 0 warnings open\n" in run("plan", "check", "hubs.yaml")[1]


def test_a_plan_that_is_missing_is_no_finding(run):
    code, out, err = run("plan", "check", "none.yaml")

    assert (code, out) == (2, "")
    assert "none.yaml: cannot be read" in err


def test_a_plan_in_a_table_is_told_by_cell(run, tmp_path):
    (tmp_path / "hubs.csv").write_text(
        "id,name,fasteners,torque,unit,tolerance,thread,grade,prep\n"
        "flange,Flange bolts,8,40,N·m,10 %,M10,8.8,dry\ncaps,Cap screws,6,900,N·m,10 %,M6,8.8,dry\n",
        encoding="utf-8",
    )

    code, out, err = run("plan", "check", "hubs.csv")

    assert code == 1
    assert out.startswith("hubs.csv, line 3, cell D3, caps: over-proof-load (warning)\n")
    assert "hubs.csv: note: " in err


def test_the_register_adds_ranges_and_a_torque_that_none_covers_stops_a_job(run):
    add_wrench(run)

    code, [found], not_checked = answer(run, SOUND)

    assert (code, found["id"], found["level"]) == (1, "no-wrench-covers", "error")
    assert not any("wrench" in line for line in not_checked)
    code, out, err = run("job", "open", "hubs.yaml", "--item", "AB 12")
    assert (code, out) == (2, "")
    assert "joint flange: no registered wrench covers 40 N·m of stage 1" in err


def test_a_job_may_be_opened_on_warnings_and_says_how_many_are_open(run):
    assert "finding" not in run("job", "open", "hubs.yaml", "--item", "AB 12", plan=SOUND)[2]

    code, out, err = run("job", "open", "hubs.yaml", "--item", "AB 12", plan=SLIPPED.replace("plan: hubs", "plan: caps"))

    assert (code, out) == (0, "2\n")
    assert "hubs.yaml: 1 finding open, kept with the job; read it with `witnessmark plan check`" in err


def test_an_earlier_revision_in_the_database_is_compared(run):
    run("job", "open", "hubs.yaml", "--item", "AB 12", plan=SOUND)

    later = SOUND.replace('revision: "1"', 'revision: "2"')
    assert answer(run, later)[:2] == (0, [])
    assert not any(line.startswith("unit of the torque") for line in answer(run, later)[2])
    code, [found], _ = answer(run, later.replace("torque: 40", "torque: 54.2"))

    assert (code, found["id"], found["joint"]) == (1, "unlike-earlier-revision", "flange")
    assert found["what"] == "54.2 N·m here, 40 N·m in revision 1: the factor of 1.356, as between N·m and lbf·ft"


def test_the_shops_own_k_comes_from_the_settings(run, tmp_path):
    assert answer(run, SOUND)[1] == []

    (tmp_path / "settings.toml").write_text('[k]\noil = "0.06 to 0.09"\n', encoding="utf-8")
    assert [found["id"] for found in answer(run, SOUND)[1]] == ["over-proof-load"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param('[k]\noil = "slippery"\n', "[k] `oil`: `slippery` is no range of K", id="no-range"),
        pytest.param("[k]\noil = 0.1\n", "`k`: not a setting of this version", id="number"),
        pytest.param("k = 1\n", "`k`: not a setting of this version", id="no-table"),
    ],
)
def test_settings_of_k_that_cannot_be_are_refused_in_one_line(run, tmp_path, text, said):
    (tmp_path / "settings.toml").write_text(text, encoding="utf-8")

    code, out, err = run("plan", "check", "hubs.yaml", plan=SOUND)

    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err


def test_the_installed_command_says_the_same(run):
    run("plan", "check", "hubs.yaml", plan=SLIPPED)

    done = subprocess.run(
        [sys.executable, "-m", "collector.cli.main", "plan", "check", "hubs.yaml", "--json"],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip

    assert (done.returncode, done.stderr) == (1, "")
    assert json.loads(done.stdout)["findings"] == answer(run, SLIPPED)[1]


def test_what_stands_open_on_the_plan_is_kept_with_the_job_and_in_its_report(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))
    plan = tmp_path / "plan.yaml"
    plan.write_text(
        "plan: hub\ntitle: Hub\nrevision: '1'\nsource: Sheet 2\nunit: N·m\ntolerance: 10 %\n"
        "joints:\n  - {id: nuts, name: Wheel nuts, fasteners: 5, torque: 110, wheel: yes}\n",
        encoding="utf-8",
    )

    assert main(["job", "open", str(plan), "--item", "AB 12"]) == 0
    assert "1 finding open, kept with the job" in capsys.readouterr().err
    main(["job", "show", "1"])
    assert "1 finding of the plan check stood open when the job was opened" in capsys.readouterr().out
    main(["job", "report", "1", "--to", str(tmp_path / "job.html")])
    assert "wheel-without-retorque: nuts: it holds a wheel" in (tmp_path / "job.html").read_text(encoding="utf-8")

    assert main(["plan", "accept", str(plan), "--finding", "wheel-without-retorque", "--reason", "On the invoice"]) == 0
    main(["job", "open", str(plan), "--item", "CD 34"])
    main(["job", "show", "2"])
    assert "stood open" not in capsys.readouterr().out


def test_a_table_that_counts_no_fasteners_has_one_a_row_and_that_is_asked(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text("joint,target,low,high,unit\nA1,25,24,26,Nm\nA2,30,28,32,Nm\n", encoding="utf-8")

    assert main(["plan", "check", "list.csv", "--db", "none.db", "--json"]) == 1
    out, err = capsys.readouterr()
    (found,) = json.loads(out)["findings"]
    assert (found["id"], found["level"], found["joint"], found["place"]) == ("count-not-stated", "warning", None, "line 1")
    assert "no column says how many fasteners a joint has: each row is taken as one" in err

    assert main(["plan", "export", "list.csv", "--to", "list.yaml"]) == 0
    assert main(["plan", "accept", "list.yaml", "--finding", "count-not-stated", "--reason", "One bolt a row"]) == 0
    capsys.readouterr()
    assert main(["plan", "check", "list.yaml", "--db", "none.db"]) == 0
    assert "2 fasteners in 2 joints" in capsys.readouterr().out

    (tmp_path / "list.csv").write_text("joint,qty,low,high,unit\nA1,4,24,26,Nm\n", encoding="utf-8")
    assert main(["plan", "check", "list.csv", "--db", "none.db"]) == 0
