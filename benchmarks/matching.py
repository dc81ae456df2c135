"""Matching on a large plan: the time of each match live, the speed of a whole log at once, and the memory that both take."""

import gc
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from statistics import mean, median
from tempfile import TemporaryDirectory

from benchmarks.measure import percentile, timed
from benchmarks.table import Row
from benchmarks.workshop import PLAN_FASTENERS, STAGES, clicks_of_pulls, open_shop, plan_of
from collector.expect.habits import USUAL
from collector.expect.learned import Set
from collector.expect.probable import Probable
from collector.expect.smooth import smooth_log
from collector.run import run
from schemas.bodies import CountKept, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState

LIVE_MEAN_MS = 1.0
LIVE_P99_MS = 10.0
MOST_KB = 10.0
A_SECOND = 1_000
LEAST_OF_SHORT = 0.5
_LONG = 10_000


class _Timed(Probable):
    """The program's matcher, with the time that it took over each reading: its match and the count after it."""

    def __init__(self) -> None:
        super().__init__(Set(USUAL))
        self.taken_ms: list[float] = []

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        begun = time.perf_counter()
        matches = super().match_reading(so_far, pull)
        self.taken_ms.append((time.perf_counter() - begun) * 1000)
        return matches

    def count(self, so_far: JobState) -> tuple[CountKept, ...]:
        begun = time.perf_counter()
        counts = super().count(so_far)
        self.taken_ms[-1] += (time.perf_counter() - begun) * 1000
        return counts


def rows(quick: bool) -> list[Row]:
    """Mean and 99th percentile of a match live; readings a second of a whole log, and of a long one; kilobytes a reading."""
    readings, long = (60, 200) if quick else (PLAN_FASTENERS * STAGES, _LONG)
    taken_ms: list[float] = []
    for _ in range(1 if quick else 5):
        taken_ms += _live_ms(readings)
    short_a_second = median(_a_second(PLAN_FASTENERS, readings) for _ in range(1 if quick else 5))
    long_a_second = _a_second(long // STAGES, long)
    return [
        _live_row(mean(taken_ms), percentile(taken_ms, 99)),
        Row(
            f"matching offline with smoothing, plan of {PLAN_FASTENERS} fasteners, {readings:,} readings", "a fixed limit",
            f"{short_a_second:,.0f} readings a second", f"{short_a_second / A_SECOND:.2f} of what is wanted",
            f"{A_SECOND:,} readings a second", short_a_second >= A_SECOND,
        ),
        Row(
            f"matching offline with smoothing, plan of {long // STAGES:,} fasteners, {long:,} readings",
            f"{readings:,} readings: {short_a_second:,.0f} a second", f"{long_a_second:,.0f} readings a second",
            f"{long_a_second / short_a_second:.2f} × the speed", f"{LEAST_OF_SHORT:g} × the speed",
            long_a_second >= LEAST_OF_SHORT * short_a_second,
        ),
        _memory_row("memory that a reading leaves behind in a run with matching", _left_kb(readings)),
        _memory_row("memory a reading at the most while a log is smoothed", _smoothing_kb(readings)),
    ]  # fmt: skip


def _live_row(mean_ms: float, p99_ms: float) -> Row:
    return Row(
        f"matching live, match and count, plan of {PLAN_FASTENERS} fasteners", "a fixed limit",
        f"mean {mean_ms:.3f} ms, p99 {p99_ms:.3f} ms",
        f"{mean_ms / LIVE_MEAN_MS:.3f} and {p99_ms / LIVE_P99_MS:.3f} of the limit",
        f"mean {LIVE_MEAN_MS:.0f} ms, p99 {LIVE_P99_MS:.0f} ms", mean_ms <= LIVE_MEAN_MS and p99_ms <= LIVE_P99_MS,
    )  # fmt: skip


def _memory_row(what: str, taken_kb: float) -> Row:
    limit = f"{taken_kb / MOST_KB:.2f} of the limit"
    return Row(what, "a fixed limit", f"{taken_kb:.1f} kB", limit, f"{MOST_KB:.0f} kB", taken_kb <= MOST_KB)


def _live_ms(readings: int) -> list[float]:
    matcher = _Timed()
    with TemporaryDirectory() as folder, open_shop(Path(folder) / "audit.db") as shop:
        run(shop.frames(0, readings), shop.bench(matcher), lambda _: None)
    return matcher.taken_ms


def _a_second(fasteners: int, readings: int) -> float:
    route, clicks = plan_of(fasteners).route, clicks_of_pulls(readings)
    return readings / timed(lambda: smooth_log(route, clicks))


def _left_kb(readings: int) -> float:
    """Memory of Python objects that is still held after a run, a reading; frames that were made before are not counted."""
    with TemporaryDirectory() as folder, open_shop(Path(folder) / "audit.db") as shop:
        bench, frames = shop.bench(), shop.frames(0, readings)
        return _traced_kb(lambda: run(frames, bench, lambda _: None))[0] / readings


def _smoothing_kb(readings: int) -> float:
    """Memory of Python objects at its most while a log is smoothed, a reading; plan and readings themselves not counted."""
    route, clicks = plan_of(PLAN_FASTENERS).route, clicks_of_pulls(readings)
    return _traced_kb(lambda: smooth_log(route, clicks))[1] / readings


def _traced_kb(work: Callable[[], object]) -> tuple[float, float]:
    """Kilobytes that are held after some work, and at the most during it."""
    gc.collect()
    tracemalloc.start()
    try:
        work()
        gc.collect()
        held, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    return held / 1000, most / 1000
