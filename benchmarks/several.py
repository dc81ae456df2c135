"""Many wrenches at once: each on a pseudo-terminal of its own, read by its own thread, through one queue to one writer."""

import sys
import threading
import time
from collections.abc import Sequence
from contextlib import ExitStack, closing, redirect_stderr
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.measure import percentile
from benchmarks.table import Row
from benchmarks.workshop import PLAN_FASTENERS, open_shop, plain_line, pulled_at, register, torque_of
from collector.acquire.framing import framer_of
from collector.acquire.serial_port import SerialSource
from collector.bench import Feed
from collector.cli.bench_front import BenchFront
from collector.cli.live import run_live
from collector.expect.later import Later
from collector.expect.learned import habits_of
from collector.expect.matcher import Matcher
from collector.expect.probable import Probable
from schemas.clock import Clock
from schemas.screen import Screen
from sim.wire import Wire, open_wire

_WRENCHES = 20
_PATIENCE_S = 30.0


@dataclass(frozen=True, slots=True)
class _Load:
    """So many readings, `every_s` of made-up time apart; that time goes `times` as fast as real time."""

    what: str
    matcher: Matcher
    readings: int
    every_s: float
    times: int

    @property
    def apart_s(self) -> float:
        return self.every_s / self.times


def rows(quick: bool) -> list[Row]:
    """With matching at the pace of a shop, played fast; without it at 200 readings a second."""
    of_shop = 60 if quick else 6000
    with_matching = _Load(
        f"{_WRENCHES} wrenches, a reading each 2 s, {of_shop * 2 / _WRENCHES / 60:.1f} minutes, with matching "
        f"({PLAN_FASTENERS} fasteners)",
        Probable(habits_of(None)), of_shop, 2 / _WRENCHES, 2,
    )  # fmt: skip
    flood = 100 if quick else 4000
    without = _Load(
        f"{_WRENCHES} wrenches, 200 readings a second, {flood / 200:.1f} s, without matching", Later(), flood, 1 / 200, 1
    )
    return [_row(load) for load in (with_matching, without)]


def _row(load: _Load) -> Row:
    if sys.platform == "win32":
        return Row(load.what, "–", "not measured: this system has no pseudo-terminals", "–", "nothing lost", None)
    taken_ms, stored = _run(load)
    measured = "nothing stored"
    if taken_ms:
        p50, p99, worst = percentile(taken_ms, 50), percentile(taken_ms, 99), max(taken_ms)
        measured = f"{stored} stored; last byte to durable: p50 {p50:.1f} ms, p99 {p99:.1f} ms, worst {worst:.1f} ms"
    return Row(
        load.what,
        f"{load.readings} sent, played {load.times} times as fast" if load.times > 1 else f"{load.readings} sent",
        measured,
        f"{stored / load.readings:.0%}",
        "nothing lost",
        stored == load.readings,
    )


def _run(load: _Load) -> tuple[list[float], int]:
    """How long each reading took to be durable, and how many different ones are stored."""
    with TemporaryDirectory() as folder, ExitStack() as stack:
        shop = stack.enter_context(open_shop(Path(folder) / "audit.db"))
        names = [f"W-{number}" for number in range(100, 100 + _WRENCHES)]
        for name in names:
            register(shop.recorder, name)
        wires = [stack.enter_context(closing(open_wire())) for _ in names]
        clock = _FastClock(shop.clock, load.times)
        sources = [SerialSource(wire.url, clock, partial(framer_of, plain_line())) for wire in wires]
        bench = shop.bench(load.matcher)
        bench.feeds = {source.name: Feed(plain_line()) for source in sources}
        hands = _Hands(wires, names, load)
        with redirect_stderr(StringIO()):
            run_live(bench, sources, clock, hands)
            stored = shop.recorder.query("SELECT wrench, sequence FROM reading ORDER BY n")
    # The n-th reading was durable when so many were shown for the first time.
    taken_ms = [(at - hands.sent_at[pull]) * 1000 for pull, at in zip(stored, hands.shown_at, strict=True)]
    return taken_ms, len(set(stored))


class _FastClock:
    """A clock whose hours are short."""

    def __init__(self, clock: Clock, times: int) -> None:
        self._clock = clock
        self._times = times
        self._begun = clock.now()

    def now(self) -> datetime:
        """The made-up instant."""
        return self._begun + (self._clock.now() - self._begun) * self._times

    def monotonic_ns(self) -> int:
        """The real count."""
        return self._clock.monotonic_ns()


class _Hands:
    """Pull the wrenches one after the other at an even pace, whatever the flow does, and look when each reading is durable."""

    def __init__(self, wires: Sequence[Wire], names: Sequence[str], load: _Load) -> None:
        self.sent_at: dict[tuple[object, ...], float] = {}
        self.shown_at: list[float] = []
        self._wires = wires
        self._names = names
        self._load = load
        self._thread: threading.Thread | None = None
        self._pictures = 0
        self._all_open = threading.Event()
        self._all_shown = threading.Event()

    def start(self, front: BenchFront) -> None:
        """The run begins."""
        front.listeners.append(self._look)
        self._thread = threading.Thread(target=self._pull_all, args=(front,), name="hands")
        self._thread.start()

    def stop(self) -> None:
        """The run has ended."""
        if self._thread is not None:
            self._thread.join()

    def _look(self, screen: Screen) -> None:
        # Called on the flow's thread after the commit; one picture never shows more than one new reading. The first pictures
        # are that of the beginning and one for each link that opens.
        self._pictures += 1
        if self._pictures == 1 + _WRENCHES:
            self._all_open.set()
        if screen.readings > len(self.shown_at):
            self.shown_at.append(time.perf_counter())
        if screen.readings == self._load.readings:
            self._all_shown.set()

    def _pull_all(self, front: BenchFront) -> None:
        self._all_open.wait(_PATIENCE_S)
        begun = time.perf_counter()
        for pull in range(self._load.readings):
            time.sleep(max(begun + pull * self._load.apart_s - time.perf_counter(), 0))
            hand, number = pull % _WRENCHES, pull // _WRENCHES + 1
            line = f"@{self._names[hand]};{number};{torque_of(pull)};Nm;{pulled_at(pull).isoformat()};ok\r\n"
            self.sent_at[self._names[hand], number] = time.perf_counter()
            self._wires[hand].send(line.encode())
        self._all_shown.wait(_PATIENCE_S)
        front.press("q")
