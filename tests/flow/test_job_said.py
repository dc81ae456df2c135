"""What a named person says of a job away from the bench, as typed: what it makes of the record, and what is refused."""

import json

import pytest

from collector.cli.main import main

PLAN = """\
plan: bracket
title: Bracket
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - {id: bolts, name: Bracket bolts, fasteners: 2, torque: 40}
  - {id: clamps, name: Hose clamps, fasteners: 3, torque: not stated}
  - {id: nuts, name: Damper nuts, fasteners: 1, torque: 20, nut: prevailing, drag: measured}
  - {id: plate, name: Back plate bolts, fasteners: 1, torque: 30, prep: anti-seize, critical: yes}
steps:
  - hold point: gap
    ask: Gap at the axle
    sign: lead
    measure: {unit: mm, low: 0, high: 3}
  - torque: [bolts, clamps, nuts, plate]
    after: [gap]
"""
TORQUES = ("40.2", "39.8", "20.5", "30.1")


@pytest.fixture(name="run")
def _run(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))

    def run(*arguments):
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture(name="plan")
def _plan(tmp_path, run):
    """A job with a wrench that is fit."""
    plan = tmp_path / "plan.yaml"
    plan.write_text(PLAN, encoding="utf-8")
    run("wrench", "add", "W-1", "--serial", "4711", "--type", "indicating", "--low", "5", "--high", "100", "--unit", "N·m",
        "--measures", "highest")  # fmt: skip
    run("wrench", "calibrate", "W-1", "--certificate", "C-1", "--on", "2026-01-10", "--due", "2027-01-10")
    assert run("job", "open", plan, "--item", "AB 12", "--fitter", "Oda Kern")[0] == 0
    return plan


@pytest.fixture(name="pulled")
def _pulled(plan, run, tmp_path):
    """The same job with every fastener that has a torque pulled in band, in the order of the plan."""

    def pull():
        times = ("08:00:00", "08:00:08", "08:02:00", "08:04:00")
        rows = "".join(f"2026-03-02T{time}+01:00,W-1,{torque},N·m\n" for time, torque in zip(times, TORQUES, strict=True))
        log = tmp_path / "log.csv"
        log.write_text("time,wrench,torque,unit\n" + rows, encoding="utf-8")
        run("collect", plan, "--from", f"log:{log}")

    return pull


def fasteners(run):
    """Proof and reason of each fastener, by joint and position."""
    out = run("export", "tightenings", "--to", "-")[1]
    import csv
    import io

    rows = list(csv.DictReader(io.StringIO(out.lstrip("\ufeff"))))
    return {(row["joint"], int(row["position"])): (row["proof"], row["why"]) for row in rows}


def said(run, *arguments, by="Leo Lang"):
    return run("job", *arguments, "--by", by)


def test_declared_fasteners_say_tool_value_and_that_they_were_written_by_hand(run, plan):
    said(run, "sign", "1", "--hold-point", "gap", "--value", "1")
    assert said(run, "declare", "1", "--joint", "clamps", "--tool", "screwdriver")[0] == 0
    assert said(run, "declare", "1", "--joint", "bolts", "--values", "40.5,-", "--unit", "N·m", "--tool", "W-9",
                "--on-paper", "2026-11-20 14:05")[0] == 0  # fmt: skip

    there = fasteners(run)
    assert [there["clamps", position] for position in (1, 2, 3)] == [("declared", "declared: screwdriver")] * 3
    assert there["bolts", 1] == (
        "declared", "declared: W-9, 40.5 N·m, written by hand on a work sheet, 2026-11-20 14:05"
    )  # fmt: skip
    assert there["bolts", 2][0] == "missed"


def test_what_is_not_fitted_is_no_hindrance_and_its_reason_stands(run, plan):
    assert said(run, "not-fitted", "1", "--joint", "nuts", "--why", "Part on order")[0] == 0

    assert fasteners(run)["nuts", 1] == ("not fitted", "Part on order")


