"""Published records of instruments that are no wrenches, read by a description alone; the numbers stand for themselves.

The unit is declared as N·m throughout, because a torque is all that a wire format can give.
"""

from datetime import UTC, datetime

import pytest

from collector.acquire.framing import framer_of
from collector.decode import decode_frame
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

# NMEA 0183, the sentence GGA, of which the altitude is read. The example with checksum 47 stands in many descriptions, such as
# mpt-internal.uni-hohenheim.de, "nmea_strings"; one public description has another number in it under the same checksum.
# What a ship's receiver sent: downloads.psl.noaa.gov/psd3/cruises/ATOMIC_2020/RHB/flux/Raw_Share/20014/gps02001420_raw.txt.
NMEA = b"""
name: nmea-gga
encoding: ascii
begins: "$"
checksum: {kind: xor, written: hex, behind: "*"}
longest: 100
pattern: "GPGGA,{tool_time},{},{},{},{},{},{},{},{torque},M,{}"
unit: N\xc2\xb7m
others: {GPHDT: heading, GPGLL: position, GPVTG: speed, GPZDA: date, GPRMC: position and speed}
"""
SHIP = b"""
$GPHDT,74.20,T*34
$GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138*7E
$GPGLL,1541.31258893,N,05130.51204125,W,195959.00,A,D*7B
$GPZDA,195959.00,14,01,2020,00,00*6A
$GPHDT,75.24,T*31
$GPGGA,200000.00,1541.31248595,N,05130.51199976,W,2,06,1.5,8.8,M,-37.6,M,5.0,0138*7D
"""
GGA = b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n"

# Captures of two dust sensors: github.com/avaldebe/PyPMS, tests/captured_data/PMSx003.hexdump and SDS01x.hexdump; what they
# say is in the .csv files beside them (PM2.5, raw25 and pm25).
PMS = b"""
name: pms-x003
framing: {by: length, length: 32, start: 42 4D}
checksum: {kind: sum, width: 16, written: binary, byte_order: big, includes: [start]}
binary:
  byte_order: big
  fields: [{name: torque, at: 6, type: u16}]
unit: N\xc2\xb7m
"""
PMS_SENT = """
42 4d 00 1c 00 00 00 08 00 08 00 00 00 08 00 08 00 d2 00 46 00 2d 00 1e 00 00 00 00 97 00 02 c5
42 4d 00 1c 00 00 00 07 00 07 00 00 00 07 00 07 00 d2 00 46 00 2d 00 1e 00 00 00 00 97 00 02 c1
42 4d 00 1c 00 00 00 06 00 06 00 00 00 06 00 06 00 b4 00 3c 00 1d 00 15 00 00 00 00 97 00 02 7c
42 4d 00 1c 00 00 00 05 00 05 00 00 00 05 00 05 00 8a 00 2e 00 17 00 0f 00 00 00 00 97 00 02 34
"""
SDS = b"""
name: sds-01x
framing: {by: length, length: 10, start: AA C0, stop: AB}
checksum: {kind: sum, written: binary}
binary:
  byte_order: little
  fields: [{name: torque, at: 2, type: u16, scale: 0.1}]
unit: N\xc2\xb7m
"""
SDS_SENT = "aa c0 06 00 06 00 58 d9 3d ab aa c0 09 00 09 00 58 d9 43 ab aa c0 08 00 08 00 58 d9 41 ab"

# A line that a test script sends in the place of a weighing scale: github.com/woxuankai/project_sperm,
# newhub/mods/test_mod_scales.py. The sign stands apart from the digits.
SCALE = b"""
name: scale
encoding: ascii
longest: 40
pattern: "{status:2},GS,{direction:1}{torque}kg"
unit: N\xc2\xb7m
tightening: [+]
loosening: ["-"]
status: {ST: "", US: unstable}
"""


def read(text: bytes, sent: bytes) -> list[Reading]:
    return [decode(*record) for record in records(text, sent)]


def records(text: bytes, sent: bytes) -> list[tuple[WireFormat, bytes]]:
    wire = load_wire_format(text, "made.yaml")
    framer = framer_of(wire)
    return [(wire, piece.raw) for piece in framer.feed(sent) + framer.flush()]


def told(wire: WireFormat, raw: bytes) -> str | None:
    try:
        return decode(wire, raw).torque
    except FrameError as error:
        return str(error)


def decode(wire: WireFormat, raw: bytes) -> Reading:
    return decode_frame(wire, Frame("test", raw, datetime(2026, 3, 2, 9, tzinfo=UTC), 1))


def test_published_sentence_of_nmea_0183_is_read_with_its_checksum() -> None:
    (reading,) = read(NMEA, GGA)

    assert (reading.torque, reading.tool_time) == ("545.4", "123519")


def test_capture_from_a_ship_gives_the_altitudes_and_names_the_other_sentences() -> None:
    assert [told(*record) for record in records(NMEA, SHIP)] == [
        "a record of another kind: heading",
        "9.2",
        "a record of another kind: position",
        "a record of another kind: date",
        "a record of another kind: heading",
        "8.8",
    ]


@pytest.mark.parametrize(
    ("sent", "fate", "reason"),
    [
        pytest.param(GGA.replace(b"46.9", b"47.0"), Fate.UNREADABLE, "the checksum is `47` where", id="published-with-a-slip"),
        pytest.param(GGA.replace(b"545", b"546"), Fate.UNREADABLE, "the checksum is `47` where", id="one-bit-wrong"),
        pytest.param(GGA[7:], Fate.UNREADABLE, "without the start mark", id="tail"),
        pytest.param(GGA[:40] + b"\r\n", Fate.UNREADABLE, "is not in its place", id="cut"),
        pytest.param(
            b"$GPHDT,74.20,T*34\r\n",
            Fate.SET_ASIDE,
            "a record of another kind: heading",
            id="another-sentence",
        ),
    ],
)
def test_sentence_that_is_not_right_is_refused(sent: bytes, fate: Fate, reason: str) -> None:
    with pytest.raises(FrameError, match=reason) as caught:
        read(NMEA, sent)

    assert caught.value.fate is fate


def test_capture_of_a_dust_sensor_is_read_as_its_owner_read_it() -> None:
    assert [reading.torque for reading in read(PMS, bytes.fromhex(PMS_SENT))] == ["8", "7", "6", "5"]


def test_capture_of_another_dust_sensor_is_read_as_its_owner_read_it() -> None:
    assert [reading.torque for reading in read(SDS, bytes.fromhex(SDS_SENT))] == ["0.6", "0.9", "0.8"]


@pytest.mark.parametrize(
    ("sent", "torque", "notes"),
    [
        pytest.param(b"ST,GS,+  4.876kg\r\n", "4.876", (), id="as-published"),
        pytest.param(b"ST,GS,-  4.876kg\r\n", "-4.876", (), id="other-sign"),
        pytest.param(b"US,GS,+ 14.876kg\r\n", "14.876", ("unstable",), id="other-status"),
    ],
)
def test_line_of_a_scale_is_read(sent: bytes, torque: str, notes: tuple[str, ...]) -> None:
    # After a line end before it, the line is known to be whole.
    (reading,) = read(SCALE, b"\n" + sent)

    assert (reading.torque, reading.notes) == (torque, notes)
