"""Values that are no plain torque, through `collect` from a log and from a wrench on a pseudo-terminal.

The logs and records hold made-up values in the forms that users of other instruments have reported.
"""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from analysis.verify import verify_file
from collector.cli.main import main
from tests.rigs.collecting import Bench

PLAN = """\
plan: guard
title: Guard
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 10 %
joints:
  - {id: J01, name: Guard bolts, fasteners: FASTENERS, torque: 25}
"""
BINARY = """\
name: small-record
framing: {by: length, length: 11, start: A5}
binary:
  byte_order: little
  fields:
    - {name: sequence, at: 1, type: u16}
    - {name: torque, at: 3, type: i16, scale: 0.1}
    - {name: unit, at: 5, type: u8}
    - {name: flags, at: 6, type: u8}
unit_codes: {"1": N·m}
flags: {0: low}
low_battery: [low]
"""
SAMPLED = """\
name: sampled
encoding: ascii
begins: "@"
delimiter: ";"
fields: [wrench, sequence, torque]
unit: N·m
longest: 60
peaks: {rate_hz: 50, start_nm: 3, drop: 20 %, enough_hz: ENOUGH}
"""
LOW = "battery low: change after this joint"


@pytest.fixture(name="from_log")
def _from_log(tmp_path, capsys):
    def from_log(text: str, fasteners: int = 4, layout: str = "") -> dict[str, object]:
        (tmp_path / "plan.yaml").write_text(PLAN.replace("FASTENERS", str(fasteners)), encoding="utf-8")
        (tmp_path / "log.csv").write_text(text, encoding="utf-8")
        (tmp_path / "layout.yaml").write_text(f"layout: theirs\n{layout}", encoding="utf-8")
        source = ["--from", f"log:{tmp_path / 'log.csv'}", "--layout", str(tmp_path / "layout.yaml")]
        assert main(["collect", str(tmp_path / "plan.yaml"), *source, "--json", "--db", str(tmp_path / "audit.db")]) == 1
        return json.loads(capsys.readouterr().out)

    return from_log


def noted(tmp_path: Path) -> list[str]:
    with closing(sqlite3.connect(tmp_path / "audit.db")) as db:
        return [notes for (notes,) in db.execute("SELECT notes FROM reading ORDER BY n")]


def values(answer: dict[str, object]) -> list[str | None]:
    return [row["torque_nm"] for row in answer["readings"]]


def test_marks_of_overload_are_over_without_a_value_and_marks_of_no_reading_are_none(from_log, tmp_path):
    rows = ["25.0", "OL", "----", "9.9E37", "-9.9E37", "32767", "", "0L", "25.2"]
    text = "seq,torque,unit\n" + "".join(f"{n},{torque},Nm\n" for n, torque in enumerate(rows, 1))

    answer = from_log(text, layout='over_range: [OL, "32767"]\nno_reading: ["----"]\n')

    assert values(answer) == ["25.0", None, None, None, None, "25.2"]
    assert [row["verdict"] for row in answer["readings"]] == ["in band", *["over"] * 4, "in band"]
    assert [(row["line"], row["reason"]) for row in answer["set_aside"]] == [
        (4, "`----` is this format's mark for no reading"),
        (8, "no torque was sent"),
        (9, "torque `0L` is not plain digits"),
    ]
    assert answer["joints"][0]["proof"] == "failed"
    with closing(sqlite3.connect(tmp_path / "audit.db")) as db:
        # What is drawn and averaged are these, and nothing else.
        assert db.execute("SELECT avg(torque_nm), count(torque_nm), min(torque_nm) FROM reading").fetchone() == (25.1, 2, "25.0")


def test_what_is_no_number_never_becomes_a_torque(from_log, tmp_path):
    answer = from_log("seq,torque,unit\n1,nan,Nm\n2,inf,Nm\n3,-Infinity,Nm\n4,25.0,Nm\n")

    assert values(answer) == ["25.0"]
    assert [(row["raw"], row["reason"]) for row in answer["set_aside"]] == [
        ("1,nan,Nm", "torque `nan` is not a number"),
        ("2,inf,Nm", "torque `inf` is not a number"),
        ("3,-Infinity,Nm", "torque `-Infinity` is not a number"),
    ]
    assert answer["joints"][0]["tightened"] == 1


