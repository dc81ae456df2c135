"""What a format can say of its fields, each with the reading that comes of it: patterns, numbers, codes, words, flags."""

import struct
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import schemas.wire
from collector.acquire.framing import framer_of
from collector.decode import decode_frame
from collector.decode.binary_record import shortest_digits
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import Binary, BinaryField, Framing, WireFormat
from schemas.wire_format_load import load_wire_format
from schemas.wire_pattern import parse_pattern
from schemas.words import Measures

SHIPPED = [load_wire_format(path.read_bytes(), path.name) for path in sorted(Path(schemas.wire.__file__).parent.glob("*.yaml"))]


def decoded(wire: WireFormat, raw: bytes, after_open: bool = False) -> Reading:
    return decode_frame(wire, Frame("test", raw, datetime(2026, 3, 2, 9, tzinfo=UTC), 1, after_open))


def refusal(wire: WireFormat, raw: bytes, after_open: bool = False) -> FrameError:
    with pytest.raises(FrameError, match=r".") as caught:
        decoded(wire, raw, after_open)
    return caught.value


def by_pattern(pattern: str, **more: object) -> WireFormat:
    made = WireFormat("made", "utf-8", "", (), 80, pattern=parse_pattern(pattern))
    return replace(made, **more)


def by_fields(*fields: str, **more: object) -> WireFormat:
    return replace(WireFormat("made", "utf-8", ",", fields, 80), **more)


def binary(*fields: BinaryField, order: str = "little", **more: object) -> WireFormat:
    length = max(field.at + field.size for field in fields)
    framing = Framing("length", length=length, silence_s=0.1)
    made = WireFormat("made", "ascii", "", (), length, framing=framing, binary=Binary(fields, order), unit="N·m")
    return replace(made, **more)


@pytest.mark.parametrize(
    ("pattern", "text", "torque", "status"),
    [
        pytest.param("{wrench} {torque} {status} {unit}", "W-01 25.2 LB Nm", "25.2", "LB", id="by-spaces"),
        pytest.param("{wrench} {torque} {status} {unit}", "W-01   25.2 LB    Nm  ", "25.2", "LB", id="runs-of-spaces"),
        pytest.param("{torque:8}{unit:4}{status:2}", "    25.2Nm  LB", "25.2", "LB", id="widths"),
        pytest.param("{torque:8} {unit:4}{}", "    25.2 Nm  whatever", "25.2", "", id="rest-not-read"),
        pytest.param("T={torque} {unit};{:3}S={status}.", "T=25.2 Nm;abcS=LB.", "25.2", "LB", id="texts"),
        pytest.param("{{{torque}}}{unit}", "{25.2}Nm", "25.2", "", id="braces"),
        pytest.param("{torque}kg{unit}", "25.2 kgNm", "25.2", "", id="two-signs-between"),
    ],
)
def test_pattern_gives_its_fields(pattern: str, text: str, torque: str, status: str) -> None:
    reading = decoded(by_pattern(pattern, low_battery=("LB",)), text.encode())

    assert (reading.torque, reading.unit) == (torque, "N·m")
    assert reading.battery_low == (status == "LB")


@pytest.mark.parametrize(
    ("pattern", "text", "reason"),
    [
        pytest.param("T={torque} {unit}", "t=25.2 Nm", "at 0 stands `t=25.2 Nm` where the format has `T=`", id="other-text"),
        pytest.param("{torque} {unit};", "25.2 Nm", "at 5 and behind it there is no `;`", id="text-missing"),
        pytest.param("{torque} {unit:2};", "25.2 Nm", "at 7 stands `` where the format has `;`", id="end-missing"),
        pytest.param("{torque:8}{unit:4}", "    25.2Nm", "the record ends inside the 4 characters at 8", id="too-short"),
        pytest.param("{torque:4}{unit:2}", "25.2Nm 3", "at 7 stands `3` where the record should end", id="too-long"),
    ],
)
def test_text_that_does_not_fit_the_pattern_is_unreadable_with_the_place(pattern: str, text: str, reason: str) -> None:
    error = refusal(by_pattern(pattern), text.encode())

    assert error.fate is Fate.UNREADABLE
    assert reason in str(error)


