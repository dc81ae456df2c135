"""A readings log through `collect --from log:`: the answer, what is set aside, what is refused, what is stored once."""

import json
from datetime import datetime, timedelta

import pytest

from collector.cli.main import main

PLAN = """\
plan: bracket
title: Bracket
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 8 %
joints:
  - {id: J01, name: Bracket bolts, fasteners: 2, torque: 95, stages: [50, 100]}
  - {id: J02, name: Cover bolts, fasteners: 2, torque: 25}
"""
HEADER = "time,wrench,torque,unit,seq\n"


@pytest.fixture(name="shop")
def _shop(tmp_path):
    (tmp_path / "plan.yaml").write_text(PLAN, encoding="utf-8")
    return tmp_path


def collect(shop, capsys, text, *more):
    """Exit code, answer, and what was said on standard error."""
    log = shop / "log.csv"
    if text is not None:
        log.write_bytes(text if isinstance(text, bytes) else text.encode())
    code = main(["collect", str(shop / "plan.yaml"), "--from", f"log:{log}", "--json", "--db", str(shop / "a.db"), *more])
    out, err = capsys.readouterr()
    return code, json.loads(out) if out else None, err


def rows(*torques):
    """A log with eight seconds from one fastener to the next, and a minute and a half where another torque follows."""
    lines, at = [HEADER], datetime.fromisoformat("2026-03-02T08:00:00+01:00")
    for n, torque in enumerate(torques, 1):
        before = torques[n - 2] if n > 1 else torque
        is_same = {torque, before} & {"bad"} or abs(float(torque) - float(before)) < 0.1 * float(before)
        at += timedelta(seconds=8 if is_same else 90)
        lines.append(f"{at.isoformat()},W-140,{torque},Nm,{n}\n")
    return "".join(lines)


def test_a_whole_log_is_placed_judged_and_left_doubtful_where_nobody_knows_the_wrench(shop, capsys):
    code, answer, _ = collect(shop, capsys, rows("47.5", "48", "95.2", "95", "25.1", "24.9"))

    assert code == 1
    assert (answer["format"], answer["complete"], answer["already_stored"]) == (1, False, 0)
    assert 0.9 < answer["p_complete"] <= min(row["p_complete"] for row in answer["joints"])
    assert answer["joints"][1] | {"p_complete": None} == {
        "id": "J01", "stage": 2, "stages": 2, "fasteners": 2, "tightened": 2, "missed": 0, "under": 0, "over": 0,
        "proof": "doubtful", "p_complete": None,
    }  # fmt: skip
    assert [(row["n"], row["joint"], row["stage"], row["position"], row["verdict"]) for row in answer["readings"]] == [
        (1, "J01", 1, 1, "in band"), (2, "J01", 1, 2, "in band"), (3, "J01", 2, 1, "in band"), (4, "J01", 2, 2, "in band"),
        (5, "J02", 1, 1, "in band"), (6, "J02", 1, 2, "in band"),
    ]  # fmt: skip
    assert {(row["kind"], row["position_by"]) for row in answer["readings"]} == {("tightening", "order")}
    assert all(0.9 < row["p"] < 1 for row in answer["readings"])


def test_a_missed_fastener_is_never_complete(shop, capsys):
    code, answer, _ = collect(shop, capsys, rows("47.5", "48", "95.2", "95", "25.1"))

    assert (code, answer["complete"]) == (1, False)
    assert [(row["id"], row["missed"], row["proof"]) for row in answer["joints"]] == [
        ("J01", 0, "doubtful"), ("J01", 0, "doubtful"), ("J02", 1, "missed"),
    ]  # fmt: skip


def test_a_reading_that_fits_no_joint_is_a_stray_without_a_place(shop, capsys):
    _, answer, _ = collect(shop, capsys, rows("47.5", "48", "95.2", "95", "25.1", "25", "9.3"))

    stray = answer["readings"][-1]
    assert stray["kind"] == "stray"
    assert [stray[name] for name in ("joint", "stage", "position", "verdict")] == [None] * 4


