"""One row a fastener and stage, as the plan has them: what was not done has its row too."""

import sqlite3
from collections.abc import Iterator, Mapping
from itertools import chain

from analysis.load.fasteners import load_fasteners
from analysis.load.ledger import plan_at
from analysis.load.record import FastenerRow, StageDone
from schemas.database import Row, Value
from schemas.route_body import route_from_body

_JOBS = """
SELECT job.*, coalesce(item.value, '(item erased)') AS item
FROM job LEFT JOIN private AS item ON item.seq = job.seq AND item.field = 'item'
WHERE ?1 IS NULL OR job.job = ?1 ORDER BY job.seq
"""
_DONE = """
SELECT tightening.joint, tightening.position, tightening.stage, tightening.verdict, reading.simulated, reading.by, reading.n,
    reading.torque, reading.unit, reading.torque_nm, iif(reading.seq IS NULL, NULL, iif(reading.over_range, 'yes', 'no')),
    reading.wrench, wrench.serial, reading.p, reading.position_by, reading.at, reading.tool_time
FROM tightening LEFT JOIN reading ON reading.seq = tightening.reading
    LEFT JOIN wrench ON wrench.wrench = reading.wrench
WHERE tightening.job = ?
"""
_NOTHING: Row = (None,) * 14


def tightening_rows(db: sqlite3.Connection, job: str | None, names: Mapping[str, str]) -> Iterator[Row]:
    """The rows of one job, or of all where it is None; `names` of persons by their id."""
    return chain.from_iterable(_rows_of(db, row, names) for row in db.execute(_JOBS, (job,)))


def _rows_of(db: sqlite3.Connection, job: sqlite3.Row, names: Mapping[str, str]) -> Iterator[Row]:
    route = route_from_body(plan_at(db, job["plan_seq"]).route)
    done = {tuple(row[:3]): tuple(row[3:]) for row in db.execute(_DONE, (job["job"],))}
    for fastener in load_fasteners(db, job["job"], route, {}):
        # A joint whose torque the procedure does not state has no measured stage; its fasteners must not vanish for that.
        for stage in fastener.stages or (None,):
            key = (fastener.joint, fastener.position, None if stage is None else stage.number)
            verdict, simulated, by, *reading = done.get(key, _NOTHING)
            mark = "SIMULATED" if simulated or job["simulated"] else ""
            yield (
                job["job"], mark, job["item"], job["order_no"], job["plan"], job["revision"], *_place(fastener, stage), verdict,
                str(fastener.proof), fastener.why, *reading, None if by is None else names.get(str(by), by),
            )  # fmt: skip


def _place(fastener: FastenerRow, stage: StageDone | None) -> tuple[Value, ...]:
    """The fastener and the stage with its edges, in the joint's unit and in N·m."""
    of: tuple[Value, ...] = (None,) * 9
    if stage is not None:
        edge = "in band" if stage.high_is_in_band else "over"
        of = (
            stage.number, len(fastener.stages), stage.share_percent, stage.low, stage.high, stage.unit, stage.low_nm,
            stage.high_nm, edge,
        )  # fmt: skip
    return fastener.joint, fastener.joint_name, fastener.position, *of
