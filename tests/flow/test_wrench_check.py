"""`witnessmark wrench check` as a lead types it: what it says, what it refuses, what stays on record."""

import json
import re
from contextlib import closing
from datetime import UTC, datetime

import pytest
from openpyxl import Workbook

from analysis.load.checks import load_checks
from analysis.load.database import open_audit
from analysis.load.register import load_wrenches
from collector.acquire.check_header import NEEDED
from collector.cli import check as command
from collector.cli import wrench as register_command
from collector.cli.main import main
from collector.cli.wrench import added_wrench
from collector.record.jobs import add_wrench
from collector.record.recorder import Recorder

HEADER = "time,wrench,reference,shown,unit\n"
TYPED = ("wrench", "check", "W-7", "--at", "2026-03-02")


class FixedClock:
    """Noon of one day, for every command that is used here."""

    def now(self):
        return datetime(2026, 3, 31, 12, 0, tzinfo=UTC)

    def monotonic_ns(self):
        return 1


@pytest.fixture(name="path")
def _path(tmp_path):
    return tmp_path / "audit.db"


@pytest.fixture(name="run")
def _run(path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(path))
    for module in (command, register_command):
        monkeypatch.setattr(module, "SystemClock", FixedClock)

    def run(*arguments):
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture(name="bench")
def _bench(run, path):
    """A register of W-7 and of =1+1, whose id looks like a formula."""
    add(run)
    add(run, "=1+1")
    return run


def add(run, wrench="W-7", *more):
    return run(
        "wrench", "add", wrench, "--serial", "SN", "--type", "indicating", "--low", "10", "--high", "200", "--unit", "Nm",
        "--measures", "highest", *more,
    )  # fmt: skip


@pytest.fixture(name="take")
def _take(bench, tmp_path):
    """Reads a CSV file of these rows in."""

    def take(*rows, options=(), name="bench.csv"):
        (tmp_path / name).write_text(HEADER + "".join(f"{row}\n" for row in rows), encoding="utf-8")
        return bench("wrench", "check", "--from", tmp_path / name, *options)

    return take


def checks(path):
    with closing(open_audit(path)) as db:
        return [tuple(row) for row in db.execute("SELECT at, reference, shown, unit, void FROM wrench_check ORDER BY seq")]


def entries(path):
    with closing(open_audit(path)) as db:
        return db.execute("SELECT count(*) FROM ledger").fetchone()[0]


def entry_of(path, shown):
    with closing(open_audit(path)) as db:
        return db.execute("SELECT seq FROM wrench_check WHERE shown = ?", (shown,)).fetchone()[0]


def test_a_check_inside_its_limit_is_kept(bench, path):
    answer = bench(*TYPED, "--reference", "100", "--shown", "101")

    entry = entry_of(path, "101")
    assert answer == (0, f"W-7 shows 101 at 100 N·m: +1.00 %, inside ±4 % (entry {entry})\n", "")
    assert checks(path) == [("2026-03-02", "100", "101", "N·m", None)]


def test_a_check_outside_its_limit_says_what_to_do(bench, path):
    code, out, error = bench(*TYPED, "--reference", "100", "--shown", "95.5")

    assert (code, out) == (1, f"W-7 shows 95.5 at 100 N·m: -4.50 %, OUTSIDE ±4 % (entry {entry_of(path, '95.5')})\n")
    assert error == "use W-7 no more until somebody has looked at it; what it has torqued may have to be opened again\n"
    assert len(checks(path)) == 1


def test_a_limit_of_its_own_is_obeyed_and_its_edge_is_inside(run):
    add(run, "W-7", "--limit", "4.2")

    assert "W-7 shows 104.2 at 100 N·m: +4.20 %, inside ±4.2 %" in run(*TYPED, "--reference", "100", "--shown", "104.2")[1]
    assert run(*TYPED, "--reference", "100", "--shown", "104.21")[0] == 1


@pytest.mark.parametrize("limit", ["0", "100", "-4", "4,5", "4e0", "NaN", ""])
def test_a_limit_that_cannot_be_is_refused(run, limit):
    code, _, error = add(run, "W-7", f"--limit={limit}")

    assert code == 2
    assert error.startswith(f"witnessmark: --limit {limit}: ")
    assert error.count("\n") == 1