def test_one_click_more_than_a_joint_has_fasteners_takes_no_fastener_of_another(shop, capsys):
    _, answer, _ = collect(shop, capsys, rows("47.5", "48", "95.2", "95", "25.1", "25", "25"))

    assert [row["tightened"] for row in answer["joints"]] == [2, 2, 2]
    assert sorted(row["kind"] for row in answer["readings"] if row["joint"] == "J02")[1:] == ["tightening"] * 2


def test_an_over_pull_when_all_was_done_is_held_against_the_fastener_before_it(shop, capsys):
    _, answer, _ = collect(shop, capsys, rows("47.5", "48", "95.2", "95", "25.1", "25", "27.4"))

    assert [answer["readings"][-1][name] for name in ("joint", "verdict")] == ["J02", "over"]
    assert answer["joints"][2]["proof"] == "failed"


def test_values_that_cannot_be_decided_are_set_aside_and_never_become_a_torque(shop, capsys):
    text = "seq,torque,unit\n1,nan,Nm\n2,inf,Nm\n3,-Infinity,Nm\n4,48.0,Nm\n5,0L,Nm\n6,----,Nm\n7,,Nm\n8,48,km\n9,48,\n"

    _, answer, _ = collect(shop, capsys, text)

    assert [row["torque_nm"] for row in answer["readings"]] == ["48.0"]
    assert [row["line"] for row in answer["set_aside"]] == [2, 3, 4, 6, 7, 8, 9, 10]
    assert answer["set_aside"][0]["raw"] == "1,nan,Nm"
    assert all(row["reason"] for row in answer["set_aside"])


@pytest.mark.parametrize("mark", ["OL", "9.9E37", "-9.9E37"])
def test_above_the_tools_range_is_over_without_a_value(shop, capsys, mark):
    _, answer, _ = collect(shop, capsys, f"seq,torque,unit\n1,{mark},Nm\n")

    assert [(row["torque_nm"], row["verdict"], row["joint"]) for row in answer["readings"]] == [(None, "over", "J01")]
    assert answer["joints"][0]["proof"] == "failed"


def test_a_loosening_reopens_and_has_no_verdict(shop, capsys):
    _, answer, _ = collect(shop, capsys, rows("47.5", "48", "-20.0", "47.6", "95", "95"))

    assert [(row["kind"], row["position"], row["verdict"]) for row in answer["readings"][2:4]] == [
        ("loosening", 2, None), ("tightening", 2, "in band"),
    ]  # fmt: skip


def test_rows_that_are_no_text_or_have_too_many_fields_are_unreadable(shop, capsys):
    data = rows("47.5").encode() + b"2026,\xff\xfe,48,Nm,2\n" + b'"open quote,48,Nm\n'
    data += b"2026-03-02T08:09:00+01:00,W-140,48,Nm,3,9,9\n"

    _, answer, _ = collect(shop, capsys, data)

    assert [row["line"] for row in answer["unreadable"]] == [3, 4, 5]
    assert [row["torque_nm"] for row in answer["readings"]] == ["47.5"]


def test_a_second_reading_of_the_same_log_adds_nothing(shop, capsys):
    text = rows("47.5", "48", "bad", "95.2")
    _, first, _ = collect(shop, capsys, text)

    _, second, _ = collect(shop, capsys, text)

    assert second["already_stored"] == 4
    assert second["readings"] == first["readings"]
    assert second["set_aside"] == first["set_aside"]


