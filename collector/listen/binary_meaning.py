"""Says what stands in a binary record beside the torque, as far as the pulls settle it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collector.listen.binary_torque import BinaryTorque, number_at
from collector.listen.heard import About
from collector.listen.meaning import quoted, rises_by_one, time_count
from schemas.wire_format import TYPE_BYTES, NumberType

_TEXT = re.compile(rb"[A-Za-z0-9_./-]{4,}\0*")
_COUNTS: tuple[NumberType, ...] = ("u32", "u16")


@dataclass(slots=True)
class BinaryMeaning:
    """The lines of the fields, the lines beside them, the reasons and what stays open; `unit` and `lacks` as of text."""

    fields: list[str]
    lines: list[str] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)
    taken: set[int] = field(default_factory=set)
    unit: str | None = None
    lacks: str = ""

    def add(self, line: str, at: int, size: int, reason: str) -> None:
        """A field that takes these bytes."""
        self.fields.append(f"{{{line}}}")
        self.reasons.append(reason)
        self.taken |= set(range(at, at + size))


def binary_meaning(
    torque: BinaryTorque, records: Sequence[bytes], abouts: Sequence[About | None], start: int, end: int
) -> BinaryMeaning:
    """What stands between two places of the records beside a torque; `abouts` are those of the records, one each."""
    meaning = BinaryMeaning([])
    scale = "" if torque.scale == 1 else f", scale: {torque.scale}"
    size = torque.end - torque.at
    meaning.add(f"name: torque, at: {torque.at}, type: {torque.type}{scale}", torque.at, size, f"the torque is {torque}")
    free = range(start, end)
    _text(records, free, meaning)
    _time(torque, records, free, meaning)
    _unit(records, abouts, free, meaning)
    _rising(torque, records, free, meaning)
    _rest(records, free, meaning)
    return meaning


def _text(records: Sequence[bytes], free: range, meaning: BinaryMeaning) -> None:
    record = records[0]
    for found in _TEXT.finditer(record, free.start, free.stop):
        at, size = found.start(), len(found[0])
        if all(one[at : at + size] == found[0] for one in records) and not meaning.taken & set(range(at, at + size)):
            text = found[0].rstrip(b"\0").decode("ascii")
            meaning.add(f"name: serial, at: {at}, type: text, length: {size}", at, size,
                        f"the text at byte {at} is the serial number: it is always {text}")  # fmt: skip
            meaning.open.append(f"the text at byte {at} is read as the serial number; where it is the name in the register, "
                                "write `wrench` in its place")  # fmt: skip
            return


def _time(torque: BinaryTorque, records: Sequence[bytes], free: range, meaning: BinaryMeaning) -> None:
    places = []
    for at in range(free.start, free.stop - 3):
        numbers = [int(number_at(record, at, "u32", torque.order) or 0) for record in records]
        if time_count(numbers) == "seconds" and not meaning.taken & set(range(at, at + 4)):
            places.append(at)
    if len(places) == 1:
        at = places[0]
        reason = f"the time is u32 at byte {at}: a count of seconds from 1970 that never went back"
        meaning.add(f"name: tool_time, at: {at}, type: u32", at, 4, reason)
        meaning.lines.append("time_counts: seconds")


def _unit(records: Sequence[bytes], abouts: Sequence[About | None], free: range, meaning: BinaryMeaning) -> None:
    typed = [about.unit if about else None for about in abouts]
    units = {unit for unit in typed if unit is not None}
    if len(units) < 2:
        meaning.unit = units.pop() if units else None
        return
    for at in free:
        pairs = {(record[at], unit) for record, unit in zip(records, typed, strict=True) if unit is not None}
        codes = dict(pairs)
        is_whole = all(record[at] in codes for record in records)
        if at not in meaning.taken and len(codes) == len(pairs) == len(set(codes.values())) and is_whole:
            reason = f"the unit is byte {at}: it changed with the unit that was typed"
            meaning.add(f"name: unit, at: {at}, type: u8", at, 1, reason)
            known = ", ".join(f"{quoted(str(code))}: {quoted(unit)}" for code, unit in sorted(codes.items()))
            meaning.lines.append(f"unit_codes: {{{known}}}")
            return
    meaning.lacks = f"the unit was typed as {' and '.join(sorted(units))}, and no byte tells one from the other"


def _rising(torque: BinaryTorque, records: Sequence[bytes], free: range, meaning: BinaryMeaning) -> None:
    for kind in _COUNTS:
        size = TYPE_BYTES[kind]
        for at in range(free.start, free.stop - size + 1):
            numbers = [int(number_at(record, at, kind, torque.order) or 0) for record in records]
            if meaning.taken & set(range(at, at + size)) or not rises_by_one(numbers):
                continue
            # Bytes that were always 0 may be the number's own, or another field.
            top = 8 * (size - 1)
            is_told = any(after >> top != before >> top for before, after in pairwise(numbers))
            if is_told:
                reason = f"the sequence is {kind} at byte {at}: it rises by one ({numbers[0]} to {numbers[-1]})"
                meaning.add(f"name: sequence, at: {at}, type: {kind}", at, size, reason)
            else:
                rises = f"at byte {at} a number rises by one ({numbers[0]} to {numbers[-1]}), and nothing shows how long it is"
                meaning.open.append(f"{rises}: add `{{name: sequence, at: {at}, type: {kind}}}` where that is right")
            return


def _rest(records: Sequence[bytes], free: range, meaning: BinaryMeaning) -> None:
    rest = [at for at in free if at not in meaning.taken]
    for word, changes in (("always the same", False), ("changing", True)):
        places = [at for at in rest if (len({record[at] for record in records}) > 1) == changes]
        if places:
            which = ", ".join(f"{at} ({records[0][at]:02X})" for at in places)
            meaning.open.append(f"{word} and not read: byte{'s' * (len(places) > 1)} {which}")
