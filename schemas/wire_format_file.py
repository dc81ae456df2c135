"""A wire format as a person writes it: the strict models behind the YAML file."""

import re
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from schemas.bluetooth import SERIAL_NOTIFY, SERIAL_SERVICE, SERIAL_WRITE, full_uuid
from schemas.log_time import Counts
from schemas.plan.text import Plain
from schemas.wire_checksum import ByteOrder, Written
from schemas.wire_format import BinaryType, DecimalMark, Encoding, FieldName

LONGEST_BYTES = 65536

_HEX = re.compile(r"(?:0x)?((?:[0-9A-Fa-f]{2})+)")
_ABOVE_ZERO = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,9})?")
_PERCENT = re.compile(r"([0-9]{1,2})\s*%")


def _null_is_none(written: object) -> object:
    return None if isinstance(written, Plain) and written in ("null", "~") else written


def _hex_bytes(written: object) -> object:
    if not isinstance(written, str):
        return written
    found = _HEX.fullmatch(written.replace(" ", ""))
    if found is None:
        raise ValueError("wants bytes as pairs of hex digits, such as 02 or A5 5A")
    return bytes.fromhex(found[1])


def _hex_number(written: object) -> object:
    found = _hex_bytes(written)
    return int.from_bytes(found) if isinstance(found, bytes) else found


def _above_zero(written: object) -> object:
    if not isinstance(written, str):
        raise ValueError("wants one number such as 0.1, not a list or fields")
    if not _ABOVE_ZERO.fullmatch(written) or not Decimal(written):
        raise ValueError("wants plain digits above 0, such as 0.1")
    return Decimal(written)


def _uuid(written: object) -> object:
    if not isinstance(written, str):
        return written
    if (uuid := full_uuid(written)) is None:
        raise ValueError(f"wants a UUID of 4, 8 or 32 hex digits, such as {SERIAL_SERVICE}")
    return uuid


def _percent(written: object) -> object:
    if not isinstance(written, str):
        raise ValueError("wants one share such as 20 %, not a list or fields")
    found = _PERCENT.fullmatch(written)
    if found is None or not int(found[1]):
        raise ValueError("wants a whole share from 1 % to 99 %, such as 20 %")
    return Decimal(found[1])


Text = Annotated[str, Field(min_length=1)]
FieldWord = Annotated[FieldName | None, BeforeValidator(_null_is_none)]
Hex = Annotated[bytes, BeforeValidator(_hex_bytes)]
HexNumber = Annotated[int, BeforeValidator(_hex_number)]
AboveZero = Annotated[Decimal, BeforeValidator(_above_zero)]
Uuid = Annotated[str, BeforeValidator(_uuid)]
Percent = Annotated[Decimal, BeforeValidator(_percent)]
# The tree has only texts, so that numbers are made here.
Size = Annotated[int, Field(ge=1, le=LONGEST_BYTES, strict=False)]
Offset = Annotated[int, Field(ge=0, lt=LONGEST_BYTES, strict=False)]
Seconds = Annotated[float, Field(gt=0, le=10, allow_inf_nan=False, strict=False)]
YesNo = Literal["yes", "no"]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class FramingFile(_Strict):
    """How records are cut out of the stream; `by` says which of the others belong to it."""

    by: Literal["line", "marks", "length", "silence"]
    start: Hex = b""
    stop: Hex = b""
    length: Size | None = None
    silence_s: Seconds | None = None


class ChecksumFile(_Strict):
    """A checksum and where it stands; `check` is what it gives over the nine characters 123456789."""

    kind: Literal["sum", "xor", "crc"]
    width: Literal["8", "16"] = "8"
    poly: HexNumber | None = None
    init: HexNumber | None = None
    refin: YesNo | None = None
    refout: YesNo | None = None
    xorout: HexNumber | None = None
    check: HexNumber | None = None
    written: Written
    byte_order: ByteOrder | None = None
    behind: str = ""
    after_stop: YesNo = "no"
    includes: list[Literal["start", "mark"]] = []


class BinaryFieldFile(_Strict):
    """One field of a binary record; `length` is for text."""

    name: FieldName
    at: Offset
    type: BinaryType
    scale: AboveZero | None = None
    length: Size | None = None


class BinaryFile(_Strict):
    """The layout of a binary record."""

    byte_order: ByteOrder
    fields: list[BinaryFieldFile]


class PeaksFile(_Strict):
    """How peaks are picked from samples; `drop` of the highest sample is how far a pull comes down before it is over."""

    rate_hz: AboveZero
    start_nm: AboveZero
    drop: Percent
    enough_hz: AboveZero | None = None


class BluetoothFile(_Strict):
    """Over which characteristics a wrench speaks; `ask` is written after each connection, so that it sends its memory."""

    service: Uuid = SERIAL_SERVICE
    notify: Uuid = SERIAL_NOTIFY
    write: Uuid = SERIAL_WRITE
    ask: Hex = b""


class WireFormatFile(_Strict):
    """A whole wire format; apart from the layout the fields are those of `WireFormat`."""

    name: Text
    framing: FramingFile = FramingFile(by="line")
    longest: Size | None = None
    begins: str = ""
    checksum: ChecksumFile | None = None
    encoding: Encoding | None = None
    delimiter: Text | None = None
    quoted: YesNo = "no"
    fields: list[FieldWord] | None = None
    pattern: Text | None = None
    binary: BinaryFile | None = None
    decimal_mark: DecimalMark = "."
    unit: Text | None = None
    unit_codes: dict[Text, Text] = {}
    measures: Literal["highest", "first", "click", "set"] | None = None
    measures_codes: dict[Text, Literal["highest", "first", "click", "set"]] = {}
    over_range: list[Text] = []
    no_reading: list[Text] = []
    status: dict[str, str] = {}
    flags: dict[str, Text] = {}
    low_battery: list[Text] = []
    peak: list[Text] = []
    live: list[Text] = []
    tightening: list[Text] = []
    loosening: list[Text] = []
    time_counts: Counts | None = None
    others: dict[Text, Text] = {}
    peaks: PeaksFile | None = None
    bluetooth: BluetoothFile = BluetoothFile()


PARTS: dict[str, type[BaseModel]] = {
    "framing": FramingFile, "checksum": ChecksumFile, "binary": BinaryFile, "peaks": PeaksFile,
    "bluetooth": BluetoothFile,
}  # fmt: skip
"""The model behind each field that has fields of its own."""
