"""Framing, checksum, layout and words of a wire format are what its file says."""

from decimal import Decimal

from schemas.wire_checksum import Checksum, Crc
from schemas.wire_format import Binary, BinaryField, Framing, PatternPart
from schemas.wire_format_load import load_wire_format
from schemas.wire_pattern import parse_pattern
from schemas.words import Measures

FIELDS = """\
name: made
encoding: ascii
delimiter: ";"
fields: [torque, unit]
longest: 40
"""
MARKS = FIELDS + "framing: {by: marks, start: 02, stop: 03}\n"
BINARY = """\
name: made
framing: {by: length, length: 8, start: A5}
binary:
  byte_order: little
  fields:
    - {name: torque, at: 1, type: i16, scale: 0.1}
    - {name: unit, at: 3, type: u8}
"""
XOR = "checksum: {kind: xor, written: hex}\n"
CRC = "checksum: {kind: crc, width: 16, poly: 1021, init: FFFF, refin: no, refout: no, xorout: 0000, written: hex}\n"


def put(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new)


def with_fields(*names: str) -> str:
    return put(FIELDS, "torque, unit", f"torque, unit, {', '.join(names)}")


def loaded(text: str):  # the tests look at single fields of it
    return load_wire_format(text.encode(), "made.yaml")


def test_framing_is_what_the_file_says() -> None:
    assert loaded(FIELDS).framing == Framing("line")
    assert loaded(MARKS).framing == Framing("marks", b"\x02", b"\x03")
    assert loaded(BINARY).framing == Framing("length", b"\xa5", length=8)
    assert loaded(FIELDS + "framing: {by: silence, silence_s: 0.05}\n").framing == Framing("silence", silence_s=0.05)
    assert loaded(FIELDS + "framing: {by: marks, start: 0x10 02, stop: 1003}\n").framing == Framing(
        "marks", b"\x10\x02", b"\x10\x03"
    )


def test_longest_of_records_of_one_length_is_that_length() -> None:
    assert loaded(BINARY).longest == 8


def test_checksum_is_what_the_file_says() -> None:
    crc = Crc(0x1021, 0xFFFF)

    assert loaded(FIELDS + CRC).checksum == Checksum("crc", 4, 16, crc)
    assert loaded(FIELDS + put(CRC, "poly", "check: 29B1, poly")).checksum == Checksum("crc", 4, 16, crc)
    assert loaded(FIELDS + put(XOR, "hex", "decimal, behind: '*', includes: [mark]")).checksum == Checksum(
        "xor", 3, written="decimal", behind=b"*", includes_mark=True
    )
    assert loaded(MARKS + put(XOR, "hex", "hex, after_stop: yes, includes: [start]")).checksum == Checksum(
        "xor", 2, after_stop=True, includes_start=True
    )
    assert loaded(BINARY + "checksum: {kind: sum, width: 16, written: binary, byte_order: little}\n").checksum == Checksum(
        "sum", 2, 16, written="binary", byte_order="little"
    )


def test_binary_layout_is_what_the_file_says() -> None:
    wire = loaded(BINARY + "    - {name: wrench, at: 4, type: text, length: 4}\n")

    assert wire.binary == Binary(
        (
            BinaryField("torque", 1, "i16", 2, Decimal("0.1")),
            BinaryField("unit", 3, "u8", 1),
            BinaryField("wrench", 4, "text", 4),
        ),
        "little",
    )


def test_field_that_just_fits_before_the_checksum_is_right() -> None:
    assert loaded(put(BINARY, "length: 8", "length: 5") + put(XOR, "hex", "binary")).longest == 5


def test_words_and_codes_are_what_the_file_says() -> None:
    wire = loaded(
        with_fields("kind", "direction", "measures", "status", "tool_time")
        + "peak: [P]\nlive: [L]\ntightening: [C]\nloosening: [A]\nmeasures_codes: {S: set}\nunit_codes: {'1': ft-lb}\n"
        "low_battery: [lb]\ntime_counts: seconds\nothers: {HB: a sign of life}\n"
    )

    assert (wire.peak, wire.live, wire.tightening, wire.loosening) == (("P",), ("L",), ("C",), ("A",))
    assert (wire.measures_codes, wire.unit_codes) == ({"S": Measures.SET}, {"1": "lbf·ft"})
    assert (wire.low_battery, wire.time_counts, wire.others) == (("lb",), "seconds", {"HB": "a sign of life"})
    fixed = loaded(put(FIELDS, ", unit", "") + "unit: in-lb\nmeasures: click\n")
    assert (fixed.unit, fixed.measures) == ("lbf·in", Measures.CLICK)


def test_pattern_is_texts_and_fields() -> None:
    assert parse_pattern("T={torque} {:3}{unit:4}{}.") == (
        PatternPart("T=", "torque"),
        PatternPart(" ", None, 3),
        PatternPart("", "unit", 4),
        PatternPart("", None),
        PatternPart(".", has_field=False),
    )
