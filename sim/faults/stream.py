"""Spoils a stream of records by seed, and says what of it has to be found again."""

import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from schemas.wire_format import WireFormat

LINE_ENDS = b"\r\n"
_LONGEST_PART = 40
_STALL_CHANCE = 0.1


class Fault(StrEnum):
    """What happens to a record, or behind a part of the stream."""

    SWAP = "two swapped"
    DROP = "not sent"
    DOUBLE = "sent twice"
    LACK = "bytes left out"
    FLIP = "a bit flipped"
    STAMMER = "bytes sent twice"
    UNPLUG = "unplugged"
    CUT = "cut"
    STALL = "stalled"


_CHANCE_A_RECORD = {
    Fault.SWAP: 0.1,
    Fault.DROP: 0.06,
    Fault.DOUBLE: 0.1,
    Fault.LACK: 0.05,
    Fault.FLIP: 0.08,
    Fault.STAMMER: 0.05,
    Fault.UNPLUG: 0.08,
}


@dataclass(frozen=True, slots=True)
class Step:
    """Bytes that go out at once, and what comes behind them: STALL, UNPLUG or nothing.

    Behind UNPLUG the rest of a record that was begun never comes.
    """

    data: bytes
    then: Fault | None = None


@dataclass(frozen=True, slots=True)
class Stream:
    """What was sent of `records`, step by step; the last step ends with UNPLUG.

    `whole` are the records that came whole where a reader can tell where they begin, as often as they came: each of them
    must be found. `faults` counts what was done.
    """

    records: tuple[bytes, ...]
    steps: tuple[Step, ...]
    whole: tuple[bytes, ...]
    faults: Mapping[Fault, int]

    @property
    def sessions(self) -> tuple[bytes, ...]:
        """All bytes from one plugging in to the next."""
        sessions = [b""]
        for step in self.steps:
            sessions[-1] += step.data
            if step.then is Fault.UNPLUG:
                sessions.append(b"")
        return tuple(sessions[:-1])


@dataclass(slots=True)
class _Session:
    """What is sent between two pluggings; `whole` are the places of records that nothing happened to."""

    data: bytes = b""
    whole: list[tuple[int, bytes]] = field(default_factory=list)


def needs_line_end(wire: WireFormat) -> bool:
    """Whether a record of this format is known by the end of the line before it alone; else by its own start mark."""
    return wire.framing.by == "line" and not (wire.checksum and len(wire.start) == 1)


def spoil_records(records: Sequence[bytes], by_line: bool, rng: random.Random, *, unplugs: bool = True) -> Stream:
    """Send records in a bad way, the last of them in part: the same random numbers give the same stream.

    Args:
        records: one or more whole records, as they go over the wire.
        by_line: whether each is known by the line end before it alone; the first of a session has none and needs none.
        rng: decides everything.
        unplugs: whether the link may go before the end.
    """
    faults: Counter[Fault] = Counter()
    sessions = [_Session()]
    *others, last = _in_bad_order(records, rng, faults)
    for record in others:
        sent = _damaged(record, rng, faults)
        if unplugs and _strikes(Fault.UNPLUG, rng, faults):
            _add(sessions[-1], sent[: rng.randint(0, len(sent))], record)
            sessions.append(_Session())
        else:
            _add(sessions[-1], sent, record)
    _add(sessions[-1], last[: rng.randint(1, len(last) - 1)], last)
    steps = tuple(step for session in sessions for step in _steps(session.data, rng, faults))
    found = tuple(record for session in sessions for record in _told_apart(session, by_line))
    return Stream(tuple(records), steps, found, dict(faults))


def _strikes(fault: Fault, rng: random.Random, faults: Counter[Fault]) -> bool:
    strikes = rng.random() < _CHANCE_A_RECORD[fault]
    faults[fault] += strikes
    return strikes


def _in_bad_order(records: Sequence[bytes], rng: random.Random, faults: Counter[Fault]) -> list[bytes]:
    order = list(records)
    for at in range(1, len(order)):
        if _strikes(Fault.SWAP, rng, faults):
            order[at - 1], order[at] = order[at], order[at - 1]
    sent = [record for record in order[:-1] if not _strikes(Fault.DROP, rng, faults)] + order[-1:]
    return [again for record in sent for again in [record] * (1 + _strikes(Fault.DOUBLE, rng, faults))]


def _damaged(record: bytes, rng: random.Random, faults: Counter[Fault]) -> bytes:
    first, last = sorted(rng.sample(range(len(record) + 1), 2))
    if _strikes(Fault.LACK, rng, faults):
        return record[:first] + record[last:]
    if _strikes(Fault.FLIP, rng, faults):
        at = rng.randrange(len(record))
        return record[:at] + bytes([record[at] ^ 1 << rng.randrange(8)]) + record[at + 1 :]
    if _strikes(Fault.STAMMER, rng, faults):
        return record[:last] + record[first:]
    return record


def _add(session: _Session, sent: bytes, record: bytes) -> None:
    if sent == record:
        session.whole.append((len(session.data), record))
    session.data += sent


def _told_apart(session: _Session, by_line: bool) -> Iterator[bytes]:
    for at, record in session.whole:
        if not by_line or at == 0 or session.data[at - 1] in LINE_ENDS:
            yield record


def _steps(data: bytes, rng: random.Random, faults: Counter[Fault]) -> Iterator[Step]:
    while len(data) > (length := rng.randint(1, _LONGEST_PART)):
        then = Fault.STALL if rng.random() < _STALL_CHANCE else None
        faults[Fault.CUT] += 1
        faults[Fault.STALL] += then is not None
        yield Step(data[:length], then)
        data = data[length:]
    yield Step(data, Fault.UNPLUG)
