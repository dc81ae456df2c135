"""Streams that go wrong on their way: cut, joined, noisy, at the wrong speed. What is whole is read, the rest is named."""

from datetime import UTC, datetime

import pytest

from collector.acquire.framing import framer_of
from collector.decode import decode_frame
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

# Lines as #SEQ,VALUE,UNIT,FLAG*XX, XX the XOR of what stands between # and *.
LINE = load_wire_format(
    b"""
name: hash-line
encoding: ascii
begins: "#"
checksum: {kind: xor, written: hex, behind: "*"}
delimiter: ","
fields: [sequence, torque, unit, status]
longest: 64
status: {OK: ""}
""",
    "made.yaml",
)

# Records of ten bytes without mark or checksum; a silence keeps them in step.
TEN_BYTES = load_wire_format(
    b"""
name: ten-bytes
framing: {by: length, length: 10, silence_s: 0.2}
binary:
  byte_order: little
  fields:
    - {name: sequence, at: 0, type: u16}
    - {name: torque, at: 2, type: i16, scale: 0.1}
    - {name: unit, at: 4, type: u8}
    - {name: flags, at: 5, type: u8}
    - {name: tool_time, at: 6, type: u32}
unit_codes: {"1": N\xc2\xb7m}
flags: {0: low}
low_battery: [low]
over_range: ["32767"]
""",
    "made.yaml",
)


def told(wire: WireFormat, *chunks: bytes, silent_first: bool = False) -> tuple[list[Reading], list[FrameError]]:
    """What one session gives; what is begun but not ended is cut."""
    framer = framer_of(wire)
    pieces = framer.quiet() if silent_first else []
    pieces += [piece for chunk in chunks for piece in framer.feed(chunk)]
    readings, refusals = [], []
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    frames = [Frame("test", piece.raw, at, 1, piece.after_open, piece.overlong) for piece in pieces]
    frames += [Frame("test", piece.raw, at, 1, piece.after_open, piece.overlong, cut=True) for piece in framer.flush()]
    for frame in frames:
        try:
            readings.append(decode_frame(wire, frame))
        except FrameError as error:
            refusals.append(error)
    return readings, refusals


def torques(readings: list[Reading]) -> list[str | None]:
    return [reading.torque for reading in readings]


def test_record_over_several_notifications_is_one_record_and_half_a_record_is_none() -> None:
    # After a public report: text longer than a notification is cut anywhere (apache/mynewt-nimble issue 552).
    readings, refusals = told(LINE, b"#1,24.9,Nm,OK*", b"2B\r\n#2,10", b"8.0,Nm,OK", b"*1E\r\n", b"#3,25.")

    assert torques(readings) == ["24.9", "108.0"]
    assert [str(error) for error in refusals] == ["the link went in the middle of this line"]


def test_tail_of_a_line_at_connect_is_not_taken_for_a_small_torque() -> None:
    # After pyserial issue 668: the first line after opening was the tail of one.
    readings, refusals = told(LINE, b"5.2,Nm,OK*1B\r\n#8,25.2,Nm,OK*28\r\n\n#9,24.8,Nm,OK*22\r\n")

    assert torques(readings) == ["25.2", "24.8"]
    assert [str(error) for error in refusals] == ["12 bytes without the start mark `#`: not the start of a line"]


def test_line_in_the_noise_of_a_wrong_speed_is_read_and_nothing_else() -> None:
    # After pyserial issue 645: noise of a wrong speed around a good frame.
    noise = bytes.fromhex("f8807800e69e86fe") * 30
    readings, refusals = told(LINE, noise + b"#10,25.0,Nm,OK*13\r\n" + bytes.fromhex("f8007880") * 20)

    assert torques(readings) == ["25.0"]
    assert {error.fate for error in refusals} == {Fate.UNREADABLE}


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        pytest.param(b"#1,2,5.1,Nm,OK*0E\r\n", "5 fields where the format has 4", id="field-split-in-two"),
        pytest.param(b"#2,25.0,Nm,OK*2E\r\n", "the checksum is `2E` where these bytes give `20`", id="checksum-wrong"),
        pytest.param(b"#2,25.0,Nm,OK\r\n", "the mark before the checksum is not in its place", id="checksum-missing"),
    ],
)
def test_checksum_alone_does_not_make_a_record(line: bytes, reason: str) -> None:
    # After TinyGPSPlus issue 87: half sentences ran together and the sum fitted all the same.
    readings, refusals = told(LINE, line, b"#3,25.0,Nm,OK*21\r\n")

    assert torques(readings) == ["25.0"]
    assert len(refusals) == 1
    assert refusals[0].fate is Fate.UNREADABLE
    assert reason in str(refusals[0])


def test_loosening_in_a_signed_number_keeps_its_sign() -> None:
    sent = [bytes.fromhex(text) for text in ("0100fa00010000000000", "020038ff010000000000", "0300fb00010000000000")]

    readings, refusals = told(TEN_BYTES, *sent, silent_first=True)

    assert torques(readings) == ["25.0", "-20.0", "25.1"]
    assert refusals == []


def test_battery_bit_is_a_mark_beside_the_reading_and_an_unknown_bit_a_remark() -> None:
    sent = [bytes.fromhex(text) for text in ("0100fa00010000000000", "0200fb00010100000000", "0300fc00018000000000")]

    readings, _ = told(TEN_BYTES, *sent, silent_first=True)

    assert torques(readings) == ["25.0", "25.1", "25.2"]
    assert [reading.battery_low for reading in readings] == [False, True, False]
    assert [reading.notes for reading in readings] == [(), ("battery low",), ("unknown flag 0x80",)]


def test_number_declared_as_over_range_is_meant_before_its_scale() -> None:
    sent = [bytes.fromhex(text) for text in ("0100ff7f010000000000", "0200fe7f010000000000")]

    readings, _ = told(TEN_BYTES, *sent, silent_first=True)

    assert [(reading.torque, reading.over_range) for reading in readings] == [(None, True), ("3276.6", False)]


def test_records_without_mark_and_checksum_count_only_from_a_silence_on() -> None:
    readings, refusals = told(TEN_BYTES, bytes.fromhex("0100fa00010000000000"))

    assert readings == []
    assert "half a record at connect cannot be told from a whole one" in str(refusals[0])
