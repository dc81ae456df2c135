"""The retorques that plans ask for after a job, since when, and what followed."""

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from analysis.load.database import snapshot
from analysis.load.ledger import plan_at
from schemas.bodies import ReadingKept
from schemas.fastener_state import Pull
from schemas.follow_up import Followed, FollowUp, followed, window_of
from schemas.route import Route, Step
from schemas.route_body import route_from_body
from schemas.words import Proof, Said, StepWord


@dataclass(frozen=True, slots=True)
class RetorqueRow:
    """One retorque step of one job; `item` is None where it was erased, `joints` and `names` stand in the step's order.

    `since` is the last final tightening of its joints, UTC, None where none of them was tightened; `since_is_certain` is
    False where it is the time of recording, which may be later: the wrench sent no certain time, or it was only declared.
    """

    job: str
    item: str | None
    order_no: str
    plan: str
    title: str
    revision: str
    step: int
    joints: tuple[str, ...]
    names: tuple[str, ...]
    span: str
    method: str
    since: datetime | None
    since_is_certain: bool
    due_at: datetime | None
    late_at: datetime | None
    follow_ups: tuple[FollowUp, ...]
    simulated: bool

    @property
    def state(self) -> Followed:
        """What became of it."""
        return followed(self.follow_ups)

    @property
    def is_settled(self) -> bool:
        """Whether it was done, or offered and not done: nobody waits for it."""
        return self.state in (Followed.DONE, Followed.NOT_DONE)

    def is_overdue(self, now: datetime) -> bool | None:
        """Whether it is past its end; None where that is a distance, or nothing was tightened: nobody knows."""
        return None if self.late_at is None else now > self.late_at


def load_retorques(db: sqlite3.Connection) -> tuple[RetorqueRow, ...]:
    """Every retorque step of every job but the short ones that follow another, as `sorted_due` puts them."""
    with snapshot(db):
        return sorted_due(_Retorques(db).rows())


def sorted_due(rows: Iterable[RetorqueRow]) -> tuple[RetorqueRow, ...]:
    """Those that a day decides first, by that day; then those that a distance decides, the longest ago first."""
    never = datetime.max.replace(tzinfo=UTC)
    return tuple(sorted(rows, key=lambda row: (row.due_at is None, row.due_at or row.since or never)))


class _Retorques:
    """Reads the rows; a plan is read once for all of its jobs."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        self._routes: dict[int, Route] = {}
        self._follow_ups: dict[tuple[str, int], list[FollowUp]] = defaultdict(list)

    def rows(self) -> Iterator[RetorqueRow]:
        """One row a job and retorque step."""
        for row in self._db.execute("SELECT * FROM job WHERE follows IS NOT NULL ORDER BY seq"):
            made = FollowUp(
                row["job"], row["closed_at"] is not None, bool(row["complete"]), row["missed"] + row["left_loose"],
                row["outcome"], row["outcome_reason"], row["declared"], row["not_fitted"],
            )  # fmt: skip
            self._follow_ups[row["follows"], row["step"]].append(made)
        for row in self._db.execute(_FIRST_JOBS).fetchall():
            route = self._route(row["plan_seq"])
            for step in route.steps:
                if step.word is StepWord.RETORQUE:
                    yield self._row(row, route, step)

    def _route(self, plan_seq: int) -> Route:
        if plan_seq not in self._routes:
            self._routes[plan_seq] = route_from_body(plan_at(self._db, plan_seq).route)
        return self._routes[plan_seq]

    def _row(self, row: sqlite3.Row, route: Route, step: Step) -> RetorqueRow:
        times = list(self._tightened(row["job"], route, step))
        since = max((at for at, _ in times), default=None)
        window = window_of(step)
        return RetorqueRow(
            job=row["job"],
            item=row["item"],
            order_no=row["order_no"],
            plan=route.plan,
            title=route.title,
            revision=route.revision,
            step=step.number,
            joints=step.joints,
            names=tuple(route.joint(name).name for name in step.joints),
            span=step.text,
            method=str(step.method),
            since=since,
            since_is_certain=all(certain for _, certain in times),
            due_at=window.due_at(since) if since else None,
            late_at=window.late_at(since) if since else None,
            follow_ups=tuple(self._follow_ups.get((row["job"], step.number), ())),
            simulated=bool(row["simulated"]),
        )

    def _tightened(self, job: str, route: Route, step: Step) -> Iterator[tuple[datetime, bool]]:
        """When the fasteners of a step were tightened or declared, and whether each time is certain."""
        for name in step.joints:
            for row in self._db.execute(_FINALS, (job, name, route.joint(name).final.number)):
                # By the one rule of which clock tells when a pull was made.
                at = Pull(0, row["at"], "", 0, ReadingKept(job, log=row["log"], tool_time=row["tool_time"])).pulled_at
                yield (at or datetime.fromisoformat(row["at"])).astimezone(UTC), at is not None
            for row in self._db.execute(_DECLARED, (job, name, str(Proof.DECLARED), str(Said.DECLARED))):
                # Said at that time: it was done before, nobody knows how long.
                yield datetime.fromisoformat(row["at"]), False


_FIRST_JOBS = (
    "SELECT job.*, private.value AS item FROM job LEFT JOIN private ON private.seq = job.seq AND private.field = 'item' "
    "WHERE follows IS NULL ORDER BY job.seq"
)
_FINALS = (
    "SELECT reading.at, reading.tool_time, reading.log FROM tightening JOIN reading ON reading.seq = tightening.reading "
    "WHERE tightening.job = ? AND tightening.joint = ? AND tightening.stage = ?"
)
# A declaration that a later pull or opening took the place of declares nothing any more.
_DECLARED = (
    "SELECT decision.at FROM decision WHERE job = ?1 AND joint = ?2 AND said = ?4 AND EXISTS (SELECT 1 FROM fastener "
    "WHERE fastener.job = ?1 AND fastener.joint = ?2 AND proof = ?3)"
)
