"""Puts live sources, the screen, the keyboard and the flow together for one run."""

import queue
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Protocol

from collector.acquire.source import FrameSource
from collector.acquire.stamp import Stamp
from collector.bench import Bench
from collector.cli.bench_front import BenchFront
from collector.cli.keyboard import Keyboard, has_keyboard
from collector.cli.place import LOG, log_beside, tell
from collector.cli.view import View, view_for
from collector.run import Event, run
from schemas.clock import Clock
from schemas.errors import RecordError
from schemas.screen import Press, PressWord
from schemas.words import Link


def run_live(
    bench: Bench,
    sources: Sequence[FrameSource],
    clock: Clock,
    companion: "Companion | None" = None,
    view: View | None = None,
) -> None:
    """Run until all sources have ended, someone quits or interrupts; the job stays open. RecordError and SourceError pass.

    Args:
        bench: what the run works with.
        sources: each on a thread of its own; where one cannot be opened none stays open.
        clock: for the end of a source that fails.
        companion: who answers in place of the keyboard's single keys, None for these.
        view: what shows the pictures, by default what standard error can carry.
    """
    _open(sources)
    with log_beside(bench.recorder.path):
        LOG.info("run begins, job %s, %d sources", bench.job.opened.job, len(sources))
        try:
            _run(bench, sources, clock, companion, view or view_for(sys.stderr))
        except RecordError as error:
            LOG.error("the record cannot be written: %s", type(error.__cause__).__name__)
            raise
        finally:
            LOG.info("run ended, %d readings", len(bench.job.pulls))


def _open(sources: Sequence[FrameSource]) -> None:
    opened: list[FrameSource] = []
    try:
        for source in sources:
            source.open()
            opened.append(source)
    except BaseException:
        for source in opened:
            source.close()
        raise


def _run(bench: Bench, sources: Sequence[FrameSource], clock: Clock, companion: "Companion | None", view: View) -> None:
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    front = BenchFront(view, events)
    readers = [threading.Thread(target=_read, args=(source, events, clock), name=source.name) for source in sources]
    keyboard = Keyboard(front.press, sys.stdin) if companion is None and has_keyboard(sys.stdin) else None
    try:
        if companion:
            companion.start(front)
        for reader in readers:
            reader.start()
        if keyboard:
            keyboard.open()
        with _quit_by_interrupt(events):
            run(_endless(events), bench, front.show)
    except KeyboardInterrupt:
        tell("stopped; the job stays open, go on with the same command")
    finally:
        # All of them first, so that they stop side by side.
        for source in sources:
            source.close()
        for reader in readers:
            if reader.ident is not None:
                reader.join()
        if keyboard:
            keyboard.close()
        view.close()
        if companion:
            companion.stop()
        _keep_rest(events, bench)


@contextmanager
def _quit_by_interrupt(events: "queue.SimpleQueue[Event]") -> Iterator[None]:
    """While inside, the first Ctrl-C waits its turn: one that broke off the event in hand would cost its bytes."""
    is_main = threading.current_thread() is threading.main_thread()
    if not is_main or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    interrupted = False

    def take(number: int, frame: FrameType | None) -> None:
        nonlocal interrupted
        signal.signal(signal.SIGINT, signal.default_int_handler)
        interrupted = True
        events.put(Press(PressWord.QUIT))

    signal.signal(signal.SIGINT, take)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    if interrupted:
        raise KeyboardInterrupt


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
        events.put(Stamp(source.name, clock).change(Link.ENDED, f"the source failed: {error!r}"))


def _endless(events: "queue.SimpleQueue[Event]") -> Iterator[Event]:
    while True:
        yield events.get()
