"""A job as the answer of `collect --json`; the shape is a contract that other programs read."""

from typing import Any

from analysis.load.record import JobRecord, JointRow, NotReadRow, ReadingRow
from schemas.words import Kind

ANSWER_FORMAT = 1


def job_json(record: JobRecord, already_stored: int = 0) -> dict[str, Any]:
    """The answer, ready for JSON; `already_stored` counts the rows of the log that were in the database before.

    Probabilities are numbers or null, torques digit strings. `p_complete` of the job is null: it is not known yet.
    """
    return {
        "format": ANSWER_FORMAT,
        "job": record.job,
        "complete": record.complete,
        "p_complete": None,
        "joints": [_joint(row) for row in record.joints],
        "readings": [_reading(row) for row in record.readings],
        "set_aside": [_not_read(row) for row in record.set_aside],
        "unreadable": [_not_read(row) for row in record.unreadable],
        "already_stored": already_stored,
        **({"simulated": 1} if record.simulated else {}),
    }


def _joint(row: JointRow) -> dict[str, Any]:
    return {
        "id": row.joint,
        "stage": row.stage,
        "stages": row.stages,
        "fasteners": row.fasteners,
        "tightened": row.tightened,
        "missed": row.missed,
        "under": row.under,
        "over": row.over,
        "proof": row.proof,
        "p_complete": _number(row.p_complete),
    }


def _reading(row: ReadingRow) -> dict[str, Any]:
    placed = row.kind is not None and row.kind != Kind.STRAY
    return {
        "n": row.n,
        "joint": row.joint if placed else None,
        "stage": row.stage if placed else None,
        "position": row.position if placed else None,
        "kind": row.kind,
        "verdict": row.verdict if placed else None,
        "torque_nm": row.torque_nm,
        "p": _number(row.p),
        "position_by": row.position_by if placed else None,
    }


def _not_read(row: NotReadRow) -> dict[str, Any]:
    return {"line": row.line, "raw": row.raw.text, "reason": row.reason}


def _number(digits: str | None) -> float | None:
    return None if digits is None else float(digits)
