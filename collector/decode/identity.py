"""What makes one record the same record when it comes again: in a second download, or from a wrench that was read live."""

import hashlib
import json
from datetime import UTC, datetime

from schemas.frame import Reading


def decode_instant(tool_time: str | None) -> datetime | None:
    """The instant of a time that was sent whole and with its offset; None where it is absent or anything else."""
    try:
        instant = datetime.fromisoformat(tool_time or "")
    except ValueError:
        return None
    return instant if instant.tzinfo is not None else None


def decode_memory_identity(reading: Reading, wrench: str | None) -> str | None:
    """The identity of a pull in a wrench's own memory, as hex; None where the record does not name one pull for certain.

    Wrench, memory number and a whole time with its offset name one pull, by whatever way and in whatever form it comes.
    """
    instant = decode_instant(reading.tool_time)
    if wrench is None or reading.sequence is None or instant is None:
        return None
    return _hex(["memory", wrench, reading.sequence, instant.astimezone(UTC).isoformat()])


def decode_row_identity(raw: bytes, nth: int, job: str) -> str:
    """The identity of a row of a log that does not name one pull for certain, as hex.

    Args:
        raw: the row as it stands in the log.
        nth: how many rows equal to it came before it in its file, plus one: equal rows can be two real clicks.
        job: such a row cannot be told from another day's, so its identity holds within this job only.
    """
    return _hex(["row", job, raw.hex(), nth])


def _hex(key: list[str | int]) -> str:
    return hashlib.sha256(json.dumps(key).encode()).hexdigest()
