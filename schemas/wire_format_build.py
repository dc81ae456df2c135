"""Makes a `WireFormat` of what a person wrote and what holds no contradiction. Pure."""

from dataclasses import replace
from decimal import Decimal

from schemas.bluetooth import BleCharacteristics
from schemas.units import find_unit
from schemas.wire_checksum import Checksum, Crc
from schemas.wire_format import TYPE_BYTES, Binary, BinaryField, Encoding, Framing, Peaks, WireFormat
from schemas.wire_format_file import BinaryFile, ChecksumFile, FramingFile, WireFormatFile
from schemas.wire_pattern import parse_pattern
from schemas.words import Measures


def built(written: WireFormatFile) -> WireFormat:
    """The wire format that a file without contradictions describes."""
    return replace(
        _layout(written),
        over_range=tuple(written.over_range),
        no_reading=tuple(written.no_reading),
        status=dict(written.status),
        unit=find_unit(written.unit)[0].symbol if written.unit else None,
        unit_codes={code: find_unit(spelling)[0].symbol for code, spelling in written.unit_codes.items()},
        measures=Measures(written.measures) if written.measures else None,
        measures_codes={code: Measures(word) for code, word in written.measures_codes.items()},
        flags={int(bit): word for bit, word in written.flags.items()},
        low_battery=tuple(written.low_battery),
        peak=tuple(written.peak),
        live=tuple(written.live),
        tightening=tuple(written.tightening),
        loosening=tuple(written.loosening),
        time_counts=written.time_counts,
        others=dict(written.others),
        peaks=_peaks(written),
        bluetooth=BleCharacteristics(**written.bluetooth.model_dump()),
    )


def _layout(written: WireFormatFile) -> WireFormat:
    encoding, binary = written.encoding or "ascii", written.binary
    return WireFormat(
        name=written.name,
        encoding=encoding,
        delimiter=written.delimiter or "",
        fields=tuple(written.fields or ()),
        longest=written.longest or written.framing.length or 0,
        begins=written.begins,
        quoted=written.quoted == "yes",
        decimal_mark=written.decimal_mark,
        framing=_framing(written.framing),
        checksum=built_checksum(written.checksum, encoding) if written.checksum else None,
        pattern=parse_pattern(written.pattern) if written.pattern else (),
        binary=Binary(built_fields(binary), binary.byte_order) if binary else None,
    )


def _framing(written: FramingFile) -> Framing:
    return Framing(written.by, written.start, written.stop, written.length or 0, written.silence_s)


def _peaks(written: WireFormatFile) -> Peaks | None:
    peaks = written.peaks
    return None if peaks is None else Peaks(peaks.rate_hz, peaks.start_nm, peaks.drop, peaks.enough_hz)


def built_checksum(written: ChecksumFile, encoding: Encoding) -> Checksum:
    """The checksum that a file describes; without parameters of its own a CRC has the plainest ones."""
    width = int(written.width)
    crc = None
    if written.kind == "crc":
        refin, refout = written.refin == "yes", written.refout == "yes"
        crc = Crc(written.poly or 0, written.init or 0, refin, refout, written.xorout or 0)
    digits = {"hex": width // 4, "decimal": len(str((1 << width) - 1)), "binary": width // 8}
    return Checksum(
        kind=written.kind,
        size=digits[written.written],
        width=width,
        crc=crc,
        written=written.written,
        byte_order=written.byte_order or "big",
        behind=written.behind.encode(encoding),
        after_stop=written.after_stop == "yes",
        includes_start="start" in written.includes,
        includes_mark="mark" in written.includes,
    )


def built_fields(written: BinaryFile) -> tuple[BinaryField, ...]:
    """The fields of a binary record, in the order of the file."""
    return tuple(
        BinaryField(field.name, field.at, field.type, TYPE_BYTES.get(field.type, field.length or 0), field.scale or Decimal(1))
        for field in written.fields
    )
