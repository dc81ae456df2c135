"""`witnessmark job`: open, list, show, close, and what is recorded of a job away from the bench."""

import argparse
import json
from contextlib import closing
from pathlib import Path

from collector.cli.place import SystemClock, database_path, say, settings, tell, version
from collector.cli.plan import read_plan, refuse_unworkable
from collector.cli.wording import plain
from collector.record.jobs import NewJob, PlanFile, open_job
from collector.record.recorder import Recorder
from schemas.bodies import Body, Decided, JobClosed, Signed
from schemas.errors import RecordError
from schemas.job_state import JobState
from schemas.words import Role, Said, StepWord


def run_open(chosen: argparse.Namespace) -> int:
    """Open a job and print its number."""
    plan = read_plan(chosen.plan)
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
    """Open a job, unless the plan asks for what this version would have to ignore."""
    refuse_unworkable(plan, recorder.fold.wrenches)
    return open_job(recorder, plan, new)


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
        record = "complete" if job.complete else f"{job.proven} of {job.fasteners} proven"
        mark = "  SIMULATED" if job.simulated else ""
        cells = (job.job, state, job.item or "(item erased)", f"{job.plan} rev {job.revision}", record, job.fitter)
        say("  ".join(plain(cell) for cell in cells) + mark)
    if not jobs:
        tell("no job yet; open one with `witnessmark job open PLAN --item ID`")
    return 0


def run_show(chosen: argparse.Namespace) -> int:
    """Print what the record says of one job; 1 where it is not complete."""
    from analysis.load import job_json, load_job, open_audit

    with closing(open_audit(database_path(chosen.db))) as db:
        record = load_job(db, chosen.job)
    if chosen.json:
        say(json.dumps(job_json(record), ensure_ascii=False, indent=1))
        return 0 if record.complete else 1
    mark = "  SIMULATED" if record.simulated else ""
    say(f"job {record.job}: {record.plan.title}, revision {record.plan.revision}{mark}")
    say(f"item {record.item or '(erased)'}, order {record.order_no or 'not given'}, fitter {record.fitter}")
    for joint in record.joints:
        done = f"{joint.tightened} of {joint.fasteners}"
        say(f"  {joint.name}, stage {joint.stage} of {joint.stages}: {done} torqued: {joint.proof}")
    say("the torque record is complete" if record.complete else "the torque record is NOT complete:")
    for reason in record.reasons:
        say(f"  {reason}")
    return 0 if record.complete else 1


def run_close(chosen: argparse.Namespace) -> int:
    """Close a job."""
    _record(chosen, "close", JobClosed(chosen.job))
    tell(f"job {chosen.job} is closed")
    return 0


def run_opened(chosen: argparse.Namespace) -> int:
    """Record that a fastener, or the whole joint where no position is named, was opened."""
    _record(chosen, "opened", Decided(chosen.job, str(Said.OPENED), chosen.joint, chosen.position))
    tell("recorded: opened; every stage has to be done again")
    return 0


def run_decide(chosen: argparse.Namespace) -> int:
    """Record what the lead decided on an over-torque."""
    _record(chosen, "decide", Decided(chosen.job, chosen.said, chosen.joint, chosen.position))
    tell(f"recorded: {chosen.said}; the fastener counts again once it is opened and all its stages are done again")
    return 0


def run_sign(chosen: argparse.Namespace) -> int:
    """Sign a hold point in the role that the plan asks for."""
    _record(chosen, "sign", Signed(chosen.job, "", chosen.hold_point))
    tell(f"recorded: `{chosen.hold_point}` signed by {chosen.by}")
    return 0


def _record(chosen: argparse.Namespace, holder: str, body: Body) -> None:
    """Append one entry to an open job by a named person, once what it names is found in the job's plan."""
    path: Path = database_path(chosen.db)
    if not path.exists():
        raise RecordError(f"{path}: there is no such file; open a job first, or name another database with --db")
    with Recorder(path, SystemClock(), version(), f"witnessmark job {holder}") as recorder:
        state = recorder.load_job(chosen.job)
        if state.closed is not None:
            raise RecordError(f"job {chosen.job} is closed; nothing is added to it")
        with recorder.transaction():
            by = recorder.person(chosen.by)
            if isinstance(body, Decided):
                _check_place(state, body)
            elif isinstance(body, Signed):
                body = Signed(body.job, str(_role(state, body.hold_point, by)), body.hold_point)
            recorder.append(body, by)


def _check_place(state: JobState, decided: Decided) -> None:
    joint = state.joints.get(decided.joint or "")
    if joint is None:
        raise RecordError(f"joint `{decided.joint}` is not in the plan of this job; it has {', '.join(state.joints)}")
    if decided.position is not None and not 1 <= decided.position <= joint.joint.fasteners:
        raise RecordError(f"joint `{decided.joint}` has positions 1 to {joint.joint.fasteners}, not {decided.position}")


def _role(state: JobState, hold_point: str | None, by: str) -> Role:
    steps = {step.hold_point: step for step in state.route.steps if step.word is StepWord.HOLD_POINT}
    if hold_point not in steps:
        known = ", ".join(str(name) for name in steps)
        raise RecordError(f"hold point `{hold_point}` is not in the plan of this job; it has {known}")
    if hold_point in state.hold_points:
        raise RecordError(f"hold point `{hold_point}` is signed already")
    role = steps[hold_point].sign or Role.FITTER
    if role is not Role.FITTER and by == state.opened.fitter:
        raise RecordError(f"the {role} signs `{hold_point}`, who must be another person than the fitter")
    return role
