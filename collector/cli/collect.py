"""`witnessmark collect`: choose or open the job, choose the source, run the flow, answer."""

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from collector.acquire.log_file import LogSource
from collector.bench import Bench
from collector.cli.asked_source import AskedSource, asked_sources
from collector.cli.job import begin_job
from collector.cli.line_answers import LineAnswers
from collector.cli.live import run_live
from collector.cli.live_source import feed_of, feeds_by_name, live_source
from collector.cli.log_layout import layout_of, tell_read, tell_rows
from collector.cli.place import SystemClock, database_path, say, settings, tell, version
from collector.cli.plan import read_plan, refuse_unworkable
from collector.cli.two_plans import rows_by_plan
from collector.cli.view import LineView
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
from schemas.words import Link

if TYPE_CHECKING:
    from analysis.load.record import JobRecord

LIVE_SOURCES = ("serial", "ble", "keys")
SOURCES = (*LIVE_SOURCES, "log", "sim")


def run_collect(chosen: argparse.Namespace) -> int:
    """Read a source into a job; 1 where its torque record is not complete afterwards."""
    plan = read_plan(chosen.plan, chosen.ignore)
    also = [read_plan(path, chosen.ignore) for path in chosen.also or ()]
    asked = asked_sources(chosen.ordered)
    _refuse_no_sources(asked)
    alone = asked[0]
    if also:
        _refuse_also(chosen, alone, [plan, *also])
    if chosen.confirm and alone.kind == "log":
        what = "--confirm each asks the fitter after a pull, and a log is read without a question; leave it out"
        raise SourceError(what, SourceReason.NOT_READABLE)
    database = database_path(chosen.db)
    if alone.kind == "sim":
        from collector.cli.simulated import collect_simulated

        jobs = [(collect_simulated(chosen, alone, plan, database), 0)]
    elif alone.kind == "log":
        jobs = _collect_log(chosen, alone, [plan, *also], database)
    else:
        jobs = [(_collect_live(chosen, asked, plan, database), 0)]
    return answer(database, jobs, chosen.json)


def _refuse_no_sources(asked: Sequence[AskedSource]) -> None:
    for one in asked:
        if one.kind not in SOURCES or bool(one.where) == (one.kind == "keys"):
            those = "serial:PORT, ble:NAME, keys:, log:FILE.csv or sim:rear-axle"
            raise SourceError(f"`{one.source}` is no source; use {those}", SourceReason.NOT_READABLE)
        if one.wire is not None and one.kind not in LIVE_SOURCES:
            what = f"`{one.source}` is not read by a wire format; leave out --wire (--layout says how a log is written)"
            raise SourceError(what, SourceReason.NOT_READABLE)
        if len(asked) > 1 and one.kind not in LIVE_SOURCES:
            what = f"`{one.source}` is read alone; leave out the other --from (--also names another plan, not another source)"
            raise SourceError(what, SourceReason.NOT_READABLE)


def _refuse_also(chosen: argparse.Namespace, asked: AskedSource, plans: Sequence[PlanFile]) -> None:
    if asked.kind != "log" or chosen.job:
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
    matcher = Probable(habits_for(job, recorder.fold.habit_sets))
    return Bench(recorder, job, matcher, wire, by, simulated=simulated, confirm_each=chosen.confirm == "each")


def note_gap(bench: Bench, *sources: str) -> None:
    """Record that nobody was listening since the last run, where a joint was in hand; tell what would be matched otherwise.

    Of a run with several sources each wrench may have had a joint of its own in hand.
    """
    if isinstance(bench.matcher, Probable) and (differing := bench.matcher.differing(bench.job)):
        which = f"readings {', '.join(map(str, differing))} look" if len(differing) > 1 else f"reading {differing[0]} looks"
        tell(f"gone through again, {which} otherwise than on record; the record stands, see `job review`")
    for joint in _joints_in_hand(bench.job, len(sources) > 1):
        job, why = bench.job.opened.job, "this program was not running"
        body = LinkKept(job, ", ".join(sources), str(Link.LOST), joint, why, bench.simulated_mark)
        with bench.recorder.transaction():
            bench.recorder.append(body, bench.by)


