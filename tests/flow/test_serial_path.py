"""A fitter at a real keyboard and a wrench on a real port: both are pseudo-terminals, the program is the installed one."""

import json
import os
import pty
import subprocess
import sys
import tty
from contextlib import closing
from pathlib import Path

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


class Wrench:
    """A wrench on a cable that can be pulled out: a pseudo-terminal behind a path that stays the same."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.sent = 0
        self.plug()

    def plug(self) -> None:
        self.master, self.slave = pty.openpty()
        tty.setraw(self.slave)
        self.path.symlink_to(os.ttyname(self.slave))

    def unplug(self) -> None:
        self.path.unlink()
        self.close()

    def close(self) -> None:
        for descriptor in (self.master, self.slave):
            os.close(descriptor)

    def pull(self, *torques: str) -> None:
        """Send pulls in one piece, as from a buffer: what was between them nobody knows, so no pause makes one a second click."""
        lines = []
        for torque in torques:
            self.sent += 1
            lines.append(f"@W-140;{self.sent};{torque};Nm;;ok\r\n")
        self.send("".join(lines).encode())

    def send(self, raw: bytes) -> None:
        os.write(self.master, raw)


class Bench:
    """The program with a keyboard of its own; what it says is read line by line."""

    def __init__(self, *arguments: str) -> None:
        self.keys, keyboard = pty.openpty()
        self.program = subprocess.Popen(
            [sys.executable, "-m", "collector.cli.main", *arguments],
            stdin=keyboard, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        os.close(keyboard)
        self.said: list[str] = []

    def wait_for(self, text: str) -> None:
        for line in self.program.stderr:
            self.said.append(line)
            if text in line:
                return
        raise AssertionError(f"never said: {text!r}; it said: {''.join(self.said)}")

    def press(self, keys: str) -> None:
        os.write(self.keys, keys.encode())

    def end(self) -> tuple[int, str]:
        out, _ = self.program.communicate(timeout=30)
        os.close(self.keys)
        return self.program.returncode, out


@pytest.fixture(name="shop")
def _shop(tmp_path, capsys):
    (tmp_path / "plan.yaml").write_text(PLAN, encoding="utf-8")
    database = ("--db", str(tmp_path / "audit.db"))
    plan = str(tmp_path / "plan.yaml")
    add = ["wrench", "add", "W-140", "--serial", "0140", "--type", "indicating", "--low", "40", "--high", "200"]
    assert main([*add, "--unit", "Nm", "--measures", "highest", *database]) == 0
    due = ["--certificate", "C-1", "--on", "2020-01-01", "--due", "2099-01-01"]
    assert main(["wrench", "calibrate", "W-140", *due, *database]) == 0
    assert main(["job", "open", plan, "--item", "AB 12", "--fitter", "Jo Fitter", *database]) == 0
    capsys.readouterr()
    return plan, database


@pytest.fixture(name="wrench")
def _wrench(tmp_path):
    with closing(Wrench(tmp_path / "port")) as wrench:
        yield wrench


def collect(shop, wrench):
    plan, database = shop
    return Bench("collect", plan, "--from", f"serial:{wrench.path}", "--json", *database)


def test_a_job_is_done_at_the_bench_and_ends_complete(shop, wrench):
    bench = collect(shop, wrench)
    bench.wait_for("open")
    wrench.pull("50.0", "50.5", "80.0", "100.2", "99.8")
    bench.wait_for("stripes: 2 of 2?")
    bench.press("\r")
    bench.wait_for("lead has looked")
    bench.press("\rLi Lead\r")
    bench.wait_for("signed: lead-look")
    wrench.pull("151.0")
    bench.wait_for("stripes: 1 of 1?")
    bench.press("\r")
    bench.wait_for("1 of 1 stripes seen")
    bench.press("q")

    code, out = bench.end()

    answer = json.loads(out)
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


def test_a_port_that_vanishes_is_waited_for_and_the_joint_in_hand_is_doubtful_until_confirmed(shop, wrench, capsys):
    bench = collect(shop, wrench)
    bench.wait_for("open")
    wrench.pull("50.0")
    bench.wait_for("IN BAND")
    # What the kernel still holds at an unplug is lost, so the half line comes with a whole one that is seen to be taken.
    wrench.send(b"noise\r\n@W-140;2;5")
    bench.wait_for("UNREADABLE")
    wrench.unplug()
    bench.wait_for("went away")
    wrench.plug()
    bench.wait_for("back")
    wrench.sent = 2
    wrench.pull("50.5", "100.2", "99.8")
    bench.wait_for("stripes: 2 of 2?")
    bench.press("q")
    code, out = bench.end()

    answer = json.loads(out)
    assert code == 1
    assert "Traceback" not in "".join(bench.said)
    assert [row["torque_nm"] for row in answer["readings"]] == ["50.0", "50.5", "100.2", "99.8"]
    assert [row["raw"] for row in answer["unreadable"]] == ["noise", "@W-140;2;5"]
    assert answer["joints"][0]["proof"] == "doubtful"
    assert main(["job", "show", "1", *shop[1]]) == 1
    assert "the link was lost while this joint was in hand" in capsys.readouterr().out

    again = collect(shop, wrench)
    again.wait_for("stripes: 2 of 2?")
    again.press("\r")
    again.wait_for("2 of 2 stripes seen")
    again.press("q")
    _, out = again.end()
    assert json.loads(out)["joints"][0]["proof"] == "proven"


def test_half_a_line_at_connect_and_bytes_that_are_no_text_are_kept_and_not_read(shop, wrench):
    bench = collect(shop, wrench)
    bench.wait_for("open")
    wrench.send(b"7;9;0.2;Nm;;ok\r\n")
    bench.wait_for("UNREADABLE")
    wrench.send(b"@W-140;1;\xff\xfe;Nm;;ok\r\n")
    wrench.pull("50.0")
    bench.wait_for("IN BAND")
    bench.press("q")

    _, out = bench.end()

    answer = json.loads(out)
    first, second = (row["raw"] for row in answer["unreadable"])
    assert first == "7;9;0.2;Nm;;ok"
    assert second.encode("latin-1") != b""
    assert [row["torque_nm"] for row in answer["readings"]] == ["50.0"]


def test_a_missing_port_is_one_line(shop, wrench, capsys):
    plan, database = shop

    assert main(["collect", plan, "--from", f"serial:{wrench.path}-gone", *database]) == 2

    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "is not there; plug the cable in" in error


def test_a_busy_port_is_one_line(shop, wrench, capsys):
    bench = collect(shop, wrench)
    bench.wait_for("open")
    plan = shop[0]
    other = ("--db", str(wrench.path.parent / "other.db"))
    main(["job", "open", plan, "--item", "CD 34", *other])
    capsys.readouterr()

    assert main(["collect", plan, "--from", f"serial:{wrench.path}", *other]) == 2

    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "busy" in error or "in use" in error or "another program" in error
    bench.press("q")
    bench.end()


def test_a_second_writer_is_told_who_has_the_file(shop, wrench, capsys):
    bench = collect(shop, wrench)
    bench.wait_for("open")

    assert main(["job", "close", "1", "--by", "Li Lead", *shop[1]]) == 2

    assert f"witnessmark collect, pid {bench.program.pid}" in capsys.readouterr().err
    bench.press("q")
    bench.end()
