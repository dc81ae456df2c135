"""`witnessmark collect`: choose or open the job, choose the source, run the flow, answer."""

import argparse
import json
from collections.abc import Iterator, Sequence
from contextlib import closing
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from collector.acquire.log_file import LogSource
from collector.acquire.serial_port import SerialSource
from collector.bench import Bench
from collector.cli.job import begin_job
from collector.cli.live import run_live
from collector.cli.place import SystemClock, database_path, say, settings, tell, version
from collector.cli.plan import read_plan, refuse_unworkable
from collector.cli.two_plans import rows_by_plan
from collector.cli.wording import placed_anew
from collector.closing import place_all
from collector.expect.later import Later
from collector.expect.learned import habits_for
from collector.expect.probable import Probable
from collector.record.jobs import NewJob, PlanFile, open_jobs, same_plan
from collector.record.recorder import Recorder
from collector.run import run_log
from schemas.bodies import LinkKept, LogTaken
from schemas.clock import Clock
from schemas.errors import SourceError, SourceReason
from schemas.frame import Frame
from schemas.job_state import JobState
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format
from schemas.words import Link

if TYPE_CHECKING:
    from analysis.load.record import JobRecord

LATER_SOURCES = ("ble", "keys")


def run_collect(chosen: argparse.Namespace) -> int:
    """Read a source into a job; 1 where its torque record is not complete afterwards."""
    plan = read_plan(chosen.plan, chosen.ignore)
    also = [read_plan(path, chosen.ignore) for path in chosen.also or ()]
    kind, _, where = chosen.source.partition(":")
    if also:
        _refuse_also(chosen, kind, [plan, *also])
    database = database_path(chosen.db)
    if kind == "sim":
        from collector.cli.simulated import collect_simulated

        jobs = [(collect_simulated(chosen, plan, database, where), 0)]
    elif kind == "serial" and where:
        jobs = [(_collect_serial(chosen, plan, database, where), 0)]
    elif kind == "log" and where:
        jobs = _collect_log(chosen, [plan, *also], database, Path(where))
    else:
        why = "is read by a later version" if kind in LATER_SOURCES else "is no source"
        raise SourceError(f"`{chosen.source}` {why}; use serial:PORT, log:FILE.csv or sim:rear-axle", SourceReason.NOT_READABLE)
    return answer(database, jobs, chosen.json)


def _refuse_also(chosen: argparse.Namespace, kind: str, plans: Sequence[PlanFile]) -> None:
    if kind != "log" or chosen.job:
        raise SourceError("--also shares out a log:FILE among plans, without --job", SourceReason.NOT_READABLE)
    names = [plan.route.plan for plan in plans]
    if twice := next((name for name in names if names.count(name) > 1), None):
        raise SourceError(f"plan `{twice}` is named twice; name each of the plans with --also once", SourceReason.NOT_READABLE)


def answer(database: Path, jobs: list[tuple[str, int]], as_json: bool) -> int:
    """Say what the record holds now of jobs, each with how many rows it had before; 1 where one of them is not complete."""
    from analysis.load import job_json, load_job, open_audit

    with closing(open_audit(database)) as db:
        records = [(load_job(db, job), already_stored) for job, already_stored in jobs]
    if as_json:
        first, *others = [job_json(record, already_stored) for record, already_stored in records]
        say(json.dumps({**first, **({"also": others} if others else {})}, ensure_ascii=False, indent=1))
    for record, already_stored in () if as_json else records:
        _say_record(record, already_stored)
    return 0 if all(record.complete for record, _ in records) else 1


def _say_record(record: "JobRecord", already_stored: int) -> None:
    mark = "  SIMULATED" if record.simulated else ""
    counts = ", ".join(f"{count} {proof}" for proof, count in record.proof_counts.items() if count)
    say(f"job {record.job}: {len(record.readings)} readings, {len(record.fasteners)} fasteners: {counts}{mark}")
    say("the torque record is complete" if record.complete else "the torque record is NOT complete:")
    for reason in record.reasons:
        say(f"  {reason}")
    if already_stored:
        tell(f"{already_stored} rows of the log were stored before and were left out")


