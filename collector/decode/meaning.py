"""Judges what the fields of a record mean: a reading, or a named reason why not. The same for text and binary records."""

import re
from decimal import Decimal
from functools import lru_cache

from collector.decode.number import is_beyond_any_tool, plain_digits, why_not_plain
from collector.decode.refuse import not_counted, set_aside, shown
from collector.decode.sent import Sent
from collector.decode.simulated_cell import why_not_real
from schemas.errors import FrameError, UnitError
from schemas.frame import Reading
from schemas.log_time import counted_time
from schemas.units import Unit, find_unit, to_nm
from schemas.wire_format import WireFormat
from schemas.words import Measures

# A whole number in a JSON of integers must stay under 2^53 (RFC 8785, 3.2.2.3 with RFC 7493).
_SEQUENCE = re.compile(r"[0-9]{1,15}")
_LOW_BATTERY = "battery low"
# A log has one spelling in its hundred thousand rows.
_find_unit = lru_cache(maxsize=256)(find_unit)


def reading_of(wire: WireFormat, sent: Sent) -> Reading:
    """The reading that a record states; FrameError `set aside` where what it means cannot be decided, or does not count."""
    get, notes = sent.values.get, list(sent.notes)
    _refuse_what_does_not_count(wire, sent)
    torque, torque_nm = None, None
    if _is_over_range(wire, sent):
        unit = _unit_beside_over_range(wire, sent, notes)
    else:
        torque = _turned(wire, sent, _torque(wire, sent))
        known = _unit(wire, sent, notes)
        unit = known.symbol
        torque_nm = _in_nm(torque, known)
    battery = get("battery") or None
    battery_low = battery in wire.low_battery or _said(sent, wire.low_battery) is not None
    _note_words(wire, sent.words, battery_low, notes)
    return Reading(
        torque=torque,
        unit=unit,
        torque_nm=torque_nm,
        over_range=torque is None,
        wrench=get("wrench") or None,
        sequence=_sequence(get("sequence"), notes),
        tool_time=_tool_time(wire, get("tool_time"), notes),
        angle_deg=_angle(wire, get("angle"), notes),
        serial=get("serial") or None,
        measures=_measures(wire, get("measures"), notes),
        battery=battery,
        battery_low=battery_low,
        notes=tuple(notes),  # last, since the fields above can add to them
    )


def _refuse_what_does_not_count(wire: WireFormat, sent: Sent) -> None:
    not_real = why_not_real(sent.values.get("simulated", ""))
    if not_real:
        raise set_aside(not_real)
    kind = sent.values.get("kind")
    if kind in wire.live or _said(sent, wire.live) is not None:
        raise not_counted("a value between peaks; only the peak counts")
    if kind is not None and kind not in wire.peak:
        raise set_aside(f"`{shown(kind)}` is neither a peak nor a value between peaks in this format")


def _said(sent: Sent, marks: tuple[str, ...]) -> str | None:
    """The first of the status words that is one of the marks, if any."""
    for word in sent.words:
        if word in marks:
            return word
    return None


def _is_over_range(wire: WireFormat, sent: Sent) -> bool:
    if sent.torque_mark in wire.over_range or _said(sent, wire.over_range) is not None:
        return True
    return is_beyond_any_tool(sent.values.get("torque", ""), wire.decimal_mark)


def _torque(wire: WireFormat, sent: Sent) -> str:
    text = sent.values.get("torque")
    if not text:
        raise set_aside("no torque was sent")
    mark = sent.torque_mark if sent.torque_mark in wire.no_reading else _said(sent, wire.no_reading)
    if mark is not None:
        raise set_aside(f"`{shown(mark)}` is this format's mark for no reading")
    digits = plain_digits(text, wire.decimal_mark)
    if digits is None:
        raise set_aside(f"torque `{shown(text)}` {why_not_plain(text, wire.decimal_mark)}")
    return digits


def _turned(wire: WireFormat, sent: Sent, torque: str) -> str:
    """The torque with a minus where the record says otherwise than by a sign that it loosens."""
    said = sent.values.get("direction")
    if said in wire.loosening or _said(sent, wire.loosening) is not None:
        return f"-{torque.lstrip('+-')}"
    if said is None:
        return torque
    if said not in wire.tightening:
        raise set_aside(f"direction `{shown(said)}` is neither tightening nor loosening in this format")
    if torque.startswith("-"):
        raise set_aside(f"torque {shown(torque)} is below 0, and the direction `{shown(said)}` is tightening")
    return torque


def _unit(wire: WireFormat, sent: Sent, notes: list[str]) -> Unit:
    spelling = wire.unit or sent.values.get("unit")
    if not spelling:
        raise set_aside("no unit was sent, and a torque without its unit cannot be judged")
    if wire.unit_codes and not wire.unit:
        if spelling not in wire.unit_codes:
            known = ", ".join(f"{code} = {symbol}" for code, symbol in wire.unit_codes.items())
            raise set_aside(f"unit code `{shown(spelling)}` is not in the wire format ({known})")
        spelling = wire.unit_codes[spelling]
    try:
        unit, remark = _find_unit(spelling)
    except UnitError as error:
        raise set_aside(str(error)) from error
    if remark:
        notes.append(remark)
    return unit


def _unit_beside_over_range(wire: WireFormat, sent: Sent, notes: list[str]) -> str | None:
    # A range that was passed counts in any unit; it must not be lost over the unit's spelling.
    try:
        return _unit(wire, sent, notes).symbol
    except FrameError as error:
        notes.append(str(error))
        return None


def _in_nm(torque: str, unit: Unit) -> Decimal:
    try:
        return to_nm(Decimal(torque), unit)
    except UnitError as error:
        raise set_aside(str(error)) from error


def _note_words(wire: WireFormat, words: tuple[str, ...], battery_low: bool, notes: list[str]) -> None:
    if battery_low:
        notes.append(_LOW_BATTERY)
    for word in words:
        remark = wire.status.get(word)
        if remark is None and not any(word in marks for marks in (wire.over_range, wire.low_battery, wire.loosening)):
            remark = f"status `{shown(word)}` is not known to the wire format"
        if remark and remark not in notes:
            notes.append(remark)


def _sequence(sent: str | None, notes: list[str]) -> int | None:
    if not sent:
        return None
    if _SEQUENCE.fullmatch(sent):
        return int(sent)
    notes.append(f"sequence `{shown(sent)}` is not a whole number of up to 15 digits")
    return None


def _tool_time(wire: WireFormat, sent: str | None, notes: list[str]) -> str | None:
    if wire.time_counts is None or not sent:
        return sent or None
    time = counted_time(sent, wire.time_counts)
    if time is None:
        notes.append(f"time `{shown(sent)}` is no count of {wire.time_counts} from 1970 on that a calendar has")
        return None
    return time.isoformat()


def _angle(wire: WireFormat, sent: str | None, notes: list[str]) -> str | None:
    if not sent:
        return None
    digits = plain_digits(sent, wire.decimal_mark)
    if digits is None:
        notes.append(f"angle `{shown(sent)}` {why_not_plain(sent, wire.decimal_mark)}")
    return digits


def _measures(wire: WireFormat, code: str | None, notes: list[str]) -> Measures | None:
    if not code:
        return wire.measures
    if code not in wire.measures_codes:
        notes.append(f"`{shown(code)}` for what the value measures is not in the wire format")
    return wire.measures_codes.get(code)
