"""What tests share: a made-up workshop on the real recorder, a job played through the pure fold, a guard against threads."""

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from importlib.resources import files
from pathlib import Path

import pytest

from collector.acquire.log_file import LogSource
from collector.bench import Bench
from collector.closing import place_all
from collector.expect.in_order import InOrder
from collector.expect.later import Later
from collector.expect.matcher import Matcher
from collector.flag import flag_match
from collector.record.jobs import NewJob, PlanFile, add_wrench, calibrate_wrench, open_job
from collector.record.recorder import Recorder
from collector.run import Event, run, run_log
from schemas.bodies import (
    Body,
    Calibrated,
    Decided,
    JobOpened,
    LinkKept,
    LogTaken,
    MatchKept,
    PlanKept,
    ReadingKept,
    Signed,
    WrenchAdded,
)
from schemas.database import JOB
from schemas.fastener_state import At, Pull
from schemas.fold import Fold
from schemas.frame import Frame
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.plan.load import load_plan
from schemas.route_body import route_to_body
from schemas.screen import Screen
from schemas.units import find_unit, to_nm, torque_text
from schemas.wire_format_load import load_wire_format

pytest_plugins = ["tests.rigs.collecting"]

DRAWBAR = """\
plan: drawbar
title: Box trailer, drawbar
revision: "1"
source: Shop procedure 7, section 2
unit: N·m
tolerance: 10 %
joints:
  - {id: clamp, name: Drawbar clamp, fasteners: 2, torque: 100, stages: [50, 100]}
  - {id: eye, name: Towing eye, fasteners: 2, torque: 80, stages: [snug, 100]}
  - {id: guard, name: Guard, fasteners: 2, torque: 20}
steps:
  - torque: clamp
  - hold point: level
    ask: Drawbar level?
    sign: lead
  - torque: eye
    after: [level]
  - torque: guard
"""


@dataclass
class SteppedClock:
    """Goes on by a second, and by a nanosecond of its count, each time it is asked."""

    instant: datetime = field(default=datetime(2026, 3, 2, 7, 0, tzinfo=UTC))
    count: int = 0

    def now(self) -> datetime:
        self.instant += timedelta(seconds=1)
        return self.instant

    def monotonic_ns(self) -> int:
        self.count += 1
        return self.count


@dataclass
class Floor:
    """The workshop around one database file; `W-7` is in its register and in date.

    Its benches match by `matcher`; by order alone, a state is put together without a thought for pauses. Each pull comes
    `pause_s` and what the clock goes on by itself after the one before.
    """

    path: Path
    text: str = DRAWBAR
    clock: SteppedClock = field(default_factory=SteppedClock)
    sent: int = 0
    screens: list[Screen] = field(default_factory=list)
    matcher: Callable[[], Matcher] = InOrder
    pause_s: float = 0.0

    def recorder(self, holder: str = "test bench") -> Recorder:
        return Recorder(self.path, self.clock, "witnessmark 0", holder)

    @property
    def plan(self) -> PlanFile:
        data = self.text.encode()
        return PlanFile("drawbar.yaml", data, load_plan(data, "drawbar.yaml"))

    def register(self, recorder: Recorder) -> None:
        lead = recorder.person("Runa Veld")
        add_wrench(recorder, WrenchAdded("W-7", "SN-7", "indicating", "10", "200", "N·m", "10", "200", "highest"), lead)
        calibrate_wrench(recorder, Calibrated("W-7", "C-7", "2026-01-01", "2026-12-31", "10", "200"), lead)

    def job(self, recorder: Recorder, simulated: bool = False) -> JobState:
        if "W-7" not in recorder.fold.wrenches:
            self.register(recorder)
        return open_job(recorder, self.plan, NewJob("Trailer WX 17", "4711", "Mira Tannwald", "Tannwald Trailers", simulated))

    def bench(self, recorder: Recorder, job: JobState | None = None, simulated: bool = False) -> Bench:
        job = job or self.job(recorder, simulated)
        wire = load_wire_format(files("schemas.wire").joinpath("plain-line.yaml").read_bytes(), "plain-line.yaml")
        return Bench(recorder, job, self.matcher(), wire, job.opened.fitter, simulated=simulated)

    def frame(self, raw: bytes) -> Frame:
        return Frame("serial:/dev/bench", raw, self.clock.now(), self.clock.monotonic_ns())

    def pull(self, torque: object, number: int | None = None) -> Frame:
        self.clock.instant += timedelta(seconds=self.pause_s)
        self.sent = self.sent + 1 if number is None else number
        return self.frame(f"@W-7;{self.sent:04d};{torque};Nm;2026-03-02T08:15:30+01:00;ok".encode())

    def run(self, bench: Bench, *events: Event) -> Screen:
        """The last picture after these events; all of them are in `screens`."""
        run(events, bench, self.screens.append)
        return self.screens[-1]

    def import_log(self, recorder: Recorder, text: str, job: str | None = None, file: str = "log.csv") -> Bench:
        """Write a log and read it in, as `collect --from log:` does."""
        log = self.path.with_name(file)
        log.write_text(text, encoding="utf-8")
        source = LogSource(log, self.clock)
        source.open()
        bench = self.bench(recorder, recorder.load_job(job) if job else None)
        bench.wire, bench.matcher = source.wire_format, Later()
        with recorder.transaction():
            bench.log = recorder.append(LogTaken(bench.job.opened.job, log.name, source.sha256), bench.by)
        run_log(source.rows(), bench, lambda rows: None)
        place_all(recorder, bench.job)
        return bench


