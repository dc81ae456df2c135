"""Several wrenches at once, and an instrument that types: pseudo-terminals for all of them, the program is the installed one."""

import signal
import sqlite3
from contextlib import closing
from functools import partial

import pytest

from analysis.verify import verify_file
from collector.cli.main import main
from sim.faults.links import Cable

PLAN = """\
plan: tow-bar
title: Tow bar, side bolts and guard
revision: "2"
source: Shop sheet 7
unit: N·m
tolerance: 10 %
joints:
  - {id: side-bolts, name: Side bolts, fasteners: FASTENERS, torque: 100}
  - {id: guard, name: Guard, fasteners: FASTENERS, torque: 25}
"""
COMMAS = """\
name: commas
encoding: ascii
delimiter: ","
fields: [wrench, torque, unit]
longest: 40
"""
TYPED = """\
name: typed
encoding: ascii
delimiter: " "
fields: [wrench, torque]
unit: N·m
longest: 60
"""
SENT_AGAIN = "the wrench sent a pull again that is stored already; not counted twice"
CUT = "the link went in the middle of this line"


@pytest.fixture(name="shop_of")
def _shop_of(open_shop):
    """Opens the shop, with so many fasteners in each joint."""
    return lambda fasteners: open_shop(PLAN.replace("FASTENERS", str(fasteners)), "W-140", "W-025")


@pytest.fixture(name="wrenches")
def _wrenches(new_cable):
    return [new_cable(name) for name in ("W-140", "W-025")]


def sources(*wrenches: Cable) -> list[str]:
    return [option for wrench in wrenches for option in ("--from", wrench.source)]


def wrench_line(wrench: str, number: int, torque: str) -> bytes:
    return f"@{wrench};{number};{torque};Nm;2026-03-02T08:{number // 60:02d}:{number % 60:02d}+01:00;ok\r\n".encode()


big_line = partial(wrench_line, "W-140")
small_line = partial(wrench_line, "W-025")


def fixed_width(number: int, torque: str) -> bytes:
    """The line that the format's own comment describes."""
    return f"{'W-025':8}{number:5}{torque:>9}{'N.m':6}Cok\r\n".encode()


def test_two_wrenches_of_two_formats_do_one_job(collect, shop_of, wrenches):
    shop, (big, small) = shop_of(2), wrenches
    bench = collect(shop, *sources(big, small), "--wire", "fixed-width")
    bench.wait_for("W-025: read as fixed-width, wrench as its records say")
    bench.wait_for("W-025 open")
    for number, torque in enumerate(("100.1", "99.9"), 1):
        big.send(big_line(number, torque))
        bench.wait_for(f"reached {torque} N·m")
    bench.wait_for("stripes: 2 of 2?")
    bench.press("\r")
    bench.wait_for("2 of 2 stripes seen")
    small.send(fixed_width(1, "25.1"))
    bench.wait_for("reached 25.1 N·m")
    small.send(fixed_width(2, "24.9"))
    bench.wait_for("stripes: 2 of 2?")
    bench.press("\r")
    bench.wait_for("2 of 2 stripes seen")

    code, answer = bench.end()

    assert (code, answer["complete"]) == (0, True)
    assert [row["torque_nm"] for row in answer["readings"]] == ["100.1", "99.9", "25.1", "24.9"]
    assert (answer["set_aside"], answer["unreadable"]) == ([], [])


def test_a_link_that_is_lost_is_named_while_the_other_goes_on(collect, shop_of, wrenches, tmp_path):
    shop, (big, small) = shop_of(4), wrenches
    bench = collect(shop, *sources(big, small))
    bench.wait_for("W-025 open")
    small.send(small_line(1, "25.1"))
    bench.wait_for("reached 25.1 N·m")
    big.send(big_line(1, "100.1"))
    bench.wait_for("reached 100.1 N·m")
    small.unplug()
    assert "NO LINK" in bench.wait_for("W-025 lost; 1 of 2 up")
    big.send(big_line(2, "99.9"))
    bench.wait_for("reached 99.9 N·m")
    small.plug()
    bench.wait_for("link: 2 of 2 up")
    bench.end()

    with closing(sqlite3.connect(tmp_path / "audit.db")) as db:
        lost = db.execute("SELECT source, joint FROM link WHERE link = 'lost'").fetchall()
    assert lost == [(small.source, "guard")]