def test_a_torque_is_read_by_our_own_units_and_a_length_is_refused(from_log):
    answer = from_log("seq,torque,unit\n1,25,Nm\n2,25,km\n")

    assert values(answer) == ["25"]
    assert [row["reason"] for row in answer["set_aside"]] == [
        "unit `km` is a length, not a torque; write a unit of torque, such as N·m, lbf·ft, lbf·in or kgf·m"
    ]


def test_a_unit_that_was_switched_is_noted_and_each_row_is_judged_in_its_own(from_log, tmp_path):
    answer = from_log("# session unit: Nm\nseq,torque,unit\n1,25.0,Nm\n2,18.4,lbf.ft\n3,25.0,Nm\n4,25.0,9\n")

    # 18.4 lbf·ft: 0.45359237 kg x 9.80665 m/s2 x 0.3048 m, NIST Special Publication 811 (2008), Appendix B.
    assert [float(value) for value in values(answer)] == pytest.approx([25.0, 24.94705, 25.0], abs=1e-4)
    assert [row["verdict"] for row in answer["readings"]] == ["in band"] * 3
    changes = ("`Nm` to `lbf.ft`", "`lbf.ft` to `Nm`")
    assert noted(tmp_path) == ["", *(f"the unit changes here, from {change}" for change in changes)]
    assert [row["reason"].split(";")[0] for row in answer["set_aside"]] == ["unit `9` is not known"]


def test_a_label_that_contradicts_the_numbers_is_a_hint_and_changes_nothing(from_log, tmp_path):
    # 18.4 is 24.9 N·m in lbf·ft, and far below 22.5 N·m, the lower edge.
    answer = from_log("seq,torque,unit\n" + "".join(f"{n},18.{n},Nm\n" for n in (3, 4, 5, 6)))

    assert values(answer) == ["18.3", "18.4", "18.5", "18.6"]
    assert {row["verdict"] for row in answer["readings"]} <= {"under", None}
    hint = "numbers would fit lbf·ft: look at the wrench's unit; nothing was changed"
    assert noted(tmp_path) == ["", "", hint, ""]


@pytest.mark.parametrize("loosening", ["-20.0", "20.0-"])
def test_a_loosening_reopens_its_fastener_whichever_way_its_sign_is_written(from_log, loosening):
    answer = from_log(f"seq,torque,unit\n1,25.0,Nm\n2,{loosening},Nm\n3,25.1,Nm\n", fasteners=1)

    assert values(answer) == ["25.0", "-20.0", "25.1"]
    assert [(row["kind"], row["verdict"]) for row in answer["readings"]][1:] == [("loosening", None), ("tightening", "in band")]
    assert (answer["joints"][0]["tightened"], answer["joints"][0]["missed"]) == (1, 0)


def test_a_zero_before_the_first_pull_is_kept_and_takes_no_fastener_and_a_second_download_adds_nothing(from_log):
    text = "time,wrench,seq,torque,unit\n" + "".join(
        f"2026-03-02T08:00:{n}0+01:00,W-140,{n},{torque},Nm\n" for n, torque in enumerate(("0.4", "25.0", "0.4", "25.1"), 1)
    )
    first = from_log(text)
    again = from_log(text)

    assert values(first) == ["25.0", "0.4", "25.1"]
    assert [(row["line"], row["reason"]) for row in first["set_aside"]] == [
        (2, "zero offset 0.4 N·m, sent before the first pull: more than 1 % of the smallest torque of the plan (25 N·m), "
            "so set the wrench to zero; nothing is corrected"),
    ]  # fmt: skip
    assert (again["readings"], again["set_aside"]) == (first["readings"], first["set_aside"])
    assert again["already_stored"] == 4


@pytest.fixture(name="wrench")
def _wrench(new_cable):
    return new_cable("ttyWRENCH")


