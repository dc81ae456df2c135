"""Takes times: of several ways in turn, so that a busy moment of the machine strikes all of them alike."""

import gc
import time
from collections.abc import Callable, Sequence
from math import ceil
from statistics import median

Timed = Callable[[], float]
"""Runs something and gives the seconds that the part to be timed took."""


def timed(run: Callable[[], object]) -> float:
    """Seconds that a call takes."""
    gc.collect()
    begun = time.perf_counter()
    run()
    return time.perf_counter() - begun


def in_turn(rounds: int, *ways: Timed) -> list[list[float]]:
    """The seconds of each way, one a round; all ways are run in turn in each round."""
    taken: list[list[float]] = [[] for _ in ways]
    for _ in range(rounds):
        for way, seconds in zip(ways, taken, strict=True):
            seconds.append(way())
    return taken


def times_as_long(way: Sequence[float], baseline: Sequence[float]) -> float:
    """How many times as long a way takes as its baseline: the median over the rounds."""
    return median(one / other for one, other in zip(way, baseline, strict=True))


def percentile(values: Sequence[float], percent: float) -> float:
    """The smallest value that so many percent of all do not exceed (nearest rank)."""
    ordered = sorted(values)
    return ordered[max(ceil(len(ordered) * percent / 100) - 1, 0)]
