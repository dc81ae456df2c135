"""One job with all that a report says of it, read in one moment."""

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from analysis.load import ledger, said
from analysis.load.curing import loadings
from analysis.load.database import made, person_names, snapshot
from analysis.load.fasteners import load_fasteners, with_sayings
from analysis.load.preparing import preparations
from analysis.load.reasons import reasons_not_complete
from analysis.load.record import JobRecord, PlanUsed, WrenchUsed
from analysis.load.record_pulls import Correction, JointRow, MatchStep, NotReadRow, Raw, ReadingRow
from analysis.load.retorques import retorques_of
from analysis.load.routes import routes_of_job
from analysis.load.shown import set_to, torque_in_unit
from analysis.load.source import Source
from schemas.bodies import MatchKept
from schemas.errors import RecordError
from schemas.fastener_state import At
from schemas.route import Stage
from schemas.units import find_unit


def load_job(db: sqlite3.Connection, job: str) -> JobRecord:
    """All of one job as it stands now. RecordError where the file has no such job, or is damaged."""
    with snapshot(db):
        row = db.execute(
            "SELECT job.*, private.value AS item FROM job "
            "LEFT JOIN private ON private.seq = job.seq AND private.field = 'item' WHERE job.job = ?",
            (job,),
        ).fetchone()
        if row is None:
            raise RecordError(_unknown(db, job))
        return _Job(db, row).record()


def _unknown(db: sqlite3.Connection, job: str) -> str:
    known = [name for (name,) in db.execute("SELECT job FROM job ORDER BY seq DESC LIMIT 10")]
    there = f"the latest are {', '.join(known)}" if known else "there is none yet: open one with `job open`"
    return f"job `{job}` is not in this database; {there}"