@pytest.fixture(name="listen")
def _listen(tmp_path, wrench, open_shop, collect):
    """Starts the program on one registered wrench and a joint of so many fasteners, with that wire format."""

    def listen(fasteners: int, wire: str = "") -> Bench:
        shop = open_shop(PLAN.replace("FASTENERS", str(fasteners)), "W-140")
        (tmp_path / "wire.yaml").write_text(wire, encoding="utf-8")
        format_ = ["--wire", str(tmp_path / "wire.yaml"), "--wrench", "W-140"] if wire else []
        bench = collect(shop, "--from", wrench.source, *format_)
        bench.wait_for("link: open")
        return bench

    return listen


def on_wire(*lines: str) -> bytes:
    return "".join(f"{line}\r\n" for line in lines).encode()


def line(number: int, torque: str, unit: str = "Nm", status: str = "ok") -> str:
    return f"@W-140;{number};{torque};{unit};;{status}"


def confirm(bench: Bench, fasteners: int) -> None:
    bench.wait_for(f"stripes: {fasteners} of {fasteners}?")
    bench.press("\r")
    bench.wait_for(f"{fasteners} of {fasteners} stripes seen")


def test_live_what_is_no_reading_is_set_aside_and_takes_no_fastener(listen, wrench):
    bench = listen(2)
    sent = ["0.1", "----", "", "nan", "inf", "-Infinity", "0L", "2.5E1"]
    for number, torque in enumerate(sent, 1):
        wrench.send(on_wire(line(number, torque)))
        bench.wait_for("SET ASIDE")
    wrench.send(on_wire(line(9, "25.0")))
    bench.wait_for("reached 25.0 N·m")
    wrench.send(on_wire(line(10, "25.1")))
    confirm(bench, 2)

    code, answer = bench.end()

    assert (code, answer["complete"]) == (0, True)
    assert values(answer) == ["25.0", "25.1"]
    assert [row["raw"] for row in answer["set_aside"]] == [line(number, torque) for number, torque in enumerate(sent, 1)]


@pytest.mark.parametrize("mark", ["OL", "9.9E37", "-9.9E37"])
def test_live_past_the_range_is_over_and_stops(listen, wrench, mark):
    bench = listen(1)
    wrench.send(on_wire(line(1, mark)))
    bench.wait_for("STOP")

    code, answer = bench.end()

    assert (code, answer["joints"][0]["proof"]) == (1, "failed")
    assert [(row["torque_nm"], row["verdict"]) for row in answer["readings"]] == [(None, "over")]


def test_live_a_low_battery_is_told_and_its_value_counts(listen, wrench, tmp_path):
    bench = listen(2)
    wrench.send(on_wire(line(1, "25.0", status="lb")))
    bench.wait_for(f"W-140: {LOW}")
    wrench.send(on_wire(line(2, "18.4", "lbf.ft")))
    bench.wait_for("W-140: unit changed from N·m to lbf·ft")
    confirm(bench, 2)

    code, answer = bench.end()

    assert (code, answer["complete"]) == (0, True)
    assert noted(tmp_path) == [LOW, "unit changed from N·m to lbf·ft"]


def test_live_bits_of_a_binary_record_are_no_part_of_its_value_and_its_sign_is(listen, wrench, tmp_path):
    bench = listen(3, BINARY)
    records = ["0100fa000100", "020038ff0100", "0300fb000101", "0400fc000180", "0500fb000100"]
    for record, torque in zip(records, ("25.0", "-20.0", "25.1", "25.2", "25.1"), strict=True):
        wrench.send(bytes.fromhex(f"a5{record}00000000"))
        bench.wait_for("IN BAND" if torque != "-20.0" else "LOOSENING")
    confirm(bench, 3)

    code, answer = bench.end()

    assert (code, answer["complete"]) == (0, True)
    assert values(answer) == ["25.0", "-20.0", "25.1", "25.2", "25.1"]
    assert [(row["kind"], row["position"], row["verdict"]) for row in answer["readings"]] == [
        ("tightening", 1, "in band"), ("loosening", 1, None), ("tightening", 1, "in band"), ("tightening", 2, "in band"),
        ("tightening", 3, "in band"),
    ]  # fmt: skip
    assert noted(tmp_path) == ["", "", LOW, "unknown flag 0x80", ""]


def samples(first: int, *torques: str) -> list[str]:
    return [f"@W-140;{number};{torque}" for number, torque in enumerate(torques, first)]


