"""Finds the number in a binary record that carries the torque."""

import math
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from collector.listen.heard import About
from schemas.wire_checksum import ByteOrder
from schemas.wire_format import TYPE_BYTES, NumberType, number_code

_TYPES: tuple[NumberType, ...] = ("i16", "u16", "i32", "u32", "f32")
_ORDERS: tuple[ByteOrder, ...] = ("little", "big")
_SCALES = (Decimal(1), Decimal("0.1"), Decimal("0.01"), Decimal("0.001"))


@dataclass(frozen=True, slots=True)
class BinaryTorque:
    """A number that fits all the values: `at` that many bytes from the record's first; its value is the number times `scale`."""

    at: int
    type: NumberType
    order: ByteOrder
    scale: Decimal

    @property
    def end(self) -> int:
        """The byte behind it."""
        return self.at + TYPE_BYTES[self.type]

    def value(self, record: bytes) -> Decimal | None:
        """The torque in a record; None where it is no number."""
        number = number_at(record, self.at, self.type, self.order)
        return None if number is None else number * self.scale

    def __str__(self) -> str:
        first = {"little": "low", "big": "high"}[self.order]
        scaled = "" if self.scale == 1 else f", times {self.scale}"
        return f"{self.type} at byte {self.at}, {first} byte first{scaled}"


def binary_torques(
    records: Sequence[Sequence[bytes]], abouts: Sequence[About | None], start: int, end: int
) -> list[BinaryTorque]:
    """Every number between two places of the records (of each pull) that fits all the values, sign included.

    Left out are a type that can hold no more torques than another one that is there, and one that takes half a number.
    """
    told = [(of_pull, about) for of_pull, about in zip(records, abouts, strict=True) if about is not None]
    fitting = [torque for torque in _all(start, end) if all(_fits(torque, *one) for one in told)]
    every = [record for of_pull in records for record in of_pull]
    return [one for one in fitting if not any(_covers(other, one, every) for other in fitting)]


def number_at(record: bytes, at: int, kind: NumberType, order: ByteOrder) -> Decimal | None:
    """The number of that type at a place of a record; None where it is not finite."""
    value = struct.unpack_from(number_code(kind, order), record, at)[0]
    return Decimal(value) if math.isfinite(value) else None


def _all(start: int, end: int) -> Iterator[BinaryTorque]:
    for kind in _TYPES:
        for at in range(start, end - TYPE_BYTES[kind] + 1):
            for order in _ORDERS:
                for scale in _SCALES if kind != "f32" else _SCALES[:1]:
                    yield BinaryTorque(at, kind, order, scale)


def _fits(torque: BinaryTorque, records: Sequence[bytes], about: About) -> bool:
    for record in records:
        value = torque.value(record)
        if value is not None and about.fits(value) and (value < 0) == (about.value < 0):
            return True
    return False


def _covers(wide: BinaryTorque, one: BinaryTorque, records: Sequence[bytes]) -> bool:
    """Whether a number of 32 bits makes another candidate needless."""
    if wide.type != "i32" or (wide.order, wide.scale) != (one.order, one.scale):
        return False
    if one.type == "u32":
        # No torque needs the topmost bit, and a loosening does.
        return one.at == wide.at
    low = wide.at if wide.order == "little" else wide.at + 2
    if one.type not in ("i16", "u16") or one.at != low:
        return False
    high = wide.at + 2 if wide.order == "little" else wide.at
    # Where these bytes are not always 0 they follow the number, so they belong to it.
    return any(record[high : high + 2] != b"\0\0" for record in records)
