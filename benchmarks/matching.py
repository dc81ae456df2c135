"""Matching live on a large plan: time of each match and the memory that a reading leaves behind."""

import gc
import time
import tracemalloc
from pathlib import Path
from statistics import mean
from tempfile import TemporaryDirectory

from benchmarks.measure import percentile
from benchmarks.table import Row
from benchmarks.workshop import PLAN_FASTENERS, STAGES, open_shop
from collector.expect.in_order import InOrder
from collector.run import run
from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState

LIVE_MEAN_MS = 1.0
LIVE_P99_MS = 10.0
MOST_KB = 10.0


class _Timed(InOrder):
    """The program's matcher, with the seconds that each of its answers took."""

    def __init__(self) -> None:
        self.taken_ms: list[float] = []

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        begun = time.perf_counter()
        matches = super().match_reading(so_far, pull)
        self.taken_ms.append((time.perf_counter() - begun) * 1000)
        return matches


def rows(quick: bool) -> list[Row]:
    """Mean and 99th percentile of a match, kilobytes a reading; smoothing comes with the probabilistic matcher."""
    readings = 60 if quick else PLAN_FASTENERS * STAGES
    taken_ms: list[float] = []
    for _ in range(1 if quick else 5):
        taken_ms += _live_ms(readings)
    left_kb = _left_kb(readings)
    mean_ms, p99_ms = mean(taken_ms), percentile(taken_ms, 99)
    what = f"matching live, plan of {PLAN_FASTENERS} fasteners (in order)"
    return [
        Row(
            what, "a fixed limit", f"mean {mean_ms:.3f} ms, p99 {p99_ms:.3f} ms",
            f"{mean_ms / LIVE_MEAN_MS:.3f} and {p99_ms / LIVE_P99_MS:.3f} of the limit",
            f"mean {LIVE_MEAN_MS:.0f} ms, p99 {LIVE_P99_MS:.0f} ms", mean_ms <= LIVE_MEAN_MS and p99_ms <= LIVE_P99_MS,
        ),
        Row(
            "memory that a reading leaves behind in a run with matching", "a fixed limit", f"{left_kb:.1f} kB",
            f"{left_kb / MOST_KB:.2f} of the limit", f"{MOST_KB:.0f} kB", left_kb <= MOST_KB,
        ),
        Row(
            "matching offline with smoothing", "a fixed limit", "comes with the probabilistic matcher", "–",
            "1,000 readings a second", None,
        ),
    ]  # fmt: skip


def _live_ms(readings: int) -> list[float]:
    matcher = _Timed()
    with TemporaryDirectory() as folder, open_shop(Path(folder) / "audit.db") as shop:
        run(shop.frames(0, readings), shop.bench(matcher), lambda _: None)
    return matcher.taken_ms


def _left_kb(readings: int) -> float:
    """Memory of Python objects that is still held after a run, a reading; frames that were made before are not counted."""
    with TemporaryDirectory() as folder, open_shop(Path(folder) / "audit.db") as shop:
        bench = shop.bench(InOrder())
        frames = shop.frames(0, readings)
        gc.collect()
        tracemalloc.start()
        try:
            run(frames, bench, lambda _: None)
            gc.collect()
            held, _ = tracemalloc.get_traced_memory()
        finally:
            tracemalloc.stop()
    return held / 1000 / readings