def test_whatever_byte_a_link_is_cut_at_and_whenever_the_program_is_killed_each_record_is_stored_once(
    collect, shop_of, wrenches, tmp_path
):
    shop, (big, small) = shop_of(80), wrenches
    whole = small_line(10, "25.10")
    bench = collect(shop, *sources(big, small))
    bench.wait_for("W-025 open")
    halves = []
    for number, cut in enumerate(range(1, len(whole)), 10):
        line = small_line(number, f"25.{number}")
        # What the kernel still holds at an unplug is lost, so the half comes with noise that is seen to be taken.
        small.send(b"noise %d\r\n" % number + line[:cut])
        bench.wait_for("UNREADABLE")
        if number % 16 == 0:
            # Killed with half a line in hand; the rest of it comes to the program that is started next.
            bench.kill()
            bench = collect(shop, *sources(big, small))
            bench.wait_for("W-025 open")
            small.send(line[cut:])
            halves += [line[cut:].strip()] * (line[cut:] != b"\n")
        else:
            small.unplug()
            bench.wait_for("went away")
            small.plug()
            bench.wait_for("W-025 back")
            halves += [line[:cut]] * (not line[:cut].endswith(b"\r"))
        big.send(big_line(number, f"100.{number}"))
        bench.wait_for(f"reached 100.{number} N·m")
        small.send(line)
        small.send(small_line(number + 100, f"24.{number}"))
        bench.wait_for(f"reached 24.{number} N·m")
    _, answer = bench.end()

    numbers = range(10, number + 1)
    with closing(sqlite3.connect(tmp_path / "audit.db")) as db:
        stored = db.execute("SELECT wrench, sequence, torque FROM reading").fetchall()
    assert sorted(stored) == sorted(
        row for n in numbers for row in (("W-140", n, f"100.{n}"), ("W-025", n, f"25.{n}"), ("W-025", n + 100, f"24.{n}"))
    )
    noise = [f"noise {n}" for n in numbers]
    assert sorted(row["raw"] for row in answer["unreadable"]) == sorted([*noise, *(half.decode() for half in halves)])
    assert {row["reason"] for row in answer["unreadable"] if row["raw"].startswith("@")} == {CUT}
    assert {row["reason"] for row in answer["set_aside"]} <= {SENT_AGAIN}
    assert verify_file(tmp_path / "audit.db").findings == []


def test_where_one_of_them_cannot_be_opened_it_is_one_line_and_the_other_is_free_again(collect, shop_of, wrenches, capsys):
    shop, (big, _) = shop_of(2), wrenches
    plan, database = shop

    assert main(["collect", plan, *sources(big), "--from", f"{big.source}-gone", *database]) == 2

    error = capsys.readouterr().err.splitlines()[-1]
    assert error.startswith(f"witnessmark: port `{big.source.removeprefix('serial:')}-gone` is not there")
    bench = collect(shop, *sources(big))
    bench.wait_for("link: open")
    bench.end()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        pytest.param(("--from", "serial:A", "--from", "log:x.csv"), "`log:x.csv` is read alone", id="with-a-log"),
        pytest.param(("--from", "sim:rear-axle", "--from", "serial:A"), "`sim:rear-axle` is read alone", id="with-a-made-up-day"),
        pytest.param(("--from", "serial:A", "--from", "serial:A"), "`serial:A` is named twice", id="twice"),
        pytest.param(("--from", "log:x.csv", "--wire", "plain-line"), "leave out --wire (--layout says", id="wire-of-a-log"),
        pytest.param(
            ("--wrench", "W-1", "--from", "serial:A", "--from", "serial:B"),
            "wrench `W-1` is named for two sources",
            id="one-wrench",
        ),
        pytest.param(("--from", "serial:A", "--from", "moon:B"), "`moon:B` is no source", id="no-source"),
        pytest.param(("--from", "keys:", "--wire", "binary-record"), "brings lines of text", id="typed-bytes"),
        pytest.param(("--from", "serial:A", "--from", "serial:B", "--wire", "x"), "x: cannot be read", id="no-second-wire"),
    ],
)
def test_sources_that_do_not_go_together_are_refused_in_one_line(shop_of, capsys, options, said):
    plan, database = shop_of(2)

    assert main(["collect", plan, *options, *database]) == 2

    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