def test_the_time_of_a_typed_check_is_now_and_its_unit_that_of_the_wrench(bench, path):
    bench("wrench", "check", "W-7", "--reference", "100", "--shown", "101")

    assert checks(path) == [("2026-03-31T12:00:00.000000Z", "100", "101", "N·m", None)]


def test_a_check_typed_twice_is_two_checks(bench, path):
    for _ in range(2):
        bench(*TYPED, "--reference", "100", "--shown", "101")

    assert len(checks(path)) == 2


def test_a_gross_check_is_kept_told_and_a_finding(bench, path):
    code, out, error = bench(*TYPED, "--reference", "100", "--shown", "199")

    assert (code, out) == (1, f"W-7 shows 199 at 100 N·m: +99.00 %, OUTSIDE ±4 % (entry {entry_of(path, '199')})\n")
    assert "mind: shows 199 at 100 N·m, +99.0 %: kept, and in no drift line; look at the wrench, and at what was typed\n" in error
    assert len(checks(path)) == 1


def test_mixed_up_units_are_asked_about(bench):
    # 1 lbf·ft = 1.3558 N·m: NIST SP 811, appendix B.
    assert "were units mixed up? `shown` looks like lbf·ft" in bench(*TYPED, "--reference", "100", "--shown", "73.8")[2]


def test_a_check_answers_as_json(bench, path):
    code, out, _ = bench(*TYPED, "--reference", "100", "--shown", "105", "--unit", "NM", "--json")

    assert code == 1
    assert json.loads(out) == {
        "format": 1, "wrench": "W-7", "entry": entry_of(path, "105"), "error_percent": 5.0, "inside": False, "limit_percent": "4",
        "remarks": ["`NM` read as N·m: letter case is unusual"],
    }  # fmt: skip


