"""Reads the header of a readings log: which column is what, as a wire format for its rows."""

from collections.abc import Mapping, Sequence

from schemas.errors import SourceError, SourceReason
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
    "simulated": "simulated",
}
"""Headers that are known, in small letters and with `_` between words; any other column is kept raw and not read."""

STATUS: Mapping[str, str] = {"": "", "ok": "", "OK": "", "lb": "battery low", "LB": "battery low"}
OVER_RANGE = ("OL",)
NO_READING = ("----",)

_BOM = "\ufeff"


def log_wire_format(header: bytes, file: str, longest: int) -> WireFormat:
    """The wire format of the rows under a header.

    Args:
        header: the header line without its end; a UTF-8 byte-order mark in front is dropped.
        file: the log's name, for messages.
        longest: the longest row, in bytes.

    Raises:
        SourceError: not UTF-8, not divided by commas, without a torque column, or with two columns for one field.
    """
    text = _text(header, file)
    names = [name.strip().removeprefix('"').removesuffix('"').strip() for name in text.split(",")]
    fields = tuple(COLUMNS.get(header_key(name)) for name in names)
    if "torque" not in fields:
        raise _no_torque(text, names, file)
    _refuse_two_for_one(names, fields, file)
    return WireFormat(
        name="readings-log",
        encoding="utf-8",
        delimiter=",",
        fields=fields,
        longest=longest,
        quoted=True,
        over_range=OVER_RANGE,
        no_reading=NO_READING,
        status=STATUS,
    )


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


def _text(header: bytes, file: str) -> str:
    if header.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in header:
        raise log_error(file, "looks like UTF-16; save it as CSV in UTF-8")
    try:
        return header.decode("utf-8").removeprefix(_BOM)
    except UnicodeDecodeError as error:
        raise log_error(file, "has a header that is not UTF-8; save it as CSV in UTF-8") from error


def _no_torque(text: str, names: Sequence[str], file: str) -> SourceError:
    for mark, word in ((";", "semicolons"), ("\t", "tabs")):
        if mark in text:
            return log_error(file, f"has {word} between its columns, and only commas are read; save it with commas")
    return log_error(file, f"has no column `torque` in its header, only {shown_names(names)}; give the torque column that name")


def _refuse_two_for_one(names: Sequence[str], fields: Sequence[FieldName | None], file: str) -> None:
    for field in filter(None, fields):
        places = [place for place, other in enumerate(fields) if other == field]
        if len(places) > 1:
            which = " and ".join(f"{place + 1} (`{names[place]}`)" for place in places)
            what = f"has the column `{names[places[0]]}` twice: columns {which} say the same; take one out or rename it"
            raise log_error(file, what)