def test_a_pull_before_what_it_waits_for_is_doubtful_until_the_lead_lets_it_stand(run, pulled):
    pulled()
    assert "torqued before `gap` was signed" in fasteners(run)["bolts", 1][1]

    assert said(run, "sign", "1", "--hold-point", "gap", "--value", "1.5")[0] == 0
    assert "torqued before `gap` was signed" in fasteners(run)["bolts", 1][1], "a late signature heals nothing"
    assert said(run, "decide", "1", "--joint", "bolts", "--as", "let stand", "--why", "Gap was seen before")[0] == 0

    proof, why = fasteners(run)["bolts", 1]
    assert "torqued before `gap` was signed: the lead lets it stand (Gap was seen before)" in why
    assert (proof == "proven") is ("p = " not in why), "what is left, if anything, is how sure the count is"


def test_a_measured_value_outside_its_limits_leaves_the_hold_point_open(run, plan):
    code, _, err = said(run, "sign", "1", "--hold-point", "gap", "--value", "3.01")
    assert (code, "outside the limits" in err) == (1, True)
    assert "hold point `gap` is not signed" in run("job", "show", "1")[1]

    assert said(run, "sign", "1", "--hold-point", "gap", "--value", "3")[0] == 0
    assert "hold point `gap`" not in run("job", "show", "1")[1]


def test_the_preparation_the_drag_and_the_second_person_lift_their_doubts(run, plan, pulled):
    said(run, "sign", "1", "--hold-point", "gap", "--value", "1")
    assert said(run, "drag", "1", "--joint", "nuts", "--value", "0.5", "--unit", "Nm")[0] == 0
    pulled()
    before = fasteners(run)
    assert "preparation (anti-seize) not declared" in before["plate", 1][1]
    assert "no second person has signed" in before["plate", 1][1]
    assert "drag" not in before["nuts", 1][1]

    assert said(run, "prepared", "1", "--joint", "plate", "--lot", "B-77")[0] == 0
    assert said(run, "sign", "1", "--joint", "plate")[0] == 0

    # The tool's own time says that it was pulled before the signature, though the log came in after it.
    first, *others = fasteners(run)["plate", 1][1].split("; ")
    assert first == "torqued before `gap` was signed"
    assert all("p = " in other for other in others), "what is left besides, if anything, is how sure the count is"


def test_a_joint_is_added_with_its_source_and_is_missed_until_it_is_done(run, plan):
    added = ("--id", "extra", "--name", "Extra 'bolts'", "--fasteners", "2", "--torque", "25", "--unit", "N·m")
    assert said(run, "add-joint", "1", *added, "--tolerance", "10 %", "--source", "Maker's sheet 12")[0] == 0

    assert fasteners(run)["extra", 2][0] == "missed"
    assert "Extra 'bolts'" in run("job", "show", "1")[1]


