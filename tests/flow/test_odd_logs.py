"""Logs that are odd in one way each, through `collect`: nothing is lost, and nothing is sure that cannot be."""

import json

import pytest

from collector.cli.main import main

HEAD = """\
plan: rail
title: Rail
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 8 %
joints:
"""
PLAN = HEAD + """\
  - {id: J01, name: Rail bolts, fasteners: 3, torque: 95}
  - {id: J02, name: Cover bolts, fasteners: 2, torque: 25}
"""
ALIKE = HEAD + """\
  - {id: J01, name: Left bolts, fasteners: 3, torque: 60}
  - {id: J02, name: Middle bolts, fasteners: 3, torque: 60}
  - {id: J03, name: Right bolts, fasteners: 3, torque: 60}
"""
ANGLED = HEAD + """\
  - {id: J01, name: Head bolts, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10}
  - {id: J02, name: Pin, fasteners: 1, torque: not stated}
"""


def collect(folder, capsys, text, plan=PLAN, *more):
    (folder / "plan.yaml").write_text(plan, encoding="utf-8")
    (folder / "log.csv").write_text(text, encoding="utf-8")
    source = ["--from", f"log:{folder / 'log.csv'}", "--db", str(folder / "a.db"), "--json"]
    code = main(["collect", str(folder / "plan.yaml"), *source, *more])
    out, err = capsys.readouterr()
    return code, json.loads(out) if out else None, err


def timed(*torques, step=10, start=600, wrench="W-140"):
    at = [start + step * n for n in range(len(torques))]
    return "time,wrench,torque,unit,seq\n" + "".join(
        f"2026-03-02T08:{s // 60:02d}:{s % 60:02d}+01:00,{wrench},{torque},Nm,{n}\n"
        for n, (s, torque) in enumerate(zip(at, torques, strict=True), 1)
    )  # fmt: skip


def untimed(*torques):
    return "torque,unit\n" + "".join(f"{torque},Nm\n" for torque in torques)


def kinds(answer):
    return [row["kind"] for row in answer["readings"]]


@pytest.mark.parametrize("count", [5, 8, 9, 12])
def test_joints_that_nothing_tells_apart_are_never_called_whole_nor_their_readings_sure(tmp_path, capsys, count):
    code, answer, _ = collect(tmp_path, capsys, untimed(*["60"] * count), ALIKE)

    assert (code, answer["complete"]) == (1, False)
    assert answer["p_complete"] < 0.99
    assert all(row["p_complete"] < 0.99 for row in answer["joints"]) or answer["p_complete"] < 0.99
    # The first pull at a joint could as well be the last one of the joint before it.
    assert all(row["p"] < 0.999 for row in answer["readings"] if row["position"] == 1 and row["joint"] != "J01")


def test_a_log_of_nothing_in_the_plan_says_so_in_one_line(tmp_path, capsys):
    code, answer, err = collect(tmp_path, capsys, timed("300", "310", "305"))

    assert code == 1
    assert kinds(answer) == ["stray"] * 3
    assert [line for line in err.splitlines() if "none of these readings belongs to plan `rail`" in line] == err.splitlines()


def test_an_empty_log_is_refused_in_one_line(tmp_path, capsys):
    code, answer, err = collect(tmp_path, capsys, "time,wrench,torque,unit,seq\n")

    assert (code, answer) == (2, None)
    assert "no rows" in err
    assert err.count("\n") == 1


def test_one_reading_alone_is_placed_and_everything_else_is_missed(tmp_path, capsys):
    code, answer, _ = collect(tmp_path, capsys, timed("95"))

    assert code == 1
    assert [(row["joint"], row["position"], row["verdict"]) for row in answer["readings"]] == [("J01", 1, "in band")]
    assert sum(row["missed"] for row in answer["joints"]) == 4
    assert answer["p_complete"] < 0.01


def test_above_the_range_of_the_tool_in_the_middle_of_a_joint_is_over(tmp_path, capsys):
    _, answer, _ = collect(tmp_path, capsys, timed("95", "OL", "95", "25", "25"))

    assert (answer["readings"][1]["joint"], answer["readings"][1]["verdict"]) == ("J01", "over")
    assert answer["joints"][0]["proof"] == "failed"


def test_a_pull_to_the_left_opens_what_was_pulled_before_it(tmp_path, capsys):
    _, answer, _ = collect(tmp_path, capsys, timed("95", "95", "-30", "95", "95", "25", "25"))

    assert kinds(answer)[2] == "loosening"
    assert [row["position"] for row in answer["readings"][:5]] == [1, 2, 2, 2, 3]
    assert sum(row["missed"] for row in answer["joints"]) == 0


def test_times_that_run_backwards_lose_no_reading(tmp_path, capsys):
    _, answer, _ = collect(tmp_path, capsys, timed("95", "95", "95", "25", "25", step=-10))

    assert [row["joint"] for row in answer["readings"]] == ["J01"] * 3 + ["J02"] * 2
    assert kinds(answer) == ["tightening"] * 5


def test_two_wrenches_one_among_the_other_are_each_followed(tmp_path, capsys):
    one, other = timed("95", "95", "95", step=20), timed("25", "25", step=20, start=610, wrench="W-25")
    rows = sorted((one + other.partition("\n")[2]).splitlines()[1:])

    _, answer, _ = collect(tmp_path, capsys, "\n".join(("time,wrench,torque,unit,seq", *rows, "")))

    assert [row["joint"] for row in answer["readings"]] == ["J01", "J02", "J01", "J02", "J01"]
    assert sum(row["missed"] for row in answer["joints"]) == 0


def test_an_angle_is_a_stage_of_its_own_and_an_unstated_torque_waits_for_no_reading(tmp_path, capsys):
    rows = [("80", "31"), ("81", "30"), ("120", "90"), ("124", "91")]
    text = "time,wrench,torque,unit,seq,angle\n" + "".join(
        f"2026-03-02T08:00:{n * 10:02d}+01:00,W-140,{torque},Nm,{n},{turned}\n" for n, (torque, turned) in enumerate(rows)
    )

    _, answer, _ = collect(tmp_path, capsys, text, ANGLED)

    assert [(row["joint"], row["stage"], row["position"]) for row in answer["readings"]] == [
        ("J01", 1, 1), ("J01", 1, 2), ("J01", 2, 1), ("J01", 2, 2),
    ]  # fmt: skip
    assert {row["verdict"] for row in answer["readings"]} == {"in band"}
    assert not answer["complete"]
