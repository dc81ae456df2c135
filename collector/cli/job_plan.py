"""`witnessmark job change-plan`: an open job goes on after another revision of its plan, by a named decision."""

import argparse

from collector.cli.job_writer import job_writer, refuse_closed
from collector.cli.place import say, tell
from collector.cli.plan import read_plan, refuse_unworkable
from collector.cli.plan_check import open_findings
from collector.cli.plan_diff import accepted_in
from collector.record.jobs import PlanFile, keep_plan
from collector.record.recorder import Recorder
from schemas.bodies import FindingsOpen, PlanChanged
from schemas.errors import RecordError
from schemas.job_state import JobState
from schemas.plan.diff import PlanSays, diff_text, differences


def run_change_plan(chosen: argparse.Namespace) -> int:
    """Print what the new revision changes, then record that the job goes on after it."""
    plan = read_plan(chosen.plan)
    with job_writer(chosen, "change-plan") as (recorder, state):
        _refuse(state, plan)
        refuse_unworkable(plan, recorder.fold.wrenches)
        before = state.route.revision
        for line in _diff(recorder, state, plan):
            say(line)
        findings = open_findings(plan, recorder.path)
        with recorder.transaction():
            by = recorder.person(chosen.by)
            recorder.append(PlanChanged(chosen.job, keep_plan(recorder, plan), chosen.why), by)
            if findings:
                recorder.append(FindingsOpen(chosen.job, findings))
    tell(
        f"job {chosen.job} goes on after revision {plan.route.revision} of plan `{plan.route.plan}`, no longer after {before}; "
        "what was done on a joint that it changes is in doubt"
    )
    return 0


def _refuse(state: JobState, plan: PlanFile) -> None:
    refuse_closed(state)
    job, route = state.opened.job, state.route
    if state.opened.follows is not None:
        raise RecordError(f"job {job} is a retorque of job {state.opened.follows} and keeps the revision that was used there")
    if plan.route.plan != route.plan:
        what = f"job {job} follows plan `{route.plan}`, and {plan.name} is plan `{plan.route.plan}`; open a new job for it"
        raise RecordError(what)
    if plan.route.content_sha256 == route.content_sha256:
        raise RecordError(f"{plan.name} says the same as the plan of job {job}; there is nothing to take over")


def _diff(recorder: Recorder, state: JobState, plan: PlanFile) -> tuple[str, ...]:
    """What changes, without what was added to the job itself: that stays."""
    kept = recorder.fold.routes[state.plan_seq]
    text = next(str(entry.body["text"]) for _, entry in recorder.entries("seq = ?", state.plan_seq))
    before = PlanSays(kept, accepted_in(text.encode(), "the plan kept with the job"))
    return diff_text(differences(before, PlanSays(plan.route, accepted_in(plan.data, plan.name))))
