"""The source `sim:rear-axle`: a made-up fitter with two wrenches on a real serial path, on a clock that is played fast."""

import argparse
import queue
import random
import threading
from contextlib import closing
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from collector.acquire.framing import framer_of
from collector.acquire.serial_port import SerialSource
from collector.bench import Bench
from collector.cli.asked_source import AskedSource
from collector.cli.bench_front import BenchFront
from collector.cli.collect import choose_job, make_bench, note_gap
from collector.cli.live import run_live
from collector.cli.place import tell, version
from collector.cli.plan import refuse_unworkable
from collector.cli.wire_named import read_wire
from collector.record.jobs import NewJob, PlanFile
from collector.record.recorder import Recorder
from schemas.entry import decode_entry
from schemas.errors import SourceError, SourceReason
from schemas.screen import Screen
from schemas.wire_format import WireFormat
from sim.clock import SimClock
from sim.day import Day, SimBench, lay_out
from sim.fitter import Fitter
from sim.wire import open_wire
from sim.workshop import facts

DAYS = ("rear-axle",)
BREAK_AFTER_STOP = timedelta(minutes=10)


def collect_simulated(chosen: argparse.Namespace, asked: AskedSource, plan: PlanFile, database: Path) -> str:
    """Live a simulated day into a job; gives its number."""
    day = asked.where
    if day not in DAYS:
        raise SourceError(f"there is no simulated day `{day}`; there is sim:{DAYS[0]}", SourceReason.MISSING)
    clock = SimClock(_begin_at(database))
    with Recorder(database, clock, version(), "witnessmark collect") as recorder:
        new = NewJob("unnamed", "", chosen.fitter or facts.FITTER, facts.WORKSHOP, simulated=True)
        job = choose_job(recorder, plan, chosen, new)
        if not job.opened.simulated:
            raise SourceError(
                f"job {job.opened.job} is a real one; a simulated day goes only into a job that was opened by it",
                SourceReason.NOT_READABLE,
            )
        refuse_unworkable(plan, recorder.fold.wrenches)
        wire = read_wire(asked.wire)
        bench = make_bench(recorder, job, wire, chosen, simulated=True)
        bench.wrench = asked.wrench
        live_day(bench, clock, wire, chosen.seed, chosen.pace)
    return job.opened.job


def _begin_at(database: Path) -> datetime:
    """The made-up morning, or some minutes after the last entry where a day goes on."""
    if not database.exists():
        return facts.START_AT
    from analysis.load.database import open_audit

    with closing(open_audit(database)) as db:
        last = db.execute("SELECT entry FROM ledger ORDER BY seq DESC LIMIT 1").fetchone()
    if last is None:
        return facts.START_AT
    return max(facts.START_AT, datetime.fromisoformat(decode_entry(last[0]).at) + BREAK_AFTER_STOP)


def live_day(bench: Bench, clock: SimClock, wire_format: WireFormat, seed: int, pace_s: float) -> None:
    """Live one day at a bench, through a pseudo-terminal and the serial port that reads it."""
    with closing(open_wire(random.Random(seed))) as wire:
        source = SerialSource(wire.url, clock, partial(framer_of, wire_format))
        note_gap(bench, source.name)
        fitter = Fitter(bench.job.route, seed, facts.WRENCHES, facts.LEAD)
        companion = _SimulatedFitter(fitter, lay_out(wire_format, clock, wire, _next_numbers(bench)), pace_s)
        run_live(bench, [source], clock, companion)
    if companion.trouble:
        tell(f"the simulated day ended early: {companion.trouble}")


def _next_numbers(bench: Bench) -> dict[str, int]:
    """The memory number of each wrench's next record, so that a day that goes on goes on counting."""
    rows = bench.recorder.query("SELECT wrench, max(sequence) + 1 FROM reading WHERE sequence IS NOT NULL GROUP BY wrench")
    return {str(wrench): int(str(number)) for wrench, number in rows}


class _SimulatedFitter:
    """The companion of a run who reads its screen and presses its keys."""

    def __init__(self, fitter: Fitter, bench: SimBench, pace_s: float) -> None:
        self._fitter = fitter
        self._bench = bench
        self._pace_s = pace_s
        self._screens: queue.Queue[Screen] = queue.Queue()
        self._day: Day | None = None
        self._thread: threading.Thread | None = None

    def start(self, front: BenchFront) -> None:
        """The run begins: read every screen, press keys as a hand would."""
        front.listeners.append(self._screens.put)
        self._day = Day(self._fitter, self._bench, self._screens, front.press, self._pace_s)
        self._thread = threading.Thread(target=self._day.run, name="simulated fitter")
        self._thread.start()

    def stop(self) -> None:
        """The run has ended, so a last screen ends the day where it has not ended by itself."""
        if self._thread is not None:
            self._screens.put(_LAST_SCREEN)
            self._thread.join()

    @property
    def trouble(self) -> str | None:
        """Why the day gave up, None where it did not."""
        return self._day.trouble if self._day else None


_LAST_SCREEN = Screen("", "", True, None, None, None, (), (), "", False, ended=True)
