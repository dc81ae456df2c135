"""`wrench drift`, `wrench list` and the chart, on a database that `wrench check --from` filled."""

import json
from datetime import date, timedelta

import pytest

from collector.cli.main import main
from sim.checks import weekly_checks

FIRST = date(2024, 1, 1)


@pytest.fixture(name="run")
def _run(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        code = main(list(arguments))
        return code, *capsys.readouterr()

    run("wrench", "add", "W-1", "--serial", "4711", "--type", "indicating", "--low", "40", "--high", "200", "--unit", "N·m",
        "--measures", "highest", "--limit", "4")  # fmt: skip
    return run


def take(run, tmp_path, rows):
    lines = [",".join(map(str, row)) for row in (("time", "wrench", "reference", "shown", "unit"), *rows)]
    (tmp_path / "checks.csv").write_text("\n".join(lines), encoding="utf-8")
    return run("wrench", "check", "--from", "checks.csv")


def weekly(error_percent, weeks, nominal=100):
    """Checks whose error is a given function of the week."""
    return [
        (FIRST + timedelta(weeks=week), "W-1", nominal, round(nominal * (1 + error_percent(week) / 100), 4), "N·m")
        for week in range(weeks)
    ]


def drift(run, *more):
    code, out, _ = run("wrench", "drift", "W-1", "--json", *more)
    return code, json.loads(out)


def test_a_drift_that_was_put_in_comes_out_with_its_slope_and_its_day(run, tmp_path):
    # 0.02 % a week from 0.5 % on: 1.0436 % a year, and 4 % after 175 weeks, by arithmetic alone.
    rows = weekly(lambda week: 0.5 + 0.02 * week + (0.15 if week % 2 else -0.15), 100)
    assert take(run, tmp_path, reversed(rows))[0] == 0

    code, answer = drift(run)

    (point,) = answer["points"]
    assert (code, answer["wrench"], point["nominal_nm"], point["checks"]) == (0, "W-1", 100.0, 100)
    assert point["slope_low"] < 0.02 * 365.25 / 7 < point["slope_high"]
    assert point["slope_percent_per_year"] == pytest.approx(0.02 * 365.25 / 7, rel=0.01)
    assert point["error_percent_now"] == pytest.approx(0.5 + 0.02 * 99, abs=0.05)
    crossing = FIRST + timedelta(weeks=175)
    assert point["crosses_from"] < str(crossing) < point["crosses_to"]
    assert abs(date.fromisoformat(point["crosses_on"]) - crossing) < timedelta(days=20)
    assert point["recalibrate_before"] < point["crosses_from"]


@pytest.mark.parametrize("checks", [1, 2, 14])
def test_too_little_to_tell_is_said_so(run, tmp_path, checks):
    take(run, tmp_path, weekly(lambda week: 0.3 if week % 2 else -0.3, checks))

    _, answer = drift(run)

    (point,) = answer["points"]
    assert (point["crosses_on"], point["crosses_from"], point["crosses_to"]) == (None, None, None)
    word = "check" if checks == 1 else "checks"
    assert point["finding"].endswith(f"no drift can be told from {checks} {word}")
    assert point["finding"] in run("wrench", "drift", "W-1")[1]


def test_a_wrench_without_checks_has_no_points_and_is_told_what_to_do(run):
    code, out, error = run("wrench", "drift", "W-1", "--json")

    assert (code, json.loads(out)["points"]) == (0, [])
    assert "record them with `witnessmark wrench check`" in error


def test_an_unknown_wrench_is_one_clear_line(run):
    assert run("wrench", "drift", "W-9") == (2, "", "witnessmark: wrench `W-9` is not in the register; there are W-1\n")


def test_outside_the_limit_is_a_finding(run, tmp_path):
    take(run, tmp_path, weekly(lambda week: 4.5, 5))
    run("wrench", "calibrate", "W-1", "--certificate", "C-1", "--on", "2024-01-01", "--due", "2099-01-01")

    assert run("wrench", "drift", "W-1")[0] == 1
    assert "take it out of use: it shows +4.5 % at 100 N·m, outside ±4 %" in run("wrench", "list")[1]


def test_a_failed_last_check_is_a_finding_also_where_no_drift_can_be_told(run, tmp_path):
    failed = (FIRST + timedelta(weeks=6), "W-1", 100, 106, "N·m")
    take(run, tmp_path, [*weekly(lambda week: 0.2 if week % 2 else -0.2, 6), failed])

    code, out, _ = run("wrench", "drift", "W-1")

    assert code == 1
    assert "no drift can be told from 7 checks; its last check shows +6.0 %, outside ±4 %" in out


def test_a_wrench_that_was_adjusted_and_not_checked_since_says_so(run, tmp_path):
    take(run, tmp_path, weekly(lambda week: 0.2, 6))
    run("wrench", "calibrate", "W-1", "--certificate", "C-1", "--on", "2026-03-01", "--due", "2099-01-01", "--adjusted")

    assert "has no checks since it was adjusted on 2026-03-01" in run("wrench", "drift", "W-1")[2]
    assert "not checked since it was adjusted on 2026-03-01" in run("wrench", "list")[1]


def test_check_torques_do_not_hide_one_another(run, tmp_path):
    rows = [row for step in range(11) for row in weekly(lambda week, step=step: 8.0 if step == 0 else 0.1, 3, 200 + 10 * step)]
    take(run, tmp_path, rows)

    code, answer = drift(run)

    assert code == 1
    assert [point["nominal_nm"] for point in answer["points"]] == [200.0 + 10 * step for step in range(11)]


def test_an_absurd_check_is_told_and_bends_no_line(run, tmp_path):
    rows = weekly(lambda week: 0.2 if week % 2 else -0.2, 30)
    rows[7] = (*rows[7][:3], 199, "N·m")
    code, _, told = take(run, tmp_path, rows)

    assert code == 1
    assert "line 9, mind: shows 199 at 100 N·m, +99.0 %" in told
    _, answer = drift(run)
    (point,) = answer["points"]
    assert (point["checks"], point["gross"]) == (29, 1)
    assert abs(point["error_percent_now"]) < 0.2
    assert "1 check is 99 % off and not in the line" in point["finding"]


def test_a_line_begins_anew_after_an_adjustment(run, tmp_path):
    take(run, tmp_path, weekly(lambda week: 0.03 * week, 60))
    calibrate = ("wrench", "calibrate", "W-1", "--certificate", "C-1", "--on", str(FIRST + timedelta(weeks=50)), "--due")
    run(*calibrate, "2099-01-01")
    before = drift(run)[1]["points"][0]["checks"]
    run(*calibrate, "2099-01-01", "--adjusted")

    assert (before, drift(run)[1]["points"][0]["checks"]) == (60, 9)


def test_check_torques_are_told_apart(run, tmp_path):
    take(run, tmp_path, [*weekly(lambda week: 0.01 * week, 30, 60), *weekly(lambda week: 0.02 * week, 30, 180)])

    _, answer = drift(run)

    assert [point["nominal_nm"] for point in answer["points"]] == [60.0, 180.0]


@pytest.mark.parametrize(("name", "begins"), [("chart.png", b"\x89PNG\r\n\x1a\n"), ("chart.SVG", b"<?xml")])
def test_the_chart_is_written_in_the_form_of_its_ending(run, tmp_path, name, begins):
    rows = [tuple(row.values()) for row in weekly_checks("W-140")]
    take(run, tmp_path, [(day, "W-1", *rest) for day, _, *rest in rows])

    code, _, told = run("wrench", "drift", "W-1", "--chart", name)

    assert (code, told) == (0, f"{name}: the drift of wrench W-1\n")
    assert (tmp_path / name).read_bytes().startswith(begins)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        pytest.param("chart.jpg", "give the file the ending .png or .svg", id="ending"),
        pytest.param("none/chart.png", "none/chart.png: cannot be written", id="folder"),
    ],
)
def test_a_chart_that_cannot_be_written_is_one_clear_line(run, tmp_path, name, said):
    take(run, tmp_path, weekly(lambda week: 0.0, 5))

    code, _, error = run("wrench", "drift", "W-1", "--chart", name)

    assert code == 2
    assert said in error
    assert not (tmp_path / name).exists()