def choose_job(recorder: Recorder, plan: PlanFile, chosen: argparse.Namespace, new: NewJob | None) -> JobState:
    """The job named, else the only open one of the plan, else a new one where `new` says how to open it."""
    if (job := _job_to_go_on_with(recorder, plan, chosen)) is not None:
        return job
    if new is None:
        what = f"no job of plan `{plan.route.plan}` is open; open one: witnessmark job open {chosen.plan} --item ID"
        raise SourceError(what, SourceReason.MISSING)
    return begin_job(recorder, plan, new)


def _job_to_go_on_with(recorder: Recorder, plan: PlanFile, chosen: argparse.Namespace) -> JobState | None:
    """The job named, else the only open one of the plan, None where there is none."""
    found = open_jobs(recorder, plan.route.plan)
    if not chosen.job and len(found) > 1:
        numbers = ", ".join(job.job for job in found)
        raise SourceError(f"jobs {numbers} of plan `{plan.route.plan}` are open; say which with --job", SourceReason.NOT_READABLE)
    job = chosen.job or (found[0].job if found else None)
    if job is None:
        return None
    same_plan(recorder, job, plan.route)
    return recorder.load_job(job)


def make_bench(recorder: Recorder, job: JobState, wire: WireFormat, chosen: argparse.Namespace, simulated: bool) -> Bench:
    """A bench for a job; a pull while no program was running could not be seen, and a gap is recorded for it."""
    by = recorder.person(chosen.fitter) if chosen.fitter else job.fitter
    return Bench(recorder, job, Probable(habits_for(job, recorder.fold.habit_sets)), wire, by, chosen.wrench, simulated)


def note_gap(bench: Bench, source: str) -> None:
    """Record that nobody was listening since the last run, where a joint was in hand; tell what would be matched otherwise."""
    if isinstance(bench.matcher, Probable) and (differing := bench.matcher.differing(bench.job)):
        which = f"readings {', '.join(map(str, differing))} look" if len(differing) > 1 else f"reading {differing[0]} looks"
        tell(f"gone through again, {which} otherwise than on record; the record stands, see `job review`")
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


def _collect_log(chosen: argparse.Namespace, plans: list[PlanFile], database: Path, path: Path) -> list[tuple[str, int]]:
    """Read a log into the job of each plan; gives their numbers, with how many rows each had stored before."""
    clock = SystemClock()
    source = LogSource(path, clock)
    source.open()
    with Recorder(database, clock, version(), "witnessmark collect") as recorder:
        for plan in plans:
            refuse_unworkable(plan, recorder.fold.wrenches)
            # Before anything is read in: else the job of the first plan has its part, and that of the second has none.
            _job_to_go_on_with(recorder, plan, chosen)
        if len(plans) == 1:
            return [_read_in(recorder, chosen, plans[0], source, source.rows())]
        rows = rows_by_plan(source, [plan.route for plan in plans], recorder, chosen)
        return [_read_in(recorder, chosen, plan, source, iter(own)) for plan, own in zip(plans, rows, strict=True)]


def _read_in(
    recorder: Recorder, chosen: argparse.Namespace, plan: PlanFile, source: LogSource, rows: Iterator[Frame]
) -> tuple[str, int]:
    new = NewJob("unnamed", "", chosen.fitter or "not named", settings(recorder.path).workshop)
    job = choose_job(recorder, plan, chosen, new)
    bench = make_bench(recorder, job, source.wire_format, chosen, simulated=False)
    with recorder.transaction():
        bench.log = recorder.append(LogTaken(job.opened.job, source.name.partition(":")[2], source.sha256), bench.by)
    bench.matcher = Later()
    run_log(rows, bench, lambda rows: tell(f"{rows} rows read") if rows % 10_000 == 0 else None)
    tell_placed(bench, place_all(recorder, job))
    return job.opened.job, bench.already_stored


def tell_placed(bench: Bench, revised: int) -> None:
    """Say what the closing pass has changed, and where a log has nothing to do with the plan."""
    pulls = bench.job.pulls.values()
    if pulls and bench.job.strays == len(pulls):
        tell(f"none of these readings belongs to plan `{bench.job.route.plan}`: is it the right log, and the right plan?")
    if revised:
        tell(placed_anew(revised))


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