def test_live_the_peak_of_each_pull_is_picked_from_samples_and_every_sample_is_kept(listen, wrench, tmp_path):
    bench = listen(2, SAMPLED.replace("ENOUGH", "50"))
    pulls = [samples(1, "0.0", "11.0", "24.1", "25.0", "24.0", "9.0", "0.1"), samples(8, "0.0", "18.0", "25.3", "3.0", "-0.2")]
    for pull, torque in zip(pulls, ("25.0", "25.3"), strict=True):
        wrench.send(on_wire(*pull))
        bench.wait_for(f"reached {torque} N·m")
    confirm(bench, 2)

    code, answer = bench.end()

    assert (code, answer["complete"]) == (0, True)
    assert [(row["torque_nm"], row["verdict"]) for row in answer["readings"]] == [("25.0", "in band"), ("25.3", "in band")]
    assert noted(tmp_path) == [f"picked from {count} samples at 50 a second; the true peak may be higher" for count in (4, 2)]
    assert (answer["set_aside"], answer["unreadable"]) == ([], [])
    with closing(sqlite3.connect(tmp_path / "audit.db")) as db:
        kept = [bytes.fromhex(json.loads(entry)["body"]["raw"]).decode() for (entry,) in db.execute(
            "SELECT entry FROM ledger WHERE json_extract(entry, '$.kind') = 'frame' ORDER BY seq")]  # fmt: skip
    assert kept == pulls[0] + pulls[1]
    assert verify_file(tmp_path / "audit.db").findings == []


def test_live_below_the_rate_that_is_enough_no_fastener_is_proven(listen, wrench):
    bench = listen(1, SAMPLED.replace("ENOUGH", "200"))
    wrench.send(on_wire(*samples(1, "0.0", "18.0", "25.3", "3.0")))
    confirm(bench, 1)

    code, answer = bench.end()

    assert (code, answer["complete"]) == (1, False)
    assert [row["verdict"] for row in answer["readings"]] == ["in band"]
    assert answer["joints"][0]["proof"] == "doubtful"


def test_live_a_pull_that_the_cable_cut_off_is_told_and_never_becomes_a_peak(listen, wrench):
    bench = listen(1, SAMPLED.replace("ENOUGH", "50"))
    # What the kernel still holds at an unplug is lost, so the half pull comes with noise that is seen to be taken.
    wrench.send(on_wire(*samples(1, "0.0", "18.0", "26.0"), "noise"))
    bench.wait_for("UNREADABLE")
    wrench.unplug()
    bench.wait_for("unfinished pull: it had reached 26.0 N·m")
    wrench.plug()
    bench.wait_for("link: back")
    wrench.send(on_wire(*samples(4, "0.0", "18.0", "25.3", "3.0")))
    bench.wait_for("reached 25.3 N·m")

    code, answer = bench.end()

    assert (code, answer["joints"][0]["proof"]) == (1, "doubtful")
    assert values(answer) == ["25.3"]
    assert [(row["raw"], row["reason"]) for row in answer["set_aside"]] == [
        (
            "@W-140;3;26.0",
            "unfinished pull: it had reached 26.0 N·m and not come down when the samples ended; look at this fastener",
        )
    ]


def test_a_look_at_a_sample_shows_the_peaks_and_what_is_left_in_hand(tmp_path, capsys):
    (tmp_path / "wire.yaml").write_text(SAMPLED.replace("ENOUGH", "200"), encoding="utf-8")
    sent = samples(1, "0.0", "18.0", "25.3", "3.0", "0.0", "17.5")
    (tmp_path / "sent").write_text("".join(f"{one}\n" for one in sent), encoding="ascii")

    assert main(["wire", "check", str(tmp_path / "wire.yaml"), "--sample", str(tmp_path / "sent")]) == 1

    assert capsys.readouterr().out.splitlines()[1:] == [
        "1  @W-140;3;25.3",
        "   25.3 N·m; wrench W-140; measures highest; picked from 2 samples at 50 a second; the true peak may be higher; "
        "in doubt: sampled at 50 a second where 200 are enough: cannot show a short over-pull",
        "2  @W-140;6;17.5",
        "   set aside: unfinished pull: it had reached 17.5 N·m and not come down when the samples ended; look at this fastener",
    ]
