"""Takes a binary record apart into its fields: numbers as digits, exact."""

import struct
from collections.abc import Iterator
from decimal import Decimal

from collector.decode.refuse import unreadable
from collector.decode.sent import Sent
from schemas.units import torque_text
from schemas.wire_format import Binary, BinaryField, FieldName, WireFormat, number_code

_FLOAT_DIGITS = 9  # as many tell any two binary floats of 32 bits apart


def read_binary(wire: WireFormat, binary: Binary, raw: bytes) -> Sent:
    """The fields of a record, whose length is right already; FrameError where a text is none."""
    values: dict[FieldName, str] = {}
    words: list[str] = []
    notes: list[str] = []
    torque_mark = ""
    for field in binary.fields:
        plain = _plain(field, binary, raw)
        if field.name == "flags":
            words += _words(wire, int(plain), notes)
            continue
        if field.name == "torque":
            torque_mark = plain
            if field.type == "f32":
                notes.append("torque was sent as a binary float; these are the shortest digits that give it")
        if field.name == "status" and plain:
            words.append(plain)
        values[field.name] = _scaled(plain, field)
    return Sent(values, torque_mark, tuple(words), tuple(notes))


def shortest_digits(value: float) -> str:
    """The shortest plain digits that give the same float of 32 bits; `nan` or `inf` where it is no number.

    Args:
        value: a float of 32 bits.
    """
    texts = (f"{value:.{digits}g}" for digits in range(1, _FLOAT_DIGITS + 1))
    text = next((text for text in texts if _as_f32(float(text)) == value), str(value))
    return torque_text(Decimal(text)) if Decimal(text).is_finite() else text


def _as_f32(value: float) -> float | None:
    try:
        return float(struct.unpack("<f", struct.pack("<f", value))[0])
    except OverflowError:
        return None


def _plain(field: BinaryField, binary: Binary, raw: bytes) -> str:
    piece = raw[field.at : field.at + field.size]
    if field.type == "text":
        text = piece.rstrip(b"\0 ").lstrip(b" ")
        if not text.isascii() or any(byte < 0x20 or byte == 0x7F for byte in text):
            what = f"the bytes {piece.hex().upper()} at {field.at} are no text"
            raise unreadable(f"{what}, and the format has `{field.name}` there")
        return text.decode("ascii")
    value = struct.unpack(number_code(field.type, binary.byte_order), piece)[0]
    return shortest_digits(value) if field.type == "f32" else str(value)


def _scaled(plain: str, field: BinaryField) -> str:
    if field.scale == 1 or field.type == "text" or not Decimal(plain).is_finite():
        return plain
    return torque_text(Decimal(plain) * field.scale)


def _words(wire: WireFormat, bits: int, notes: list[str]) -> Iterator[str]:
    for number in range(bits.bit_length()):
        if bits >> number & 1:
            if number in wire.flags:
                yield wire.flags[number]
            else:
                notes.append(f"unknown flag 0x{1 << number:02X}")
