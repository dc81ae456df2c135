"""Decodes one frame by its wire format."""

from collector.decode.binary_record import read_binary
from collector.decode.log_row import read_log_row
from collector.decode.meaning import reading_of
from collector.decode.refuse import not_counted, unreadable
from collector.decode.text_record import read_text
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat
from schemas.wire_record import record_parts


def decode_frame(wire: WireFormat, frame: Frame) -> Reading:
    """Read one record; spaces and tabs around a field of text do not count.

    Args:
        wire: how the record is laid out.
        frame: the record as its framer cut it.

    Returns:
        Reading; `torque` is what was sent, with a trailing minus put in front and a decimal comma made a point. Of a binary
        number it is the exact product with its scale.

    Raises:
        FrameError: `unreadable` where the record is not whole, not laid out so, or its checksum is wrong; `set aside` where
            it is, but what torque it means cannot be decided, it is a value between peaks or another kind of record, or
            it is marked as simulated.
    """
    _refuse_part(wire, frame)
    if wire.log is not None:
        return read_log_row(wire, wire.log, frame)
    content = _content(wire, frame.raw)
    if wire.others:
        _refuse_other(wire, content)
    return reading_of(wire, read_text(wire, content) if wire.binary is None else read_binary(wire, wire.binary, frame.raw))


def _refuse_part(wire: WireFormat, frame: Frame) -> None:
    what = "line" if wire.framing.by == "line" else "record"
    if frame.overlong:
        raise unreadable(f"part of a {what} that is longer than the format allows")
    if frame.cut:
        raise unreadable(f"the link went in the middle of this {what}")
    if wire.start:
        _refuse_start(wire, frame.raw, what)
    elif frame.after_open and frame.line is None and wire.checksum is None and not _has_fixed_width(wire):
        raise unreadable(f"half a {what} at connect cannot be told from a whole one, and the format has no start mark")


def _has_fixed_width(wire: WireFormat) -> bool:
    """Whether the tail of a record is too short to be taken for a whole one, as each field has its width."""
    return bool(wire.pattern) and all(part.width or not part.has_field for part in wire.pattern)


def _refuse_start(wire: WireFormat, raw: bytes, what: str) -> None:
    mark = wire.begins or f"0x{wire.start.hex().upper()}"
    before, *records = raw.split(wire.start)
    if not records:
        raise unreadable(f"{len(before)} bytes without the start mark `{mark}`: not the start of a {what}")
    if before:
        raise unreadable(f"{len(before)} bytes before the start mark `{mark}`")
    # Data of a fixed length may hold any byte; elsewhere the mark stands once.
    if len(records) > 1 and wire.framing.by != "length":
        raise unreadable(f"a second start mark `{mark}` in the {what}: two {what}s ran together")


def _content(wire: WireFormat, raw: bytes) -> bytes:
    """What stands between the marks of a record that is whole."""
    length = wire.framing.length
    if length and len(raw) != length:
        raise unreadable(f"{len(raw)} bytes where the format has {length}")
    # The rows of a log, which come by the hundred thousand, end here.
    if wire.checksum is None and not wire.framing.stop:
        return raw[len(wire.start) :]
    parts = record_parts(wire, raw)
    if not parts.is_whole:
        raise unreadable("a stop mark or the mark before the checksum is not in its place: the record is not whole")
    checksum = wire.checksum
    if checksum is not None and not checksum.fits(parts.covered, parts.sent):
        right = checksum.pack(parts.covered)
        said, due = (_shown_sum(part, checksum.written == "binary") for part in (parts.sent, right))
        raise unreadable(f"the checksum is {said} where these bytes give {due}")
    return parts.content


def _shown_sum(written: bytes, binary: bool) -> str:
    return f"0x{written.hex().upper()}" if binary else f"`{ascii(written.decode('latin-1'))[1:-1]}`"


def _refuse_other(wire: WireFormat, content: bytes) -> None:
    for beginning, what in wire.others.items():
        if content.startswith(beginning.encode(wire.encoding)):
            raise not_counted(f"a record of another kind: {what}")
