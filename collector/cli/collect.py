"""`witnessmark collect`: choose or open the job, choose the source, run the flow, answer."""

import argparse
import json
from contextlib import closing
from importlib.resources import files
from pathlib import Path

from collector.acquire.log_file import LogSource
from collector.acquire.serial_port import SerialSource
from collector.bench import Bench
from collector.cli.job import begin_job
from collector.cli.live import run_live
from collector.cli.place import SystemClock, database_path, say, settings, tell, version
from collector.cli.plan import read_plan, refuse_unworkable
from collector.expect.in_order import InOrder
from collector.record.jobs import NewJob, PlanFile, open_jobs, same_plan
from collector.record.recorder import Recorder
from collector.run import run_log
from schemas.bodies import LinkKept, LogTaken
from schemas.clock import Clock
from schemas.errors import SourceError, SourceReason
from schemas.job_state import JobState
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format
from schemas.words import Link

LATER_SOURCES = ("ble", "keys")


def run_collect(chosen: argparse.Namespace) -> int:
    """Read a source into a job; 1 where its torque record is not complete afterwards."""
    plan = read_plan(chosen.plan, chosen.ignore)
    kind, _, where = chosen.source.partition(":")
    database = database_path(chosen.db)
    if kind == "sim":
        from collector.cli.simulated import collect_simulated

        job, already = collect_simulated(chosen, plan, database, where), 0
    elif kind == "serial" and where:
        job, already = _collect_serial(chosen, plan, database, where), 0
    elif kind == "log" and where:
        job, already = _collect_log(chosen, plan, database, Path(where))
    else:
        why = "is read by a later version" if kind in LATER_SOURCES else "is no source"
        raise SourceError(f"`{chosen.source}` {why}; use serial:PORT, log:FILE.csv or sim:rear-axle", SourceReason.NOT_READABLE)
    return answer(database, job, chosen.json, already)


def answer(database: Path, job: str, as_json: bool, already_stored: int = 0) -> int:
    """Say what the record holds now; 1 where it is not complete."""
    from analysis.load import job_json, load_job, open_audit

    with closing(open_audit(database)) as db:
        record = load_job(db, job)
    if as_json:
        say(json.dumps(job_json(record, already_stored), ensure_ascii=False, indent=1))
    else:
        mark = "  SIMULATED" if record.simulated else ""
        counts = ", ".join(f"{count} {proof}" for proof, count in record.proof_counts.items() if count)
        say(f"job {job}: {len(record.readings)} readings, {len(record.fasteners)} fasteners: {counts}{mark}")
        say("the torque record is complete" if record.complete else "the torque record is NOT complete:")
        for reason in record.reasons:
            say(f"  {reason}")
        if already_stored:
            tell(f"{already_stored} rows of the log were stored before and were left out")
    return 0 if record.complete else 1


def choose_job(recorder: Recorder, plan: PlanFile, chosen: argparse.Namespace, new: NewJob | None) -> JobState:
    """The job named, else the only open one of the plan, else a new one where `new` says how to open it."""
    if chosen.job:
        same_plan(recorder, chosen.job, plan.route)
        return recorder.load_job(chosen.job)
    found = open_jobs(recorder, plan.route.plan)
    if len(found) > 1:
        numbers = ", ".join(job.job for job in found)
        raise SourceError(f"jobs {numbers} of plan `{plan.route.plan}` are open; say which with --job", SourceReason.NOT_READABLE)
    if found:
        same_plan(recorder, found[0].job, plan.route)
        return recorder.load_job(found[0].job)
    if new is None:
        what = f"no job of plan `{plan.route.plan}` is open; open one: witnessmark job open {chosen.plan} --item ID"
        raise SourceError(what, SourceReason.MISSING)
    return begin_job(recorder, plan, new)


def make_bench(recorder: Recorder, job: JobState, wire: WireFormat, chosen: argparse.Namespace, simulated: bool) -> Bench:
    """A bench for a job; a pull while no program was running could not be seen, and a gap is recorded for it."""
    by = recorder.person(chosen.fitter) if chosen.fitter else job.fitter
    return Bench(recorder, job, InOrder(), wire, by, chosen.wrench, simulated)


def note_gap(bench: Bench, source: str) -> None:
    """Record that nobody was listening since the last run, where a joint was in hand then."""
    in_hand = bench.job.joint_in_hand
    if in_hand is not None:
        body = LinkKept(
            bench.job.opened.job, source, str(Link.LOST), in_hand, "this program was not running", bench.simulated_mark
        )
        with bench.recorder.transaction():
            bench.recorder.append(body, bench.by)


def _collect_serial(chosen: argparse.Namespace, plan: PlanFile, database: Path, port: str) -> str:
    clock: Clock = SystemClock()
    wire = read_wire(chosen.wire)
    with Recorder(database, clock, version(), "witnessmark collect") as recorder:
        job = choose_job(recorder, plan, chosen, None)
        refuse_unworkable(plan, recorder.fold.wrenches)
        bench = make_bench(recorder, job, wire, chosen, simulated=False)
        source = SerialSource(port, clock, wire.longest, chosen.baud)
        note_gap(bench, source.name)
        run_live(bench, source, clock)
    return job.opened.job


def _collect_log(chosen: argparse.Namespace, plan: PlanFile, database: Path, path: Path) -> tuple[str, int]:
    clock = SystemClock()
    source = LogSource(path, clock)
    source.open()
    with Recorder(database, clock, version(), "witnessmark collect") as recorder:
        new = NewJob("unnamed", "", chosen.fitter or "not named", settings(database).workshop)
        job = choose_job(recorder, plan, chosen, new)
        refuse_unworkable(plan, recorder.fold.wrenches)
        bench = make_bench(recorder, job, source.wire_format, chosen, simulated=False)
        with recorder.transaction():
            bench.log = recorder.append(LogTaken(job.opened.job, path.name, source.sha256), bench.by)
        run_log(source.rows(), bench, lambda rows: tell(f"{rows} rows read") if rows % 10_000 == 0 else None)
    return job.opened.job, bench.already_stored


def read_wire(named: str | None) -> WireFormat:
    """A wire format from a file, by default the plain line that comes with the program."""
    if named is None:
        return load_wire_format(files("schemas.wire").joinpath("plain-line.yaml").read_bytes(), "plain-line.yaml")
    try:
        data = Path(named).read_bytes()
    except OSError as error:
        what = f"{named}: cannot be read ({error.strerror}); name a wire format file"
        raise SourceError(what, SourceReason.MISSING) from error
    return load_wire_format(data, named)