class _Job:
    """Reads the rows of one job; names of persons and joints are put in on the way."""

    def __init__(self, db: sqlite3.Connection, row: sqlite3.Row) -> None:
        self._db = db
        self._row = row
        routes = routes_of_job(db, row)
        self._route = routes.now
        self._source = Source(db, row["job"], person_names(db), routes, self._route.by_id())
        self._raw = ledger.raw_bytes(db, row["job"])

    def record(self) -> JobRecord:
        """The record, put together."""
        source, job, route = self._source, self._row["job"], self._route
        readings = self._readings()
        spoken = said.load_said(source, {reading.seq: reading.n for reading in readings})
        fasteners = load_fasteners(self._db, job, route, {reading.seq: reading for reading in readings})
        fasteners = with_sayings(fasteners, spoken[0])
        hold_points = said.load_hold_points(source, spoken, readings)
        # Which numbers are missing takes every reading's entry to say, so a job without gaps is spared it.
        gaps = self._row["missing_numbers"]
        missing = ledger.missing_numbers(self._db, job, self._row["seq"], source.routes.since[0][1]) if gaps else ()
        reasons = reasons_not_complete(bool(self._row["complete"]), fasteners, hold_points, missing)
        return made(
            JobRecord,
            self._row,
            fitter=source.name(self._row["fitter"]),
            plan=self._plan_used(),
            route=route,
            complete=not reasons,
            reasons=reasons,
            joints=self._joint_rows(),
            fasteners=fasteners,
            readings=readings,
            not_read=self._not_read(),
            decisions=spoken[0],
            signatures=spoken[1],
            hold_points=hold_points,
            links=said.load_links(source),
            corrections=self._corrections(readings),
            missing=missing,
            retorques=retorques_of(source),
            wrenches=self._wrenches(readings),
            logs=ledger.log_files(self._db, job),
            findings=ledger.open_findings(self._db, job),
            tree=ledger.tree(self._db),
            preparations=tuple(preparations(route, spoken[0], readings)),
            loadings=tuple(loadings(route, fasteners, readings)),
            hand_overs=said.load_hand_overs(source),
            joints_added=said.load_joints_added(source),
            plan_changes=said.load_plan_changes(source),
        )

    def _plan_used(self) -> PlanUsed:
        row = self._db.execute("SELECT * FROM plan WHERE seq = ?", (self._row["plan_seq"],)).fetchone()
        return made(PlanUsed, row, file_sha256=ledger.plan_at(self._db, self._row["plan_seq"]).file_sha256)

    def _joint_rows(self) -> tuple[JointRow, ...]:
        """The rows of the joints and stages that the plan has now; those of an earlier revision stay in their table."""
        order = {(joint.id, stage.number): place for place, joint in enumerate(self._route.joints) for stage in joint.stages}
        rows = [made(JointRow, row) for row in self._source.rows("joint", "joint, stage")]
        present = [row for row in rows if (row.joint, row.stage) in order]
        return tuple(sorted(present, key=lambda row: (order[row.joint, row.stage], row.stage)))

    def _readings(self) -> tuple[ReadingRow, ...]:
        return tuple(self._reading(row) for row in self._source.rows("reading", "n"))

    def _reading(self, row: sqlite3.Row) -> ReadingRow:
        # As the plan was when the reading was judged: a later revision may have changed the joint, or taken it out.
        joint = self._source.routes.joint_at(row["match_seq"] or row["seq"], row["joint"])
        stage = None if joint is None else next((stage for stage in joint.stages if stage.number == row["stage"]), None)
        unit = None if joint is None or row["unit"] in (None, joint.unit) else joint.unit
        return made(
            ReadingRow,
            row,
            by=self._source.name(row["by"]),
            joint_name=self._source.joint_name(row["joint"]),
            torque_shown=_shown(row, unit, stage),
            unit_shown=unit,
            raw=self._raw.get(row["frame"] or row["seq"]),
            set_to=None if joint is None or stage is None else set_to(joint, stage, row["length_mm"], row["drag"]),
        )

    def _not_read(self) -> tuple[NotReadRow, ...]:
        return tuple(
            made(NotReadRow, row, raw=self._raw.get(row["frame"] or row["seq"], Raw("", "")))
            for row in self._source.rows("not_read")
        )

    def _corrections(self, readings: tuple[ReadingRow, ...]) -> tuple[Correction, ...]:
        revised = [reading for reading in readings if reading.revisions]
        kept = ledger.matches(self._db, self._row["job"]) if revised else {}
        steps = {reading.n: tuple(self._steps(kept.get(reading.seq, ()))) for reading in revised}
        return tuple(Correction(n, found) for n, found in steps.items() if len(found) > 1)

    def _steps(self, matches: Iterable[tuple[At, MatchKept]]) -> Iterator[MatchStep]:
        """The matches that say something else than the one before; that it became surer alone places nothing anew."""
        before = None
        for at, match in matches:
            told = match.kind, match.joint, match.stage, match.position, match.verdict
            if told != before:
                yield MatchStep(
                    at.seq, at.at, self._source.name(at.by), match.kind, self._source.joint_name(match.joint), match.stage,
                    match.position, match.verdict, match.p, match.reason,
                )  # fmt: skip
            before = told

    def _wrenches(self, readings: tuple[ReadingRow, ...]) -> tuple[WrenchUsed, ...]:
        seqs: dict[str, list[int]] = defaultdict(list)
        for reading in readings:
            if reading.wrench is not None:
                seqs[reading.wrench].append(reading.seq)
        register = {row["wrench"]: row for row in self._db.execute("SELECT * FROM wrench")}
        columns = ("serial", "type", "low", "high", "unit", "measures", "limit_percent", "length_mm")
        found = []
        for wrench, used in sorted(seqs.items()):
            facts: dict[str, Any] = {name: register[wrench][name] if wrench in register else None for name in columns}
            calibrations = ledger.calibrations(self._db, wrench, used)
            found.append(WrenchUsed(wrench, len(used), calibrations=calibrations, **facts, **self._checks(wrench)))
        return tuple(found)

    def _checks(self, wrench: str) -> dict[str, Any]:
        rows = self._db.execute(_LAST_CHECKS, (wrench,)).fetchall()
        if not rows:
            return {}
        worst = max((row["error_percent"] for row in rows), key=abs)
        return {"checks": rows[0]["checks"], "last_checked": rows[0]["at"], "last_error_percent": worst}


_LAST_CHECKS = """
SELECT at, error_percent, (SELECT count(*) FROM wrench_check WHERE wrench = ?1 AND void IS NULL) AS checks
FROM wrench_check
WHERE wrench = ?1 AND void IS NULL
  AND day >= (SELECT CAST(max(day) AS INTEGER) FROM wrench_check WHERE wrench = ?1 AND void IS NULL)
ORDER BY day DESC
"""


def _shown(row: sqlite3.Row, unit: str | None, stage: Stage | None) -> str | None:
    if unit is None or row["torque_nm"] is None:
        return None
    band = None if stage is None else stage.band
    return torque_in_unit(row["torque"], Decimal(row["torque_nm"]), find_unit(unit)[0], band)
