"""Reads the header of a readings log: which column is what, as a wire format for its rows."""

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collector.acquire.csv_line import csv_cells
from schemas.errors import SourceError, SourceReason
from schemas.log_layout import Delimiter, LogLayout
from schemas.wire_format import FieldName, WireFormat

COLUMNS: Mapping[str, FieldName] = {
    "time": "tool_time",
    "device_time": "tool_time",
    "tool_time": "tool_time",
    "timestamp": "tool_time",
    "datetime": "tool_time",
    "date_time": "tool_time",
    "wrench": "wrench",
    "wrench_id": "wrench",
    "tool": "wrench",
    "tool_id": "wrench",
    "tool_serial": "wrench",
    "serial": "wrench",
    "torque": "torque",
    "torque_value": "torque",
    "value": "torque",
    "peak": "torque",
    "peak_torque": "torque",
    "unit": "unit",
    "units": "unit",
    "torque_unit": "unit",
    "angle": "angle",
    "angle_deg": "angle",
    "seq": "sequence",
    "seq_no": "sequence",
    "sequence": "sequence",
    "sequence_number": "sequence",
    "flag": "status",
    "flags": "status",
    "status": "status",
    "epoch": "tool_time",
    "unixtime": "tool_time",
    "unix_time": "tool_time",
    "simulated": "simulated",
}
"""Headers that are known, in small letters and with `_` between words; any other column is kept raw and not read."""

STATUS: Mapping[str, str] = {"": "", "ok": "", "OK": "", "lb": "battery low", "LB": "battery low"}
LOW_BATTERY = ("lb", "LB")
OVER_RANGE = ("OL",)
NO_READING = ("----",)

DELIMITERS: Mapping[Delimiter, str] = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright bars"}

_BOM = "\ufeff"
_UNDECLARED = LogLayout()


@dataclass(frozen=True, slots=True)
class Header:
    """The names of a log's columns, the field of each, and what divides them."""

    names: tuple[str, ...]
    fields: tuple[FieldName | None, ...]
    delimiter: Delimiter = ","


def read_headers(text: str, file: str, layout: LogLayout = _UNDECLARED) -> list[Header]:
    """Every way to divide a header line that gives a torque column, mostly one.

    Args:
        text: the header line without its end; a byte-order mark in front is dropped.
        file: the log's name, for messages.
        layout: what was declared; its delimiter is the only one tried, its columns go before those that are known.

    Raises:
        SourceError: no way gives a torque column, or the only one gives two columns for one field.
    """
    tried: list[Delimiter] = [layout.delimiter] if layout.delimiter else list(DELIMITERS)
    ways = [_divided(text.removeprefix(_BOM), mark, layout) for mark in tried]
    found = [way for way in ways if "torque" in way.fields]
    if not found:
        raise no_torque(max(ways, key=lambda way: len(way.names)).names, file)
    sound = [way for way in found if two_for_one(way) is None]
    if not sound:
        raise log_error(file, two_for_one(found[0]) or "")
    # A header of one column is the same by every mark.
    return [way for way in sound if len(way.names) > 1] or sound[:1]


def header_of(names: Sequence[str], layout: LogLayout = _UNDECLARED) -> Header:
    """A header whose columns are divided already."""
    return Header(tuple(names), tuple(field_of(name, layout) for name in names))


def field_of(name: str, layout: LogLayout) -> FieldName | None:
    """The field of a column, None for one that is not read."""
    return layout.columns[name] if name in layout.columns else COLUMNS.get(header_key(name))


def header_wire(header: Header, longest: int, layout: LogLayout = _UNDECLARED) -> WireFormat:
    """The wire format of the rows under a header, in UTF-8 and with decimal points; `longest` in signs."""
    return WireFormat(
        name="readings-log",
        encoding="utf-8",
        delimiter=header.delimiter,
        fields=header.fields,
        longest=longest,
        quoted=True,
        over_range=OVER_RANGE if layout.over_range is None else layout.over_range,
        no_reading=NO_READING if layout.no_reading is None else layout.no_reading,
        status=STATUS if layout.status is None else layout.status,
        low_battery=LOW_BATTERY if layout.low_battery is None else layout.low_battery,
        unit=None if "unit" in header.fields else layout.unit,
    )


def unit_of_rows(header: Header, layout: LogLayout) -> str | None:
    """The declared unit of rows that leave their unit empty; without such a column it is the wire format's own."""
    return layout.unit if "unit" in header.fields else None


def log_wire_format(header: bytes, file: str, longest: int) -> WireFormat:
    """The wire format of the rows under a header in UTF-8 that is divided in one way; SourceError as from `read_headers`."""
    return header_wire(read_headers(header.decode(), file)[0], longest)


def header_key(name: str) -> str:
    """A header in small letters and with `_` between its words, as the tables of known headers have it."""
    return "_".join(name.lower().replace("-", " ").replace("_", " ").split())


def shown_names(names: Sequence[str]) -> str:
    """The headers of a file for a message, on one line."""
    # repr escapes what would break the line or turn its direction.
    return repr(", ".join(f"`{name}`" for name in names)[:200])[1:-1]


def log_error(file: str, what: str) -> SourceError:
    """The SourceError for a log that cannot be read."""
    return SourceError(f"log `{file}` {what}", SourceReason.NOT_READABLE)


def no_torque(names: Sequence[str], file: str) -> SourceError:
    """The SourceError for a log in which no column is known to hold the torque."""
    what = f"has no column `torque` in its header, only {shown_names(names)}; give the torque column that name"
    return log_error(file, f"{what}, or name it in a layout file (--layout)")


def two_for_one(header: Header) -> str | None:
    """What is wrong with a header that has two columns for one field; None where each has one."""
    for field in filter(None, header.fields):
        places = [place for place, other in enumerate(header.fields) if other == field]
        if len(places) > 1:
            which = " and ".join(f"{place + 1} (`{header.names[place]}`)" for place in places)
            name = header.names[places[0]]
            return f"has the column `{name}` twice: columns {which} say the same; take one out or rename it"
    return None


def _divided(text: str, mark: Delimiter, layout: LogLayout) -> Header:
    try:
        cells = csv_cells(text, mark)
    except csv.Error:
        cells = text.split(mark)
    names = tuple(cell.strip().removeprefix('"').removesuffix('"').strip() for cell in cells)
    return Header(names, tuple(field_of(name, layout) for name in names), mark)
