"""What makes one record the same record when it comes again: in a second download, or from a wrench that was read live."""

import hashlib
import json
from datetime import MAXYEAR, MINYEAR, UTC, datetime

from schemas.frame import Reading
from schemas.log_time import EARLIEST, UNTOLD, TimeRule, read_time

_WHOLE = len("2026-03-02T07:15")


def decode_instant(tool_time: str | None) -> datetime | None:
    """The instant of a time that was sent whole and with its offset; None where it is absent or anything else."""
    instant = _moment(tool_time)
    return instant if instant is not None and instant.tzinfo is not None else None


def decode_memory_identity(reading: Reading, wrench: str | None, rule: TimeRule = UNTOLD) -> str | None:
    """The identity of a pull in a wrench's own memory, as hex; None where the record does not name one pull for certain.

    Wrench, memory number and a whole time name one pull, by whatever way and in whatever form it comes. A time without an
    offset counts as it was sent, so that the same row is the same pull whichever zone is declared, and in the hour that comes
    twice. A clock that was never set names nothing: after two resets it can show the same time at the same number.

    Args:
        reading: what was decoded.
        wrench: the wrench that is named or in use.
        rule: how the times of its log are read.
    """
    if wrench is None or reading.sequence is None:
        return None
    moment = read_time(reading.tool_time or "", rule) or _whole(reading.tool_time)
    if moment is None or moment.replace(tzinfo=None) < EARLIEST:
        return None
    return _memory(wrench, reading.sequence, moment if moment.tzinfo is None else moment.astimezone(UTC))


def decode_live_identity(reading: Reading, wrench: str | None) -> str | None:
    """The identity of a pull that was read live, with its offset, by a moment that was placed; None where that is not certain."""
    if wrench is None or reading.sequence is None or reading.pulled_at is None:
        return None
    instant = decode_instant(reading.pulled_at)
    return None if instant is None else _memory(wrench, reading.sequence, instant.astimezone(UTC))


def decode_wall_identity(reading: Reading, wrench: str | None) -> str | None:
    """The identity that a pull whose offset is known has in a download without one; None where it is not known.

    A wrench gives a number twice only after its memory was cleared, and then not with its clock at the same second.
    """
    moment = _moment(reading.pulled_at) or _whole(reading.tool_time)
    if wrench is None or reading.sequence is None or moment is None or moment.tzinfo is None:
        return None
    return _memory(wrench, reading.sequence, moment.replace(tzinfo=None))


def decode_row_identity(raw: bytes, nth: int, job: str) -> str:
    """The identity of a row of a log that does not name one pull for certain, as hex.

    Args:
        raw: the row as it stands in the log.
        nth: how many rows equal to it came before it in its file, plus one: equal rows can be two real clicks.
        job: such a row cannot be told from another day's, so its identity holds within this job only.
    """
    return _hex(["row", job, raw.hex(), nth])


def _whole(text: str | None) -> datetime | None:
    return _moment(text) if len(text or "") >= _WHOLE else None


def _moment(text: str | None) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    # In the first and the last year of all no zone can be reckoned with.
    return moment if MINYEAR < moment.year < MAXYEAR else None


def _memory(wrench: str, number: int, moment: datetime) -> str:
    return _hex(["memory", wrench, number, moment.isoformat()])


def _hex(key: list[str | int]) -> str:
    return hashlib.sha256(json.dumps(key).encode()).hexdigest()