def test_place_counts_from_the_start_mark() -> None:
    assert "at 1 stands `x" in str(refusal(by_pattern("T={torque} {unit}", begins="#"), b"#x"))


def test_tail_of_columns_is_too_short_to_be_taken_for_a_whole_line() -> None:
    columns = by_pattern("{torque:8}{unit:4}")

    assert decoded(columns, b"    25.2Nm  ", after_open=True).torque == "25.2"
    assert "half a line at connect" in str(refusal(by_pattern("{torque:8}{unit}"), b"    25.2Nm", after_open=True))


@given(text=st.text(alphabet=" T=25.2;Nm", max_size=60))
def test_pattern_reads_any_text_or_says_why_not(text: str) -> None:
    try:
        reading = decoded(by_pattern("T={torque} {unit};{status}"), text.encode())
    except FrameError:
        return
    assert reading.torque is not None


TORQUE = BinaryField("torque", 0, "i16", 2, Decimal("0.1"))


@pytest.mark.parametrize(
    ("field", "order", "sent", "torque"),
    [
        pytest.param(BinaryField("torque", 0, "u8", 1), "little", "ff", "255", id="u8"),
        pytest.param(BinaryField("torque", 0, "i8", 1), "little", "ff", "-1", id="i8"),
        pytest.param(BinaryField("torque", 0, "u16", 2), "little", "38ff", "65336", id="u16-little"),
        pytest.param(BinaryField("torque", 0, "u16", 2), "big", "ff38", "65336", id="u16-big"),
        pytest.param(TORQUE, "little", "38ff", "-20.0", id="i16"),
        pytest.param(BinaryField("torque", 0, "u32", 4), "big", "ffffffff", "4294967295", id="u32"),
        pytest.param(BinaryField("torque", 0, "i32", 4, Decimal("0.001")), "big", "ffffffff", "-0.001", id="i32"),
        pytest.param(BinaryField("torque", 0, "u32", 4, Decimal("123456789.123456789")), "big", "ffffffff",
                     "530242871630958626.100715755", id="more-digits-than-a-float-has"),
        pytest.param(BinaryField("torque", 0, "u16", 2, Decimal(10)), "big", "0019", "250", id="scale-above-1"),
        pytest.param(BinaryField("torque", 0, "text", 6), "big", "2032352e3200", "25.2", id="digits-as-text"),
    ],
)  # fmt: skip
def test_number_is_exact_by_type_byte_order_and_scale(field: BinaryField, order: str, sent: str, torque: str) -> None:
    reading = decoded(binary(field, order=order), bytes.fromhex(sent))

    assert (reading.torque, reading.torque_nm) == (torque, Decimal(torque))
    assert reading.notes == ()


def f32(value: float, **more: object) -> Reading:
    return decoded(binary(BinaryField("torque", 0, "f32", 4), **more), struct.pack("<f", value))


def test_binary_float_is_the_shortest_digits_that_give_it_and_says_so() -> None:
    reading = f32(25.2)

    assert reading.torque == "25.2"
    assert reading.notes == ("torque was sent as a binary float; these are the shortest digits that give it",)


@pytest.mark.parametrize(
    "value",
    [
        pytest.param(float("nan"), id="nan"),
        pytest.param(float("inf"), id="infinity"),
        pytest.param(float("-inf"), id="minus-infinity"),
    ],
)
def test_binary_float_that_is_no_number_is_set_aside(value: float) -> None:
    error = refusal(binary(BinaryField("torque", 0, "f32", 4, Decimal("0.1"))), struct.pack("<f", value))

    assert error.fate is Fate.SET_ASIDE
    assert "is not a number" in str(error)


