"""The pure fold from ledger entries to projection rows: the same for the writer, for a rebuild and for verify.

Entries must come in the ledger's order. A writer may leave out jobs that it does not touch, but must give a job's plan
entry, then all entries of that job.
"""

import gc
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager

from schemas import database as db
from schemas.bodies import (
    Body,
    Calibrated,
    CheckMade,
    CheckVoided,
    FrameKept,
    HabitsLearned,
    JobOpened,
    MatchKept,
    PersonNamed,
    PlanChanged,
    PlanKept,
    ReadingKept,
    WrenchAdded,
    WrenchMeasured,
    parse_body,
)
from schemas.database import Row, Table
from schemas.entry import Entry, decode_entry
from schemas.errors import RecordError
from schemas.fastener_state import At, Pull
from schemas.job_rows import TableRow, event_row, job_row, joint_rows, reading_row
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.register_state import RegisterState
from schemas.retorque import retorque_route
from schemas.route import Route
from schemas.route_body import route_from_body
from schemas.words import Proof
from schemas.wrench import Wrench

Rows = dict[tuple[str, Row], TableRow]
NOT_RECORDED = (LookupError, ValueError, TypeError, AttributeError, ArithmeticError)
"""What comes of taking entries, or of making their rows, where one was never written by a recorder."""


class Fold:
    """State after the entries given so far; `take_rows` hands out what has changed since it was last called.

    `habit_sets` are those that the shop learned, with the numbers of their entries.
    """

    def __init__(self) -> None:
        self.jobs: dict[str, JobState] = {}
        self.routes: dict[int, Route] = {}
        self.register = RegisterState()
        self.habit_sets: list[tuple[int, HabitsLearned]] = []
        self._counts: dict[str, dict[str, Mapping[Proof, int]]] = {}
        self._totals: dict[str, Counter[Proof]] = {}
        self._stands: dict[str, Rows] = {}
        self._changed: Rows = {}
        self._changed_pulls: dict[int, Pull] = {}
        self._changed_joints: dict[tuple[str, str], None] = {}
        self._changed_jobs: dict[str, None] = {}
        self._gone: dict[tuple[Table, Row], None] = {}

    def apply(self, at: At, body: Body) -> None:
        """Take the next entry. RecordError where it speaks of a job, a plan or a reading that no earlier one made."""
        match body:
            case FrameKept() | ReadingKept() | MatchKept():
                # Nearly all entries are of these kinds.
                self._take_job_entry(at, body)
            case PersonNamed():
                self._put((db.PERSON, (body.person, at.seq)))
            case PlanKept():
                self._take_plan(at, body)
            case WrenchAdded() | WrenchMeasured() | Calibrated() | CheckMade() | CheckVoided():
                self._put(self.register.apply(at, body))
            case HabitsLearned():
                self.habit_sets.append((at.seq, body))
            case JobOpened():
                self._open_job(at, body)
            case _:
                self._take_job_entry(at, body)

    def take_entry(self, seq: int, entry: Entry) -> None:
        """Take the entry of that number as the ledger has it; RecordError as `apply`, and for what this program does not know."""
        self.apply(At(seq, entry.at, entry.by), parse_body(entry.kind, entry.body))

    @property
    def habits(self) -> tuple[int, HabitsLearned] | None:
        """The set of habits that was learned last, with the number of its entry."""
        return self.habit_sets[-1] if self.habit_sets else None

    @property
    def wrenches(self) -> dict[str, Wrench]:
        """The wrenches of the register by id, as they stand."""
        return self.register.wrenches

    def take_gone(self) -> list[tuple[Table, Row]]:
        """Table and key of rows that were handed out and stand no more, because the plan of their job was changed."""
        gone = list(self._gone)
        self._gone.clear()
        return gone

    def take_rows(self) -> list[TableRow]:
        """The rows that changed since the last call, each once, as it stands now."""
        # What entries change again and again is made once for all of them: pulls, the joints' rows, the job's sum of them.
        rows = [*self._changed.values(), *map(reading_row, self._changed_pulls.values())]
        for job, joint in self._changed_joints:
            if (state := self.jobs[job].joints.get(joint)) is not None:
                rows += self._joint_rows(job, state)
        rows += [job_row(self.jobs[job], self._totals[job]) for job in self._changed_jobs]
        for noted in (self._changed, self._changed_pulls, self._changed_joints, self._changed_jobs):
            noted.clear()
        return rows

    def _put(self, row: TableRow) -> None:
        table, values = row
        self._changed[(table.name, values[: table.keys])] = row

    def _take_plan(self, at: At, plan: PlanKept) -> None:
        route = route_from_body(plan.route)
        self.routes[at.seq] = route
        self._put(
            (db.PLAN, (at.seq, plan.plan, route.title, route.revision, route.source, plan.content_sha256, plan.file))
        )

    def _open_job(self, at: At, opened: JobOpened) -> None:
        route = self.routes.get(opened.plan)
        if route is None or opened.job in self.jobs:
            raise RecordError(f"the ledger opens job {opened.job} without its plan, or twice; run `verify`")
        if opened.follows is not None:
            route = retorque_route(route, opened.step or 0)
        state = JobState(opened, at, route)
        self.jobs[opened.job] = state
        self._stands[opened.job] = {}
        self._counts[opened.job] = {}
        self._totals[opened.job] = Counter()
        self._note(opened.job, state.joints)

    def _take_job_entry(self, at: At, body: Body) -> None:
        job = getattr(body, "job", None)
        if job is None:
            return
        state = self.jobs.get(job)
        if state is None or (isinstance(body, MatchKept) and body.reading not in state.pulls):
            raise RecordError(f"the ledger speaks of job {job}, or of a reading in it, before it is there; run `verify`")
        touched = self._change_plan(state, at, body) if isinstance(body, PlanChanged) else state.apply(at, body)
        if isinstance(body, ReadingKept):
            self._changed_pulls[at.seq] = state.pulls[at.seq]
        elif isinstance(body, MatchKept):
            self._changed_pulls[body.reading] = state.pulls[body.reading]
        elif (row := event_row(at, body)) is not None:
            self._put(row)
        self._note(job, touched)

    def _change_plan(self, state: JobState, at: At, changed: PlanChanged) -> set[str]:
        route, job = self.routes.get(changed.plan), changed.job
        if route is None:
            raise RecordError(f"the ledger takes job {job} over to a plan that is not there; run `verify`")
        if state.opened.follows is not None:
            raise RecordError(f"job {job} is a retorque by the plan of job {state.opened.follows}, which stays as it is")
        touched = state.change_plan(at, changed, route)
        # Which rows there are hangs on joints, stages and fasteners of the plan.
        standing = {(table.name, row[: table.keys]) for joint in state.joints.values() for table, row in joint_rows(job, joint)}
        stands, tables = self._stands[job], {table.name: table for table in db.PROJECTIONS}
        for key in stands.keys() - standing:
            del stands[key]
            self._gone[tables[key[0]], key[1]] = None
        for name in self._counts[job].keys() - state.joints.keys():
            self._totals[job].subtract(self._counts[job].pop(name))
        return touched

    def _note(self, job: str, joints: Iterable[str]) -> None:
        for joint in joints:
            self._changed_joints[job, joint] = None
        self._changed_jobs[job] = None

    def _joint_rows(self, job: str, joint: JointState) -> Iterator[TableRow]:
        stands, counts, totals = self._stands[job], self._counts[job], self._totals[job]
        totals.subtract(counts.get(joint.joint.id, {}))
        counts[joint.joint.id] = joint.summary.counts
        totals.update(joint.summary.counts)
        for row in joint_rows(job, joint):
            table, values = row
            key = (table.name, values[: table.keys])
            # Most of a joint's rows stay as they are at each pull; writing only the others keeps a commit small.
            if stands.get(key) != row:
                stands[key] = row
                yield row


