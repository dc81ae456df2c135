"""One job with all that a report says of it, read in one moment."""

import sqlite3
from collections import defaultdict
from decimal import Decimal
from typing import Any

from analysis.load import ledger
from analysis.load.database import made, person_names, snapshot
from analysis.load.fasteners import load_fasteners
from analysis.load.reasons import reasons_not_complete
from analysis.load.record import (
    Correction,
    DecisionRow,
    HoldPointRow,
    JobRecord,
    JointRow,
    LinkRow,
    MatchStep,
    NotReadRow,
    PlanUsed,
    Raw,
    ReadingRow,
    Retorque,
    SignatureRow,
    WrenchUsed,
)
from analysis.load.shown import torque_in_unit
from schemas.errors import RecordError
from schemas.route import Band, Joint, Route
from schemas.route_body import route_from_body
from schemas.units import find_unit
from schemas.words import StepWord


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
        self._id: str = row["job"]
        self._names = person_names(db)
        self._plan = ledger.plan_at(db, row["plan_seq"])
        self._route: Route = route_from_body(self._plan.route)
        self._joints = dict(self._route.by_id())
        self._raw = ledger.raw_bytes(db, self._id)

    def record(self) -> JobRecord:
        """The record, put together."""
        readings = self._readings()
        fasteners = load_fasteners(self._db, self._id, self._route, {reading.seq: reading for reading in readings})
        signatures = self._signatures()
        hold_points = self._hold_points(signatures)
        # Which numbers are missing takes every reading's entry to say, so a job without gaps is spared it.
        gaps = self._row["missing_numbers"]
        missing = ledger.missing_numbers(self._db, self._id, self._row["seq"], self._route) if gaps else ()
        reasons = reasons_not_complete(bool(self._row["complete"]), fasteners, hold_points, missing)
        return made(
            JobRecord,
            self._row,
            fitter=self._name(self._row["fitter"]),
            plan=self._plan_used(),
            route=self._route,
            complete=not reasons,
            reasons=reasons,
            joints=self._joint_rows(),
            fasteners=fasteners,
            readings=readings,
            not_read=self._not_read(),
            decisions=self._decisions({reading.seq: reading.n for reading in readings}),
            signatures=signatures,
            hold_points=hold_points,
            links=self._links(),
            corrections=self._corrections(readings),
            missing=missing,
            retorques=self._retorques(),
            wrenches=self._wrenches(readings),
            logs=ledger.log_files(self._db, self._id),
            tree=ledger.tree(self._db),
        )

    def _rows(self, table: str, order: str = "seq") -> list[sqlite3.Row]:
        return self._db.execute(f"SELECT * FROM {table} WHERE job = ? ORDER BY {order}", (self._id,)).fetchall()

    def _name(self, person: str) -> str:
        return self._names.get(person, person)

    def _joint_name(self, joint: str | None) -> str | None:
        found = self._joints.get(joint or "")
        return joint if found is None else found.name

    def _plan_used(self) -> PlanUsed:
        row = self._db.execute("SELECT * FROM plan WHERE seq = ?", (self._row["plan_seq"],)).fetchone()
        return made(PlanUsed, row, file_sha256=self._plan.file_sha256)

    def _joint_rows(self) -> tuple[JointRow, ...]:
        order = {joint.id: place for place, joint in enumerate(self._route.joints)}
        rows = [made(JointRow, row) for row in self._rows("joint", "joint, stage")]
        return tuple(sorted(rows, key=lambda row: (order.get(row.joint, len(order)), row.stage)))

    def _readings(self) -> tuple[ReadingRow, ...]:
        return tuple(
            made(
                ReadingRow,
                row,
                by=self._name(row["by"]),
                joint_name=self._joint_name(row["joint"]),
                torque_shown=self._shown(row),
                unit_shown=self._unit_shown(row),
                raw=self._raw.get(row["frame"] or row["seq"]),
            )
            for row in self._rows("reading", "n")
        )

    def _unit_shown(self, row: sqlite3.Row) -> str | None:
        joint = self._joints.get(row["joint"] or "")
        return None if joint is None or row["unit"] in (None, joint.unit) else joint.unit

    def _shown(self, row: sqlite3.Row) -> str | None:
        unit = self._unit_shown(row)
        if unit is None or row["torque_nm"] is None:
            return None
        band = _band(self._joints[row["joint"]], row["stage"])
        return torque_in_unit(row["torque"], Decimal(row["torque_nm"]), find_unit(unit)[0], band)

    def _not_read(self) -> tuple[NotReadRow, ...]:
        return tuple(
            made(NotReadRow, row, raw=self._raw.get(row["frame"] or row["seq"], Raw("", ""))) for row in self._rows("not_read")
        )

    def _decisions(self, numbers: dict[int, int]) -> tuple[DecisionRow, ...]:
        return tuple(
            made(
                DecisionRow,
                row,
                by=self._name(row["by"]),
                joint_name=self._joint_name(row["joint"]),
                reading=numbers.get(row["reading"]),
            )
            for row in self._rows("decision")
        )

    def _signatures(self) -> tuple[SignatureRow, ...]:
        return tuple(
            made(SignatureRow, row, by=self._name(row["by"]), snug_name=self._joint_name(row["snug"]))
            for row in self._rows("signature")
        )

    def _hold_points(self, signatures: tuple[SignatureRow, ...]) -> tuple[HoldPointRow, ...]:
        first = {signature.hold_point: signature for signature in reversed(signatures)}
        return tuple(
            HoldPointRow(step.hold_point, step.text, str(step.sign), first.get(step.hold_point))
            for step in self._route.steps
            if step.word is StepWord.HOLD_POINT and step.hold_point is not None
        )

    def _links(self) -> tuple[LinkRow, ...]:
        return tuple(made(LinkRow, row, joint_name=self._joint_name(row["joint"])) for row in self._rows("link"))

    def _corrections(self, readings: tuple[ReadingRow, ...]) -> tuple[Correction, ...]:
        revised = [reading for reading in readings if reading.revisions]
        kept = ledger.matches(self._db, self._id) if revised else {}
        return tuple(
            Correction(
                reading.n,
                tuple(
                    MatchStep(
                        at.seq,
                        at.at,
                        self._name(at.by),
                        match.kind,
                        self._joint_name(match.joint),
                        match.stage,
                        match.position,
                        match.verdict,
                        match.p,
                        match.reason,
                    )
                    for at, match in kept.get(reading.seq, ())
                ),
            )
            for reading in revised
        )

    def _retorques(self) -> tuple[Retorque, ...]:
        return tuple(
            Retorque(tuple(self._joints[joint].name for joint in step.joints), step.text)
            for step in self._route.steps
            if step.word is StepWord.RETORQUE
        )

    def _wrenches(self, readings: tuple[ReadingRow, ...]) -> tuple[WrenchUsed, ...]:
        seqs: dict[str, list[int]] = defaultdict(list)
        for reading in readings:
            if reading.wrench is not None:
                seqs[reading.wrench].append(reading.seq)
        register = {row["wrench"]: row for row in self._db.execute("SELECT * FROM wrench")}
        columns = ("serial", "type", "low", "high", "unit", "measures", "limit_percent")
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


def _band(joint: Joint, number: int | None) -> Band | None:
    return next((stage.band for stage in joint.stages if stage.number == number), None)