@pytest.fixture
def stepped_clock() -> SteppedClock:
    """A clock that goes on by itself each time it is asked."""
    return SteppedClock()


@pytest.fixture
def floor(tmp_path: Path) -> Floor:
    """A workshop whose database is not made yet."""
    return Floor(tmp_path / "audit.db")


@pytest.fixture
def recorder(floor: Floor) -> Iterator[Recorder]:
    """The one writer of the workshop's database."""
    with floor.recorder() as recorder:
        yield recorder


HUBS = """\
plan: box-trailer
title: Box trailer, hubs and shackles
revision: "1"
source: Shop procedure 9, section 2
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100, stages: [50, 100], order: in line}
  - {id: shackle, name: Shackle bolts, fasteners: 2, torque: 60}
steps:
  - loose: shackle
  - torque: hub
  - hold point: ride-height
    ask: Loaded to ride height
    sign: lead
  - torque: shackle
    after: [ride-height]
"""


class Job:
    """One job whose acts append entries and give the entry's number; `stored` are the rows as a database would hold them."""

    def __init__(self, plan: str = HUBS, simulated: int | None = None) -> None:
        self.entries: list[tuple[At, Body]] = []
        self.fold = Fold()
        self.stored: dict[object, object] = {}
        self.minute = 0
        self.keep_plan(plan)
        self.put(JobOpened("1", 1, "0" * 64, "4711", "p-1", "Tannwald Trailers", simulated))
        self.state = self.fold.jobs["1"]

    def keep_plan(self, plan: str) -> int:
        self.route = load_plan(plan.encode(), "plan.yaml")
        route = self.route
        return self.put(PlanKept(route.plan, "plan.yaml", "0" * 64, route.content_sha256, plan, route_to_body(route)))

    def put(self, body: Body, by: str = "p-1") -> int:
        at = At(len(self.entries) + 1, f"2026-03-02T07:{self.minute:02}:{len(self.entries) % 60:02}.000000Z", by)
        self.entries.append((at, body))
        self.fold.apply(at, body)
        for table, key in self.fold.take_gone():
            del self.stored[table.name, key]
        self.stored |= {(table.name, row[: table.keys]): row for table, row in self.fold.take_rows()}
        return at.seq

    def read(self, torque: str | None, unit: str = "N·m", **more: object) -> int:
        nm = None if torque is None else torque_text(to_nm(Decimal(torque), find_unit(unit)[0]))
        return self.put(ReadingKept("1", **{"wrench": "W-140", "fit": 1, "torque": torque, "unit": unit, "torque_nm": nm} | more))

    def match(self, reading: int, joint: str | None, stage: int | None, position: int | None, **more: object) -> int:
        said = {"kind": "tightening", "verdict": "in band", "reason": "by order"} | more
        return self.put(MatchKept("1", reading, joint=joint, stage=stage, position=position, **said))

    def pull(
        self, joint: str, stage: int, position: int, torque: str = "100", verdict: str | None = "in band", **more: str
    ) -> int:
        reading = self.read(torque, **{key: more.pop(key) for key in ("wrench", "unfit") if key in more})
        self.match(reading, joint, stage, position, verdict=verdict, **more)
        return reading

    def take(self, torque: str | None, **more: object) -> Pull:
        """A reading taken as the flow takes it: matched by the order, judged, recorded."""
        pull = self.state.pulls[self.read(torque, **more)]
        for match in InOrder().match_reading(self.state, pull):
            for flagged in flag_match(match, self.state):
                self.put(flagged)
        return pull

    def proofs(self, joint: str) -> list[tuple[str, str]]:
        """Proof and reasons of each fastener, as its rows have them."""
        fasteners = range(1, self.joint(joint).joint.fasteners + 1)
        return [self.stored["fastener", ("1", joint, position)][3:] for position in fasteners]

    @property
    def complete(self) -> bool:
        return bool(self.stored["job", ("1",)][JOB.names.index("complete")])

    def say(self, said: str, joint: str | None = None, position: int | None = None, **more: int | str) -> int:
        return self.put(Decided("1", said, joint, position, **more))

    def stripes(self, joint: str, seen: int = 2) -> int:
        return self.say("stripes", joint, count=seen, of=2)

    def sign(self, hold_point: str | None = None, snug: str | None = None) -> int:
        return self.put(Signed("1", "lead", hold_point, snug), "p-2")

    def link(self, link: str, joint: str | None = None) -> int:
        return self.put(LinkKept("1", "serial:tty", link, joint))

    def joint(self, joint: str) -> JointState:
        return self.state.joints[joint]


@pytest.fixture(scope="session")
def new_job() -> type[Job]:
    """Makes a job with its plan; of session scope, so that a property test may use it."""
    return Job


@pytest.fixture(autouse=True)
def no_thread_left() -> Iterator[None]:
    """Fails a test that leaves a thread running."""
    before = set(threading.enumerate())
    yield
    for thread in set(threading.enumerate()) - before:
        thread.join(2)
    left = set(threading.enumerate()) - before
    assert not left, f"left running: {left}"