def test_a_check_in_the_future_is_kept_and_told(bench, path):
    _, _, error = bench(*TYPED[:3], "--at", "2062-03-02", "--reference", "9", "--shown", "9")

    assert "mind: its time 2062-03-02 lies in the future" in error
    assert len(checks(path)) == 1


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        pytest.param((), "say one thing: a wrench with --reference and --shown, or --from FILE, or --void ENTRY", id="nothing"),
        pytest.param(("W-7", "--void", "3"), "say one thing", id="wrench-and-void"),
        pytest.param(("W-7", "--from", "x.csv", "--shown", "9"), "--shown says nothing beside --from", id="file-and-value"),
        pytest.param(("--from", "x.csv", "--void", "3"), "say one thing", id="file-and-void"),
        pytest.param(("W-7",), "a check needs --reference and --shown", id="no-values"),
        pytest.param(("W-7", "--reference", "5"), "a check needs --reference and --shown", id="no-shown"),
        pytest.param(("--from", "x.csv", "--unit", "Nm"), "--unit says nothing beside --from; leave it out", id="unit-of-a-file"),
        pytest.param(("--from", "x.csv", "--at", "2026-03-02"), "--at says nothing beside --from", id="day-of-a-file"),
        pytest.param(("W-7", "--why", "x"), "--why says nothing beside a wrench", id="why-without-void"),
        pytest.param(("--void", "3", "--why", "x", "--zone", "Z"), "--zone says nothing beside --void", id="zone-of-a-void"),
        pytest.param(("--void", "3"), "--void needs --why: the reason stands in the record", id="void-without-why"),
        pytest.param(("--void", "3", "--why", "  "), "--void needs --why", id="void-with-an-empty-why"),
        pytest.param(("W-9", "--reference", "5", "--shown", "5"), "wrench W-9 is not in the register; add it with", id="unknown"),
        pytest.param(("W-7", "--reference", "0", "--shown", "5"), "this check cannot be kept: `reference` is 0", id="nought"),
        pytest.param(("W-7", "--reference", "1,5", "--shown", "5"), "`reference` 1,5 can be 1.5 or 15", id="decimal-comma"),
        pytest.param(("W-7", "--reference=-5", "--shown", "5"), "`reference` -5 is below 0", id="negative"),
        pytest.param(("W-7", "--reference", "5", "--shown", "5", "--unit", "J"), "unit `J` is an energy", id="energy"),
        pytest.param(
            ("W-7", "--reference", "5", "--shown", "5", "--at", "2026-10-25T02:30", "--zone", "Europe/Berlin"),
            "comes twice in Europe/Berlin",
            id="a-time-that-comes-twice",
        ),
        pytest.param(("--from", "none.csv"), "none.csv: cannot be read (No such file or directory)", id="missing-file"),
        *(
            pytest.param(("--from", "x.csv", f"--zone={zone}"), f"zone `{zone}` is not known; write +01:00, or a name", id=name)
            for name, zone in (("moon", "Moon/Bay"), ("folder", "Europe"), ("empty", ""), ("path", "../x"), ("hour", "+25:00"))
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_one_line_and_keeps_nothing(bench, path, arguments, says):
    code, out, error = bench("wrench", "check", *arguments)

    assert (code, out) == (2, "")
    assert error.startswith("witnessmark: ")
    assert says in error
    assert error.count("\n") == 1
    assert checks(path) == []


def test_a_file_that_is_none_leaves_no_trace(run, path):
    assert run("wrench", "check", "--from", path.parent)[0] == 2
    assert not path.exists()


def test_a_file_is_taken_once(take, path):
    rows = ("2026-03-09,W-7,100,101,Nm", "2026-03-02,W-7,100,100.5,Nm", "2026-03-02,W-7,100,100.5,Nm")

    assert take(*rows) == (0, "bench.csv: 3 checks taken, 0 stored before, 0 rows not taken\n", "")
    before = entries(path)
    assert take(*rows) == (0, "bench.csv: 0 checks taken, 3 stored before, 0 rows not taken\n", "")
    assert entries(path) == before + 1  # the session alone
    assert take(*rows, "2026-03-16,W-7,100,101,Nm")[1] == "bench.csv: 1 check taken, 3 stored before, 0 rows not taken\n"


def test_a_file_can_be_read_for_one_wrench(bench, path, tmp_path):
    rows = ("2026-03-02,W-7,100,101,Nm", "2026-03-03,,100,102,Nm", "2026-03-04,W-9,100,103,Nm")
    (tmp_path / "one.csv").write_text("\n".join(("time,wrench,reference,shown,unit", *rows)), encoding="utf-8")

    code, out, error = bench("wrench", "check", "W-7", "--from", tmp_path / "one.csv")

    assert (code, out) == (1, "one.csv: 2 checks taken, 0 stored before, 1 row not taken\n")
    assert error == "one.csv, line 4, not taken: is of wrench W-9, and the file is read for W-7 alone\n"
    assert [row[0] for row in checks(path)] == ["2026-03-02", "2026-03-03"]


def test_rows_outside_their_limit_are_counted_and_taken(take, path):
    answer = take("2026-03-23,W-7,100,104,Nm", "2026-03-09,W-7,100,104.01,Nm", "2026-03-16,W-7,100,112,Nm")

    said = "bench.csv: 3 checks taken (2 of them outside the limit), 0 stored before, 0 rows not taken\n"
    assert answer == (0, said, "")
    assert len(checks(path)) == 3


USE_NO_MORE = "use W-7 no more until somebody has looked at it; what it has torqued may have to be opened again\n"


@pytest.mark.parametrize(
    ("rows", "fails"),
    [
        pytest.param(("2026-03-16,W-7,100,95,Nm", "2026-03-09,W-7,100,101,Nm"), True, id="newest-first"),
        pytest.param(("2026-03-09,W-7,100,101,Nm", "2026-03-16,W-7,100,95,Nm"), True, id="newest-last"),
        pytest.param(("2026-03-16,W-7,100,101,Nm", "2026-03-09,W-7,100,95,Nm"), False, id="an-older-one"),
        pytest.param(("2026-03-09,W-7,100,101,Nm", "2026-03-09,W-7,100,95,Nm"), True, id="further-down-on-the-same-day"),
        pytest.param(("2026-03-09,W-7,100,95,Nm", "2026-03-09,W-7,100,101,Nm"), False, id="further-up-on-the-same-day"),
        pytest.param(("2026-03-09T08:00Z,W-7,100,95,Nm", "2026-03-09,W-7,100,101,Nm"), True, id="an-hour-is-after-its-day"),
        pytest.param(("2026-03-16,W-7,100,95,Nm", "2026-03-23,=1+1,100,101,Nm"), True, id="of-each-wrench-its-own"),
        pytest.param(("2026-03-16,W-7,100,95,Nm", "2026-03-16,W-7,50,90,Nm"), True, id="said-once-a-wrench"),
    ],
)
def test_a_wrench_whose_newest_check_of_a_file_failed_is_told_as_if_it_was_typed(take, rows, fails):
    for _ in range(2):
        code, _, error = take(*rows)

        assert code == fails
        assert error.count(USE_NO_MORE) == error.count("use ") == fails


def test_each_failed_wrench_is_told(take):
    code, _, error = take("2026-03-16,W-7,100,95,Nm", "2026-03-16,=1+1,100,95,Nm")

    assert (code, error) == (1, USE_NO_MORE + USE_NO_MORE.replace("W-7", "=1+1"))


def test_a_failed_check_that_was_taken_back_is_told_no_more(take, bench, path):
    rows = ("2026-03-09,W-7,100,101,Nm", "2026-03-16,W-7,100,95,Nm")
    take(*rows)
    bench("wrench", "check", "--void", entry_of(path, "95"), "--why", "typed 95 for 99")

    assert take(*rows) == (0, "bench.csv: 0 checks taken, 2 stored before, 0 rows not taken\n", "")


@pytest.mark.parametrize(("on", "fails"), [("2026-03-17", False), ("2026-03-16", True)])
def test_a_check_from_before_the_wrench_was_set_anew_is_told_no_more(take, bench, on, fails):
    bench("wrench", "calibrate", "W-7", "--certificate", "C-1", "--on", on, "--due", "2027-02-28", "--adjusted")

    assert (take("2026-03-16,W-7,100,95,Nm")[0] == 1) is fails


def test_rows_outside_their_limit_stand_in_the_json_by_their_lines(take):
    rows = ("2026-03-02,W-7,100,95,Nm", "2026-03-09,W-7,100,101,Nm", "2026-03-16,W-7,100,95,Nm")
    code, out, error = take(*rows, options=("--json",))

    assert (code, error) == (1, USE_NO_MORE)
    assert json.loads(out)["outside"] == [2, 4]


def test_checks_of_one_instant_that_disagree_are_told(take, bench, path):
    says = "another check of W-7 at the same time and reference shows 101"

    _, _, error = take("2026-03-02T07:30Z,W-7,100,101,Nm", "2026-03-02T07:30Z,W-7,100.0,99,Nm")
    typed = bench("wrench", "check", "W-7", "--at", "2026-03-02T08:30+01:00", "--reference", "100", "--shown", "98", "--json")

    assert error == f"bench.csv, line 3, mind: {says}\n"
    assert json.loads(typed[1])["remarks"] == [says]
    assert len(checks(path)) == 3


def test_every_row_of_a_file_is_accounted_for(take, path):
    code, out, error = take("2026-03-02,W-7,100,101,Nm", "2026-03-02,W-9,100,101,Nm", "2026-03-03,W-7,100,ten,Nm", "x" * 10)

    assert (code, out) == (1, "bench.csv: 1 check taken, 0 stored before, 3 rows not taken\n")
    assert error.splitlines() == [
        "bench.csv, line 3, not taken: wrench W-9 is not in the register; add it, then read the file again",
        "bench.csv, line 4, not taken: `shown` ten is not plain digits",
        "bench.csv, line 5, not taken: no wrench is named",
    ]
    with closing(open_audit(path)) as db:
        sql = "SELECT json_extract(entry, '$.body.raw') FROM ledger WHERE json_extract(entry, '$.kind') = 'check not taken'"
        raws = [bytes.fromhex(raw).decode() for (raw,) in db.execute(sql)]
    assert raws == ["2026-03-02,W-9,100,101,Nm", "2026-03-03,W-7,100,ten,Nm", "xxxxxxxxxx"]
    assert take("2026-03-02,W-9,100,101,Nm")[1].endswith("1 row not taken\n")


def test_a_gross_row_and_a_late_one_are_told_by_their_line(take):
    code, _, error = take("2026-03-02,W-7,100,199,Nm", "2062-03-02,W-7,100,101,Nm")

    assert code == 1
    assert "bench.csv, line 2, mind: shows 199 at 100 N·m, +99.0 %: kept, and in no drift line" in error
    assert "bench.csv, line 3, mind: its time 2062-03-02 lies in the future" in error
    assert take("2026-03-02,W-7,100,101,ft-lb")[0] == 0


def test_of_many_rows_the_first_are_told_and_json_tells_all(take):
    rows = [f"2026-03-02,W-9,100,{number},Nm" for number in range(25)]

    _, _, error = take(*rows)
    code, out, _ = take(*rows, options=("--json",))

    assert error.count("\n") == 21
    assert error.endswith("bench.csv: 5 more of this sort; --json tells all\n")
    answer = json.loads(out)
    assert (code, answer["taken"], answer["already_stored"], len(answer["not_taken"])) == (1, 0, 0, 25)
    assert answer["not_taken"][0]["raw"] == "2026-03-02,W-9,100,0,Nm"
    assert answer["not_taken"][0]["line"] == 2


def test_a_row_that_is_not_utf_8_is_told_and_answered_as_json(bench, tmp_path):
    (tmp_path / "c.csv").write_bytes(f"{HEADER}2026-03-02,W-7,100,101,Nm\n".encode() + b"2026-03-02,W-7,100,101,N\xb7m\n")

    code, out, error = bench("wrench", "check", "--from", tmp_path / "c.csv", "--json")

    assert (code, json.loads(out)["taken"]) == (1, 1)
    assert json.loads(out)["not_taken"][0]["raw"] == r"2026-03-02,W-7,100,101,N\xb7m"
    assert error == "c.csv, line 3, not taken: is not UTF-8; save the file as CSV in UTF-8\n"


@pytest.mark.parametrize(
    ("zone", "at"),
    [
        ("+01:00", "2026-03-02T06:30:00.000000Z"),
        ("Europe/Berlin", "2026-03-02T06:30:00.000000Z"),
        ("Asia/Kathmandu", "2026-03-02T01:45:00.000000Z"),
        ("Z", "2026-03-02T07:30:00.000000Z"),
    ],
)
def test_times_without_offset_are_placed_by_the_zone_that_is_named(take, path, zone, at):
    assert take("2026-03-02 07:30,W-7,100,101,Nm", options=("--zone", zone))[0] == 0
    assert [row[0] for row in checks(path)] == [at]


def test_without_a_zone_their_day_is_kept_and_told(take, path):
    code, _, error = take("2026-07-02 07:30,W-7,100,101,Nm", "2026-07-03,W-7,100,101,Nm")

    assert code == 0
    assert "line 2, mind: the hour of `2026-07-02 07:30` is left out, as it states no offset from UTC; --zone keeps it" in error
    assert [row[0] for row in checks(path)] == ["2026-07-02", "2026-07-03"]


def test_a_void_check_counts_no_more_and_its_file_does_not_bring_it_back(take, bench, path):
    take("2026-03-02,W-7,100,199,Nm", "2026-03-09,W-7,100,101,Nm")
    seq = entry_of(path, "199")

    code, _, error = bench("wrench", "check", "--void", seq, "--why", " typed 199 for 99 ", "--by", "Runa Veld")

    assert (code, error) == (0, f"the check in entry {seq} is taken back; it stays on record and counts no more\n")
    assert take("2026-03-02,W-7,100,199,Nm", "2026-03-09,W-7,100,101,Nm")[1].startswith("bench.csv: 0 checks taken, 2 stored")
    assert [row[-1] for row in checks(path)] == ["typed 199 for 99", None]
    with closing(open_audit(path)) as db:
        assert list(load_checks(db)["shown_nm"]) == [101.0]
    again = bench("wrench", "check", "--void", seq, "--why", "again")
    assert again == (2, "", f"witnessmark: the check in entry {seq} was taken back already (typed 199 for 99)\n")
    assert main(["verify", str(path)]) == 0


@pytest.mark.parametrize("seq", ["1", "0", "-1", "999999", "9" * 30])
def test_an_entry_that_is_no_check_cannot_be_taken_back(bench, seq):
    code, _, error = bench("wrench", "check", f"--void={seq}", "--why", "x")

    assert code == 2
    assert error == f"witnessmark: entry {seq} is no check; `witnessmark export checks --to -` names each check's entry\n"


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_our_own_export_read_again_adds_nothing_and_what_was_taken_back_stays_so(take, bench, path, tmp_path, ending):
    take("2026-03-02,=1+1,100.50,101.0,Nm", "2026-03-02T07:30Z,W-7,90,90,lbf·ft", "2026-03-09,W-7,100,199,Nm")
    bench("wrench", "check", "--void", entry_of(path, "199"), "--why", "=1 slip")
    bench("export", "checks", "--to", tmp_path / f"out.{ending}")

    code, out, error = bench("wrench", "check", "--from", tmp_path / f"out.{ending}")

    assert (code, out) == (1, f"out.{ending}: 0 checks taken, 2 stored before, 1 row not taken\n")
    assert error == f"out.{ending}, line 4, not taken: the check was taken back where it was exported (=1 slip)\n"
    assert len(checks(path)) == 3


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_simulated_checks_are_not_taken_as_real_from_our_own_export(bench, path, tmp_path, monkeypatch, ending):
    with Recorder(path, FixedClock(), "test") as recorder:
        add_wrench(
            recorder, added_wrench("S-1", "SN", "indicating", "10", "200", "Nm", "highest", simulated=True), "person-1"
        )
    bench("wrench", "check", "S-1", "--at", "2026-03-02", "--reference", "100", "--shown", "101")
    bench("export", "checks", "--to", tmp_path / f"out.{ending}")
    again = ("wrench", "check", "--from", tmp_path / f"out.{ending}")
    # Where the wrench is a simulated one the check is simulated again, and here it is the same.
    assert bench(*again)[:2] == (0, f"out.{ending}: 0 checks taken, 1 stored before, 0 rows not taken SIMULATED\n")

    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "other.db"))
    add(bench, "S-1")

    code, out, error = bench(*again)

    assert (code, out) == (1, f"out.{ending}: 0 checks taken, 0 stored before, 1 row not taken\n")
    assert error == f"out.{ending}, line 2, not taken: is SIMULATED: made by a program, not by a wrench\n"
    assert checks(tmp_path / "other.db") == []


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_our_own_export_is_read_into_another_register(take, bench, path, tmp_path, monkeypatch, ending):
    take("2026-03-02,=1+1,100.5,101,Nm")
    bench("export", "checks", "--to", tmp_path / f"out.{ending}")
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "other.db"))
    add(bench, "=1+1")

    assert bench("wrench", "check", "--from", tmp_path / f"out.{ending}")[1].startswith(f"out.{ending}: 1 check taken")
    assert checks(tmp_path / "other.db") == [("2026-03-02", "100.5", "101", "N·m", None)]


