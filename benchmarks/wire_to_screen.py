"""From the end of a frame on the wire to its verdict on the screen, durable in between: the real port, flow and view."""

import os
import random
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, redirect_stderr
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TextIO

from benchmarks.bare import BareTable
from benchmarks.measure import percentile
from benchmarks.table import Row
from benchmarks.workshop import open_shop, plain_line, wrench_line
from collector.acquire.framing import framer_of
from collector.acquire.serial_port import SerialSource
from collector.cli.bench_front import BenchFront
from collector.cli.live import run_live
from schemas.screen import Screen
from sim.wire import Wire, open_wire

if sys.platform != "win32":
    import pty
    import termios

P99_MS = 50.0
_TERMINAL = (30, 100)
_ENTRIES_BYTES = 1500  # about what the entries of one reading weigh
_PATIENCE_S = 10.0


def rows(quick: bool) -> list[Row]:
    """The 99th percentile, with the middle and the worst beside it."""
    what = "end of the frame on the wire → durable → verdict on the screen, p99"
    if sys.platform == "win32":
        return [Row(what, "–", "not measured: this system has no pseudo-terminals", "–", f"{P99_MS:.0f} ms", None)]
    with TemporaryDirectory() as folder, open_shop(Path(folder) / "audit.db") as shop, closing(open_wire()) as wire:
        wrench = _Wrench(wire, Path(folder) / "bare.db", 20 if quick else 500)
        with _terminal() as screen, redirect_stderr(screen):
            source = SerialSource(wire.url, shop.clock, partial(framer_of, plain_line()))
            run_live(shop.bench(), [source], shop.clock, wrench)
    ours, bare = wrench.taken_ms, wrench.bare_ms
    p99_ms = percentile(ours, 99)
    return [
        Row(
            what,
            f"one bare INSERT and commit in between, p99: {percentile(bare, 99):.2f} ms",
            f"{p99_ms:.1f} ms (p50 {percentile(ours, 50):.1f} ms, worst {max(ours):.1f} ms)",
            f"{p99_ms / P99_MS:.2f} of the limit",
            f"{P99_MS:.0f} ms",
            p99_ms <= P99_MS,
        )
    ]


class _Wrench:
    """Sends a line, waits until its verdict is drawn, makes one bare commit as the baseline, and sends the next."""

    def __init__(self, wire: Wire, bare: Path, pulls: int) -> None:
        self.taken_ms: list[float] = []
        self.bare_ms: list[float] = []
        self._wire = wire
        self._bare = bare
        self._pulls = pulls
        self._shown = threading.Semaphore(0)
        self._readings = 0
        self._shown_at = 0.0
        self._thread: threading.Thread | None = None

    def start(self, front: BenchFront) -> None:
        """The run begins."""
        front.listeners.append(self._look)
        self._thread = threading.Thread(target=self._pull_all, args=(front,), name="wrench")
        self._thread.start()

    def stop(self) -> None:
        """The run has ended."""
        if self._thread is not None:
            self._thread.join()

    def _look(self, screen: Screen) -> None:
        # Called on the flow's thread after the view has drawn and flushed the picture.
        if screen.readings > self._readings:
            self._readings, self._shown_at = screen.readings, time.perf_counter()
            self._shown.release()

    def _pull_all(self, front: BenchFront) -> None:
        pause = random.Random(1)
        with closing(BareTable(self._bare)) as bare:
            for pull in range(self._pulls):
                time.sleep(pause.uniform(0, 0.02))
                line = wrench_line(pull) + b"\r\n"
                begun = time.perf_counter()
                self._wire.send(line)
                if not self._shown.acquire(timeout=_PATIENCE_S):
                    break
                self.taken_ms.append((self._shown_at - begun) * 1000)
                begun = time.perf_counter()
                bare.commit("x" * _ENTRIES_BYTES)
                self.bare_ms.append((time.perf_counter() - begun) * 1000)
        front.press("q")


@contextmanager
def _terminal() -> Iterator[TextIO]:
    """A terminal that a program of its own reads empty, as a terminal's window does."""
    near, far = pty.openpty()
    termios.tcsetwinsize(far, _TERMINAL)
    window = subprocess.Popen(["cat"], stdin=near, stdout=subprocess.DEVNULL)
    os.close(near)
    try:
        with open(far, "w", encoding="utf-8") as screen:
            yield screen
    finally:
        window.terminate()
        window.wait()
