"""Takes a record apart by its wire format: what it says, what its checksum covers, and the checksum that was sent. Pure."""

from dataclasses import dataclass

from schemas.wire_format import WireFormat


@dataclass(frozen=True, slots=True)
class RecordParts:
    """`content` is what stands between the marks, `covered` the bytes under the checksum, `sent` the checksum itself.

    Without a checksum the last two are empty. `is_whole` is whether every mark stands in its place.
    """

    content: bytes
    covered: bytes
    sent: bytes
    is_whole: bool


def record_parts(wire: WireFormat, raw: bytes) -> RecordParts:
    """The parts of a record, whatever it is; one that is too short or lacks a mark is not `whole`."""
    checksum, start, stop = wire.checksum, wire.start, wire.framing.stop
    size = checksum.size if checksum else 0
    after_stop = checksum is not None and checksum.after_stop
    mark = stop if after_stop else checksum.behind if checksum else b""
    closing = b"" if after_stop else stop
    end = len(raw) - len(closing)
    sent_at = end - size
    content_end = sent_at - len(mark)
    if content_end < len(start):
        return RecordParts(b"", b"", b"", is_whole=False)
    whole = raw.startswith(start) and raw.endswith(closing) and raw[content_end:sent_at] == mark
    covered = b""
    if checksum is not None:
        first = 0 if checksum.includes_start else len(start)
        covered = raw[first : sent_at if checksum.includes_mark else content_end]
    return RecordParts(raw[len(start) : content_end], covered, raw[sent_at:end], whole)


def fits(wire: WireFormat, raw: bytes) -> bool:
    """Whether a record has its marks in place and its checksum right."""
    parts = record_parts(wire, raw)
    return parts.is_whole and (wire.checksum is None or wire.checksum.fits(parts.covered, parts.sent))
