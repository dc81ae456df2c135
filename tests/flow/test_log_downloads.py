"""Downloads of a wrench's memory through `collect`: what is new is added once, what differs is kept, what is open is asked."""

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
joints:
  - {id: J01, name: Bracket bolts, fasteners: 3, torque: 25}
"""
BOUNDS = """\
plan: bounds
title: Bounds
revision: "1"
source: Shop sheet 9
unit: N·m
joints:
  - {id: J1, name: One, fasteners: 1, torque: 9.0, tolerance: 20 %}
  - {id: J2, name: Two, fasteners: 1, torque: 25.0, tolerance: 8 %}
  - {id: J3, name: Three, fasteners: 1, torque: 60.0, tolerance: 15 %}
  - {id: J4, name: Four, fasteners: 1, low: 70, high: 80, unit: lbf·ft}
"""
HEADER = "seq,device_time,tool,torque,unit,flag\n"
FIRST = "1,2026-03-02 09:00:05,W-01,24.9,Nm,\n2,2026-03-02 09:00:21,W-01,25.2,Nm,\n3,2026-03-02 09:00:40,W-01,25.0,Nm,\n"
MORE = "4,2026-03-02 09:20:00,W-01,25.1,Nm,\n5,2026-03-02 09:20:30,W-01,24.8,Nm,\n"


@pytest.fixture(name="collect")
def _collect(tmp_path, capsys):
    """Reads a log in; gives the exit code, the answer, and what was said on standard error."""

    def collect(text, *more, plan=PLAN, file="log.csv"):
        (tmp_path / "plan.yaml").write_text(plan, encoding="utf-8")
        log = tmp_path / file
        log.write_bytes(text if isinstance(text, bytes) else text.encode())
        command = ["collect", str(tmp_path / "plan.yaml"), "--from", f"log:{log}", "--json", "--db", str(tmp_path / "a.db")]
        code = main([*command, *more])
        out, err = capsys.readouterr()
        return code, json.loads(out) if out else None, err

    return collect


@pytest.fixture(name="ledger")
def _ledger(tmp_path):
    """The bodies of all entries of one kind."""

    def ledger(kind):
        import sqlite3

        rows = sqlite3.connect(tmp_path / "a.db").execute("SELECT entry FROM ledger ORDER BY seq").fetchall()
        entries = [json.loads(text) for (text,) in rows]
        return [entry["body"] for entry in entries if entry["kind"] == kind]

    return ledger


def torques(answer):
    return [row["torque_nm"] for row in answer["readings"]]


def test_a_second_download_adds_only_what_is_new(collect):
    collect(HEADER + FIRST)

    _, second, _ = collect(HEADER + FIRST + MORE)
    _, third, _ = collect(HEADER + FIRST)

    assert (len(second["readings"]), second["already_stored"]) == (5, 3)
    assert (len(third["readings"]), third["already_stored"]) == (5, 3)


@pytest.mark.parametrize("more", [(), ("--zone", "Europe/Berlin")], ids=["the-same-way", "with-a-zone-declared"])
def test_another_value_under_a_known_number_is_a_conflict_and_both_are_kept(collect, more):
    collect(HEADER + FIRST)

    _, answer, _ = collect(HEADER + "2,2026-03-02T09:00:21,W-01,35.2,Nm,\n", *more)

    assert torques(answer) == ["24.9", "25.2", "25.0"]
    (aside,) = answer["set_aside"]
    assert aside["reason"].startswith("number 2 of wrench W-01 is stored with 25.2 N·m, here it has 35.2 N·m: both are kept")
    assert "35.2" in aside["raw"]


def test_a_download_in_another_encoding_and_with_other_marks_is_the_same_pulls(collect):
    collect(HEADER + FIRST)

    other = (HEADER + FIRST).replace(",", ";").replace("24.9", "24,9").replace("25.2", "25,2").replace("25.0", "25,0")
    _, answer, _ = collect(b"\xff\xfe" + other.encode("utf-16-le"))

    assert (len(answer["readings"]), answer["already_stored"]) == (3, 3)


def test_the_repeated_hour_is_the_same_pull_with_and_without_a_zone(collect):
    row = HEADER + "6,2025-10-26 02:20:00,W-01,25.0,Nm,\n"
    collect(row)

    _, answer, _ = collect(row, "--zone", "Europe/Berlin")

    assert (len(answer["readings"]), answer["already_stored"]) == (1, 1)


def test_a_pull_that_came_with_its_offset_is_known_again_in_a_download_whose_zone_is_declared(collect):
    collect(HEADER + "1,2026-03-02T09:00:05+01:00,W-01,24.9,Nm,\n")

    _, answer, _ = collect(HEADER + "1,2026-03-02 09:00:05,W-01,24.9,Nm,\n", "--zone", "Europe/Berlin")

    assert (len(answer["readings"]), answer["already_stored"]) == (1, 1)


@pytest.mark.parametrize(
    ("times", "options"),
    [
        pytest.param(("02/03/2026 09:00:05", "02/03/2026 09:00:21", "02/03/2026 09:00:40"), ["--dates", "day-first"], id="day"),
        pytest.param(("3/2/26 9:00:05 AM", "3/2/26 9:00:21 AM", "3/2/26 9:00:40 AM"), ["--dates", "month-first"], id="month"),
        pytest.param(("2026/03/02 09:00:05", "2026/03/02 09:00:21", "2026/03/02 09:00:40"), [], id="year"),
        pytest.param(tuple(f"2026-03-02T09:00:{s}+01:00" for s in ("05", "21", "40")), [], id="with-its-offset"),
    ],
)
@pytest.mark.parametrize("zone", [(), ("--zone", "Europe/Berlin")], ids=["no-zone", "zone"])
def test_the_same_day_with_its_times_in_another_form_is_the_same_pulls(collect, times, options, zone):
    collect(HEADER + FIRST, *zone)

    rows = FIRST
    for before, after in zip(("2026-03-02 09:00:05", "2026-03-02 09:00:21", "2026-03-02 09:00:40"), times, strict=True):
        rows = rows.replace(before, after)
    _, answer, _ = collect(HEADER + rows, *options)

    assert (len(answer["readings"]), answer["already_stored"]) == (3, 3)


def test_times_in_another_form_are_known_again_whichever_zone_is_declared(collect):
    rows = HEADER + "1,14/03/2026 09:00:05,W-01,24.9,Nm,\n"
    collect(rows)

    _, answer, _ = collect(rows, "--zone", "Europe/Berlin")

    assert (len(answer["readings"]), answer["already_stored"]) == (1, 1)


def test_two_pulls_at_one_time_of_a_clock_that_was_never_set_are_both_kept(collect):
    rows = "1,2000-01-01 00:00:10,W-01,24.9,Nm,\n1,2000-01-01 00:00:10,W-01,25.1,Nm,\n"

    _, answer, _ = collect(HEADER + rows)

    assert torques(answer) == ["24.9", "25.1"]
    assert answer["set_aside"] == []


def test_equal_rows_without_numbers_are_two_clicks_and_stay_two(collect):
    rows = "torque,unit\n25,Nm\n25,Nm\n"
    collect(rows)

    _, answer, _ = collect(rows + "25,Nm\n")

    assert (len(answer["readings"]), answer["already_stored"]) == (3, 2)


def test_rows_that_were_set_aside_count_once_their_unit_is_declared_and_the_declaration_is_stored(collect, ledger):
    rows = "seq,torque\n1,25.0\n2,25.3\n3,18.4\n"
    _, first, said = collect(rows)
    _, again, _ = collect(rows)

    _, declared, _ = collect(rows, "--unit", "lbf.ft")
    _, last, _ = collect(rows, "--unit", "lbf.ft")

    assert (first["readings"], len(first["set_aside"])) == ([], 3)
    assert "unit" in first["set_aside"][0]["reason"]
    assert "read with no column of units: every row is set aside until --unit declares it" in said
    assert (again["readings"], again["already_stored"]) == ([], 3)
    assert [float(torque) for torque in torques(declared)] == pytest.approx([33.895, 34.302, 24.947], abs=0.001)
    assert (len(last["readings"]), last["already_stored"]) == (3, 3)
    assert "unit lbf·ft (declared), for rows that state none" in ledger("log")[2]["notes"]


def test_how_a_log_was_read_is_stored_and_what_is_unusual_is_told(collect, ledger):
    _, _, plain = collect(HEADER + FIRST.replace(" 09", "T09").replace(",W-01", "+01:00,W-01"))
    _, _, unusual = collect("seq;torque;unit\n7;24,6;Nm\n")

    assert plain == ""
    assert "read with columns divided by semicolons (its header has known names so)" in unusual.splitlines()
    assert "read with decimal mark `,` (proved by line 2, and no row speaks against it)" in unusual.splitlines()
    assert [body["notes"][0] for body in ledger("log")] == ["encoding UTF-8 (standard)"] * 2


def test_what_gave_no_reading_and_whose_time_is_not_used_is_told_with_its_line(collect):
    rows = "".join(f"{n},2000-01-01 00:00:{n},W-01,x{n},Nm,\n" for n in range(10, 17))

    _, _, said = collect(HEADER + rows + "17,2000-01-01 00:00:17,W-01,25,Nm,\n18,,W-01,18.4,lbf.ft,\n19,,W-01,25,Nm,\n")
    _, _, again = collect(HEADER + rows)

    assert said.splitlines()[4:] == [
        *(f"log.csv, line {line}, set aside: torque `x{line + 8}` is not plain digits" for line in range(2, 7)),
        "log.csv: 2 more rows gave no reading; --json tells all",
        "log.csv: 1 of 3 readings have a time that is not used, first in line 9: clock not set: the tool says "
        "`2000-01-01 00:00:17`, before 2015; its time is not used, set the tool's clock",
        "log.csv, line 10: the unit changes here, from `Nm` to `lbf.ft`, and in 1 more",
    ]  # fmt: skip
    assert "set aside" not in again


def test_the_moment_of_a_pull_lies_beside_its_time_as_sent(collect, ledger):
    collect(HEADER + FIRST + "4,2000-01-01 00:00:10,W-01,25,Nm,\n", "--zone", "Europe/Berlin")

    readings = ledger("reading")
    assert [body["tool_time"] for body in readings][::3] == ["2026-03-02 09:00:05", "2000-01-01 00:00:10"]
    assert [body["pulled_at"] for body in readings][::3] == ["2026-03-02T09:00:05+01:00", "unknown"]


def test_a_declared_zone_makes_the_day_of_a_pull_certain(collect, ledger, tmp_path):
    add = ["wrench", "add", "W-01", "--serial", "1", "--type", "indicating", "--low", "5", "--high", "50", "--unit", "Nm"]
    main([*add, "--measures", "highest", "--db", str(tmp_path / "a.db")])
    dates = ["--on", "2025-06-01", "--due", "2026-03-02"]
    main(["wrench", "calibrate", "W-01", "--certificate", "C", *dates, "--db", str(tmp_path / "a.db")])

    rows = "1,2026-03-02 23:50:00,W-01,25,Nm,\n2,2026-03-03 00:10:00,W-01,25,Nm,\n3,2000-01-01 00:10:00,W-01,25,Nm,\n"
    collect(HEADER + rows, "--zone", "Europe/Berlin")

    unfit = [body.get("unfit", "fit") for body in ledger("reading")]
    assert unfit[0] == "fit"
    assert "ran out on 2026-03-02" in unfit[1]
    assert "no certain time was sent" in unfit[2]


def test_no_pause_is_made_of_a_clock_that_was_reset(collect):
    times = ["2026-03-02 09:00:00", "2000-01-01 00:00:10", "2026-03-02 09:00:20"]

    _, answer, _ = collect(HEADER + "".join(f"{n},{time},W-01,25,Nm,\n" for n, time in enumerate(times, 1)))

    assert [(row["joint"], row["kind"]) for row in answer["readings"]] == [("J01", "tightening")] * 3


def test_readings_are_taken_in_the_order_of_their_numbers(collect):
    plan = PLAN.replace("fasteners: 3", "fasteners: 1") + "".join(
        f"  - {{id: J0{n}, name: Other {n}, fasteners: 1, torque: {torque}}}\n" for n, torque in ((2, 45), (3, 60))
    )
    rows = "3,2026-03-02 09:02:00,W,60.1,Nm,\n1,2026-03-02 09:00:05,W,24.9,Nm,\n2,2026-03-02 09:01:00,W,45.2,Nm,\n"

    _, answer, _ = collect(HEADER + rows, plan=plan)

    assert {row["joint"]: row["torque_nm"] for row in answer["readings"]} == {"J01": "24.9", "J02": "45.2", "J03": "60.1"}
    assert sum(row["missed"] for row in answer["joints"]) == 0


def test_a_gap_in_the_numbers_is_told_and_what_was_cut_off_stands_for_its_own(collect):
    code, answer, _ = collect("seq,torque,unit\n1,24.9,Nm\n2,25.1,Nm\n5,25.0,Nm\n")

    assert (code, answer["complete"]) == (1, False)


@pytest.mark.parametrize(
    ("joint", "torque", "unit", "verdict"),
    [
        pytest.param("J1", "10.8", "Nm", "in band", id="9.0-plus-20-percent"),
        pytest.param("J2", "23.0", "Nm", "in band", id="25.0-less-8-percent"),
        pytest.param("J2", "22.99", "Nm", "under", id="just-below"),
        pytest.param("J3", "69.0", "Nm", "in band", id="60.0-plus-15-percent"),
        pytest.param("J3", "69.01", "Nm", "over", id="just-above"),
        pytest.param("J4", "80.0", "lbf.ft", "in band", id="edge-in-the-plans-own-unit"),
        pytest.param("J4", "108.5", "Nm", "over", id="rounds-to-the-edge-and-lies-above"),
    ],
)
def test_both_edges_are_in_band_to_the_last_digit(collect, joint, torque, unit, verdict):
    usual = {"J1": "9.0", "J2": "25", "J3": "60", "J4": "100"} | {joint: torque}
    rows = "".join(
        f"{n},2026-03-02T09:0{n}:00+01:00,W,{value},{unit if name == joint else 'Nm'},\n"
        for n, (name, value) in enumerate(usual.items())
    )

    _, answer, _ = collect(HEADER + rows, plan=BOUNDS)

    assert {row["joint"]: row["verdict"] for row in answer["readings"]}[joint] == verdict


def test_a_layout_file_declares_it_all_and_what_is_typed_goes_before_it(collect, ledger, tmp_path):
    layout = tmp_path / "shop.yaml"
    layout.write_text(
        'layout: shop\ndelimiter: semicolon\ndecimal_mark: ","\ndates: month first\nzone: Asia/Tokyo\nunit: kgf·m\n'
        "columns: {Wert: torque, Zeit: tool_time, Nr: sequence}\n",
        encoding="utf-8",
    )

    typed = ["--layout", str(layout), "--zone", "+01:00", "--dates", "day-first"]

    _, answer, _ = collect("Nr;Zeit;Wert\n1;03/04/26 09:00;2,5\n", *typed)

    assert [float(torque) for torque in torques(answer)] == pytest.approx([24.517], abs=0.001)
    assert ledger("reading")[0]["pulled_at"] == "2026-04-03T09:00:00+01:00"
    assert "decimal mark `,` (declared in shop.yaml)" in ledger("log")[0]["notes"]


def test_what_is_typed_alone_declares_it_too(collect):
    typed = ["--decimal", ",", "--delimiter", "tab", "--encoding", "cp1252", "--dates", "day-first"]

    _, answer, _ = collect(b"time\ttorque\tunit\n03/04/26 09:00\t25,123\tN\xb7m\n", *typed)

    assert torques(answer) == ["25.123"]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        pytest.param(["--zone", "Berlin"], "--zone Berlin: zone `Berlin` is not known; write +01:00", id="zone"),
        pytest.param(["--unit", "km"], "--unit km: unit `km` is a length", id="unit"),
        pytest.param(["--layout", "none.yaml"], "none.yaml: cannot be read (No such file or directory)", id="file"),
    ],
)
def test_a_declaration_that_is_none_is_one_line(collect, tmp_path, options, says):
    code, answer, err = collect(HEADER + FIRST, *options)

    assert (code, answer) == (2, None)
    assert says in err
    assert err.count("\n") == 1
    assert not (tmp_path / "a.db").exists()


def test_a_mistake_in_a_layout_file_is_told_with_its_line(collect, tmp_path):
    (tmp_path / "shop.yaml").write_text("layout: shop\ncolour: red\n", encoding="utf-8")

    code, _, err = collect(HEADER + FIRST, "--layout", str(tmp_path / "shop.yaml"))

    assert code == 2
    assert "shop.yaml, line 2, `colour`: is not known here" in err


def test_a_column_that_a_layout_names_and_the_log_has_not_is_told(collect, tmp_path):
    (tmp_path / "shop.yaml").write_text("layout: shop\ncolumns: {Zeitt: tool_time, torque: torque}\n", encoding="utf-8")

    _, _, err = collect(HEADER + FIRST, "--layout", str(tmp_path / "shop.yaml"))

    assert "no column `Zeitt`, which is declared in shop.yaml; look at its spelling\n" in err


def test_a_workbook_is_read_like_a_file_of_text(collect, tmp_path):
    from io import BytesIO

    from openpyxl import Workbook

    book, out = Workbook(), BytesIO()
    whole = [1, "2026-03-02T09:00:05+01:00", "W-01", 24.9, "Nm"]
    for row in (["seq", "time", "tool", "torque", "unit"], whole, [2, None, 42, 25, "Nm"]):
        book.active.append(row)
    book.save(out)

    _, first, _ = collect(out.getvalue(), file="log.xlsx")
    _, again, _ = collect(out.getvalue(), file="log.xlsx")
    _, text, _ = collect("seq,time,tool,torque,unit\n1,2026-03-02T08:00:05Z,W-01,24.9,Nm\n")

    assert torques(first) == ["24.9"]
    assert "holds the number 42" in first["set_aside"][0]["reason"]
    assert again["already_stored"] == 2
    assert (len(text["readings"]), text["already_stored"]) == (1, 1)
