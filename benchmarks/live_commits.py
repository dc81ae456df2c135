"""Live: readings a second with one durable commit each, against bare SQLite committing the same bytes."""

import time
from collections.abc import Callable, Sequence
from contextlib import closing
from itertools import count
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from benchmarks.bare import BareTable, entry_texts
from benchmarks.measure import in_turn, times_as_long
from benchmarks.table import Row
from benchmarks.workshop import PLAN_FASTENERS, STAGES, Shop, open_shop
from collector.expect.later import Later
from collector.expect.learned import habits_of
from collector.expect.matcher import Matcher
from collector.expect.probable import Probable
from collector.run import run


def rows(quick: bool) -> list[Row]:
    """Both ratios: with a matcher that places nothing, and with the one that the program has."""
    return [
        _row("without matching", Later, 40, quick),
        _row(f"with matching ({PLAN_FASTENERS} fasteners)", lambda: Probable(habits_of(None)), 15, quick),
    ]


def _row(how: str, matcher: Callable[[], Matcher], wanted_percent: int, quick: bool) -> Row:
    readings = 60 if quick else PLAN_FASTENERS * STAGES
    with TemporaryDirectory() as folder:
        live = _Live(Path(folder), matcher, readings)
        ours, bare = in_turn(1 if quick else 15, live.run, live.run_bare)
    percent = 100 / times_as_long(ours, bare)
    return Row(
        f"live, one durable commit a reading, {how}",
        f"bare sqlite3, one INSERT and commit of the same bytes: {readings / median(bare):,.0f} a second",
        f"{readings / median(ours):,.0f} readings a second",
        f"{percent:.0f} %",
        f"{wanted_percent} %",
        percent >= wanted_percent,
    )


class _Live:
    """Plays a job into a new file, then commits the bytes that were kept for each of its readings to a bare table."""

    def __init__(self, folder: Path, matcher: Callable[[], Matcher], readings: int) -> None:
        self._folder = folder
        self._matcher = matcher
        self._readings = readings
        self._names = (f"{number}.db" for number in count())
        self._texts: list[str] = []

    def run(self) -> float:
        """Seconds of our flow."""
        path = self._folder / next(self._names)
        with open_shop(path) as shop:
            bench = shop.bench(self._matcher())
            frames = shop.frames(0, self._readings)
            before = _entries(shop)
            begun = time.perf_counter()
            run(frames, bench, lambda _: None)
            taken = time.perf_counter() - begun
        self._texts = _by_reading(entry_texts(path, before))
        return taken

    def run_bare(self) -> float:
        """Seconds of the bare table."""
        with closing(BareTable(self._folder / next(self._names))) as bare:
            begun = time.perf_counter()
            for text in self._texts:
                bare.commit(text)
            return time.perf_counter() - begun


def _entries(shop: Shop) -> int:
    return int(str(shop.recorder.query("SELECT count(*) FROM ledger")[0][0]))


def _by_reading(texts: Sequence[str]) -> list[str]:
    """The entries of each reading put together; each begins with its frame."""
    together: list[str] = []
    for text in texts:
        if '"kind":"frame"' in text:
            together.append(text)
        else:
            together[-1] += text
    return together
