"""Packing is the inverse of decoding: both are held to the same golden vectors."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from importlib.resources import files
from typing import Any

import pytest

from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format
from sim.clock import SimClock
from sim.pack import pack_record
from sim.wrench import SimWrench

_WIRE_FILES = files("schemas") / "wire"
_FORMAT = load_wire_format((_WIRE_FILES / "plain-line.yaml").read_bytes(), "plain-line.yaml")
_WHOLE: list[dict[str, Any]] = [
    vector for vector in json.loads((_WIRE_FILES / "plain-line.vectors.json").read_text("utf-8"))["vectors"] if "fields" in vector
]


@pytest.fixture
def wire() -> WireFormat:
    return _FORMAT


def wrench(wire: WireFormat, first_sequence: int = 1) -> SimWrench:
    clock = SimClock(datetime(2026, 3, 2, 7, 15, 30, 900_000, tzinfo=UTC))
    return SimWrench("W-140", wire, clock, timezone(timedelta(hours=1)), first_sequence)


def test_there_are_vectors_to_pack() -> None:
    assert len(_WHOLE) >= 8


@pytest.mark.parametrize("vector", [pytest.param(vector, id=vector["name"]) for vector in _WHOLE])
def test_fields_of_a_vector_pack_to_its_bytes(wire: WireFormat, vector: dict[str, Any]) -> None:
    names = [name for name in wire.fields if name is not None]

    line = pack_record(wire, dict(zip(names, vector["fields"], strict=True)))

    assert line == bytes.fromhex(vector["hex"]) + b"\r\n"


def test_a_field_that_is_not_read_and_one_not_given_stay_empty(wire: WireFormat) -> None:
    odd = replace(wire, begins="", fields=("wrench", None, "torque", "unit"))

    assert pack_record(odd, {"torque": "95.2", "unit": "Nm"}) == b";;95.2;Nm\r\n"


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        pytest.param({}, "W;140", id="delimiter"),
        pytest.param({}, "@W-140", id="start-mark"),
        pytest.param({}, "W-140\r", id="carriage-return"),
        pytest.param({}, "W-140\n", id="line-feed"),
        pytest.param({"quoted": True}, 'W"140', id="quote"),
        pytest.param({}, "W·140", id="not-in-the-encoding"),
        pytest.param({}, "W" * 120, id="too-long"),
    ],
)
def test_what_would_break_the_line_is_refused(wire: WireFormat, changes: dict[str, Any], text: str) -> None:
    with pytest.raises(ValueError, match=r"break the line|format allows|ordinal not in range"):
        pack_record(replace(wire, **changes), {"wrench": text})


def test_record_is_a_whole_line_with_the_local_time_of_the_tool(wire: WireFormat) -> None:
    record = wrench(wire).record(Decimal("95.20"), "N·m")

    assert record == b"@W-140;0001;95.20;N.m;2026-03-02T08:15:30+01:00;ok\r\n"


def test_records_are_counted_from_the_number_given(wire: WireFormat) -> None:
    going_on = wrench(wire, first_sequence=9999)

    sent = [going_on.record(Decimal(95), "N·m").split(b";")[1] for _ in range(2)]

    assert sent == [b"9999", b"10000"]


def test_pounds_and_feet_are_sent_in_a_spelling_of_ascii(wire: WireFormat) -> None:
    assert b";55.1;lbf.ft;" in wrench(wire).record(Decimal("55.1"), "lbf·ft")


def test_a_format_with_a_decimal_comma_gets_one(wire: WireFormat) -> None:
    assert b";95,2;" in wrench(replace(wire, decimal_mark=",")).record(Decimal("95.2"), "N·m")
