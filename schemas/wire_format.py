"""A wire format as data: how one record of a wrench is cut out, checked and laid out. One decoder reads them all."""

import struct
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from schemas.bluetooth import BleCharacteristics
from schemas.log_rows import LogEncoding, LogRows
from schemas.log_time import Counts
from schemas.wire_checksum import ByteOrder, Checksum
from schemas.words import Measures

Encoding = Literal["ascii", "utf-8", "latin-1"]
FieldName = Literal[
    "wrench", "serial", "sequence", "torque", "unit", "tool_time", "angle", "status", "flags", "battery", "kind", "measures",
    "direction", "simulated",
]  # fmt: skip
DecimalMark = Literal[".", ","]
NumberType = Literal["u8", "i8", "u16", "i16", "u32", "i32", "f32"]
BinaryType = Literal[NumberType, "text"]

_CODES: Mapping[str, str] = {"u8": "B", "i8": "b", "u16": "H", "i16": "h", "u32": "I", "i32": "i", "f32": "f"}
TYPE_BYTES: Mapping[str, int] = {kind: struct.calcsize(f"<{code}") for kind, code in _CODES.items()}


def number_code(kind: str, order: ByteOrder) -> str:
    """How `struct` writes a number of that type in that byte order."""
    return ("<" if order == "little" else ">") + _CODES[kind]


@dataclass(frozen=True, slots=True)
class Framing:
    """How records are cut out of the stream.

    `line`: at CR, LF or both. `marks`: from `start` to `stop`, neither of which stands inside; line ends between records are
    left out. `length`: `length` bytes,
    with `start` in front and `stop` as the last of them where these are given. `silence`: whatever comes until the line is
    silent for `silence_s`; with `length` a silence ends a record that is too short.
    """

    by: Literal["line", "marks", "length", "silence"] = "line"
    start: bytes = b""
    stop: bytes = b""
    length: int = 0
    silence_s: float | None = None


@dataclass(frozen=True, slots=True)
class PatternPart:
    """A fixed `text` and the field behind it: of `width` characters, or (0) up to the next text or the end.

    `name` is None for what is kept raw but not read, and for a text at the very end, behind which `has_field` is False.
    """

    text: str
    name: FieldName | None = None
    width: int = 0
    has_field: bool = True


@dataclass(frozen=True, slots=True)
class BinaryField:
    """A field `at` that many bytes from the record's first, start mark included; its value is the number times `scale`.

    `size` is its length in bytes; `text` is ASCII, filled up behind with NUL or spaces.
    """

    name: FieldName
    at: int
    type: BinaryType
    size: int
    scale: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class Binary:
    """The layout of a binary record: its fields, and in which order the bytes of a number come."""

    fields: tuple[BinaryField, ...]
    byte_order: ByteOrder


@dataclass(frozen=True, slots=True)
class Peaks:
    """How the peak of a pull is picked from samples, `rate_hz` of them a second, where the tool marks none.

    A pull is under way from `start_nm` on, to either side, and over once it has come down by `drop_percent` of its highest
    sample. From `enough_hz` samples a second on the highest one shows an over-pull; None where every rate does.
    """

    rate_hz: Decimal
    start_nm: Decimal
    drop_percent: Decimal
    enough_hz: Decimal | None = None


@dataclass(frozen=True, slots=True)
class WireFormat:
    """How the records of one kind of wrench or log are laid out: by `delimiter` and `fields`, by `pattern`, or `binary`.

    `begins` is a start mark that opens every line, "" where there is none. `delimiter` stands between fields; with
    `quoted` a field may stand in double quotes (RFC 4180). `fields` names them in order; None is kept raw but not
    read. `longest` is the longest record in bytes, line end not counted. `over_range` and `no_reading` are what stands
    in the torque field or the status where the tool's range was passed, or where there is no value; of a binary torque it
    is the number before its scale. `status` gives for each status word the remark to show, "" for one that means all is
    well; `flags` gives for each bit of the field `flags` the status word that it stands for. `low_battery` are words of
    the status or the battery field. A record with anything in the field `simulated` is set aside: that is how an export
    marks what no wrench sent.

    `unit` is the symbol of the unit where it is fixed, `unit_codes` what the codes of the field `unit` stand for.
    `measures` and `measures_codes` say the same of what the value is. `peak` and `live` are the words of the field
    `kind`, `tightening` and `loosening` those of `direction`, `loosening` also of the status. `time_counts` says that the
    tool's time counts from 1970-01-01 UTC. `others` gives for the beginning of a record of another kind what it is. With
    `peaks` each record is a sample, and what counts is picked from them.

    `bluetooth` is over which characteristics such a wrench speaks where it comes by Bluetooth.

    `start` is the mark that opens every record, in bytes; empty where there is none. `log` is what is known beforehand of the
    rows of one log file, None where nothing has to be.
    """

    name: str
    encoding: Encoding | LogEncoding
    delimiter: str
    fields: tuple[FieldName | None, ...]
    longest: int
    begins: str = ""
    quoted: bool = False
    decimal_mark: DecimalMark = "."
    over_range: tuple[str, ...] = ()
    no_reading: tuple[str, ...] = ()
    status: Mapping[str, str] = field(default_factory=dict)
    framing: Framing = Framing()
    checksum: Checksum | None = None
    pattern: tuple[PatternPart, ...] = ()
    binary: Binary | None = None
    unit: str | None = None
    unit_codes: Mapping[str, str] = field(default_factory=dict)
    measures: Measures | None = None
    measures_codes: Mapping[str, Measures] = field(default_factory=dict)
    flags: Mapping[int, str] = field(default_factory=dict)
    low_battery: tuple[str, ...] = ()
    peak: tuple[str, ...] = ()
    live: tuple[str, ...] = ()
    tightening: tuple[str, ...] = ()
    loosening: tuple[str, ...] = ()
    time_counts: Counts | None = None
    others: Mapping[str, str] = field(default_factory=dict)
    peaks: Peaks | None = None
    bluetooth: BleCharacteristics = field(default_factory=BleCharacteristics)
    log: LogRows | None = None

    start: bytes = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "start", self.begins.encode(self.encoding) or self.framing.start)
