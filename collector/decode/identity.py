"""What makes one record of a log the same record when the log is read in again."""

import hashlib
import json

from schemas.frame import Reading


def decode_identity(raw: bytes, reading: Reading | None, nth: int, job: str) -> str:
    """The identity of a record as hex: tool serial, memory sequence, tool time, raw record, and its count among equals.

    Args:
        raw: the record as it stands in the log.
        reading: what it decodes to, None where it does not.
        nth: how many records equal to it came before it in its file, plus one: equal rows can be two real clicks.
        job: a record without a time cannot be told from another day's, so its identity holds within this job only.
    """
    key = [None, None, None] if reading is None else [reading.wrench, reading.sequence, reading.tool_time]
    scope = job if reading is None or reading.tool_time is None else None
    text = json.dumps([scope, *key, raw.hex(), nth])
    return hashlib.sha256(text.encode()).hexdigest()
