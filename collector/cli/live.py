"""Puts a live source, the screen, the keyboard and the flow together for one run."""

import queue
import sys
import threading
from collections.abc import Iterator
from contextlib import suppress
from typing import Protocol

from collector.acquire.source import FrameSource
from collector.bench import Bench
from collector.cli.bench_front import BenchFront
from collector.cli.keyboard import Keyboard, has_keyboard
from collector.cli.place import LOG, log_beside, tell
from collector.cli.view import view_for
from collector.run import Event, run
from schemas.clock import Clock
from schemas.errors import RecordError
from schemas.frame import LinkChange
from schemas.screen import Press
from schemas.words import Link


def run_live(bench: Bench, source: FrameSource, clock: Clock, companion: "Companion | None" = None) -> None:
    """Run until the source ends, someone quits or interrupts; the job stays open. RecordError and SourceError pass."""
    source.open()
    with log_beside(bench.recorder.path):
        LOG.info("run begins, job %s", bench.job.opened.job)
        try:
            _run(bench, source, clock, companion)
        except RecordError as error:
            LOG.error("the record cannot be written: %s", type(error.__cause__).__name__)
            raise
        finally:
            LOG.info("run ended, %d readings", len(bench.job.pulls))


def _run(bench: Bench, source: FrameSource, clock: Clock, companion: "Companion | None") -> None:
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    view = view_for(sys.stderr)
    front = BenchFront(view, events)
    reader = threading.Thread(target=_read, args=(source, events, clock), name="source")
    keyboard = Keyboard(front.press, sys.stdin) if companion is None and has_keyboard(sys.stdin) else None
    try:
        reader.start()
        if keyboard:
            keyboard.open()
        if companion:
            companion.start(front)
        run(_endless(events), bench, front.show)
    except KeyboardInterrupt:
        tell("stopped; the job stays open, go on with the same command")
    finally:
        source.close()
        reader.join()
        if keyboard:
            keyboard.close()
        view.close()
        if companion:
            companion.stop()
        _keep_rest(events, bench)


def _keep_rest(events: "queue.SimpleQueue[Event]", bench: Bench) -> None:
    """Record what had come in before the source was closed; what was pressed since then counts no more."""
    rest = [events.get() for _ in range(events.qsize())]
    with suppress(RecordError):
        # Where the record cannot be written, that was told already.
        run([event for event in rest if not isinstance(event, Press)], bench, lambda _: None)


class Companion(Protocol):
    """Somebody who lives beside a run, as the simulated fitter does."""

    def start(self, front: BenchFront) -> None:
        """The run begins."""

    def stop(self) -> None:
        """The run has ended."""


def _read(source: FrameSource, events: "queue.SimpleQueue[Event]", clock: Clock) -> None:
    try:
        source.run(events.put)
    except Exception as error:  # noqa: BLE001  # on its own thread it would be lost, and the flow would wait for ever
        events.put(LinkChange(source.name, Link.ENDED, clock.now(), clock.monotonic_ns(), f"the source failed: {error!r}"))


def _endless(events: "queue.SimpleQueue[Event]") -> Iterator[Event]:
    while True:
        yield events.get()
