"""A made-up workshop on the real recorder: a plan of any size, one wrench that is fit, its lines and its logs. SIMULATED."""

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from pathlib import Path

from collector.acquire.log_file import LogSource
from collector.bench import Bench
from collector.cli.place import SystemClock
from collector.closing import place_all
from collector.expect.click import Click
from collector.expect.later import Later
from collector.expect.learned import habits_of
from collector.expect.matcher import Matcher
from collector.expect.probable import Probable
from collector.record.jobs import NewJob, PlanFile, add_wrench, calibrate_wrench, open_job
from collector.record.recorder import Recorder
from collector.run import run_log
from schemas.bodies import Calibrated, LogTaken, WrenchAdded
from schemas.frame import Frame
from schemas.plan.load import load_plan
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

WRENCH = "W-7"
PLAN_FASTENERS = 300
"""The size of plan that the wanted numbers speak of."""
_A_JOINT = 10
STAGES = 2
_PULL_S, _ROUND_S, _JOINT_S = 8, 20, 60
"""Pauses before a pull: within a round, before a round of the same joint, before another joint."""
_BEGUN = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


def plan_of(fasteners: int) -> PlanFile:
    """A plan of so many fasteners, ten a joint, each torqued at 50 and at 100 %."""
    joints = [f"  - {{id: g{n}, name: Bolt group {n}, fasteners: {_A_JOINT}}}\n" for n in range(1, fasteners // _A_JOINT + 1)]
    text = (
        "plan: made-up\ntitle: Made-up trailer\nrevision: '1'\nsource: Shop procedure 1\nunit: N·m\ntolerance: 10 %\n"
        "joints:\n" + "".join(joints).replace("}", ", torque: 100, stages: [50, 100], order: cross}")
    )
    data = text.encode()
    return PlanFile("made-up.yaml", data, load_plan(data, "made-up.yaml"))


def torque_of(pull: int) -> str:
    """What the wrench shows at a pull (from 0) of a fitter who follows the plan: a round at 50 %, a round at 100 %."""
    whole = pull // _A_JOINT % STAGES == STAGES - 1
    return f"{100 if whole else 50}.{pull % 7}"


def pulled_at(pull: int) -> datetime:
    """The moment of a pull (from 0), aware UTC, with the pauses of somebody at work."""
    rounds = pull // _A_JOINT
    return _BEGUN + timedelta(seconds=pull * _PULL_S + rounds * (_ROUND_S - _PULL_S) + rounds // STAGES * (_JOINT_S - _ROUND_S))


def clicks_of_pulls(count: int) -> tuple[Click, ...]:
    """So many pulls from the first on, as the model of matching takes them."""
    return tuple(Click(pull + 1, float(torque_of(pull)), WRENCH, pulled_at(pull).timestamp(), None) for pull in range(count))


def wrench_line(pull: int, wrench: str = WRENCH) -> bytes:
    """The line on the wire of a pull (from 0), without its end; no two are one pull."""
    at = pulled_at(pull).isoformat()
    return f"@{wrench};{pull + 1:07d};{torque_of(pull)};Nm;{at};ok".encode()


def plain_line() -> WireFormat:
    """The wire format of those lines."""
    return load_wire_format(files("schemas.wire").joinpath("plain-line.yaml").read_bytes(), "plain-line.yaml")


@dataclass(slots=True)
class Shop:
    """The workshop around one open recorder."""

    recorder: Recorder
    clock: SystemClock
    plan: PlanFile

    def bench(self, matcher: Matcher | None = None) -> Bench:
        """A bench for a new job; without a matcher the one that the program has for a running job."""
        new = NewJob("Trailer WX 17", "4711", "Mira Tannwald", "Tannwald Trailers", simulated=True)
        job = open_job(self.recorder, self.plan, new)
        return Bench(self.recorder, job, matcher or Probable(habits_of(None)), plain_line(), job.opened.fitter, simulated=True)

    def frames(self, first: int, count: int, wrenches: Sequence[str] = (WRENCH,)) -> list[Frame]:
        """Frames of pulls as a serial source hands them over, each joint with the next of these wrenches."""
        named = ((pull, wrenches[pull // (_A_JOINT * STAGES) % len(wrenches)]) for pull in range(first, first + count))
        return [
            Frame("serial:made-up", wrench_line(pull, wrench), pulled_at(pull), self.clock.monotonic_ns())
            for pull, wrench in named
        ]

    def import_log(self, log: Path, bench: Bench, *, is_placed: bool) -> None:
        """Read a log into the job of a bench, as `collect --from log:` does; without `is_placed` its closing pass is left out."""
        source = LogSource(log, self.clock)
        source.open()
        bench.wire, bench.matcher = source.wire_format, Later()
        with self.recorder.transaction():
            bench.log = self.recorder.append(LogTaken(bench.job.opened.job, log.name, source.sha256), bench.by)
        run_log(source.rows(), bench, lambda _: None)
        if is_placed:
            place_all(self.recorder, bench.job)


def register(recorder: Recorder, wrench: str) -> None:
    """Add a wrench that is fit for every pull here."""
    lead = recorder.person("Runa Veld")
    add_wrench(recorder, WrenchAdded(wrench, f"S{wrench}", "indicating", "10", "200", "N·m", "10", "200", "highest", 1), lead)
    calibrate_wrench(recorder, Calibrated(wrench, f"C{wrench}", "2026-01-01", "2026-12-31", "10", "200", 1), lead)


@contextmanager
def open_shop(path: Path, fasteners: int = PLAN_FASTENERS) -> Iterator[Shop]:
    """A workshop in a new file, with one calibrated wrench."""
    clock = SystemClock()
    with Recorder(path, clock, "witnessmark benchmark", "benchmark") as recorder:
        register(recorder, WRENCH)
        yield Shop(recorder, clock, plan_of(fasteners))


def write_log(path: Path, first: int, count: int) -> Path:
    """A readings log of pulls."""
    with path.open("w", encoding="utf-8", newline="") as log:
        log.write("time,wrench,torque,unit,seq\n")
        for pull in range(first, first + count):
            at = pulled_at(pull).isoformat()
            log.write(f"{at},{WRENCH},{torque_of(pull)},Nm,{pull + 1}\n")
    return path


def witnessmark() -> list[str]:
    """The installed command beside this Python; without it the module that it runs."""
    installed = Path(sys.executable).with_name("witnessmark")
    return [str(installed)] if installed.exists() else [sys.executable, "-m", "collector.cli.main"]
