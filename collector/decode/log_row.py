"""Decodes a row of a log of which something is known beforehand: its decimal mark, its clock, its damage. Pure."""

import json
from dataclasses import replace

from collector.decode.clock_place import place_time
from collector.decode.log_decimal import decided
from collector.decode.meaning import reading_of
from collector.decode.refuse import set_aside, shown, unreadable
from collector.decode.sent import Sent
from collector.decode.text_record import read_text
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.log_rows import DecimalRule, LogRows
from schemas.wire_format import FieldName, WireFormat

_WHOLE = ("sequence", "tool_time")
_IDENTIFIERS = ("wrench", "serial")


def read_log_row(wire: WireFormat, log: LogRows, frame: Frame) -> Reading:
    """The reading of a row; FrameError where it cannot be decoded, or its value not be decided."""
    line = frame.line or 0
    if line in log.damaged:
        _refuse_damaged(log, line, frame.raw)
    sent = _sheet_cells(wire, frame.raw) if log.is_sheet else read_text(wire, frame.raw)
    values = dict(sent.values)
    told = [] if log.decimal is None else _decide_numbers(wire, log.decimal, values)
    if log.unit is not None and not values.get("unit"):
        values["unit"] = log.unit
    reading = reading_of(wire, sent._replace(values=values))
    pulled_at, of_clock = place_time(reading.tool_time, log, line, frame.received_at)
    remark = (log.remarks[line],) if line in log.remarks else ()
    return replace(reading, pulled_at=pulled_at, notes=(*reading.notes, *told, *of_clock, *remark))


def _refuse_damaged(log: LogRows, line: int, raw: bytes) -> None:
    damage = log.damaged[line]
    where = f"damaged region, {damage.size} bytes of NUL at offset {damage.offset} of the file, as a power cut leaves it"
    if b"\0" in raw:
        raise unreadable(f"{where}: what stands before it may be cut off; look at this row in the tool")
    # A row that was begun before the damage and one that is whole look alike from here on.
    raise set_aside(f"stands behind a {where}: whether its beginning is there cannot be told; look at this row in the tool")


def _decide_numbers(wire: WireFormat, rule: DecimalRule, values: dict[FieldName, str]) -> list[str]:
    """Put plain digits in the place of torque and angle; gives a remark on an angle that is open, which costs no torque."""
    torque, angle = values.get("torque", ""), values.get("angle", "")
    if not isinstance(torque, _Number) and torque not in wire.over_range + wire.no_reading:
        values["torque"] = decided("torque", torque, rule)
    if not angle or isinstance(angle, _Number):
        return []
    try:
        values["angle"] = decided("angle", angle.removesuffix("°").rstrip(), rule)
    except FrameError as error:
        values["angle"] = ""
        return [str(error)]
    return []


def _sheet_cells(wire: WireFormat, raw: bytes) -> Sent:
    cells = json.loads(raw, parse_float=_Number, parse_int=_Number)
    values: dict[FieldName, str] = {}
    notes: list[str] = []
    for place, (name, cell) in enumerate(zip(wire.fields, cells, strict=False)):
        if name is not None:
            values[name] = _cell_text(name, cell, place, notes)
    if not isinstance(cells, list) or len(cells) > len(wire.fields):
        raise unreadable(f"{len(cells)} cells under a header of {len(wire.fields)}")
    status = values.get("status")
    return Sent(values, values.get("torque", ""), (status,) if status else (), tuple(notes))


class _Number(str):
    """The digits of a cell that holds a number."""

    __slots__ = ()


def _cell_text(name: FieldName, cell: object, place: int, notes: list[str]) -> str:
    where = f"the cell of `{name}` (column {place + 1})"
    if isinstance(cell, dict) and "formula" in cell:
        if cell["value"] is None:
            raise set_aside(f"{where} holds a formula without a stored result; open the workbook, save it, and import it again")
        notes.append(f"{where} is the result of a formula")
        cell = cell["value"]
    if isinstance(cell, dict):
        return str(cell["date"])
    if isinstance(cell, _Number) and name in _IDENTIFIERS:
        what = f"{where} holds the number {shown(cell)}, and leading zeros of a name are lost in a number"
        raise set_aside(f"{what}; write it as text in the workbook")
    if isinstance(cell, _Number):
        # Some programs write each number of a workbook with a decimal point.
        return cell.removesuffix(".0") if name in _WHOLE else cell
    return "" if cell is None else str(cell).strip()
