"""How `witnessmark listen` shows bytes, proposals and what was decoded."""

from collections.abc import Iterator, Sequence

from collector.listen.check_draft import Decoded
from collector.listen.draft import Draft
from schemas.frame import Frame

_BYTES_A_LINE = 16
_NAMED = {0x02: "<STX>", 0x03: "<ETX>", 0x09: "<TAB>", 0x0A: "<LF>", 0x0D: "<CR>"}
_LONGEST_SHOWN = 72


def burst_lines(frame: Frame, since_s: float | None) -> Iterator[str]:
    """What came in one go: when, how long after what came before, and every byte in hex and as text."""
    since = "" if since_s is None else f", {since_s:.2f} s after the last"
    yield f"{frame.received_at:%H:%M:%S.%f} UTC{since}: {len(frame.raw)} bytes"
    for at in range(0, len(frame.raw), _BYTES_A_LINE):
        row = frame.raw[at : at + _BYTES_A_LINE]
        yield f"  {row.hex(' ').upper():<{3 * _BYTES_A_LINE}} {shown_bytes(row)}"


def shown_bytes(raw: bytes) -> str:
    """Bytes as text on one line, what is no sign by its name or in hex."""
    return "".join(chr(byte) if 0x20 <= byte < 0x7F else _NAMED.get(byte, f"<{byte:02X}>") for byte in raw)


def choice_lines(drafts: Sequence[Draft]) -> Iterator[str]:
    """Several proposals, and the pulls that would tell one from the other."""
    for number, draft in enumerate(drafts, 1):
        yield f"{number}: the torque is {draft.place}"
    for telling in dict.fromkeys(draft.telling for draft in drafts):
        yield f"to tell them apart: {telling}"


def decoded_lines(decoded: Sequence[Decoded]) -> Iterator[str]:
    """A table of the bytes of each record and what they say."""
    for one in decoded:
        yield f"pull {one.pull + 1}: {_short(shown_bytes(one.raw))}"
        yield f"    -> {said(one)}"


def said(one: Decoded) -> str:
    """What one record says, or why it gives no reading."""
    reading = one.reading
    if reading is None:
        return one.refusal
    parts = [f"{reading.torque} {reading.unit}" if reading.torque else "above its range"]
    named = (("sequence", reading.sequence), ("time", reading.tool_time), ("wrench", reading.wrench), ("serial", reading.serial))
    parts += [f"{name} {value}" for name, value in named if value is not None]
    return ", ".join([*parts, *reading.notes])


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"