@contextmanager
def many_entries() -> Iterator[None]:
    """To be held while very many entries are folded: Python does not look for circles among them.

    Entries, states and rows form none, and looking through all of them again and again takes up to a fifth of the time.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def by_table(rows: Iterable[TableRow]) -> dict[str, dict[Row, Row]]:
    """Rows by the name of their table and then by their key; every table is there."""
    found: dict[str, dict[Row, Row]] = {table.name: {} for table in db.PROJECTIONS}
    for table, row in rows:
        found[table.name][row[: table.keys]] = row
    return found


@many_entries()
def derived_rows(ledger: Iterable[tuple[int, str]]) -> list[TableRow]:
    """Every row of every derived table, from all of the ledger as (number, entry's text) in order.

    RecordError where an entry cannot be what was recorded.
    """
    fold = Fold()
    for seq, text in ledger:
        entry = decode_entry(text)
        try:
            fold.take_entry(seq, entry)
        except NOT_RECORDED as error:
            what = f"entry {seq} cannot be what was recorded ({error!r}); run `witnessmark verify` on the file"
            raise RecordError(what) from error
    try:
        return fold.take_rows()
    except NOT_RECORDED as error:
        what = f"an entry cannot be what was recorded ({error!r}); run `witnessmark verify` on the file, it says which"
        raise RecordError(what) from error