def test_lines_that_begin_as_answers_do_are_not_typed(shop_of, tmp_path, capsys):
    plan, database = shop_of(2)
    (tmp_path / "slash.yaml").write_text(
        'name: slash\nencoding: ascii\nbegins: "/"\ndelimiter: ";"\nfields: [torque, unit]\nlongest: 40\n', encoding="utf-8"
    )

    assert main(["collect", plan, "--from", "keys:", "--wire", str(tmp_path / "slash.yaml"), *database]) == 2

    assert "lines of wire format `slash` begin as an answer does" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("wire", "begun"),
    [pytest.param("plain-line", "/jo", id="start-mark"), pytest.param("commas", "/yes ", id="as-many-fields")],
)
def test_what_an_instrument_types_into_an_answer_is_on_record(collect, shop_of, tmp_path, wire, begun):
    shop = shop_of(2)
    (tmp_path / "commas.yaml").write_text(COMMAS, encoding="utf-8")
    named = wire if wire == "plain-line" else str(tmp_path / "commas.yaml")
    line = "@W-140;1;50.2;Nm;;ok" if wire == "plain-line" else "W-140,50.2,Nm"
    bench = collect(shop, "--from", "keys:", "--wire", named)
    bench.wait_for("answers begin with /")
    bench.press(f"{begun}{line}\n")
    bench.wait_for("ran together: nothing was answered")
    bench.wait_for("UNREADABLE")

    _, answer = bench.end("/quit\n")

    assert [row["raw"] for row in answer["unreadable"]] == [f"{begun}{line}"]


def test_a_job_is_done_with_an_instrument_that_types(collect, shop_of, tmp_path):
    # The first four lines are those of a report of readers that type, with made-up values.
    shop = shop_of(2)
    (tmp_path / "typed.yaml").write_text(TYPED, encoding="utf-8")
    bench = collect(shop, "--from", "keys:", "--wire", str(tmp_path / "typed.yaml"))
    bench.wait_for("answers begin with /")
    bench.press("W-140 100ю1\nW'140 100.1\nW-140 100.3\n\n")
    bench.wait_for("keyboard layout mismatch?")
    bench.wait_for("reached 100.3 N·m")
    bench.press("W-140 99.9\n")
    bench.wait_for("stripes: 2 of 2?")
    bench.wait_for("type / alone for yes, /no for no")
    bench.press("y\n")
    bench.wait_for("UNREADABLE")
    bench.press("/perhaps\n")
    bench.wait_for("`/perhaps` is no answer; answers are: /yes")
    bench.press("/\n")
    bench.wait_for("2 of 2 stripes seen")
    bench.press("W-025 25.1\nW-025 24.9\n")
    bench.wait_for("stripes: 2 of 2?")
    bench.press("/yes\n")
    bench.wait_for("2 of 2 stripes seen")

    code, answer = bench.end("/quit\n")

    assert (code, answer["complete"]) == (0, True)
    assert [row["torque_nm"] for row in answer["readings"]] == ["100.3", "99.9", "25.1", "24.9"]
    assert len(answer["set_aside"]) == 2
    assert all(row["reason"].endswith("keyboard layout mismatch?") for row in answer["set_aside"])
    assert [row["raw"] for row in answer["unreadable"]] == ["y"]
    with closing(sqlite3.connect(tmp_path / "audit.db")) as db:
        assert db.execute("SELECT detail FROM link WHERE link = 'ended'").fetchall() == [("1 empty line ignored",)]


def test_an_instrument_that_types_and_a_wrench_on_a_cable_work_on_one_job(collect, shop_of, wrenches, tmp_path):
    shop, (big, _) = shop_of(1), wrenches
    (tmp_path / "typed.yaml").write_text(TYPED, encoding="utf-8")
    keys = ("--from", "keys:", "--wire", str(tmp_path / "typed.yaml"))
    bench = collect(shop, *sources(big), *keys)
    bench.wait_for("answers begin with /")
    big.send(big_line(1, "100.1"))
    bench.wait_for("stripes: 1 of 1?")
    bench.press("/\nW-025 25.1\n")
    bench.wait_for("reached 25.1 N·m")
    bench.wait_for("stripes: 1 of 1?")
    bench.press("/\n\x04")
    bench.wait_for("keys: ended")
    big.unplug()
    bench.wait_for("W-140 lost")
    big.plug()
    bench.wait_for("W-140 back")
    bench.program.send_signal(signal.SIGINT)

    _, answer = bench.end("")

    assert [row["torque_nm"] for row in answer["readings"]] == ["100.1", "25.1"]