def test_an_opened_joint_begins_again_and_what_was_found_is_kept(run, pulled, tmp_path):
    pulled()
    assert said(run, "as-found", "1", "--joint", "bolts", "--position", "1", "--value", "38", "--unit", "N·m")[0] == 0
    assert said(run, "opened", "1", "--joint", "bolts")[0] == 0

    assert [fasteners(run)["bolts", position][0] for position in (1, 2)] == ["missed", "missed"]


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        pytest.param(
            ("declare", "1", "--joint", "bolt"), "joint `bolt` is not in the plan of this job; it has bolts", id="joint"
        ),
        pytest.param(("declare", "1", "--joint", "bolts", "--position", "3"), "positions 1 to 2, not 3", id="position"),
        pytest.param(("declare", "1", "--joint", "bolts", "--value", "40"), "a value needs its unit", id="no-unit"),
        pytest.param(("declare", "1", "--joint", "bolts", "--value", "4,5", "--unit", "N·m"), "no torque in plain", id="comma"),
        pytest.param(("declare", "1", "--joint", "bolts", "--value", "40", "--unit", "psi"), "--unit psi", id="unit"),
        pytest.param(("declare", "1", "--joint", "bolts", "--values", "40", "--unit", "N·m"), "2 in all", id="values"),
        pytest.param(("decide", "1", "--joint", "bolts", "--as", "let stand"), "takes a reason", id="no-reason"),
        pytest.param(("decide", "1", "--joint", "bolts", "--as", "inspected"), "add --position", id="whole-joint"),
        pytest.param(("drag", "1", "--joint", "bolts", "--value", "1", "--unit", "N·m"), "no measured drag", id="no-drag"),
        pytest.param(("drag", "1", "--joint", "nuts", "--value", "1", "--unit", "lbf·ft"), "the joint is in N·m", id="drag-unit"),
        pytest.param(("sign", "1"), "either --hold-point ID, or --joint ID", id="nothing-signed"),
        pytest.param(("sign", "1", "--hold-point", "gab"), "is not in the plan of this job; it has gap", id="hold-point"),
        pytest.param(("sign", "1", "--hold-point", "gap"), "is measured in mm; add --value", id="no-value"),
        pytest.param(("sign", "1", "--joint", "bolts"), "is not critical in the plan", id="not-critical"),
        pytest.param(("opened", "1", "--joint", "bolts", "--step", "2"), "step 2 of the plan does not open", id="no-such-step"),
        pytest.param(("close", "2"), "there is no job 2", id="no-such-job"),
    ],
)
def test_what_cannot_be_is_one_line_and_changes_nothing(run, plan, arguments, what):
    code, out, err = said(run, *arguments)

    assert (code, out) == (2, "")
    assert what in err
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    "arguments",
    [
        pytest.param(("sign", "1", "--hold-point", "gap", "--value", "1"), id="hold-point-of-the-lead"),
        pytest.param(("sign", "1", "--joint", "plate"), id="second-person"),
        pytest.param(("decide", "1", "--joint", "bolts", "--as", "let stand", "--why", "x"), id="let-stand"),
        pytest.param(("decide", "1", "--joint", "bolts", "--position", "1", "--as", "inspected"), id="over-torque"),
    ],
)
def test_the_fitter_cannot_answer_for_another_person(run, plan, arguments):
    code, _, err = said(run, *arguments, by="oda  kern")

    assert code == 2
    assert "must be another" in err


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        pytest.param(("--id", "bolts", "--torque", "25", "--tolerance", "8 %"), "is in this job already", id="id-taken"),
        pytest.param(("--id", "new", "--torque", "25"), "neither the joint nor the plan has a tolerance", id="no-tolerance"),
        pytest.param(("--id", "new", "--torque", "1,5", "--tolerance", "8 %"), "has a comma", id="comma"),
    ],
)
def test_an_added_joint_goes_by_the_rules_of_a_plan(run, plan, arguments, what):
    rest = ("--name", "x", "--fasteners", "1", "--unit", "N·m", "--source", "Sheet 1")
    code, _, err = said(run, "add-joint", "1", *arguments, *rest)

    assert (code, what in err) == (2, True)


def test_nothing_is_said_of_a_closed_job_and_verify_finds_nothing(run, plan, pulled):
    pulled()
    said(run, "declare", "1", "--joint", "clamps")
    assert said(run, "close", "1")[0] == 0

    assert "is closed" in said(run, "declare", "1", "--joint", "clamps")[2]
    code, out, _ = run("verify", json_db(run), "--json")
    assert (code, json.loads(out).get("altered", False)) == (0, False)


def json_db(run):
    import os

    return os.environ["WITNESSMARK_DB"]


