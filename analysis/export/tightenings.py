"""One row a fastener and stage, as the plan has them: what was not done has its row too."""

import sqlite3
from collections.abc import Iterator, Mapping
from itertools import chain

from analysis.load.fasteners import load_fasteners, with_sayings
from analysis.load.record_pulls import FastenerRow, StageDone
from analysis.load.record_said import DecisionRow
from analysis.load.routes import routes_of_job
from analysis.load.said import load_said
from analysis.load.source import Source
from schemas.database import Row, Value

_JOBS = """
SELECT job.*, coalesce(item.value, '(item erased)') AS item
FROM job LEFT JOIN private AS item ON item.seq = job.seq AND item.field = 'item'
WHERE ?1 IS NULL OR job.job = ?1 ORDER BY job.seq
"""
_DONE = """
SELECT tightening.joint, tightening.position, tightening.stage, tightening.verdict, reading.simulated, reading.by, reading.n,
    reading.torque, reading.unit, reading.torque_nm, iif(reading.seq IS NULL, NULL, iif(reading.over_range, 'yes', 'no')),
    reading.wrench, wrench.serial, reading.p, reading.position_by, reading.at, reading.tool_time,
    reading.angle_deg, reading.adapter, reading.drag, reading.length_mm
FROM tightening LEFT JOIN reading ON reading.seq = tightening.reading
    LEFT JOIN wrench ON wrench.wrench = reading.wrench
WHERE tightening.job = ?
"""
_THROUGH = 4  # the last columns of it: the angle, and what lies between wrench and fastener
_NOTHING: Row = (None,) * 18


def tightening_rows(db: sqlite3.Connection, job: str | None, names: Mapping[str, str]) -> Iterator[Row]:
    """The rows of one job, or of all where it is None; `names` of persons by their id."""
    return chain.from_iterable(_rows_of(db, row, names) for row in db.execute(_JOBS, (job,)))


def _rows_of(db: sqlite3.Connection, job: sqlite3.Row, names: Mapping[str, str]) -> Iterator[Row]:
    routes = routes_of_job(db, job)
    source = Source(db, job["job"], names, routes, routes.now.by_id())
    done = {tuple(row[:3]): tuple(row[3:]) for row in db.execute(_DONE, (job["job"],))}
    for fastener in with_sayings(load_fasteners(db, job["job"], routes.now, {}), load_said(source, {})[0]):
        # A joint whose torque the procedure does not state has no measured stage; its fasteners must not vanish for that.
        for stage in fastener.stages or (None,):
            key = (fastener.joint, fastener.position, None if stage is None else stage.number)
            verdict, simulated, by, *reading = done.get(key, _NOTHING)
            angle, *through = reading[-_THROUGH:]
            mark = "SIMULATED" if simulated or job["simulated"] else ""
            yield (
                job["job"], mark, job["item"], job["order_no"], job["plan"], job["revision"], *_place(fastener, stage), verdict,
                str(fastener.proof), fastener.why, *reading[:-_THROUGH], None if by is None else names.get(str(by), by),
                *_turned(stage, angle), *through, *_said(fastener.said),
            )  # fmt: skip


def _turned(stage: StageDone | None, angle_deg: Value) -> tuple[Value, ...]:
    """What the stage is, of which step, and the angle against its edges; the torque's own stand before."""
    if stage is None:
        return (None,) * 5
    return str(stage.word), stage.step, angle_deg, stage.angle_low, stage.angle_high


def _said(said: DecisionRow | None) -> tuple[Value, ...]:
    """What a person said that the fastener's proof leans on."""
    return (None,) * 6 if said is None else (said.by, said.at, said.value, said.unit, said.tool, said.reason)


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
