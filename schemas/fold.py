"""The pure fold from ledger entries to projection rows: the same for the writer, for a rebuild and for verify.

Entries must come in the ledger's order. A writer may leave out jobs that it does not touch, but must give a job's plan
entry, then all entries of that job.
"""

from collections.abc import Iterable

from schemas import database as db
from schemas.bodies import Body, Calibrated, JobOpened, MatchKept, PersonNamed, PlanKept, ReadingKept, WrenchAdded
from schemas.database import Row
from schemas.errors import RecordError
from schemas.job_rows import TableRow, event_row, job_row, joint_rows, proof_counts, reading_row
from schemas.job_state import At, JobState
from schemas.route import Route
from schemas.route_body import route_from_body
from schemas.words import Proof
from schemas.wrench import Wrench, calibrate, wrench_from

Rows = dict[tuple[str, Row], TableRow]


class Fold:
    """State after the entries given so far; `take_rows` hands out what has changed since it was last called."""

    def __init__(self) -> None:
        self.jobs: dict[str, JobState] = {}
        self.routes: dict[int, Route] = {}
        self.wrenches: dict[str, Wrench] = {}
        self._wrench_seq: dict[str, tuple[int, WrenchAdded]] = {}
        self._counts: dict[str, dict[str, dict[Proof, int]]] = {}
        self._stands: dict[str, Rows] = {}
        self._changed: Rows = {}
        self._changed_jobs: dict[str, None] = {}

    def apply(self, at: At, body: Body) -> None:
        """Take the next entry. RecordError where it speaks of a job, a plan or a reading that no earlier one made."""
        match body:
            case PersonNamed():
                self._put((db.PERSON, (body.person, at.seq)))
            case PlanKept():
                self._take_plan(at, body)
            case WrenchAdded():
                self._wrench_seq[body.wrench] = (at.seq, body)
                self.wrenches[body.wrench] = wrench_from(body)
                self._put_wrench(body.wrench)
            case Calibrated():
                self._calibrate(body)
            case JobOpened():
                self._open_job(at, body)
            case _:
                self._take_job_entry(at, body)

    def take_rows(self) -> list[TableRow]:
        """The rows that changed since the last call, each once, as it stands now."""
        # A job's own row sums over all its joints, so it is made once for all the entries taken since.
        for job in self._changed_jobs:
            self._put_job(self.jobs[job])
        self._changed_jobs.clear()
        changed = list(self._changed.values())
        self._changed = {}
        return changed

    def _put(self, row: TableRow) -> None:
        table, values = row
        self._changed[(table.name, values[: table.keys])] = row

    def _take_plan(self, at: At, plan: PlanKept) -> None:
        route = route_from_body(plan.route)
        self.routes[at.seq] = route
        self._put(
            (db.PLAN, (at.seq, plan.plan, route.title, route.revision, route.source, plan.content_sha256, plan.file))
        )

    def _calibrate(self, calibrated: Calibrated) -> None:
        wrench = self.wrenches.get(calibrated.wrench)
        if wrench is None:
            raise RecordError(f"the ledger calibrates wrench {calibrated.wrench}, which was never added; run `verify`")
        self.wrenches[calibrated.wrench] = calibrate(wrench, calibrated)
        self._put_wrench(calibrated.wrench)

    def _put_wrench(self, wrench_id: str) -> None:
        seq, added = self._wrench_seq[wrench_id]
        wrench = self.wrenches[wrench_id]
        calibration = (
            wrench.certificate,
            str(wrench.calibrated_on) if wrench.calibrated_on else None,
            str(wrench.due_on) if wrench.due_on else None,
            str(wrench.span_low_nm) if wrench.span_low_nm is not None else None,
            str(wrench.span_high_nm) if wrench.span_high_nm is not None else None,
        )
        self._put(
            (db.WRENCH, (wrench_id, seq, added.serial, added.type, added.low, added.high, added.unit, added.measures,
                         *calibration, added.simulated or 0))
        )  # fmt: skip

    def _open_job(self, at: At, opened: JobOpened) -> None:
        route = self.routes.get(opened.plan)
        if route is None or opened.job in self.jobs:
            raise RecordError(f"the ledger opens job {opened.job} without its plan, or twice; run `verify`")
        state = JobState(opened, at, route)
        self.jobs[opened.job] = state
        self._stands[opened.job] = {}
        self._counts[opened.job] = {}
        self._put_joints(state, state.joints.keys())
        self._changed_jobs[opened.job] = None

    def _take_job_entry(self, at: At, body: Body) -> None:
        job = getattr(body, "job", None)
        if job is None:
            return
        state = self.jobs.get(job)
        if state is None or (isinstance(body, MatchKept) and body.reading not in state.pulls):
            raise RecordError(f"the ledger speaks of job {job}, or of a reading in it, before it is there; run `verify`")
        touched = state.apply(at, body)
        row = event_row(at, body)
        if row is not None:
            self._put(row)
        if isinstance(body, ReadingKept):
            self._put(reading_row(state.pulls[at.seq]))
        elif isinstance(body, MatchKept):
            self._put(reading_row(state.pulls[body.reading]))
        self._put_joints(state, touched)
        self._changed_jobs[job] = None

    def _put_joints(self, state: JobState, joints: Iterable[str]) -> None:
        job = state.opened.job
        stands = self._stands[job]
        for joint_id in joints:
            joint = state.joints[joint_id]
            self._counts[job][joint_id] = proof_counts(joint)
            for row in joint_rows(job, joint):
                table, values = row
                key = (table.name, values[: table.keys])
                # Most of a joint's rows stay as they are at each pull; writing only the others keeps a commit small.
                if stands.get(key) != row:
                    stands[key] = row
                    self._put(row)

    def _put_job(self, state: JobState) -> None:
        counts = dict.fromkeys(Proof, 0)
        for joint in self._counts[state.opened.job].values():
            for proof, count in joint.items():
                counts[proof] += count
        self._put(job_row(state, counts))