def test_a_workbook_is_read(bench, path, tmp_path):
    book = Workbook()
    half_past_seven = datetime(2026, 3, 2, 7, 30)  # noqa: DTZ001  # as a cell holds it
    for row in (NEEDED, [half_past_seven, "W-7", 100.5, 101, "Nm"], [46083, "W-7", 100, 101, "Nm"]):
        book.active.append(row)
    book.save(tmp_path / "bench.xlsx")

    code, _, error = bench("wrench", "check", "--from", tmp_path / "bench.xlsx", "--zone", "Europe/Berlin")

    assert code == 1
    assert error == "bench.xlsx, line 3, not taken: time 46083 is a number, not a date; give its cell the form of a date\n"
    assert checks(path) == [("2026-03-02T06:30:00.000000Z", "100.5", "101", "N·m", None)]


def test_what_is_simulated_says_so(bench, path, take):
    with Recorder(path, FixedClock(), "test") as recorder:
        sim = added_wrench("S-1", "SN", "indicating", "10", "200", "Nm", "highest", simulated=True)
        add_wrench(recorder, sim, "person-1")
    typed = ("wrench", "check", "S-1", "--reference", "100", "--shown", "101")

    assert re.search(r"inside ±4 % \(entry \d+\) SIMULATED\n$", bench(*typed)[1])
    assert json.loads(bench(*typed, "--json")[1])["simulated"] == 1
    assert take("2026-03-02,S-1,100,101,Nm")[1].endswith("0 rows not taken SIMULATED\n")
    assert json.loads(take("2026-03-02,S-1,100,101,Nm", options=("--json",))[1])["simulated"] == 1
    assert bench("verify", path)[1].endswith(" SIMULATED\n")


