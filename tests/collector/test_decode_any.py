"""Whatever bytes come, in a frame of any kind: a reading whose value is what was sent, or a named reason in one line."""

from datetime import UTC, datetime
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from collector.acquire.log_file import LogSource
from collector.cli.wire_named import read_wire, shipped_wires
from collector.decode import decode_frame
from collector.decode.typed import decode_typed
from schemas.errors import FrameError, SourceError
from schemas.frame import Frame, Reading
from schemas.units import find_unit, to_nm
from schemas.wire_format import WireFormat
from schemas.wire_record import record_parts
from sim.clock import SimClock
from sim.wrench import SimWrench

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
SHIPPED = [read_wire(name) for name in shipped_wires()]
SIGNS = st.text(alphabet='PLWN-0123456789.,;:+T@ "mkftOoklbiCAS\t\r\x1b\x7f²٢\u2028', max_size=3).map(lambda text: text.encode())
NOISE = st.binary(max_size=3) | SIGNS
CELLS = ["2026-03-02T08:15:30+01:00", "1772435730", "02/03/26 8:15", "W-140", "95.2", "-1,000.5", "Nm", "kgf m", "7", ""]
GOOD_ROW = ["2026-03-02T08:15:30+01:00", "W-140", "95.2", "Nm", "7"]


def contents(wire: WireFormat) -> list[bytes]:
    """What stands between the marks of a pull and of a loosening."""
    wrench = SimWrench("W-140", wire, SimClock(AT), UTC)
    return [
        record_parts(wire, wrench.record(torque, "N·m").removesuffix(b"\r\n")).content
        for torque in (Decimal("95.2"), Decimal(-7))
    ]


CONTENTS = {wire.name: contents(wire) for wire in SHIPPED}


@st.composite
def rows(draw: st.DrawFn) -> bytes:
    """A row of a log with one cell that may be any."""
    cells = [*GOOD_ROW]
    cells[draw(st.integers(0, len(cells) - 1))] = draw(st.sampled_from(CELLS))
    return ",".join(cells).encode()


class StillClock:
    """Stands at one instant."""

    def now(self) -> datetime:
        return AT

    def monotonic_ns(self) -> int:
        return 1


@st.composite
def records(draw: st.DrawFn) -> tuple[WireFormat, bytes]:
    """A record of any shipped format, half of them with noise inside, most of them with the right marks and checksum."""
    wire = draw(st.sampled_from(SHIPPED))
    content = draw(st.sampled_from(CONTENTS[wire.name]))
    length = len(content)
    if draw(st.booleans()):
        first, noise, lack = draw(st.integers(0, length)), draw(NOISE), draw(st.integers(0, 3))
        content = content[:first] + noise + content[first + lack :]
    if not draw(st.integers(0, 4)):
        return wire, wire.start + content
    if wire.framing.length:
        content = content[:length].ljust(length, b"\0")
    if wire.checksum is None:
        return wire, wire.start + content + wire.framing.stop
    mark = wire.framing.stop if wire.checksum.after_stop else wire.checksum.behind
    covered = wire.start * wire.checksum.includes_start + content + mark * wire.checksum.includes_mark
    return wire, wire.start + content + mark + wire.checksum.pack(covered)


def said(wire: WireFormat, frame: Frame, is_typed: bool = False) -> Reading | None:
    """The reading, None where there is a reason; whatever is said is one line."""
    reading = None
    try:
        reading = decode_typed(wire, frame) if is_typed else decode_frame(wire, frame)
        lines = reading.notes
    except FrameError as error:
        lines = (str(error), str(error.fate))
    assert all(len(line.splitlines()) == 1 for line in lines)
    return reading


@given(record=records(), mark=st.sampled_from(["", "", "", "after_open", "overlong", "cut"]), is_typed=st.booleans())
def test_any_frame_gives_a_reading_of_what_was_sent_or_a_reason(record, mark, is_typed):
    wire, raw = record
    frame = Frame("test", raw, AT, 1, **({mark: True} if mark else {}))

    reading = said(wire, frame, is_typed and wire.framing.by == "line")

    if reading is not None:
        assert raw.startswith(wire.start)
        assert mark in ("", "after_open")
        check_value(reading)


@given(lines=st.lists(NOISE | rows(), max_size=8))
def test_any_log_gives_readings_and_reasons_or_is_refused_in_one_line(tmp_path_factory, lines):
    path = tmp_path_factory.mktemp("log") / "day.csv"
    path.write_bytes(b"\n".join([b"time,wrench,torque,unit,seq", *lines]))
    source = LogSource(path, StillClock())
    refused = "one line"
    try:
        source.open()
    except SourceError as error:
        refused = str(error)

    assert len(refused.splitlines()) == 1
    for frame in source.rows() if refused == "one line" else ():
        reading = said(source.wire_format, frame)
        if reading is not None:
            check_value(reading)


def check_value(reading: Reading) -> None:
    """Whether the value is that of the digits that were sent, in the unit that was sent."""
    assert (reading.torque is None) == (reading.torque_nm is None) == reading.over_range
    if reading.torque is not None:
        unit, _ = find_unit(reading.unit)
        assert reading.torque_nm == to_nm(Decimal(reading.torque), unit)
        assert reading.torque_nm.is_finite()
