"""The benchmarks run, at small sizes, and say what they found; what they found is no matter for a test."""

import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks.workshop import clicks_of_pulls, open_shop, pulled_at, write_log
from collector.run import run

ROOT = Path(__file__).parents[2]
RESULTS = ROOT / "benchmarks" / "RESULTS.md"


def _run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "benchmarks", *arguments], cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )


def _seen() -> tuple[bytes, int] | None:
    return (RESULTS.read_bytes(), RESULTS.stat().st_mtime_ns) if RESULTS.exists() else None


@pytest.mark.parametrize(
    ("part", "named"),
    [
        pytest.param("startup", ("witnessmark --help", "200 ms"), id="startup"),
        pytest.param(
            "live,import,matching",
            ("one durable commit a reading", "log import", "placed at once", "smoothing", "memory"),
            id="readings",
        ),
        pytest.param("screen", ("verdict on the screen", "50 ms"), id="screen"),
        pytest.param("several", ("20 wrenches", "nothing lost", "60 stored", "100 stored"), id="several"),
        pytest.param("verify", ("leaves, tree", "projections"), id="verify"),
        pytest.param("plan", ("false alarms on", "torque × 10", "2,000 fasteners in 2,000 joints"), id="plan"),
        pytest.param("drift", ("drift measures over", "3 × as long"), id="drift"),
    ],
)
def test_a_quick_run_prints_its_rows_and_leaves_the_kept_results_alone(part, named):
    before = _seen()

    done = _run("--quick", "--only", part)

    assert done.returncode in (0, 1), done.stderr
    heading, rule, *rows = [line for line in done.stdout.splitlines() if line.startswith("|")]
    cells = [cell.strip() for cell in heading.strip("|").split("|")]
    assert cells == ["what", "baseline", "measured", "ratio", "wanted", "reached"]
    assert set(rule) <= set("|-")
    assert len(rows) >= len(part.split(","))
    assert all(text in done.stdout for text in named)
    assert "Python" in done.stdout.splitlines()[-1]
    assert _seen() == before


def test_pulls_of_the_made_up_workshop_have_the_pauses_of_somebody_at_work():
    pauses_s = [(pulled_at(pull) - pulled_at(pull - 1)).total_seconds() for pull in range(1, 41)]

    assert pauses_s == [*[8] * 9, 20, *[8] * 9, 60] * 2
    assert [click.at_s for click in clicks_of_pulls(41)] == [pulled_at(pull).timestamp() for pull in range(41)]


def test_a_job_of_the_workshop_is_placed_right_live_and_at_once(tmp_path):
    truth = [(f"g{pull // 20 + 1}", pull // 10 % 2 + 1) for pull in range(80)]

    with open_shop(tmp_path / "audit.db", 40) as shop:
        live, at_once = shop.bench(), shop.bench()
        run(shop.frames(0, 80), live, lambda _: None)
        shop.import_log(write_log(tmp_path / "log.csv", 80, 80), at_once, is_placed=True)

    for bench in (live, at_once):
        matches = [pull.match for pull in bench.job.pulls.values()]
        assert [(match.joint, match.stage) for match in matches if match is not None] == truth
        assert all(joint.all_done for joint in bench.job.joints.values())


def test_a_part_that_does_not_exist_is_named_with_those_that_do():
    done = _run("--only", "teleport")

    assert done.returncode == 2
    assert "teleport" in done.stderr
    assert "startup" in done.stderr