def test_huge_binary_float_is_a_range_that_was_passed() -> None:
    assert f32(9.9e37).over_range


@given(value=st.floats(width=32, allow_nan=False, allow_infinity=False))
@example(value=16777216.0)
@example(value=3.4028234663852886e38)
@example(value=1e-45)
@example(value=-0.0)
def test_shortest_digits_give_the_same_float_and_are_no_longer_than_numpys(value: float) -> None:
    digits = shortest_digits(value)

    assert np.float32(digits) == np.float32(value)
    significant = len(Decimal(digits).normalize().as_tuple().digits)
    # Numpy finds a shorter one now and then at a power of two, where the gap below is half of that above.
    assert significant <= len(Decimal(str(np.float32(value))).normalize().as_tuple().digits) + 1


@pytest.mark.parametrize(
    ("sent", "wrench"),
    [
        pytest.param(b"W-1\0\0", "W-1", id="nul"),
        pytest.param(b" W-1 ", "W-1", id="spaces"),
        pytest.param(b"\0" * 5, None, id="none"),
    ],
)
def test_text_in_a_binary_record_is_filled_up(sent: bytes, wrench: str | None) -> None:
    assert decoded(binary(TORQUE, BinaryField("wrench", 2, "text", 5)), b"\0\0" + sent).wrench == wrench


@pytest.mark.parametrize(
    "sent",
    [
        pytest.param(b"W\x00-1a", id="nul-inside"),
        pytest.param(b"W-1\xff\0", id="not-ascii"),
        pytest.param(b"W-\x7f1\0", id="delete"),
    ],
)
def test_text_in_a_binary_record_that_is_none_is_unreadable(sent: bytes) -> None:
    error = refusal(binary(TORQUE, BinaryField("wrench", 2, "text", 5)), b"\0\0" + sent)

    assert error.fate is Fate.UNREADABLE
    assert f"the bytes {sent.hex().upper()} at 2 are no text" in str(error)


def test_status_in_a_binary_record_is_a_word_or_a_code() -> None:
    wire = binary(TORQUE, BinaryField("status", 2, "text", 2), status={"ok": ""}, low_battery=("lb",))
    coded = binary(TORQUE, BinaryField("status", 2, "u8", 1), status={"0": "", "4": "setting changed"})

    assert decoded(wire, b"\xfa\0ok").notes == ()
    assert decoded(wire, b"\xfa\0lb").battery_low
    assert decoded(wire, b"\xfa\0\0\0").notes == ()
    assert decoded(coded, b"\xfa\0\4").notes == ("setting changed",)


def test_record_of_another_length_is_unreadable() -> None:
    assert str(refusal(binary(TORQUE), b"\0")) == "1 bytes where the format has 2"


def test_record_of_one_length_of_bytes_with_a_start_mark_may_hold_the_mark() -> None:
    wire = binary(BinaryField("torque", 1, "u8", 1))
    wire = replace(wire, framing=Framing("length", start=b"\x19", length=2))

    assert decoded(wire, b"\x19\x19").torque == "25"
    assert "1 bytes before the start mark `0x19`" in str(refusal(wire, b"\x18\x19"))


@pytest.mark.parametrize(
    ("unit", "symbol"),
    [pytest.param("1", "N·m", id="one"), pytest.param("2", "lbf·ft", id="another")],
)
def test_unit_code_stands_for_its_unit(unit: str, symbol: str) -> None:
    assert decoded(by_fields("torque", "unit", unit_codes={"1": "N·m", "2": "lbf·ft"}), f"25.0,{unit}".encode()).unit == symbol


def test_unit_by_a_code_changes_from_record_to_record_and_is_exact() -> None:
    wire = by_fields("torque", "unit", unit_codes={"1": "N·m", "2": "lbf·ft"})

    # 18.4 x 1.3558179483314004, NIST Special Publication 811 (2008), Appendix B.
    assert decoded(wire, b"18.4,2").torque_nm == Decimal("24.94705024929776736")
    error = refusal(wire, b"25.0,9")
    assert error.fate is Fate.SET_ASIDE
    assert str(error) == "unit code `9` is not in the wire format (1 = N·m, 2 = lbf·ft)"


