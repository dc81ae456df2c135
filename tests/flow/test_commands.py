"""The smaller commands as their users type them: what they print, what they refuse, what they leave in the database."""

import json
import subprocess
import sys

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
  - {id: J01, name: Bracket bolts, fasteners: 2, torque: 95}
steps:
  - torque: J01
  - hold point: square
    ask: Bracket sits square
    sign: lead
"""


@pytest.fixture(name="plan")
def _plan(tmp_path):
    path = tmp_path / "plan.yaml"
    path.write_text(PLAN, encoding="utf-8")
    return str(path)


@pytest.fixture(name="run")
def _run(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))

    def run(*arguments):
        code = main(list(arguments))
        out, err = capsys.readouterr()
        return code, out, err

    return run


def add_wrench(run, wrench="W-1", low="40", high="200", unit="Nm"):
    return run(
        "wrench", "add", wrench, "--serial", "4711", "--type", "indicating", "--low", low, "--high", high, "--unit", unit,
        "--measures", "highest",
    )  # fmt: skip


def test_job_open_prints_the_number_alone_on_standard_output(run, plan):
    assert run("job", "open", plan, "--item", "AB 12")[:2] == (0, "1\n")
    assert json.loads(run("job", "open", plan, "--item", "CD 34", "--json")[1]) == {"format": 1, "job": "2"}


def test_job_list_says_each_job_in_one_line(run, plan):
    run("job", "open", plan, "--item", "AB 12", "--fitter", "Jo")
    run("job", "close", "1", "--by", "Jo")

    assert run("job", "list")[1] == "1  closed  AB 12  bracket rev 1  0 of 2 proven  Jo\n"
    assert json.loads(run("job", "list", "--json")[1])["jobs"][0]["item"] == "AB 12"


def test_job_show_says_what_is_missing(run, plan):
    run("job", "open", plan, "--item", "AB 12")

    code, out, _ = run("job", "show", "1")

    assert code == 1
    assert "the torque record is NOT complete:" in out
    assert "hold point `square` is not signed" in out
    assert json.loads(run("job", "show", "1", "--json")[1])["complete"] is False


def test_a_closed_job_takes_nothing_more(run, plan):
    run("job", "open", plan, "--item", "AB 12")
    run("job", "close", "1", "--by", "Jo")

    code, _, error = run("job", "opened", "1", "--joint", "J01", "--by", "Jo")

    assert (code, error) == (2, "witnessmark: job 1 is closed; nothing is added to it\n")
    assert "job 1 is closed; open a new one" in run("collect", plan, "--from", "serial:none", "--job", "1")[2]


def test_opened_and_decided_are_recorded_by_name(run, plan, tmp_path):
    run("job", "open", plan, "--item", "AB 12", "--fitter", "Jo")

    assert run("job", "opened", "1", "--joint", "J01", "--position", "2", "--by", "Li")[0] == 0
    assert run("job", "decide", "1", "--joint", "J01", "--position", "2", "--as", "replaced", "--by", "Li")[0] == 0
    assert run("job", "report", "1", "--to", str(tmp_path / "r.html"))[0] == 1
    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    assert "replaced" in page
    assert "Li" in page


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        pytest.param(("opened", "1", "--joint", "J09", "--by", "Jo"), "`J09` is not in the plan of this job", id="joint"),
        pytest.param(("opened", "1", "--joint", "J01", "--position", "3", "--by", "Jo"), "1 to 2, not 3", id="position"),
        pytest.param(("sign", "1", "--hold-point", "round", "--by", "Li"), "it has square", id="hold-point"),
        pytest.param(("sign", "1", "--hold-point", "square", "--by", "Jo"), "another person than the fitter", id="signer"),
        pytest.param(("close", "7", "--by", "Jo"), "there is no job 7", id="job"),
        pytest.param(("show", "7"), "7", id="show"),
    ],
)
def test_what_is_not_in_the_job_is_refused_in_one_line(run, plan, arguments, said):
    run("job", "open", plan, "--item", "AB 12", "--fitter", "Jo")

    code, _, error = run("job", *arguments)

    assert code == 2
    assert said in error
    assert error.count("\n") == 1


def test_a_hold_point_is_signed_once_by_the_lead(run, plan):
    run("job", "open", plan, "--item", "AB 12", "--fitter", "Jo")

    assert run("job", "sign", "1", "--hold-point", "square", "--by", "Li")[0] == 0
    assert "hold point" not in run("job", "show", "1")[1]
    assert "is signed already" in run("job", "sign", "1", "--hold-point", "square", "--by", "Li")[2]


def test_commands_on_a_job_without_a_database_say_where_it_should_be(run):
    for arguments in (("job", "list"), ("job", "close", "1", "--by", "Jo"), ("rebuild", "none.db"), ("verify", "none.db")):
        code, _, error = run(*arguments)
        assert code == 2
        assert "there is no such file" in error


def test_a_report_into_a_folder_that_is_not_there_issues_nothing(run, plan, tmp_path):
    run("job", "open", plan, "--item", "AB 12")

    code, _, error = run("job", "report", "1", "--to", str(tmp_path / "none" / "r.html"))

    assert code == 2
    assert "name another file" in error
    assert run("rebuild", str(tmp_path / "audit.db"))[2].endswith("entries\n")
    assert run("verify", str(tmp_path / "audit.db"))[0] == 0


def test_verify_answers_as_json(run, plan, tmp_path):
    run("job", "open", plan, "--item", "AB 12")

    answer = json.loads(run("verify", str(tmp_path / "audit.db"), "--json")[1])

    assert (answer["findings"], len(answer["tree_head"])) == ([], 64)


def test_a_wrench_is_listed_with_its_calibration(run):
    assert "wrench calibrate" in add_wrench(run)[2]
    assert run("wrench", "list")[1] == (
        "W-1: OVERDUE: has no calibration and counts as not fit: record one with `witnessmark wrench calibrate`\n"
        "    indicating, serial 4711, 40 to 200 N·m; not calibrated; never checked\n"
    )
    run("wrench", "calibrate", "W-1", "--certificate", "C-1", "--on", "2026-01-31", "--due", "2027-01-31")

    assert "calibrated 2026-01-31, in date to 2027-01-31" in run("wrench", "list")[1]
    assert json.loads(run("wrench", "list", "--json")[1])["wrenches"][0]["due_on"] == "2027-01-31"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        pytest.param({"low": "1e2"}, "not a number in plain digits", id="exponent"),
        pytest.param({"low": "300"}, "--low must be below --high", id="upside-down"),
        pytest.param({"unit": "J"}, "J", id="energy"),
        pytest.param({"wrench": " "}, "needs an id", id="no-id"),
    ],
)
def test_a_wrench_that_cannot_be_is_refused(run, change, said):
    code, _, error = add_wrench(run, **change)

    assert code == 2
    assert said in error
    assert error.count("\n") == 1


def test_calibrations_that_cannot_be_are_refused(run):
    calibrate = ("wrench", "calibrate", "W-1", "--certificate", "C", "--on")
    add_wrench(run)

    assert "is in the register already" in add_wrench(run)[2]
    assert "not a day" in run(*calibrate, "31.1.2026", "--due", "2027-01-31")[2]
    assert "is before --on" in run(*calibrate, "2026-01-31", "--due", "2025-01-31")[2]
    assert "is not in the register" in run("wrench", "calibrate", "W-9", *calibrate[3:], "2026-01-31", "--due", "2027-01-31")[2]


def test_plan_check_says_nothing_is_wrong_or_what(run, plan, tmp_path):
    code, out, err = run("plan", "check", plan)
    assert (code, err) == (0, "")
    assert f"{plan}: nothing wrong found: 2 fasteners in 1 joint (" in out
    (tmp_path / "bad.yaml").write_text(PLAN.replace("fasteners: 2", "fasteners: two"), encoding="utf-8")

    code, out, _ = run("plan", "check", str(tmp_path / "bad.yaml"))

    assert code == 1
    assert "line 8, J01: field (error)\n    `joints.J01.fasteners`: `two` is no count" in out
    assert json.loads(run("plan", "check", str(tmp_path / "bad.yaml"), "--json")[1])["findings"][0]["line"] == 8
    assert run("plan", "check", "none.yaml")[0] == 2


def test_plan_check_finds_a_torque_that_no_registered_wrench_covers(run, plan):
    add_wrench(run, low="5", high="60")

    code, out, _ = run("plan", "check", plan)

    assert code == 1
    assert "no registered wrench covers" in out
    assert "no registered wrench covers" in run("job", "open", plan, "--item", "AB 12")[2]


def test_an_adapter_is_refused_at_job_open_where_no_wrench_has_a_length(run, tmp_path):
    path = tmp_path / "plan.yaml"
    path.write_text(PLAN.replace("torque: 95}", "torque: 95, adapter: {length: 50 mm, angle: 0}}"), encoding="utf-8")
    add_wrench(run)

    code, _, error = run("job", "open", str(path), "--item", "AB 12")

    assert code == 2
    assert "no registered wrench has a length" in error
    assert run("job", "list")[1] == ""
    assert run("wrench", "length", "W-1", "--length", "450 mm")[0] == 0
    assert run("job", "open", str(path), "--item", "AB 12")[0] == 0


def test_plan_schema_is_json(run):
    assert json.loads(run("plan", "schema")[1])["type"] == "object"


@pytest.mark.parametrize("source", ["ble:", "keys:x", "serial:", "log:", "nonsense"])
def test_a_source_that_is_not_read_is_refused_with_those_that_are(run, plan, source):
    code, _, error = run("collect", plan, "--from", source)

    assert code == 2
    assert "use serial:PORT, ble:NAME, keys:, log:FILE.csv or sim:rear-axle" in error


def test_a_serial_source_needs_an_open_job(run, plan):
    assert "no job of plan `bracket` is open; open one: witnessmark job open" in run("collect", plan, "--from", "serial:x")[2]


def test_an_unknown_simulated_day_is_refused(run, plan):
    assert "there is no simulated day `moon`" in run("collect", plan, "--from", "sim:moon")[2]


def test_a_wire_format_that_is_not_there_is_refused(run, plan):
    assert "cannot be read" in run("collect", plan, "--from", "serial:x", "--wire", "none.yaml")[2]


def test_the_workshop_comes_from_the_settings_beside_the_database(run, plan, tmp_path):
    (tmp_path / "settings.toml").write_text('workshop = "Quay Street Trailers"', encoding="utf-8")
    run("job", "open", plan, "--item", "AB 12")
    run("job", "report", "1", "--to", str(tmp_path / "r.html"))

    assert "Quay Street Trailers" in (tmp_path / "r.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        pytest.param("", False, id="not-set"),
        pytest.param("p_limit = 0.99", True, id="the-usual-one-set"),
        pytest.param("p_limit = 0.995", True, id="more"),
    ],
)
def test_a_new_job_goes_by_the_probability_that_the_shop_asks_for(run, plan, tmp_path, text, shown):
    (tmp_path / "settings.toml").write_text(text, encoding="utf-8")
    run("job", "open", plan, "--item", "AB 12")
    run("job", "report", "1", "--to", str(tmp_path / "r.html"))

    limit = text.removeprefix("p_limit = ")
    assert (f"the shop asks for p = {limit} before it takes anything for sure" in run("job", "show", "1")[1]) is shown
    assert (f"p = {limit} on, as the shop asks" in (tmp_path / "r.html").read_text(encoding="utf-8")) is shown


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("p_limit = 0.98", "`p_limit`: `0.98` is no limit for a probability; write one from 0.99", id="less"),
        pytest.param("p_limit = 0.99999", "`p_limit`: `0.99999` is no limit", id="never-reached"),
        pytest.param("p_limit = nan", "`p_limit`: `NaN` is no limit", id="no-number"),
        pytest.param("p_limit = '0.995'", "`p_limit`: not a setting of this version", id="text"),
        pytest.param("p_limit = 1", "`p_limit`: not a setting of this version", id="whole-number"),
    ],
)
def test_a_limit_that_cannot_be_is_refused_in_one_line(run, plan, tmp_path, text, said):
    (tmp_path / "settings.toml").write_text(text, encoding="utf-8")

    code, _, error = run("job", "open", plan, "--item", "AB 12")

    assert code == 2
    assert said in error
    assert error.count("\n") == 1


@pytest.mark.parametrize("text", ["workshp = 'x'", "workshop = 3", "workshop ="], ids=["unknown", "number", "broken"])
def test_settings_that_are_wrong_are_named(run, plan, tmp_path, text):
    (tmp_path / "settings.toml").write_text(text, encoding="utf-8")

    code, _, error = run("job", "open", plan, "--item", "AB 12")

    assert code == 2
    assert "settings.toml" in error


def test_version_names_program_ledger_and_plan_format(run):
    assert "ledger format 1, plan format 2" in run("--version")[1]


@pytest.mark.parametrize("arguments", [(), ("job",), ("plan",), ("wrench",)])
def test_without_a_command_the_help_is_shown(run, arguments):
    code, _, error = run(*arguments)

    assert code == 2
    assert "usage: witnessmark" in error


def test_help_loads_none_of_the_slow_packages():
    script = (
        "import sys\nfrom collector.cli.main import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "slow = {'pandas', 'matplotlib', 'bleak', 'sqlite_utils', 'pydantic', 'rich', 'jinja2', 'serial'}\n"
        "print(sorted(slow & set(sys.modules)), file=sys.stderr)"
    )

    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert done.stderr.strip() == "[]"
    assert "does not say that a vehicle is safe to drive" in done.stdout


def test_the_default_database_lies_where_the_platform_says(monkeypatch, tmp_path):
    from collector.cli.place import database_path

    monkeypatch.delenv("WITNESSMARK_DB", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    assert database_path(None).name == "audit.db"
    assert database_path("x.db").name == "x.db"
