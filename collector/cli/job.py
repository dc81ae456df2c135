"""`witnessmark job`: open, list, show, close, and what is recorded of a job away from the bench."""

import argparse
import json
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace

from collector.cli.item import check_item
from collector.cli.job_hand import open_lines
from collector.cli.job_writer import job_writer, refuse_closed
from collector.cli.place import SystemClock, database_path, say, settings, tell, version
from collector.cli.plan import read_plan, refuse_unworkable
from collector.cli.plan_check import open_findings
from collector.cli.wording import placed_anew, plain
from collector.closing import place_all
from collector.record.jobs import NewJob, PlanFile, open_job
from collector.record.recorder import Recorder
from schemas.bodies import JobClosed
from schemas.job_state import JobState


def run_open(chosen: argparse.Namespace) -> int:
    """Open a job and print its number."""
    plan = read_plan(chosen.plan, chosen.ignore)
    check_item(chosen.item, plan.route, chosen.vin)
    database = database_path(chosen.db)
    with Recorder(database, SystemClock(), version(), "witnessmark job open") as recorder:
        new = NewJob(chosen.item, chosen.order, chosen.fitter, settings(database).workshop)
        job = begin_job(recorder, plan, new)
    if chosen.json:
        say(json.dumps({"format": 1, "job": job.opened.job}))
    else:
        say(job.opened.job)
    tell(f"job {job.opened.job} is open after plan `{plan.route.plan}`, revision {plan.route.revision}, in {database}")
    return 0


def begin_job(recorder: Recorder, plan: PlanFile, new: NewJob) -> JobState:
    """Open a job, unless no registered wrench covers a torque; what else is open on the plan is kept with it.

    It goes by the probability that the settings beside the database ask for.
    """
    refuse_unworkable(plan, recorder.fold.wrenches)
    new = replace(new, p_limit=settings(recorder.path).p_limit)
    return open_job(recorder, plan, new, open_findings(plan, recorder.path))


def run_list(chosen: argparse.Namespace) -> int:
    """Print every job in one line."""
    from dataclasses import asdict

    from analysis.load import load_jobs, open_audit

    with closing(open_audit(database_path(chosen.db))) as db:
        jobs = load_jobs(db)
    if chosen.json:
        say(json.dumps({"format": 1, "jobs": [asdict(job) for job in jobs]}, ensure_ascii=False, indent=1))
        return 0
    for job in jobs:
        state = "closed" if job.closed_at else "open"
        proven = f"{job.proven} of {job.fasteners} proven"
        answered = ((job.declared, "declared"), (job.not_fitted, "not fitted"))
        record = ", ".join(["complete" if job.complete else proven, *(f"{count} {word}" for count, word in answered if count)])
        mark = "  SIMULATED" if job.simulated else ""
        cells = (job.job, state, job.item or "(item erased)", f"{job.plan} rev {job.revision}", record, job.fitter)
        say("  ".join(plain(cell) for cell in cells) + mark)
    if not jobs:
        tell("no job yet; open one with `witnessmark job open PLAN --item ID`")
    return 0


def run_show(chosen: argparse.Namespace) -> int:
    """Print what the record says of one job; 1 where it is not complete."""
    from analysis.load import job_json, load_job, open_audit
    from analysis.load.lines import job_lines
    from analysis.load.reasons import let_stand, named_unproven

    with closing(open_audit(database_path(chosen.db))) as db:
        record = load_job(db, chosen.job)
    if chosen.json:
        say(json.dumps(job_json(record), ensure_ascii=False, indent=1))
        return 0 if record.complete else 1
    mark = "  SIMULATED" if record.simulated else ""
    fitters = ", then ".join([record.fitter, *(row.taker for row in record.hand_overs if row.taken_at is not None)])
    say(plain(f"job {record.job}: {record.plan.title}, revision {record.plan.revision}") + mark)
    say(plain(f"item {record.item or '(erased)'}, order {record.order_no or 'not given'}, fitter {fitters}"))
    for joint in record.joints:
        done = f"{joint.tightened} of {joint.fasteners}"
        say("  " + plain(f"{joint.name}, stage {joint.stage} of {joint.stages}: {done} torqued: {joint.proof}"))
    for line in job_lines(record):
        say(f"  {plain(line)}")
    say("the torque record is complete" if record.complete else "the torque record is NOT complete:")
    for reason in record.reasons:
        say(f"  {plain(reason)}")
    _say_list("declared or not fitted, so not proven by any wrench:", named_unproven(record.fasteners))
    _say_list("let stand by the lead, with the reason:", let_stand(record.fasteners))
    _say_list("open:", open_lines(database_path(chosen.db), chosen.job))
    return 0 if record.complete else 1


def _say_list(head: str, lines: Sequence[str]) -> None:
    if lines:
        say(head)
    for line in lines:
        say(f"  {plain(line)}")


def run_close(chosen: argparse.Namespace) -> int:
    """Close a job, once all its readings were looked at together."""
    with job_writer(chosen, "close") as (recorder, state):
        refuse_closed(state)
        revised = place_all(recorder, state)
        with recorder.transaction():
            recorder.append(JobClosed(chosen.job), recorder.person(chosen.by))
    if revised:
        tell(placed_anew(revised))
    tell(f"job {chosen.job} is closed")
    return 0