def test_fixed_unit_needs_none_in_the_record() -> None:
    assert decoded(by_fields("torque", unit="lbf·ft"), b"25.0").unit == "lbf·ft"


KINDS = by_fields("torque", "kind", unit="N·m", peak=("P",), live=("L",))


@pytest.mark.parametrize(
    ("wire", "sent"),
    [
        pytest.param(KINDS, b"25.0,L", id="kind"),
        pytest.param(by_fields("torque", "status", unit="N·m", live=("run",)), b"25.0,run", id="status"),
    ],
)
def test_value_between_peaks_is_kept_and_no_reading(wire: WireFormat, sent: bytes) -> None:
    error = refusal(wire, sent)

    assert (error.fate, str(error)) == (Fate.SET_ASIDE, "a value between peaks; only the peak counts")


def test_peak_is_a_reading_and_an_unknown_kind_is_set_aside() -> None:
    assert decoded(KINDS, b"25.0,P").torque == "25.0"
    assert "`X` is neither a peak nor a value between peaks" in str(refusal(KINDS, b"25.0,X"))
    assert refusal(KINDS, b"25.0,").fate is Fate.SET_ASIDE


DIRECTED = by_fields("torque", "direction", unit="N·m", tightening=("CW",), loosening=("CCW",))


@pytest.mark.parametrize(
    ("sent", "torque"),
    [
        pytest.param(b"25.0,CW", "25.0", id="tightening"),
        pytest.param(b"25.0,CCW", "-25.0", id="loosening"),
        pytest.param(b"+25.0,CCW", "-25.0", id="plus-loosening"),
        pytest.param(b"-25.0,CCW", "-25.0", id="minus-loosening"),
        pytest.param(b"25.0-,CCW", "-25.0", id="minus-behind-loosening"),
    ],
)
def test_direction_gives_the_torque_its_sign(sent: bytes, torque: str) -> None:
    reading = decoded(DIRECTED, sent)

    assert (reading.torque, reading.torque_nm) == (torque, Decimal(torque))


def test_direction_that_cannot_be_decided_is_set_aside() -> None:
    assert "direction `R` is neither" in str(refusal(DIRECTED, b"25.0,R"))
    assert "torque -25.0 is below 0, and the direction `CW` is tightening" in str(refusal(DIRECTED, b"-25.0,CW"))


def test_loosening_can_be_told_by_the_status() -> None:
    wire = by_fields("torque", "status", unit="N·m", loosening=("REV",))

    assert (decoded(wire, b"25.0,REV").torque, decoded(wire, b"25.0,REV").notes) == ("-25.0", ())


WORDS = by_fields("torque", "status", unit="N·m", over_range=("OL",), no_reading=("NA",), low_battery=("LB",))


def test_word_of_the_status_can_say_that_the_range_was_passed_or_that_there_is_no_value() -> None:
    assert decoded(WORDS, b"300.0,OL") == Reading(None, "N·m", None, over_range=True)
    assert str(refusal(WORDS, b"0.0,NA")) == "`NA` is this format's mark for no reading"


def test_low_battery_is_a_mark_and_a_remark_and_changes_no_value() -> None:
    assert decoded(WORDS, b"25.2,LB") == Reading("25.2", "N·m", Decimal("25.2"), notes=("battery low",), battery_low=True)


def test_battery_is_kept_as_sent_and_can_be_low_by_its_word() -> None:
    wire = by_fields("torque", "battery", unit="N·m", low_battery=("E",))

    assert (decoded(wire, b"25.2,87").battery, decoded(wire, b"25.2,87").battery_low) == ("87", False)
    assert (decoded(wire, b"25.2,E").battery, decoded(wire, b"25.2,E").battery_low) == ("E", True)


