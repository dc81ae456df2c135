"""A program that is killed with SIGKILL in the middle of its work loses nothing that it had shown, and goes on."""

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from analysis.verify import verify_file
from schemas.plan.load import load_plan

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="SIGKILL is a thing of POSIX")

FASTENERS = 60
PLAN = f"""\
plan: floor-boards
title: Box trailer, floor
revision: "1"
source: Shop procedure 9, section 1
unit: N·m
tolerance: 10 %
joints:
  - {{id: left, name: Left row, fasteners: {FASTENERS}, torque: 50}}
  - {{id: middle, name: Middle row, fasteners: {FASTENERS}, torque: 50, stages: [50, 100]}}
  - {{id: right, name: Right row, fasteners: {FASTENERS}, torque: 50}}
"""
ALL_PULLS = 4 * FASTENERS

BENCH = """\
import sys
sys.path.insert(0, sys.argv[1])
from pathlib import Path
from conftest import Floor
from collector.run import run

floor = Floor(Path(sys.argv[2]), sys.stdin.read())

def pulls(bench):
    while True:
        yield floor.pull(25 if bench.matcher.expect_next(bench.job).stage.share_percent == 50 else 50)

with floor.recorder("bench to be killed") as recorder:
    bench = floor.bench(recorder)
    # Lines so long that the pipe is soon full: the bench is then never far ahead of who reads them.
    run(pulls(bench), bench, lambda screen: print(str(screen.readings).ljust(4000), flush=True))
"""


@pytest.fixture
def start_bench(floor, pytestconfig):
    """Starts a bench in a program of its own; it pulls for ever."""

    def start_bench() -> subprocess.Popen[str]:
        floor.text = PLAN
        command = [sys.executable, "-c", BENCH, str(pytestconfig.rootpath / "tests"), str(floor.path)]
        bench = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        bench.stdin.write(PLAN)
        bench.stdin.close()
        return bench

    return start_bench


@pytest.fixture
def killed_after(start_bench):
    """Runs a bench until it has shown so many readings, kills it, and gives all numbers that it had shown by then."""

    def killed_after(lines: int) -> list[int]:
        with start_bench() as bench:
            shown = [int(bench.stdout.readline()) for _ in range(lines)]
            os.kill(bench.pid, signal.SIGKILL)
            shown += [int(line) for line in bench.stdout.read().splitlines(keepends=True) if line.endswith("\n")]
        assert bench.returncode == -signal.SIGKILL
        return shown

    return killed_after


@pytest.mark.parametrize("lines", [1, 2, 7, 31, 90, 190])
def test_after_a_kill_everything_shown_is_there_and_the_job_goes_on(floor, killed_after, lines):
    shown = killed_after(lines)

    assert shown == list(range(len(shown)))
    assert len(shown) >= lines
    checked = verify_file(floor.path)
    assert checked.findings == []
    with closing(sqlite3.connect(f"{floor.path.as_uri()}?mode=ro", uri=True)) as db:
        stored = [row[0] for row in db.execute("SELECT n FROM reading WHERE verdict = 'in band' ORDER BY n")]
    assert stored[: shown[-1]] == shown[1:]
    assert len(stored) <= shown[-1] + 1  # the one event in hand may be durable and not shown yet

    with floor.recorder() as recorder:
        bench = floor.bench(recorder, recorder.load_job("1"))
        target = bench.matcher.expect_next(bench.job)
        assert (target.joint.id, target.stage.number, target.position) == place_of(len(stored))
        floor.sent = len(stored)
        screen = floor.run(bench, floor.pull(25 if target.stage.share_percent == 50 else 50))
        assert (screen.readings, screen.last.position, bench.job.missing) == (len(stored) + 1, target.position, [])
    assert verify_file(floor.path).findings == []


def place_of(done: int) -> tuple[str, int, int]:
    """Where the plan goes on after so many pulls, counted out from the plan itself."""
    route = load_plan(PLAN.encode(), "floor.yaml")
    places = [
        (joint.id, stage.number, position)
        for joint in route.joints
        for stage in joint.stages
        for position in range(1, joint.fasteners + 1)
    ]
    assert len(places) == ALL_PULLS
    return places[done]


def test_a_bench_killed_again_and_again_loses_nothing(floor, killed_after):
    # Each run opens a job of its own in the same file; the lock of a killed one does not keep the next one out.
    counts = [killed_after(lines)[-1] for lines in (3, 1, 12)]

    checked = verify_file(floor.path)
    assert checked.findings == []
    with closing(sqlite3.connect(f"{floor.path.as_uri()}?mode=ro", uri=True)) as db:
        rows = db.execute("SELECT job, readings FROM job ORDER BY seq").fetchall()
    assert [job for job, _ in rows] == ["1", "2", "3"]
    assert all(0 <= stored - shown <= 1 for (_, stored), shown in zip(rows, counts, strict=True))


@pytest.mark.parametrize("size", [0, 1, 4097, 60_000])
def test_a_bench_killed_while_it_makes_its_file_leaves_one_that_is_made_to_the_end(floor, start_bench, size):
    with start_bench() as bench:
        # Looked at without a pause, so that the kill comes as early as it can.
        while bench.poll() is None and not (floor.path.exists() and floor.path.stat().st_size + wal_size(floor.path) >= size):
            pass
        bench.kill()

    with floor.recorder() as recorder:
        assert [entry.kind for _, entry in recorder.entries("seq = 1")] == ["session"]
    assert verify_file(floor.path).findings == []


def wal_size(path: Path) -> int:
    wal = path.with_name(path.name + "-wal")
    return wal.stat().st_size if wal.exists() else 0