def test_an_adjustment_begins_the_checks_anew(take, bench, path):
    take("2026-02-27,W-7,100,105,Nm", "2026-03-02,W-7,100,101,Nm")
    calibrate = ("wrench", "calibrate", "W-7", "--certificate", "C-1", "--on", "2026-03-01", "--due", "2027-02-28")

    bench(*calibrate)
    with closing(open_audit(path)) as db:
        assert len(load_checks(db)) == 2
    bench(*calibrate, "--adjusted")
    with closing(open_audit(path)) as db:
        assert list(load_checks(db)["shown_nm"]) == [101.0]
        assert [str(wrench.adjusted_on) for wrench in load_wrenches(db)] == ["None", "2026-03-01"]


CALIBRATE = ("wrench", "calibrate", "W-7", "--due", "2063-03-01", "--certificate")


def wrench_of(path):
    with closing(open_audit(path)) as db:
        (wrench,) = (wrench for wrench in load_wrenches(db) if wrench.id == "W-7")
    return wrench.certificate, str(wrench.calibrated_on), str(wrench.adjusted_on)


def test_a_calibration_in_the_future_is_refused_as_it_would_hide_every_check(bench, path):
    answer = bench(*CALIBRATE, "C-1", "--on", "2062-03-01", "--adjusted")

    assert answer == (2, "", "witnessmark: --on 2062-03-01 lies in the future, as today is 2026-03-31; correct the day\n")
    assert wrench_of(path) == (None, "None", "None")


