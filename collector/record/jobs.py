"""Opens jobs, finds the open ones of a plan, and adds wrenches to the register."""

import hashlib
from dataclasses import dataclass

from collector.record.recorder import Recorder
from schemas.bodies import Calibrated, FindingsOpen, JobOpened, PlanKept, WrenchAdded, WrenchMeasured
from schemas.errors import RecordError
from schemas.job_state import JobState
from schemas.route import Route
from schemas.route_body import route_to_body


@dataclass(frozen=True, slots=True)
class PlanFile:
    """A plan as it was read: the file's name without its folder, its bytes, and the route made from them."""

    name: str
    data: bytes
    route: Route


@dataclass(frozen=True, slots=True)
class NewJob:
    """What a job is opened with; `item` is the plate or serial number of the thing worked on.

    `p_limit` is from where on a probability counts as sure, where the shop asks for more than 0.99.
    """

    item: str
    order: str
    fitter: str
    workshop: str
    simulated: bool = False
    p_limit: str | None = None


@dataclass(frozen=True, slots=True)
class OpenJob:
    """An open job of a plan, with the content hash of the plan revision that it follows."""

    job: str
    revision: str
    content_sha256: str


def open_jobs(recorder: Recorder, plan: str) -> tuple[OpenJob, ...]:
    """The open jobs of a plan, whatever its revision, oldest first."""
    rows = recorder.query(
        "SELECT job.job, job.revision, plan.content_sha256 FROM job JOIN plan ON plan.seq = job.plan_seq "
        "WHERE job.plan = ? AND job.closed_at IS NULL ORDER BY job.seq",
        plan,
    )
    return tuple(OpenJob(*(str(value) for value in row)) for row in rows)


def open_job(recorder: Recorder, plan: PlanFile, new: NewJob, findings: tuple[str, ...] = ()) -> JobState:
    """Record a new job after this plan, with what is open on the plan; its number is the next free one."""
    job = next_number(recorder)
    with recorder.transaction():
        fitter = recorder.person(new.fitter)
        item_sha256, kept = recorder.private("item", new.item)
        opened = JobOpened(
            job, keep_plan(recorder, plan), item_sha256, new.order, fitter, new.workshop, 1 if new.simulated else None,
            p_limit=new.p_limit,
        )  # fmt: skip
        recorder.keep_private(recorder.append(opened, fitter), kept)
        if findings:
            recorder.append(FindingsOpen(job, findings))
    return recorder.fold.jobs[job]


def next_number(recorder: Recorder) -> str:
    """The number of the next job."""
    return str(int(str(recorder.query("SELECT count(*) FROM job")[0][0])) + 1)


def keep_plan(recorder: Recorder, plan: PlanFile) -> int:
    """The entry of this very file, a new one where it was not kept yet; inside a transaction."""
    file_sha256 = hashlib.sha256(plan.data).hexdigest()
    for seq, entry in recorder.entries("json_extract(entry, '$.kind') = 'plan'"):
        if entry.body["file_sha256"] == file_sha256:
            recorder.load_plan(seq, entry)
            return seq
    route = plan.route
    body = PlanKept(
        route.plan, plan.name, file_sha256, route.content_sha256, plan.data.decode("utf-8"), route_to_body(route)
    )
    return recorder.append(body)


def same_plan(recorder: Recorder, job: str, route: Route) -> None:
    """Refuse to go on with a job after a plan whose content is not the one that it was opened with."""
    state = recorder.load_job(job)
    if state.closed is not None:
        raise RecordError(f"job {job} is closed; open a new one with `witnessmark job open`")
    if state.route.content_sha256 != route.content_sha256:
        raise RecordError(
            f"job {job} follows revision {state.route.revision} of plan `{state.route.plan}`, and this file (revision "
            f"{route.revision} of `{route.plan}`) says something else; go on with the file that it follows, take this one over "
            f"with `witnessmark job change-plan {job}`, or open a new job"
        )


def add_wrench(recorder: Recorder, added: WrenchAdded, by: str) -> None:
    """Record a wrench; RecordError where the register has one of that id."""
    if added.wrench in recorder.fold.wrenches:
        raise RecordError(f"wrench {added.wrench} is in the register already; choose another id")
    with recorder.transaction():
        recorder.append(added, by)


def calibrate_wrench(recorder: Recorder, calibrated: Calibrated, by: str) -> None:
    """Record a calibration; RecordError where the register has no such wrench."""
    _record_of_known(recorder, calibrated, by)


def measure_wrench(recorder: Recorder, measured: WrenchMeasured, by: str) -> None:
    """Record a wrench's length to the grip mark; RecordError where the register has no such wrench."""
    _record_of_known(recorder, measured, by)


def _record_of_known(recorder: Recorder, body: Calibrated | WrenchMeasured, by: str) -> None:
    if body.wrench not in recorder.fold.wrenches:
        raise RecordError(f"wrench {body.wrench} is not in the register; add it with `witnessmark wrench add`")
    with recorder.transaction():
        recorder.append(body, by)
