"""Packing is the inverse of decoding: both are held to the same golden vectors."""

import binascii
import json
import struct
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from schemas.wire_checksum import Checksum
from schemas.wire_format import Binary, BinaryField, Framing, WireFormat
from schemas.wire_format_load import load_wire_format
from schemas.wire_pattern import parse_pattern
from sim.clock import SimClock
from sim.pack import pack_record
from sim.wrench import SimWrench

VECTORS = Path(__file__).parents[1] / "data" / "wire"


TEXT = b"P;W-140;0001;-20,00;1;2026-03-02T08:15:30+01:00;ok\x03"
DATA = b"W-140\0\0\0" + struct.pack("<IiBBBBI", 1, -2000, 1, 0, 80, 1, 1772435730)  # 2026-03-02T07:15:30Z, by date(1)


def shipped(name: str) -> WireFormat:
    return load_wire_format((files("schemas") / "wire" / f"{name}.yaml").read_bytes(), f"{name}.yaml")


def whole(path: Path) -> list[dict[str, Any]]:
    return [vector for vector in map(json.loads, path.read_text("utf-8").splitlines()) if "values" in vector]


@pytest.mark.parametrize(
    ("wire", "vector"),
    [
        pytest.param(shipped(path.stem), vector, id=f"{path.stem}: {vector['name']}")
        for path in sorted(VECTORS.glob("*.jsonl"))
        for vector in whole(path)
    ],
)
def test_values_of_a_vector_pack_to_its_bytes(wire: WireFormat, vector: dict[str, Any]) -> None:
    assert pack_record(wire, vector["values"]).hex() == vector["hex"]


@pytest.mark.parametrize(
    ("name", "record"),
    [
        pytest.param("fixed-width", b"W-140    0001    20.00N.m   Aok\r\n", id="direction-in-place-of-a-sign"),
        pytest.param("framed-sum", b"\x02" + TEXT + f"{sum(TEXT) & 0xFF:02X}".encode(), id="unit-by-its-code"),
        pytest.param("binary-record", b"\xa5\x5a" + DATA + struct.pack("<H", binascii.crc_hqx(DATA, 0xFFFF)), id="numbers"),
    ],
)
def test_wrench_sends_a_loosening_in_each_shipped_format(name: str, record: bytes) -> None:
    clock = SimClock(datetime(2026, 3, 2, 7, 15, 30, 900_000, tzinfo=UTC))
    wrench = SimWrench("W-140", shipped(name), clock, timezone(timedelta(hours=1)))

    assert wrench.record(Decimal("-20.00"), "N·m") == record


def test_time_can_count_in_milliseconds() -> None:
    clock = SimClock(datetime(2026, 3, 2, 7, 15, 30, 900_000, tzinfo=UTC))
    wire = WireFormat("made", "ascii", ",", ("tool_time",), 40, time_counts="milliseconds")

    assert SimWrench("W-1", wire, clock, UTC).record(Decimal(1), "N·m") == b"1772435730900\r\n"


def test_fixed_texts_of_a_pattern_are_sent_as_they_are() -> None:
    wire = WireFormat("made", "ascii", "", (), 40, pattern=parse_pattern("T={torque} {unit};{:2}."))

    assert pack_record(wire, {"torque": "25.2", "unit": "N.m"}) == b"T=25.2 N.m;  .\r\n"


def test_checksum_covers_what_the_format_says() -> None:
    # A sentence of NMEA 0183 as a ship's receiver sent it (see tests/collector/test_decode_published.py).
    wire = WireFormat("made", "ascii", ",", ("status", "angle", "kind"), 40, "$", checksum=Checksum("xor", 2, behind=b"*"))

    assert pack_record(wire, {"status": "GPHDT", "angle": "74.20", "kind": "T"}) == b"$GPHDT,74.20,T*34\r\n"


BYTES = WireFormat("made", "ascii", "", (), 6, framing=Framing("length", b"A", b"Z", 6))


def with_field(*field: Any) -> WireFormat:
    return replace(BYTES, binary=Binary((BinaryField("torque", 1, *field),), "big"))


def test_stop_mark_stands_last_and_a_value_not_given_is_0() -> None:
    assert pack_record(with_field("u16", 2), {}) == b"A\0\0\0\0Z"
    assert pack_record(with_field("f32", 4), {"torque": "1.5"}) == b"A\x3f\xc0\0\0Z"
    assert pack_record(with_field("text", 4), {"torque": "25"}) == b"A25\0\0Z"


@pytest.mark.parametrize(
    ("wire", "text", "reason"),
    [
        pytest.param(with_field("u8", 1), "256", "does not fit into u8", id="too-much"),
        pytest.param(with_field("i8", 1, Decimal("0.1")), "1.25", "no whole number of steps of 0.1", id="between-two-steps"),
        pytest.param(with_field("text", 4), "25.00", "does not fit into 4 bytes", id="text-too-long"),
        pytest.param(shipped("fixed-width"), "1234567.89", "does not fit into 9 characters", id="column-too-narrow"),
        pytest.param(shipped("framed-sum"), "25\x03", "would break the line", id="stop-mark-inside"),
    ],
)
def test_value_that_does_not_fit_is_refused(wire: WireFormat, text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        pack_record(wire, {"torque": text})
