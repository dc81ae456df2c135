"""What the layout of a record says that cannot be true together: fields, delimiter, pattern, places of bytes. Pure."""

from collections.abc import Iterator
from itertools import pairwise

from schemas.plan.text import Path
from schemas.wire_format import TYPE_BYTES
from schemas.wire_format_build import built_checksum, built_fields
from schemas.wire_format_file import BinaryFieldFile, BinaryFile, WireFormatFile
from schemas.wire_pattern import parse_pattern

Found = Iterator[tuple[Path, str]]


def named_fields(written: WireFormatFile) -> list[str]:
    """The fields that the record has, in order; none of a pattern that cannot be read."""
    if written.binary:
        return [field.name for field in written.binary.fields]
    if written.pattern:
        try:
            return [part.name for part in parse_pattern(written.pattern) if part.name]
        except ValueError:
            return []
    return [name for name in written.fields or () if name]


def layout_contradictions(written: WireFormatFile) -> Found:
    """Each contradiction as the path of its field and a line that says what to write instead."""
    layout = "binary" if written.binary else "pattern" if written.pattern else "fields"
    yield from _one_layout(written, layout)
    yield from _names(written, layout)
    if written.binary:
        yield from _binary(written, written.binary)
        return
    yield from _text(written)
    if written.pattern:
        yield from _pattern(written, written.pattern)
    else:
        yield from _least(written, len(written.delimiter or "") * (len(written.fields or ()) - 1))


def _one_layout(written: WireFormatFile, layout: str) -> Found:
    for name in ("pattern", "delimiter", "fields"):
        if getattr(written, name) and layout != name and not (layout == "fields" and name == "delimiter"):
            yield (name,), f"does not belong beside `{layout}`; take it out"
    if written.quoted == "yes" and layout != "fields":
        yield ("quoted",), f"does not belong beside `{layout}`; take it out"
    if layout == "binary":
        if written.decimal_mark == ",":
            yield ("decimal_mark",), "is for text; take it out"
        if written.framing.by in ("line", "marks"):
            what = "cuts a binary record in two where its data holds such a byte; use length, or silence with a length"
            yield ("framing",), f"by {written.framing.by} {what}"
        elif not written.framing.length:
            yield ("framing", "length"), "is missing; a binary record has a fixed length"


def _names(written: WireFormatFile, layout: str) -> Found:
    names = named_fields(written)
    path: Path = ("binary", "fields") if layout == "binary" else (layout,)
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            yield path, f"names `{name}` twice"
    if not names and written.pattern:
        return  # it cannot be read, which is said by itself
    for name in ("torque", "unit"):
        if name not in names and not (name == "unit" and written.unit):
            yield path, f"does not name `{name}`; a torque cannot be judged without it"
    if "flags" in names and layout != "binary":
        yield path, "names `flags`, which only a binary record has; words of text are a `status`"


def _text(written: WireFormatFile) -> Found:
    delimiter, encoding = written.delimiter or "", written.encoding or "ascii"
    if delimiter == written.decimal_mark:
        yield ("delimiter",), "is the decimal mark too; a torque would fall into two fields"
    if written.quoted == "yes" and (len(delimiter) != 1 or delimiter == '"'):
        yield ("delimiter",), "must be one character, not the double quote, where fields may be quoted"
    texts: list[tuple[Path, str]] = [(("begins",), written.begins), (("delimiter",), delimiter)]
    texts += [(("pattern",), written.pattern or "")]
    texts += [(("checksum", "behind"), written.checksum.behind if written.checksum else "")]
    texts += [(("others", text), text) for text in written.others]
    yield from _start_inside(written, encoding)
    for path, text in texts:
        if "\r" in text or "\n" in text:
            yield path, "holds a line end; lines are cut there before they are read"
        try:
            text.encode(encoding)
        except UnicodeEncodeError:
            yield path, f"cannot be written in {encoding}"


def _start_inside(written: WireFormatFile, encoding: str) -> Found:
    """A mark that opens each record can stand nowhere else in it, but for records of one length."""
    start = written.framing.start or written.begins.encode(encoding, "ignore")
    for name in ("delimiter", "pattern"):
        if start and written.framing.by != "length" and start in (getattr(written, name) or "").encode(encoding, "ignore"):
            yield (name,), "holds the start mark, which stands once in a record and in front; take it out, or name another mark"


def _pattern(written: WireFormatFile, pattern: str) -> Found:
    try:
        parts = parse_pattern(pattern)
    except ValueError as error:
        yield ("pattern",), str(error)
        return
    yield from _least(written, sum(len(part.text) + part.width for part in parts))


def _least(written: WireFormatFile, content: int) -> Found:
    least = content + len(written.begins) + len(written.framing.start) + _closing(written)
    if least > (written.longest or written.framing.length or 0):
        path: Path = ("longest",) if written.longest else ("framing", "length")
        yield path, f"is shorter than the {least} bytes that the fields and marks take at least"


def _binary(written: WireFormatFile, binary: BinaryFile) -> Found:
    end = (written.framing.length or 0) - _closing(written)
    start = len(written.framing.start)
    for number, field in enumerate(binary.fields):
        yield from _binary_field(field, ("binary", "fields", number))
    yield from _flags(written, binary)
    if not written.framing.length:
        return
    placed = sorted((field.at, field.at + field.size, number) for number, field in enumerate(built_fields(binary)))
    for at, ends, number in placed:
        if at < start:
            yield ("binary", "fields", number, "at"), f"lies in the start mark, which takes the first {start} bytes"
        if ends > end:
            where = "the record's length" if not _closing(written) else "the checksum and stop mark behind it"
            yield ("binary", "fields", number), f"ends at byte {ends}, and {where} leave it no more than {end}"
    for (_, ends, _), (at, _, number) in pairwise(placed):
        if at < ends:
            yield ("binary", "fields", number, "at"), f"overlaps with the field before it, which ends at byte {ends}"


def _flags(written: WireFormatFile, binary: BinaryFile) -> Found:
    bits = next((8 * TYPE_BYTES[field.type] for field in binary.fields if field.name == "flags" and field.type != "text"), None)
    if bits is not None:
        for bit in written.flags:
            if bit not in map(str, range(bits)):
                yield ("flags", bit), f"is no bit of the field `flags`, whose bits are 0 to {bits - 1}"


def _binary_field(field: BinaryFieldFile, path: Path) -> Found:
    if field.type == "text" and not field.length:
        yield (*path, "length"), "is missing; a text needs it"
    if field.type != "text" and field.length:
        yield (*path, "length"), f"is {TYPE_BYTES[field.type]} for {field.type}; take it out"
    if field.scale and (field.type == "text" or field.name not in ("torque", "angle", "battery")):
        yield (*path, "scale"), "belongs to the number of a torque, an angle or a battery; take it out"
    if field.name == "flags" and not field.type.startswith("u"):
        yield (*path, "type"), "of flags is u8, u16 or u32"


def _closing(written: WireFormatFile) -> int:
    """How many bytes stop mark and checksum take at the end."""
    checksum = built_checksum(written.checksum, "utf-8") if written.checksum else None
    return len(written.framing.stop) + (checksum.size + len(checksum.behind) if checksum else 0)
