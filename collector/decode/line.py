"""Decodes one line of text by its wire format."""

import re
from collections.abc import Mapping
from decimal import Decimal

from collector.decode.number import is_beyond_any_tool, plain_digits, why_not_plain
from collector.decode.simulated_cell import why_not_real
from schemas.errors import Fate, FrameError, UnitError
from schemas.frame import Frame, Reading
from schemas.units import Unit, find_unit, to_nm
from schemas.wire_format import WireFormat

# C0 and C1 without the tab, and DEL. Text has none of them; a wrong speed or a power cut makes them.
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f-\x9f]")
# A whole number in a JSON of integers must stay under 2^53 (RFC 8785, 3.2.2.3 with RFC 7493).
_SEQUENCE = re.compile(r"[0-9]{1,15}")
_SHOWN = 40  # characters of what was sent, in a message


def decode_line(wire: WireFormat, frame: Frame) -> Reading:
    """Read one line; spaces and tabs around a field do not count.

    Args:
        wire: how the line is laid out.
        frame: the line, without its end.

    Returns:
        Reading; `torque` is what was sent, with a trailing minus put in front and a decimal comma made a point.

    Raises:
        FrameError: `unreadable` where the line is not whole or not laid out so; `set aside` where it is, but what
            torque it means cannot be decided, or it is marked as simulated.
    """
    _refuse_part(wire, frame)
    text = _text(wire, frame).removeprefix(wire.begins)
    return _reading(wire, _fields(wire, text))


def _refuse_part(wire: WireFormat, frame: Frame) -> None:
    if frame.overlong:
        raise _unreadable("part of a line that is longer than the format allows")
    if frame.cut:
        raise _unreadable("the link went in the middle of this line")
    if wire.begins:
        _refuse_start(wire.begins, frame.raw.split(wire.begins.encode(wire.encoding)))
    elif frame.after_open and frame.line is None:
        raise _unreadable("half a line at connect cannot be told from a whole one, and the format has no start mark")


def _refuse_start(mark: str, parts: list[bytes]) -> None:
    before, *lines = parts
    if not lines:
        raise _unreadable(f"{len(before)} bytes without the start mark `{mark}`: not the start of a line")
    if before:
        raise _unreadable(f"{len(before)} bytes before the start mark `{mark}`")
    if len(lines) > 1:
        raise _unreadable(f"a second start mark `{mark}` in the line: two lines ran together")


def _text(wire: WireFormat, frame: Frame) -> str:
    try:
        text = frame.raw.decode(wire.encoding)
    except UnicodeDecodeError as error:
        raise _unreadable(f"byte 0x{frame.raw[error.start]:02X} at {error.start} is not {wire.encoding}") from error
    control = _CONTROL.search(text)
    if control:
        where = f"control character 0x{ord(control[0]):02X} at {control.start()}"
        raise _unreadable(f"{where}; look whether the speed is right and the cable whole")
    return text


def _fields(wire: WireFormat, text: str) -> dict[str, str]:
    parts = _split_quoted(text, wire.delimiter) if wire.quoted and '"' in text else text.split(wire.delimiter)
    if len(parts) != len(wire.fields):
        raise _unreadable(f"{len(parts)} fields where the format has {len(wire.fields)}")
    return {name: part.strip(" \t") for name, part in zip(wire.fields, parts, strict=True) if name is not None}


def _split_quoted(text: str, delimiter: str) -> list[str]:
    """The fields of one RFC 4180 line; stricter than the csv module, which reads a stray quote as it comes."""
    one = re.compile(rf'(?:"((?:[^"]|"")*)"|([^"{re.escape(delimiter)}]*))(?:{re.escape(delimiter)}|\Z)')
    parts: list[str] = []
    at = 0
    ended = False
    while not ended:
        match = one.match(text, at)
        if match is None:
            raise _unreadable(f"a double quote is not closed, or stands inside a field, at or after {at}")
        parts.append(match[2] if match[1] is None else match[1].replace('""', '"'))
        at = match.end()
        ended = at == len(text) and not match[0].endswith(delimiter)
    return parts


def _reading(wire: WireFormat, values: Mapping[str, str]) -> Reading:
    not_real = why_not_real(values.get("simulated", ""))
    if not_real:
        raise _set_aside(not_real)
    sent = values.get("torque", "")
    notes: list[str] = []
    torque: str | None = None
    torque_nm: Decimal | None = None
    if sent in wire.over_range or is_beyond_any_tool(sent, wire.decimal_mark):
        unit = _unit_beside_over_range(values.get("unit", ""), notes)
    else:
        torque = _torque(wire, sent)
        known = _unit(values.get("unit", ""), notes)
        unit = known.symbol
        torque_nm = _in_nm(torque, known)
    _note_status(wire, values.get("status", ""), notes)
    return Reading(
        torque=torque,
        unit=unit,
        torque_nm=torque_nm,
        over_range=torque is None,
        wrench=values.get("wrench") or None,
        sequence=_sequence(values.get("sequence", ""), notes),
        tool_time=values.get("tool_time") or None,
        angle_deg=_angle(wire, values.get("angle", ""), notes),
        notes=tuple(notes),
    )


def _torque(wire: WireFormat, sent: str) -> str:
    if not sent:
        raise _set_aside("no torque was sent")
    if sent in wire.no_reading:
        raise _set_aside(f"`{_shown(sent)}` is this format's mark for no reading")
    digits = plain_digits(sent, wire.decimal_mark)
    if digits is None:
        raise _set_aside(f"torque `{_shown(sent)}` {why_not_plain(sent, wire.decimal_mark)}")
    return digits


def _unit(spelling: str, notes: list[str]) -> Unit:
    if not spelling:
        raise _set_aside("no unit was sent, and a torque without its unit cannot be judged")
    try:
        unit, remark = find_unit(spelling)
    except UnitError as error:
        raise _set_aside(str(error)) from error
    if remark:
        notes.append(remark)
    return unit


def _unit_beside_over_range(spelling: str, notes: list[str]) -> str | None:
    # A range that was passed counts in any unit; it must not be lost over the unit's spelling.
    try:
        return _unit(spelling, notes).symbol
    except FrameError as error:
        notes.append(str(error))
        return None


def _in_nm(torque: str, unit: Unit) -> Decimal:
    try:
        return to_nm(Decimal(torque), unit)
    except UnitError as error:
        raise _set_aside(str(error)) from error


def _note_status(wire: WireFormat, word: str, notes: list[str]) -> None:
    remark = wire.status.get(word, f"status `{_shown(word)}` is not known to the wire format" if word else "")
    if remark:
        notes.append(remark)


def _sequence(sent: str, notes: list[str]) -> int | None:
    if _SEQUENCE.fullmatch(sent):
        return int(sent)
    if sent:
        notes.append(f"sequence `{_shown(sent)}` is not a whole number of up to 15 digits")
    return None


def _angle(wire: WireFormat, sent: str, notes: list[str]) -> str | None:
    digits = plain_digits(sent, wire.decimal_mark)
    if sent and digits is None:
        notes.append(f"angle `{_shown(sent)}` {why_not_plain(sent, wire.decimal_mark)}")
    return digits


def _shown(text: str) -> str:
    # repr escapes what would break the line or turn its direction.
    return repr(text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…")[1:-1]


def _unreadable(reason: str) -> FrameError:
    return FrameError(reason, Fate.UNREADABLE)


def _set_aside(reason: str) -> FrameError:
    return FrameError(reason, Fate.SET_ASIDE)
