"""A job as the answer of `collect --json`; the shape is a contract that other programs read."""

from typing import Any

from analysis.load.record import JobRecord
from analysis.load.record_pulls import JointRow, NotReadRow, ReadingRow
from schemas.route import Joint
from schemas.words import PROOF_ORDER, Kind, Proof

ANSWER_FORMAT = 1


def job_json(record: JobRecord, already_stored: int = 0) -> dict[str, Any]:
    """The answer, ready for JSON; `already_stored` counts the rows of the log that were in the database before.

    Probabilities are numbers, or null where they are not known, torques digit strings. A joint
    whose torque the procedure does not state has no row in `joints`, it stands in `not_stated`. `loading` says from when on a
    joint that cures may be loaded: RFC 3339, or null and why in `text`. A retorque job `follows` another one.
    """
    return {
        "format": ANSWER_FORMAT,
        "job": record.job,
        "complete": record.complete,
        "p_complete": _number(record.p_complete),
        "joints": [_joint(row) for row in record.joints],
        "readings": [_reading(row) for row in record.readings],
        "set_aside": [_not_read(row) for row in record.set_aside],
        "unreadable": [_not_read(row) for row in record.unreadable],
        "already_stored": already_stored,
        "not_stated": [_not_stated(record, joint) for joint in record.unstated],
        "loading": [{"joint": row.joint, "not_before": row.not_before, "text": row.text} for row in record.loadings],
        "follows": None if record.follows is None else {"job": record.follows, "step": record.step, "distance": record.distance},
        "outcome": record.outcome,
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


def _not_stated(record: JobRecord, joint: Joint) -> dict[str, Any]:
    fasteners = record.fasteners_of(joint.id)
    return {
        "id": joint.id,
        "fasteners": joint.fasteners,
        **{str(proof): sum(fastener.proof is proof for fastener in fasteners) for proof in (Proof.DECLARED, Proof.MISSED)},
        "proof": max((fastener.proof for fastener in fasteners), key=PROOF_ORDER.index),
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
