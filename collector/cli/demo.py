"""`witnessmark demo`: a whole made-up day through what the other commands call; only the day is its own."""

import argparse
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from collector.cli.chart import drift_view, write_chart
from collector.cli.collect import make_bench
from collector.cli.job import begin_job
from collector.cli.place import say, tell, version
from collector.cli.plan import read_plan
from collector.cli.report import write_report
from collector.cli.simulated import live_day
from collector.cli.verify import check_file
from collector.cli.wire_named import read_wire
from collector.cli.wrench import added_wrench
from collector.decode.check import decode_check
from collector.record.checks import add_checks
from collector.record.jobs import NewJob, add_wrench, calibrate_wrench
from collector.record.recorder import Recorder
from schemas.bodies import Calibrated
from schemas.errors import RecordError
from schemas.words import Kind, Proof, Verdict
from sim.checks import weekly_checks
from sim.clock import SimClock
from sim.workshop import facts

DATABASE = "demo.db"
REPORTS = ("job-1.pdf", "job-1.html")


def run_demo(chosen: argparse.Namespace) -> int:
    """Live the day, write the report, verify; 0 where all of that worked, whatever the day brought."""
    folder = Path(chosen.folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RecordError(f"{folder}: is there already; take it away, or name another folder with --folder")
    folder.mkdir(parents=True, exist_ok=True)
    plan_file, database = folder / facts.PLAN_FILE, folder / DATABASE
    reports = [folder / name for name in REPORTS]
    plan_file.write_bytes(facts.plan_bytes())
    plan = read_plan(str(plan_file))
    clock = SimClock(facts.START_AT)
    with Recorder(database, clock, version(), "witnessmark demo") as recorder:
        _register_wrenches(recorder)
        new = NewJob(facts.ITEM, facts.ORDER, facts.FITTER, facts.WORKSHOP, simulated=True)
        job = begin_job(recorder, plan, new)
        tell(f"SIMULATED: {facts.FITTER} works on {facts.ITEM}; job {job.opened.job} in {database}")
        chosen.fitter = chosen.confirm = None
        wire = read_wire(None)
        live_day(make_bench(recorder, job, wire, chosen, simulated=True), clock, wire, chosen.seed, chosen.pace)
    clock.advance(300)
    for report in reports:
        write_report(database, job.opened.job, report, clock)
    for line in _summary(database, job.opened.job):
        say(line)
    for line in _drift(database, folder, clock):
        say(line)
    altered = check_file(database)
    say(f"files in {folder}: {', '.join(sorted(path.name for path in folder.iterdir() if path.suffix in _SHOWN))}")
    say(f"next: open {reports[0]}; witnessmark job show 1 --db {database}; witnessmark wrench list --db {database}")
    say(f"      witnessmark collect {plan_file} --from sim:rear-axle --db {database}   (the fitter comes back to the bench)")
    return altered


_SHOWN = (".db", ".pdf", ".html", ".png", ".yaml")


def _register_wrenches(recorder: Recorder) -> None:
    lead = recorder.person(facts.LEAD)
    for wrench in facts.WRENCHES:
        added = added_wrench(
            wrench.id, wrench.serial, wrench.type, str(wrench.low), str(wrench.high), wrench.unit, str(wrench.measures),
            simulated=True,
        )  # fmt: skip
        add_wrench(recorder, added, lead)
        for paper in wrench.certificates:
            days = str(paper.calibrated_on), str(paper.due_on)
            calibrate_wrench(recorder, Calibrated(wrench.id, paper.number, *days, added.low_nm, added.high_nm, 1), lead)
        checks = [decode_check(row, recorder.fold.wrenches).check for row in weekly_checks(wrench.id)]
        add_checks(recorder, checks, lead)


def _drift(database: Path, folder: Path, clock: SimClock) -> Iterator[str]:
    """What three years of checks say of the wrenches, and a chart of each for the wall."""
    from analysis.load import open_audit
    from analysis.measure_wrench import measure_wrench
    from analysis.plot_drift import title_of

    yield "the wrenches, by their checks:"
    with closing(open_audit(database)) as db:
        for wrench in facts.WRENCHES:
            drift = measure_wrench(db, wrench.id)
            write_chart(drift, folder / f"drift-{wrench.id}.png", database, clock.now().date())
            yield f"  {title_of(drift_view(drift, clock.now().date()))}"


def _summary(database: Path, job: str) -> Iterator[str]:
    """What the record holds of the day, from the database alone."""
    from analysis.load import load_job, open_audit

    with closing(open_audit(database)) as db:
        record = load_job(db, job)
    counts = record.proof_counts
    kinds = Counter(reading.kind for reading in record.readings)
    over = sum(reading.verdict == Verdict.OVER for reading in record.readings)
    yield f"SIMULATED day: {len(record.readings)} readings on {len(record.fasteners)} fasteners, {counts[Proof.PROVEN]} proven"
    yield f"  missed fasteners: {counts[Proof.MISSED]}"
    yield f"  under-torque put right: {kinds[Kind.SHORT_PULL]}"
    yield f"  over-torque, not made good: {over}"
    yield f"  second clicks on the same fastener: {kinds[Kind.REPEAT]}"
    yield f"  unreadable lines: {len(record.unreadable)}"
    yield "the torque record is complete" if record.complete else "the torque record is NOT complete:"
    for reason in record.reasons:
        yield f"  {reason}"