def test_serial_number_of_the_tool_is_text() -> None:
    assert decoded(by_fields("torque", "serial", unit="N·m"), b"25.2,00412E5").serial == "00412E5"


def test_what_the_value_measures_is_fixed_or_told_by_a_code() -> None:
    coded = by_fields("torque", "measures", unit="N·m", measures_codes={"P": Measures.HIGHEST, "C": Measures.CLICK})

    assert decoded(by_fields("torque", unit="N·m", measures=Measures.SET), b"25.2").measures is Measures.SET
    assert decoded(coded, b"25.2,C").measures is Measures.CLICK
    assert decoded(coded, b"25.2,").measures is None
    unknown = decoded(coded, b"25.2,X")
    assert (unknown.measures, unknown.notes) == (None, ("`X` for what the value measures is not in the wire format",))


@pytest.mark.parametrize(
    ("counts", "sent", "time"),
    [
        pytest.param("seconds", "1772435730", "2026-03-02T07:15:30+00:00", id="seconds"),
        pytest.param("milliseconds", "1772435730250", "2026-03-02T07:15:30.250000+00:00", id="milliseconds"),
        pytest.param("seconds", "0", "1970-01-01T00:00:00+00:00", id="never-set"),
        pytest.param(None, "1772435730", "1772435730", id="not-declared-is-kept-as-sent"),
        pytest.param("seconds", "", None, id="absent"),
    ],
)
def test_time_that_counts_is_an_instant(counts: str | None, sent: str, time: str | None) -> None:
    assert decoded(by_fields("torque", "tool_time", unit="N·m", time_counts=counts), f"25,{sent}".encode()).tool_time == time


@pytest.mark.parametrize(
    "sent",
    [
        pytest.param("1772435730.5", id="fraction"),
        pytest.param("-1", id="before-1970"),
        pytest.param("99999999999999", id="beyond-any-calendar"),
        pytest.param("1" * 20, id="too-many-digits"),
        pytest.param("٢", id="other-digits"),
    ],
)
def test_time_that_is_no_such_count_costs_only_itself(sent: str) -> None:
    reading = decoded(by_fields("torque", "tool_time", unit="N·m", time_counts="seconds"), f"25,{sent}".encode())

    assert (reading.torque, reading.tool_time) == ("25", None)
    assert reading.notes == (f"time `{sent}` is no count of seconds from 1970 on that a calendar has",)


def test_record_of_another_kind_is_set_aside_with_its_name() -> None:
    error = refusal(by_fields("torque", unit="N·m", others={"HB": "a sign of life"}), b"HB,17")

    assert (error.fate, str(error)) == (Fate.SET_ASIDE, "a record of another kind: a sign of life")


@given(wire=st.sampled_from(SHIPPED), stream=st.binary(max_size=200), marks=st.booleans())
def test_any_stream_gives_readings_and_reasons_of_one_line_and_nothing_else(wire: WireFormat, stream: bytes, marks: bool) -> None:
    framer = framer_of(wire)
    sent = wire.start + stream + wire.framing.stop + b"00" if marks else stream
    for piece in framer.feed(sent) + framer.flush():
        frame = Frame("test", piece.raw, datetime(2026, 3, 2, 9, tzinfo=UTC), 1, piece.after_open, piece.overlong)
        try:
            lines = list(decode_frame(wire, frame).notes)
        except FrameError as error:
            lines = [str(error)]
        assert all(len(line.splitlines()) == 1 for line in lines)


@given(body=st.binary(min_size=24, max_size=24))
def test_any_binary_record_with_a_right_checksum_gives_a_reading_or_a_reason(body: bytes) -> None:
    wire = next(wire for wire in SHIPPED if wire.binary is not None)
    assert wire.checksum is not None

    try:
        reading = decoded(wire, wire.start + body + wire.checksum.pack(body))
    except FrameError:
        return
    assert (reading.torque is None) == (reading.torque_nm is None) == reading.over_range
