"""The benchmarks run, at small sizes, and say what they found; what they found is no matter for a test."""

import subprocess
import sys
from pathlib import Path

import pytest

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
        pytest.param("live,import,matching", ("one durable commit a reading", "log import", "memory"), id="readings"),
        pytest.param("screen", ("verdict on the screen", "50 ms"), id="screen"),
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


def test_a_part_that_does_not_exist_is_named_with_those_that_do():
    done = _run("--only", "teleport")

    assert done.returncode == 2
    assert "teleport" in done.stderr
    assert "startup" in done.stderr