@pytest.mark.parametrize(("on", "code"), [("2026-03-31", 0), ("2026-04-01", 0), ("2026-04-02", 2)])
def test_a_calibration_may_be_of_tomorrow_by_utc(bench, on, code):
    assert bench(*CALIBRATE, "C-1", "--on", on)[0] == code


def test_an_older_certificate_entered_late_is_kept_and_said_not_to_count(bench, path):
    bench(*CALIBRATE, "C-2", "--on", "2026-03-01")

    code, _, error = bench(*CALIBRATE, "C-1", "--on", "2026-02-01", "--adjusted")

    assert (code, error.splitlines()[1:]) == (0, ["certificate C-2 of 2026-03-01 is newer and stays the one that counts"])
    assert wrench_of(path) == ("C-2", "2026-03-01", "2026-02-01")
    assert main(["verify", str(path)]) == 0


ODD = [
    pytest.param("SN\n9", r"'SN\n9'", id="line-end"),
    pytest.param("SN\x1b[31m", r"'SN\x1b[31m'", id="escape"),
    pytest.param(" SN", "' SN'", id="blank-in-front"),
    pytest.param("SN ", "'SN '", id="blank-behind"),
    pytest.param("SN\u202e9", r"'SN\u202e9'", id="turns-the-reading-order"),
    pytest.param("N\x00" * 100, r"N\x00...'", id="long"),
]


