"""Reads what is exported row by row out of the audit database, so that a large one needs no large memory."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from analysis.export.columns import COLUMNS, Column, What
from analysis.export.tightenings import tightening_rows
from analysis.load import ledger
from analysis.load.database import person_names, snapshot
from analysis.load.record import Tree
from schemas.database import Row
from schemas.errors import RecordError

_READINGS = """
SELECT reading.job, iif(reading.simulated, 'SIMULATED', ''), coalesce(item.value, '(item erased)'), job.order_no, job.plan,
    job.revision, reading.n, reading.at, reading.tool_time, reading.wrench, wrench.serial, reading.measures, reading.torque,
    reading.unit, reading.torque_nm, iif(reading.over_range, 'yes', 'no'), reading.angle_deg, reading.sequence, reading.kind,
    reading.verdict, reading.low_nm, reading.high_nm,
    iif(reading.high_nm IS NULL, NULL, iif(json_extract(matched.entry, '$.body.high_is_over'), 'over', 'in band')),
    reading.joint,
    coalesce((SELECT name FROM joint WHERE joint.job = reading.job AND joint.joint = reading.joint LIMIT 1), reading.joint),
    reading.stage, reading.position, reading.position_by, reading.p, reading.reason, reading.revisions,
    iif(reading.fit, 'yes', 'no'), reading.unfit, reading.notes, person_name(reading.by),
    json_extract(log.entry, '$.body.file'), reading.line, reading.seq, json_extract(raw.entry, '$.body.raw'),
    reading.angle_low, reading.angle_high, reading.adapter, reading.drag, reading.length_mm
FROM reading JOIN job ON job.job = reading.job
    LEFT JOIN private AS item ON item.seq = job.seq AND item.field = 'item'
    LEFT JOIN wrench ON wrench.wrench = reading.wrench
    LEFT JOIN ledger AS matched ON matched.seq = reading.match_seq
    LEFT JOIN ledger AS log ON log.seq = reading.log
    LEFT JOIN ledger AS raw ON raw.seq = coalesce(reading.frame, reading.seq)
WHERE ?1 IS NULL OR reading.job = ?1 ORDER BY reading.seq
"""
_CHECKS = """
SELECT at, wrench, reference, shown, unit, person_name(by), reference_nm, shown_nm, printf('%.4f', error_percent), void,
    iif(simulated, 'SIMULATED', ''), seq
FROM wrench_check WHERE ?1 IS NULL OR wrench = ?1 ORDER BY seq
"""
_COUNTS = {
    What.READINGS: "SELECT count(*), max(simulated) FROM reading WHERE ?1 IS NULL OR job = ?1",
    What.TIGHTENINGS: "SELECT count(*), max(max(job.simulated, coalesce(reading.simulated, 0))) FROM fastener "
    "JOIN job ON job.job = fastener.job LEFT JOIN tightening USING (job, joint, position) "
    "LEFT JOIN reading ON reading.seq = tightening.reading WHERE ?1 IS NULL OR fastener.job = ?1",
    What.CHECKS: "SELECT count(*), max(simulated) FROM wrench_check WHERE ?1 IS NULL OR wrench = ?1",
}


@dataclass(frozen=True, slots=True)
class Scope:
    """What is asked for: readings or tightenings of one job, checks of one wrench; `of` None for all of them."""

    what: What
    of: str | None = None

    @property
    def owner(self) -> str:
        """Whose they are: job or wrench."""
        return "wrench" if self.what is What.CHECKS else "job"

    def __str__(self) -> str:
        if self.of is not None:
            return f"{self.what} of {self.owner} {self.of}"
        return f"{self.what} of {'all wrenches' if self.what is What.CHECKS else 'all jobs'}"


@dataclass(frozen=True, slots=True)
class Export:
    """A table as of one moment: `rows` can be read once, inside `open_export`.

    `count` is what the tables hold, counted before the first row is read. `workshops` are those that the jobs concerned were
    opened in, none for checks.
    """

    scope: Scope
    columns: tuple[Column, ...]
    rows: Iterator[Row]
    count: int
    simulated: bool
    workshops: tuple[str, ...]
    tree: Tree


@contextmanager
def open_export(db: sqlite3.Connection, scope: Scope) -> Iterator[Export]:
    """The table of that scope, of one moment, in the order in which things were recorded.

    Args:
        db: a connection from `analysis.load.open_audit`.
        scope: what to read.

    Raises:
        RecordError: no such job or wrench, or a damaged file.
    """
    with snapshot(db):
        _refuse_unknown(db, scope)
        count, simulated = db.execute(_COUNTS[scope.what], (scope.of,)).fetchone()
        shops = [] if scope.what is What.CHECKS else _workshops(db, scope.of)
        yield Export(scope, COLUMNS[scope.what], _rows(db, scope), count, bool(simulated), tuple(shops), ledger.tree(db))


def _rows(db: sqlite3.Connection, scope: Scope) -> Iterator[Row]:
    names = person_names(db)
    if scope.what is What.TIGHTENINGS:
        yield from tightening_rows(db, scope.of, names)
        return
    db.create_function("person_name", 1, lambda person: names.get(person, person))
    cursor = db.execute(_READINGS if scope.what is What.READINGS else _CHECKS, (scope.of,))
    yield from map(tuple, cursor)


def _refuse_unknown(db: sqlite3.Connection, scope: Scope) -> None:
    if scope.of is None:
        return
    owner = scope.owner
    if db.execute(f"SELECT 1 FROM {owner} WHERE {owner} = ?", (scope.of,)).fetchone() is None:
        raise RecordError(f"{owner} `{scope.of}` is not in this database; `witnessmark {owner} list` shows what is there")


def _workshops(db: sqlite3.Connection, job: str | None) -> list[str]:
    sql = "SELECT DISTINCT workshop FROM job WHERE ?1 IS NULL OR job = ?1 ORDER BY workshop"
    return [workshop for (workshop,) in db.execute(sql, (job,))]
