"""The shipped formats, held to golden vectors: the bytes on the wire and what they say. The simulator packs to the same."""

import json
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import schemas.wire
from collector.acquire.framing import framer_of
from collector.decode import decode_frame
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format
from schemas.words import Measures

FORMATS = Path(schemas.wire.__file__).parent
VECTORS = Path(__file__).parents[1] / "data" / "wire"
SHIPPED = {path.stem: load_wire_format(path.read_bytes(), path.name) for path in FORMATS.glob("*.yaml")}
# Made by hand from the formats' descriptions; checksums by plain sums, the CRC by binascii.crc_hqx.
ALL = [
    pytest.param(SHIPPED[path.stem], json.loads(line), id=f"{path.stem}: {json.loads(line)['name']}")
    for path in sorted(VECTORS.glob("*.jsonl"))
    for line in path.read_text("utf-8").splitlines()
]


def frame_of(wire: WireFormat, raw: bytes) -> Frame:
    framer = framer_of(wire)
    pieces = framer.feed(raw) + framer.flush()
    assert len(pieces) == 1
    (piece,) = pieces
    return Frame("test", piece.raw, datetime(2026, 3, 2, 9, tzinfo=UTC), 1, piece.after_open, piece.overlong)


def expected(says: dict[str, Any]) -> Reading:
    torque_nm = says["torque_nm"] and Decimal(says["torque_nm"])
    measures = Measures(says["measures"]) if "measures" in says else None
    return Reading(**{**says, "torque_nm": torque_nm, "measures": measures, "notes": tuple(says.get("notes", ()))})


def test_every_shipped_format_has_vectors() -> None:
    assert {path.stem for path in VECTORS.glob("*.jsonl")} | {"plain-line"} == set(SHIPPED)


@pytest.mark.parametrize(("wire", "vector"), ALL)
def test_golden_record_is_read_or_refused_with_its_reason(wire: WireFormat, vector: dict[str, Any]) -> None:
    frame = frame_of(wire, bytes.fromhex(vector["hex"]))

    if "reading" in vector:
        assert decode_frame(wire, frame) == expected(vector["reading"])
        return
    with pytest.raises(FrameError, match=r".") as caught:
        decode_frame(wire, frame)
    assert caught.value.fate == vector["fate"]
    assert vector["reason"] in str(caught.value)


def test_example_in_the_description_of_a_framed_record_is_right() -> None:
    text = (FORMATS / "framed-sum.yaml").read_text("utf-8")
    example = next(line for line in text.splitlines() if "<STX>" in line)[1:].strip()
    raw = example.replace("<STX>", "\x02").replace("<ETX>", "\x03").encode()

    assert decode_frame(SHIPPED["framed-sum"], frame_of(SHIPPED["framed-sum"], raw)).torque == "95.2"


def test_example_in_the_description_of_a_line_in_columns_is_right() -> None:
    text = (FORMATS / "fixed-width.yaml").read_text("utf-8")
    example = text.splitlines()[1].removeprefix("#   ") + "\r\n"

    reading = decode_frame(SHIPPED["fixed-width"], frame_of(SHIPPED["fixed-width"], example.encode()))

    assert (reading.torque, reading.notes) == ("95.2", ())