@pytest.mark.parametrize(("text", "shown"), ODD)
@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        pytest.param(("add", "{}", "--serial", "SN"), "the wrench's id", id="id"),
        pytest.param(("add", "W-1", "--serial", "{}"), "--serial", id="serial"),
        pytest.param(("calibrate", "W-7", "--certificate", "{}"), "--certificate", id="certificate"),
        pytest.param(("calibrate", "{}", "--certificate", "C"), "the wrench's id", id="id-to-calibrate"),
    ],
)
def test_a_name_that_would_break_a_line_or_look_like_another_is_refused(bench, path, arguments, what, text, shown):
    before = entries(path)
    more = {
        "add": ("--type", "indicating", "--low", "1", "--high", "2", "--unit", "Nm", "--measures", "highest"),
        "calibrate": ("--on", "2026-03-01", "--due", "2027-03-01"),
    }[arguments[0]]

    code, out, error = bench("wrench", *(argument.replace("{}", text) for argument in arguments), *more)

    assert (code, out) == (2, "")
    assert error.startswith(f"witnessmark: {what} ")
    assert f"{shown}: is empty, has blanks at an end, or a sign that cannot be printed; correct it\n" in error
    assert error[:-1].isprintable()
    assert entries(path) == before


def test_names_in_any_script_and_with_blanks_inside_are_taken(bench):
    assert add(bench, "Größe 1 日本")[0] == 0
    assert bench(*CALIBRATE, "", "--on", "2026-03-01")[0] == 2
    assert bench(*CALIBRATE, "K 2210/Ü", "--on", "2026-03-01")[0] == 0
