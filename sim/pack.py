"""Packs a record by its wire format: the inverse of what the collector decodes."""

import struct
from collections.abc import Mapping
from decimal import Decimal

from schemas.wire_format import Binary, BinaryField, FieldName, PatternPart, WireFormat, number_code

LINE_END = b"\r\n"

_TO_THE_RIGHT = ("torque", "sequence", "angle", "battery")


def pack_record(wire: WireFormat, values: Mapping[FieldName, str]) -> bytes:
    """One whole record as it goes over the wire: marks, checksum and line end included.

    `values` are the texts or numbers of the fields as the format writes them; what it does not name stays empty, or 0.

    Raises:
        ValueError: a value would break the record: it holds a mark of the format, does not fit into its place or cannot be
            written in the encoding.
    """
    start, stop, checksum = wire.start, wire.framing.stop, wire.checksum
    content = pack_text(wire, values) if wire.binary is None else _pack_binary(wire, wire.binary, values)
    closing = stop
    if checksum is not None:
        mark = stop if checksum.after_stop else checksum.behind
        covered = start * checksum.includes_start + content + mark * checksum.includes_mark
        closing = mark + checksum.pack(covered) + (b"" if checksum.after_stop else stop)
    record = start + content + closing
    if len(record) > wire.longest:
        raise ValueError(f"the record has {len(record)} bytes and the format allows {wire.longest}; send less")
    return record + LINE_END * (wire.framing.by == "line")


def pack_text(wire: WireFormat, values: Mapping[FieldName, str]) -> bytes:
    """What stands between the marks of a record of text; ValueError as from `pack_record`."""
    marks = ("\r", "\n", wire.begins, wire.framing.start.decode("latin-1"), wire.framing.stop.decode("latin-1"))
    for text in values.values():
        for sign in (*marks, wire.delimiter, '"' if wire.quoted else ""):
            if sign and sign in text:
                raise ValueError(f"`{text!r}` holds {sign!r}, which would break the line; send it without")
    if wire.pattern:
        text = "".join(_pack_part(part, values) for part in wire.pattern)
    else:
        text = wire.delimiter.join(values.get(name, "") if name is not None else "" for name in wire.fields)
    return text.encode(wire.encoding)


def _pack_part(part: PatternPart, values: Mapping[FieldName, str]) -> str:
    text = values.get(part.name, "") if part.name is not None else ""
    if not part.width:
        return part.text + text
    if len(text) > part.width:
        raise ValueError(f"`{text!r}` does not fit into {part.width} characters; send less")
    return part.text + (text.rjust(part.width) if part.name in _TO_THE_RIGHT else text.ljust(part.width))


def _pack_binary(wire: WireFormat, binary: Binary, values: Mapping[FieldName, str]) -> bytes:
    size = wire.checksum.size if wire.checksum else 0
    content = bytearray(wire.framing.length - size - len(wire.framing.stop))
    for field in binary.fields:
        content[field.at : field.at + field.size] = _pack_number(field, binary, values.get(field.name, ""))
    return bytes(content[len(wire.start) :])


def _pack_number(field: BinaryField, binary: Binary, text: str) -> bytes:
    if field.type == "text":
        if len(text) > field.size:
            raise ValueError(f"`{text!r}` does not fit into {field.size} bytes; send less")
        return text.encode("ascii").ljust(field.size, b"\0")
    value = Decimal(text or 0) / field.scale
    code = number_code(field.type, binary.byte_order)
    if field.type == "f32":
        return struct.pack(code, float(value))
    if value != int(value):
        raise ValueError(f"`{text}` is no whole number of steps of {field.scale}; send one")
    try:
        return struct.pack(code, int(value))
    except struct.error as error:
        raise ValueError(f"`{text}` does not fit into {field.type}; send less") from error
