"""A fitter at a real keyboard and a wrench on a real port: both are pseudo-terminals, the program is the installed one."""

import pytest

from collector.cli.main import main

PLAN = """\
plan: tow-bar
title: Tow bar, bolts and ball
revision: "2"
source: Shop sheet 7
unit: N·m
tolerance: 10 %
joints:
  - {id: side-bolts, name: Side bolts, fasteners: 2, torque: 100, stages: [50, 100]}
  - {id: ball, name: Tow ball nut, fasteners: 1, torque: 150}
steps:
  - torque: side-bolts
  - hold point: lead-look
    ask: Bar level, lead has looked
    sign: lead
  - torque: ball
    after: [lead-look]
"""


@pytest.fixture(name="shop")
def _shop(open_shop):
    return open_shop(PLAN, "W-140")


@pytest.fixture(name="wrench")
def _wrench(new_cable):
    return new_cable("port")


@pytest.fixture(name="bench")
def _bench(collect, shop, wrench):
    bench = collect(shop, "--from", wrench.source)
    bench.wait_for("open")
    return bench


def pulls(first: int, *torques: str) -> bytes:
    """Pulls in one piece, as from a buffer: what was between them nobody knows, so no pause makes one a second click."""
    return "".join(f"@W-140;{number};{torque};Nm;;ok\r\n" for number, torque in enumerate(torques, first)).encode()


def test_a_job_is_done_at_the_bench_and_ends_complete(bench, wrench):
    wrench.send(pulls(1, "50.0", "50.5", "80.0", "100.2", "99.8"))
    bench.wait_for("stripes: 2 of 2?")
    bench.press("\r")
    bench.wait_for("lead has looked")
    bench.press("\rLi Lead\r")
    bench.wait_for("signed: lead-look")
    wrench.send(pulls(6, "151.0"))
    bench.wait_for("stripes: 1 of 1?")
    bench.press("\r")
    bench.wait_for("1 of 1 stripes seen")

    code, answer = bench.end()

    assert (code, answer["complete"]) == (0, True)
    assert [(row["kind"], row["verdict"], row["torque_nm"]) for row in answer["readings"]] == [
        ("tightening", "in band", "50.0"),
        ("tightening", "in band", "50.5"),
        ("short pull", "under", "80.0"),
        ("tightening", "in band", "100.2"),
        ("tightening", "in band", "99.8"),
        ("tightening", "in band", "151.0"),
    ]
    assert all(0.5 < row["p"] < 1 for row in answer["readings"])


def test_a_port_that_vanishes_is_waited_for_and_the_joint_in_hand_is_doubtful_until_confirmed(
    bench, collect, shop, wrench, capsys
):
    wrench.send(pulls(1, "50.0"))
    bench.wait_for("IN BAND")
    # What the kernel still holds at an unplug is lost, so the half line comes with a whole one that is seen to be taken.
    wrench.send(b"noise\r\n@W-140;2;5")
    bench.wait_for("UNREADABLE")
    wrench.unplug()
    bench.wait_for("went away")
    wrench.plug()
    bench.wait_for("back")
    wrench.send(pulls(3, "50.5", "100.2", "99.8"))
    bench.wait_for("stripes: 2 of 2?")
    code, answer = bench.end()

    assert code == 1
    assert "Traceback" not in "".join(bench.said)
    assert [row["torque_nm"] for row in answer["readings"]] == ["50.0", "50.5", "100.2", "99.8"]
    assert [row["raw"] for row in answer["unreadable"]] == ["noise", "@W-140;2;5"]
    assert answer["joints"][0]["proof"] == "doubtful"
    assert main(["job", "show", "1", *shop[1]]) == 1
    assert "the link was lost while this joint was in hand" in capsys.readouterr().out

    again = collect(shop, "--from", wrench.source)
    again.wait_for("stripes: 2 of 2?")
    again.press("\r")
    again.wait_for("2 of 2 stripes seen")
    _, answer = again.end()
    assert answer["joints"][0]["proof"] == "proven"


def test_half_a_line_at_connect_and_bytes_that_are_no_text_are_kept_and_not_read(bench, wrench):
    wrench.send(b"7;9;0.2;Nm;;ok\r\n")
    bench.wait_for("UNREADABLE")
    wrench.send(b"@W-140;1;\xff\xfe;Nm;;ok\r\n")
    wrench.send(pulls(1, "50.0"))
    bench.wait_for("IN BAND")

    _, answer = bench.end()

    first, second = (row["raw"] for row in answer["unreadable"])
    assert first == "7;9;0.2;Nm;;ok"
    assert second.encode("latin-1") != b""
    assert [row["torque_nm"] for row in answer["readings"]] == ["50.0"]


def test_a_missing_port_is_one_line(shop, wrench, capsys):
    plan, database = shop

    assert main(["collect", plan, "--from", f"{wrench.source}-gone", *database]) == 2

    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "is not there; plug the cable in" in error


def test_a_busy_port_is_one_line(bench, shop, wrench, tmp_path, capsys):
    plan = shop[0]
    other = ("--db", str(tmp_path / "other.db"))
    main(["job", "open", plan, "--item", "CD 34", *other])
    capsys.readouterr()

    assert main(["collect", plan, "--from", wrench.source, *other]) == 2

    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "is in use by another program" in error
    bench.end()


def test_a_second_writer_is_told_who_has_the_file(bench, shop, capsys):
    assert main(["job", "close", "1", "--by", "Li Lead", *shop[1]]) == 2

    assert f"witnessmark collect, pid {bench.program.pid}" in capsys.readouterr().err
    bench.end()