def test_a_gap_in_the_numbers_is_told_and_keeps_the_record_open(shop, capsys):
    text = "seq,torque,unit\n1,47.5,Nm\n2,48,Nm\n5,95,Nm\n"
    _, answer, _ = collect(shop, capsys, text)

    assert answer["complete"] is False
    main(["job", "show", answer["job"], "--db", str(shop / "a.db")])
    assert "3-4" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param(b"", "holds no rows", id="empty"),
        pytest.param(HEADER, "holds no rows under its header", id="header-only"),
        pytest.param("time,wrench,value_x,unit\n2026,W,1,Nm\n", "torque", id="no-torque-column"),
        pytest.param("torque,torque,unit\n1,1,Nm\n", "torque", id="torque-twice"),
        pytest.param(None, "cannot be read", id="no-file"),
    ],
)
def test_a_log_that_cannot_be_read_is_one_line_and_opens_no_job(shop, capsys, text, said):
    code, answer, error = collect(shop, capsys, text)

    assert (code, answer) == (2, None)
    assert error.startswith("witnessmark: ")
    assert said in error
    assert error.count("\n") == 1
    assert not (shop / "a.db").exists()


def test_with_several_open_jobs_it_asks_which(shop, capsys):
    plan, database = str(shop / "plan.yaml"), ("--db", str(shop / "a.db"))
    for item in ("AB 1", "AB 2"):
        assert main(["job", "open", plan, "--item", item, *database]) == 0
    capsys.readouterr()

    code, answer, error = collect(shop, capsys, rows("47.5"))

    assert (code, answer) == (2, None)
    assert "jobs 1, 2 of plan `bracket` are open; say which with --job" in error
    assert collect(shop, capsys, rows("47.5"), "--job", "2")[1]["job"] == "2"


def test_a_plan_that_changed_during_a_job_is_not_taken_over_in_silence(shop, capsys):
    collect(shop, capsys, rows("47.5"))
    (shop / "plan.yaml").write_text(PLAN.replace("torque: 25", "torque: 52"), encoding="utf-8")

    code, _, error = collect(shop, capsys, rows("47.5", "48"))

    assert code == 2
    assert "says something else" in error


def test_a_comment_in_the_plan_does_not_make_it_another_plan(shop, capsys):
    collect(shop, capsys, rows("47.5"))
    (shop / "plan.yaml").write_text(f"# checked again\n{PLAN}", encoding="utf-8")

    code, answer, _ = collect(shop, capsys, rows("47.5", "48"))

    assert (code, answer["job"], len(answer["readings"]), answer["already_stored"]) == (1, "1", 2, 1)


def test_fitness_is_judged_on_the_day_of_the_pull(shop, capsys):
    database = ("--db", str(shop / "a.db"))
    add = ["wrench", "add", "W-140", "--serial", "1", "--type", "indicating", "--low", "20", "--high", "200", "--unit", "Nm"]
    main([*add, "--measures", "highest", *database])
    main(["wrench", "calibrate", "W-140", "--certificate", "C", "--on", "2025-01-01", "--due", "2026-03-01", *database])

    _, answer, _ = collect(shop, capsys, rows("47.5", "48", "95.2", "95"))

    main(["job", "show", answer["job"], *database])
    assert "calibration of wrench W-140 ran out on 2026-03-01" in capsys.readouterr().out


def test_without_json_the_answer_is_told_in_lines(shop, capsys):
    (shop / "log.csv").write_text(rows("47.5", "48", "95.2", "95", "25.1"), encoding="utf-8")
    collect_it = ["collect", str(shop / "plan.yaml"), "--from", f"log:{shop / 'log.csv'}", "--db", str(shop / "a.db")]
    main(collect_it)
    capsys.readouterr()

    assert main(collect_it) == 1

    out, err = capsys.readouterr()
    assert out.startswith("job 1: 5 readings, 4 fasteners: 3 doubtful, 1 missed\nthe torque record is NOT complete:\n")
    assert "1 fastener missed: Cover bolts, 2" in out
    assert "5 rows of the log were stored before and were left out" in err


def test_a_log_that_is_no_plain_file_is_refused_and_not_waited_for(shop, capsys):
    (shop / "log.csv").mkdir()

    code, _, error = collect(shop, capsys, None)

    assert (code, "is no plain file" in error) == (2, True)
