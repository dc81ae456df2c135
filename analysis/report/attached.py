"""The record of a job for machines, as it goes with the PDF: all that the pages leave out or cut short is in it."""

import json
import re
from dataclasses import asdict, fields
from decimal import Decimal
from typing import Any

from analysis.load.answer import job_json
from analysis.load.record import JobRecord
from analysis.load.record_pulls import FastenerRow, NotReadRow, ReadingRow
from analysis.load.shown import digits

# Said in the answer already, or by the fields that are named otherwise below.
_SHOWN_OTHERWISE = frozenset(
    {"seq", "n", "at", "raw", "joint", "stage", "position", "p", "kind", "verdict", "torque_nm", "position_by"}
)
_HEAD = ("item", "order_no", "fitter", "workshop", "opened_at", "closed_at", "reasons", "outcome_reason", "p_limit")
_SAID = (
    "decisions", "signatures", "hold_points", "preparations", "loadings", "hand_overs", "joints_added", "plan_changes",
    "retorques",
)  # fmt: skip


def attached_name(job: str) -> str:
    """The name of the attached file, `job-1.json`; what could trouble a file system becomes `_`."""
    return f"job-{re.sub(r'[^A-Za-z0-9.-]', '_', job)[:80]}.json"


def attached_json(record: JobRecord, made_at: str) -> bytes:
    """The answer of `collect --json` with what the pages shorten.

    That is, for each reading and each unread frame, its raw bytes in hex, times and wrench; the joints of the plan with
    their facts and bands; each fastener with its proof, why, and the readings that count at its stages; what persons said,
    signed and changed; the reasons, and whose job it was. UTF-8; the same record and `made_at` give the same bytes.
    """
    answer = job_json(record)
    answer["readings"] = [
        {**said, **_reading(reading)} for said, reading in zip(answer["readings"], record.readings, strict=True)
    ]
    answer["set_aside"] = [_not_read(row) for row in record.set_aside]
    answer["unreadable"] = [_not_read(row) for row in record.unreadable]
    answer["report_made_at"] = made_at
    answer.update({name: getattr(record, name) for name in _HEAD})
    answer["plan"] = {**asdict(record.plan), "joints": [asdict(joint) for joint in record.route.joints]}
    answer["fasteners"] = [_fastener(fastener) for fastener in record.fasteners]
    answer.update({name: [asdict(row) for row in getattr(record, name)] for name in _SAID})
    answer["findings"] = record.findings
    answer["tree"] = asdict(record.tree)
    text = json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=1, default=_digits)
    return text.encode("utf-8", "backslashreplace")


def _digits(value: object) -> str:
    if isinstance(value, Decimal):
        return digits(value)
    raise TypeError(f"a {type(value).__name__} has no place in the attached record")


def _fastener(fastener: FastenerRow) -> dict[str, Any]:
    return {
        "joint": fastener.joint,
        "position": fastener.position,
        "proof": fastener.proof,
        "why": fastener.why,
        "readings": [None if stage.reading is None else stage.reading.n for stage in fastener.stages],
    }


def _reading(reading: ReadingRow) -> dict[str, Any]:
    more = {field.name: getattr(reading, field.name) for field in fields(reading) if field.name not in _SHOWN_OTHERWISE}
    return {
        "entry": reading.seq,
        "matched_to": {"joint": reading.joint, "stage": reading.stage, "position": reading.position},
        "received_at": reading.at,
        "raw": None if reading.raw is None else reading.raw.text,
        "raw_hex": None if reading.raw is None else reading.raw.hex,
        **more,
    }


def _not_read(row: NotReadRow) -> dict[str, Any]:
    return {
        "line": row.line,
        "raw": row.raw.text,
        "reason": row.reason,
        "raw_hex": row.raw.hex,
        "entry": row.seq,
        "received_at": row.at,
    }