def _joints_in_hand(job: JobState, of_each_wrench: bool) -> list[str]:
    """The joint in hand, and where asked for the one that each wrench pulled last, as long as nobody has confirmed them."""
    matches = {pull.reading.wrench: pull.match for pull in job.pulls.values()} if of_each_wrench else {}
    last = (match.joint for match in matches.values() if match is not None)
    return [joint for joint in dict.fromkeys((job.joint_in_hand, *last)) if joint is not None and job.is_under_way(joint)]


def _collect_live(chosen: argparse.Namespace, asked: Sequence[AskedSource], plan: PlanFile, database: Path) -> str:
    clock: Clock = SystemClock()
    feeds = [feed_of(one) for one in asked]
    answers = LineAnswers() if any(feed.is_typed for feed in feeds) else None
    with Recorder(database, clock, version(), "witnessmark collect") as recorder:
        job = choose_job(recorder, plan, chosen, None)
        refuse_unworkable(plan, recorder.fold.wrenches)
        bench = make_bench(recorder, job, feeds[0].wire, chosen, simulated=False)
        sources = [live_source(one, feed, clock, answers) for one, feed in zip(asked, feeds, strict=True)]
        bench.feeds = feeds_by_name(sources, feeds)
        note_gap(bench, *bench.feeds)
        # What is typed is shown by the terminal itself, and a picture drawn over it would break both.
        run_live(bench, sources, clock, answers, LineView(sys.stderr) if answers else None)
    return job.opened.job


def _collect_log(chosen: argparse.Namespace, asked: AskedSource, plans: list[PlanFile], database: Path) -> list[tuple[str, int]]:
    """Read a log into the job of each plan; gives their numbers, with how many rows each had stored before."""
    clock = SystemClock()
    source = LogSource(Path(asked.where), clock, layout=layout_of(chosen))
    source.open()
    tell_read(source.told)
    with Recorder(database, clock, version(), "witnessmark collect") as recorder:
        for plan in plans:
            refuse_unworkable(plan, recorder.fold.wrenches)
            # Before anything is read in: else the job of the first plan has its part, and that of the second has none.
            _job_to_go_on_with(recorder, plan, chosen)
        if len(plans) == 1:
            return [_read_in(recorder, chosen, asked, plans[0], source, source.rows())]
        rows = rows_by_plan(source, [plan.route for plan in plans], recorder, asked.wrench)
        return [_read_in(recorder, chosen, asked, plan, source, iter(own)) for plan, own in zip(plans, rows, strict=True)]


def _read_in(
    recorder: Recorder,
    chosen: argparse.Namespace,
    asked: AskedSource,
    plan: PlanFile,
    source: LogSource,
    rows: Iterator[Frame],
) -> tuple[str, int]:
    new = NewJob("unnamed", "", chosen.fitter or "not named", settings(recorder.path).workshop)
    job = choose_job(recorder, plan, chosen, new)
    bench = make_bench(recorder, job, source.wire_format, chosen, simulated=False)
    bench.wrench = asked.wrench
    with recorder.transaction():
        notes = tuple(one.what for one in source.told)
        log = LogTaken(job.opened.job, source.name.partition(":")[2], source.sha256, notes)
        bench.log = recorder.append(log, bench.by)
    bench.matcher = Later()
    run_log(rows, bench, lambda rows: tell(f"{rows} rows read") if rows % 10_000 == 0 else None)
    tell_rows(bench, source.name.partition(":")[2])
    tell_placed(bench, place_all(recorder, job))
    return job.opened.job, bench.already_stored


def tell_placed(bench: Bench, revised: int) -> None:
    """Say what the closing pass has changed, and where a log has nothing to do with the plan."""
    pulls = bench.job.pulls.values()
    if pulls and bench.job.strays == len(pulls):
        tell(f"none of these readings belongs to plan `{bench.job.route.plan}`: is it the right log, and the right plan?")
    if revised:
        tell(placed_anew(revised))
