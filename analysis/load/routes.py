"""The route that a job goes by: as it was opened, with the joints that were added, or after a later revision of the plan."""

import sqlite3
from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from heapq import merge
from operator import itemgetter

from analysis.load.ledger import OF_JOB, entries, entry_at, plan_at
from schemas.bodies import JobOpened, JointAdded, PlanChanged
from schemas.fastener_state import At
from schemas.retorque import retorque_route
from schemas.route import Joint, Route
from schemas.route_body import joint_from_body, route_from_body
from schemas.route_change import with_joint


@dataclass(frozen=True, slots=True)
class Routes:
    """The routes that a job went by, each from the entry of that number on; at least one, the first from its opening on."""

    since: tuple[tuple[int, Route], ...]
    _joints: tuple[Mapping[str, Joint], ...] = field(init=False)

    def __post_init__(self) -> None:
        # Asked for at every reading of a job.
        object.__setattr__(self, "_joints", tuple(route.by_id() for _, route in self.since))

    @property
    def now(self) -> Route:
        """The one that it goes by now."""
        return self.since[-1][1]

    def at(self, seq: int) -> Route:
        """The one that counted when the entry of that number was made."""
        return self.since[self._place(seq)][1]

    def before(self, seq: int) -> Route:
        """The one that counted until the entry of that number."""
        return self.at(seq - 1)

    def joint_at(self, seq: int, joint: str | None) -> Joint | None:
        """The joint as it was when the entry of that number was made; None where there was none."""
        return self._joints[self._place(seq)].get(joint or "")

    def last_joint(self, joint: str | None) -> Joint | None:
        """The joint as it was in the last route that had it; None where none had."""
        return next((joints[joint] for joints in reversed(self._joints) if joint in joints), None) if joint else None

    def _place(self, seq: int) -> int:
        return max(0, bisect_right(self.since, seq, key=itemgetter(0)) - 1)


def routes_of_job(db: sqlite3.Connection, row: sqlite3.Row) -> Routes:
    """Every route of a job, by the rules of `schemas.job_state`; `row` is its row of table `job`.

    RecordError where the ledger lacks a plan that it names, or the step of a retorque.
    """
    job = row["job"]
    changed = list(entries(db, PlanChanged, OF_JOB, job))
    plan = entry_at(db, JobOpened, row["seq"])[1].plan if changed else row["plan_seq"]
    route = route_from_body(plan_at(db, plan).route)
    if row["follows"] is not None:
        route = retorque_route(route, row["step"] or 0)
    found, added = [(int(row["seq"]), route)], list[Joint]()
    changes: list[tuple[At, PlanChanged | JointAdded]] = [*changed]
    for at, change in merge(changes, entries(db, JointAdded, OF_JOB, job), key=lambda one: one[0].seq):
        if isinstance(change, PlanChanged):
            route = _with_added(route_from_body(plan_at(db, change.plan).route), added)
        else:
            added.append(joint_from_body(change.joint))
            route = with_joint(route, added[-1])
        found.append((at.seq, route))
    return Routes(tuple(found))


def _with_added(route: Route, added: Iterable[Joint]) -> Route:
    """Another revision with the joints that were added on the job before; one that it has itself is the plan's own."""
    for joint in added:
        route = route if joint.id in route.by_id() else with_joint(route, joint)
    return route