def test_who_pulled_or_had_the_work_in_hand_is_no_second_person_whoever_has_it_now(run, plan, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("time,wrench,torque,unit\n2026-03-02T08:00:00+01:00,W-1,40.2,N·m\n", encoding="utf-8")
    run("collect", plan, "--from", f"log:{log}", "--fitter", "Pia Holt")
    for leaver, taker in (("Oda Kern", "Bo Rask"), ("Bo Rask", "Cy Dahl")):
        assert said(run, "hand-over", "1", "--to", taker, "--yes", by=leaver)[0] == 0
        assert said(run, "take-over", "1", "--yes", by=taker)[0] == 0

    stand = ("decide", "1", "--joint", "bolts", "--as", "let stand", "--why", "seen")
    for name in ("Oda Kern", "pia  HOLT", "Bo Rask", "Cy Dahl"):
        code, _, err = said(run, "sign", "1", "--hold-point", "gap", "--value", "1", by=name)
        assert (code, "must be another person than the fitter" in err) == (2, True)
        assert "must be another person than the fitter" in said(run, *stand, by=name)[2]
    assert said(run, "sign", "1", "--hold-point", "gap", "--value", "1")[0] == 0


def test_who_pulled_on_a_critical_joint_is_not_its_second_person(run, plan, tmp_path):
    log = tmp_path / "log.csv"
    rows = "".join(f"2026-03-02T08:{n:02}:00+01:00,W-1,{torque},N·m\n" for n, torque in enumerate(TORQUES))
    log.write_text("time,wrench,torque,unit\n" + rows, encoding="utf-8")
    run("collect", plan, "--from", f"log:{log}", "--fitter", "Pia Holt")

    assert "must be another one than the fitter" in said(run, "sign", "1", "--joint", "plate", by="Pia Holt")[2]
    assert said(run, "sign", "1", "--joint", "plate")[0] == 0


def test_a_drag_beyond_the_torque_of_the_joint_is_refused(run, plan):
    code, _, err = said(run, "drag", "1", "--joint", "nuts", "--value", "20.1", "--unit", "N·m")

    assert (code, "a drag is less than the joint's own torque" in err) == (2, True)
    assert said(run, "drag", "1", "--joint", "nuts", "--value", "20", "--unit", "N·m")[0] == 0


def test_no_joint_is_added_under_the_name_of_a_hold_point(run, plan):
    added = ("--id", "gap", "--name", "Gap bolts", "--fasteners", "1", "--torque", "25", "--unit", "N·m", "--tolerance", "10 %")

    assert "`gap` is a hold point of this job" in said(run, "add-joint", "1", *added, "--source", "Sheet 12")[2]


ORDER = """\
plan: order
title: Order
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 10 %
joints:
  - {id: bolts, name: Bolts, fasteners: 2, torque: 40}
  - {id: nuts, name: Nuts, fasteners: 1, torque: 60}
steps:
  - torque: bolts
  - hold point: gap
    ask: Gap?
    sign: lead
    after: [bolts]
  - open: bolts
    after: [gap]
  - torque: bolts
  - torque: nuts
    after: [gap]
"""


def test_a_hold_point_and_an_opening_wait_for_what_the_plan_has_before_them(run, plan, tmp_path):
    plan.write_text(ORDER, encoding="utf-8")
    run("job", "open", plan, "--item", "AB 12", "--fitter", "Oda Kern")
    opened = ("opened", "2", "--joint", "bolts", "--step", "3")

    assert "waits until `bolts` was done; do that first" in said(run, "sign", "2", "--hold-point", "gap")[2]
    assert "step 3 waits until `gap` was signed; do that first" in said(run, *opened)[2]
    log = tmp_path / "log.csv"
    rows = "".join(f"2026-03-02T08:{n:02}:00+01:00,W-1,40,N·m\n" for n in range(2))
    log.write_text("time,wrench,torque,unit\n" + rows, encoding="utf-8")
    run("collect", plan, "--from", f"log:{log}", "--job", "2")
    assert said(run, "sign", "2", "--hold-point", "gap")[0] == 0
    said(run, "opened", "2", "--joint", "bolts", "--position", "1")
    assert "step 3 opens `bolts` once it was done, and it is not" in said(run, *opened, "--position", "1")[2]
    assert said(run, *opened, "--position", "2")[0] == 0
