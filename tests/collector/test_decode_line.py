"""One decoder reads every line by its wire format: a reading, or a named reason why not."""

import json
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import schemas.wire
from collector.decode import decode_frame
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

WIRE = Path(schemas.wire.__file__).parent
PLAIN = load_wire_format((WIRE / "plain-line.yaml").read_bytes(), "plain-line.yaml")
VECTORS = json.loads((WIRE / "plain-line.vectors.json").read_text(encoding="utf-8"))["vectors"]
GOOD = [pytest.param(vector, id=vector["name"]) for vector in VECTORS if "reading" in vector]
BAD = [pytest.param(vector, id=vector["name"]) for vector in VECTORS if "fate" in vector]

TORQUE_UNIT = WireFormat(name="short", encoding="utf-8", delimiter=",", fields=("torque", "unit"), longest=100)
CSV = WireFormat(
    name="csv",
    encoding="utf-8",
    delimiter=",",
    fields=("wrench", None, "torque", "unit", "angle", "sequence"),
    longest=100,
    quoted=True,
    over_range=("OL", "32767"),
    no_reading=("----",),
)


def frame(raw: bytes, **marks: Any) -> Frame:
    return Frame("test", raw, datetime(2026, 3, 2, 9, tzinfo=UTC), 1, **marks)


def decoded(wire: WireFormat, text: str) -> Reading:
    return decode_frame(wire, frame(text.encode()))


def refusal(wire: WireFormat, raw: bytes, **marks: Any) -> FrameError:
    with pytest.raises(FrameError, match=r".") as caught:
        decode_frame(wire, frame(raw, **marks))
    return caught.value


@pytest.mark.parametrize("vector", GOOD)
def test_golden_line_is_read(vector: dict[str, Any]) -> None:
    reading = decode_frame(PLAIN, frame(bytes.fromhex(vector["hex"])))

    says = dict(vector["reading"])
    says["torque_nm"] = None if says["torque_nm"] is None else Decimal(says["torque_nm"])
    assert reading == Reading(**{**says, "notes": tuple(says["notes"])})


@pytest.mark.parametrize("vector", GOOD)
def test_golden_line_is_its_fields_in_order(vector: dict[str, Any]) -> None:
    assert bytes.fromhex(vector["hex"]) == b"@" + ";".join(vector["fields"]).encode("ascii")


@pytest.mark.parametrize("vector", BAD)
def test_golden_line_is_refused(vector: dict[str, Any]) -> None:
    error = refusal(PLAIN, bytes.fromhex(vector["hex"]))

    assert error.fate == vector["fate"]
    assert vector["reason"] in str(error)


@pytest.mark.parametrize(
    ("sent", "torque"),
    [
        pytest.param("25", "25", id="no-point"),
        pytest.param("+25.0", "+25.0", id="plus"),
        pytest.param("-20.0", "-20.0", id="minus"),
        pytest.param("20.0-", "-20.0", id="minus-behind"),
        pytest.param("  95.20\t", "95.20", id="padded"),
        pytest.param("1.234", "1.234", id="three-decimals"),
        pytest.param("007.50", "007.50", id="leading-zeros"),
        pytest.param("0.0", "0.0", id="zero"),
        pytest.param("95.2" + "1" * 60, "95.2" + "1" * 60, id="more-digits-than-a-default-decimal-context-keeps"),
    ],
)
def test_torque_is_the_digits_as_sent(sent: str, torque: str) -> None:
    reading = decoded(TORQUE_UNIT, f"{sent},Nm")

    assert reading.torque == torque
    assert reading.torque_nm == Decimal(torque)


def test_torque_in_another_unit_is_exact() -> None:
    # 0.45359237 kg x 9.80665 m/s2 x 0.3048 m, NIST Special Publication 811 (2008), Appendix B.
    assert decoded(TORQUE_UNIT, "80.0,lbf-ft").torque_nm == Decimal("80.0") * Decimal("1.3558179483314004")


@pytest.mark.parametrize(
    ("sent", "reason"),
    [
        pytest.param("25.", "not plain digits", id="cut-after-the-point"),
        pytest.param(".5", "not plain digits", id="nothing-before-the-point"),
        pytest.param("1_000", "not plain digits", id="underscore"),
        pytest.param("-20.0-", "not plain digits", id="two-signs"),
        pytest.param("- 20", "not plain digits", id="space-after-sign"),
        pytest.param("0x19", "not plain digits", id="hexadecimal"),
        pytest.param("25.0 Nm", "not plain digits", id="unit-in-the-field"),
        pytest.param("0L", "not plain digits", id="zero-and-L"),
        pytest.param("2.5e1", "has an exponent", id="exponent"),
        pytest.param("1E4000", "not plain digits", id="exponent-of-four-digits"),
        pytest.param("nan", "not a number", id="nan"),
        pytest.param("-Infinity", "not a number", id="minus-infinity"),
        pytest.param("INF", "not a number", id="inf"),
        pytest.param("２５.4", r"U\+FF12 \(FULLWIDTH DIGIT TWO\)", id="full-width"),
        pytest.param("٢٥", r"U\+0662", id="arabic-indic"),
        pytest.param("2²", r"U\+00B2", id="superscript"),
        pytest.param("−25.4", r"U\+2212 \(MINUS SIGN\)", id="typographic-minus"),
        pytest.param("9" * 60 + "x", r"`9{40}…` is not plain digits", id="long-text-is-shortened"),
        pytest.param("", "no torque was sent", id="empty"),
        pytest.param("  ", "no torque was sent", id="spaces"),
    ],
)
def test_torque_that_is_no_plain_number_is_set_aside(sent: str, reason: str) -> None:
    with pytest.raises(FrameError, match=reason) as caught:
        decoded(TORQUE_UNIT, f"{sent},Nm")

    assert caught.value.fate is Fate.SET_ASIDE


@pytest.mark.parametrize(
    ("sent", "readings"),
    [
        pytest.param("1,234", "can be 1.234 or 1234", id="three-digits-behind"),
        pytest.param("24,6", "can be 24.6 or 246", id="one-digit-behind"),
        pytest.param("1.2,3", "not plain digits", id="both-marks"),
    ],
)
def test_comma_where_the_format_has_a_point_is_set_aside_with_both_readings(sent: str, readings: str) -> None:
    with pytest.raises(FrameError, match=readings) as caught:
        decoded(CSV, f'W-1,,"{sent}",Nm,,1')

    assert caught.value.fate is Fate.SET_ASIDE


def test_decimal_comma_is_read_where_the_format_says_so() -> None:
    wire = WireFormat("comma", "ascii", ";", ("torque", "unit"), longest=50, decimal_mark=",")

    assert decoded(wire, "24,60;Nm").torque == "24.60"
    assert decoded(wire, "9,9E37;Nm").over_range
    assert "can be 1.234 or 1234" in str(refusal(wire, b"1.234;Nm"))


@pytest.mark.parametrize(
    "sent",
    [
        pytest.param("OL", id="mark"),
        pytest.param("32767", id="declared-number"),
        pytest.param("9.9E37", id="scpi-infinity"),
        pytest.param("-9.9E+37", id="scpi-minus-infinity"),
        pytest.param("9.91e37", id="scpi-no-number"),
        pytest.param("1E400", id="beyond-binary-floats"),
        pytest.param("9" * 37, id="digits-in-full"),
        pytest.param("9E36", id="on-the-edge"),
    ],
)
def test_range_passed_is_a_reading_without_a_torque(sent: str) -> None:
    assert decoded(CSV, f"W-1,,{sent},Nm,,1") == Reading(None, "N·m", None, over_range=True, wrench="W-1", sequence=1)


def test_huge_number_below_the_edge_is_not_taken_for_a_passed_range() -> None:
    assert refusal(CSV, b"W-1,,8.9E36,Nm,,1").fate is Fate.SET_ASIDE


@pytest.mark.parametrize(
    ("unit", "note"),
    [
        pytest.param("", "no unit was sent", id="absent"),
        pytest.param("J", "an energy", id="no-torque"),
    ],
)
def test_range_passed_is_kept_whatever_the_unit(unit: str, note: str) -> None:
    reading = decoded(CSV, f"W-1,,OL,{unit},,1")

    assert reading.over_range
    assert reading.unit is None
    assert note in reading.notes[0]


def test_mark_for_no_reading_is_set_aside() -> None:
    error = refusal(CSV, b"W-1,,----,Nm,,1")

    assert error.fate is Fate.SET_ASIDE
    assert "no reading" in str(error)


@pytest.mark.parametrize(
    ("unit", "reason"),
    [
        pytest.param("", "no unit was sent", id="empty"),
        pytest.param("km", "km", id="unknown"),
        pytest.param("9", "9", id="code"),
    ],
)
def test_torque_without_a_known_unit_is_set_aside(unit: str, reason: str) -> None:
    error = refusal(TORQUE_UNIT, f"25.0,{unit}".encode())

    assert error.fate is Fate.SET_ASIDE
    assert reason in str(error)


def test_format_without_a_unit_field_gives_no_unit_by_default() -> None:
    wire = WireFormat("bare", "ascii", ",", ("sequence", "torque"), longest=50)

    assert "no unit was sent" in str(refusal(wire, b"1,25.0"))


def test_format_without_a_torque_field_gives_no_torque() -> None:
    wire = WireFormat("bare", "ascii", ",", ("sequence", "unit"), longest=50)

    assert "no torque was sent" in str(refusal(wire, b"1,Nm"))


def test_torque_with_too_many_digits_to_be_converted_is_set_aside() -> None:
    error = refusal(TORQUE_UNIT, b"0." + b"1" * 1500 + b",lbf-ft")

    assert error.fate is Fate.SET_ASIDE
    assert "too many digits" in str(error)


def test_unit_read_with_goodwill_is_a_remark() -> None:
    assert decoded(TORQUE_UNIT, "70,ft-lb").notes == (
        "`ft-lb` read as lbf·ft: a mass stands in the place of the force",
    )


def test_fields_that_are_absent_are_none_and_ids_stay_text() -> None:
    reading = decoded(CSV, "0042,12E5,25.0,Nm,,")

    assert reading == Reading("25.0", "N·m", Decimal("25.0"), wrench="0042")


@pytest.mark.parametrize(
    ("sequence", "number", "notes"),
    [
        pytest.param("0042", 42, (), id="leading-zeros"),
        pytest.param("999999999999999", 999999999999999, (), id="longest"),
        pytest.param("1000000000000000", None, ("sequence `1000000000000000` is not",), id="too-long"),
        pytest.param("-1", None, ("sequence `-1` is not",), id="negative"),
        pytest.param("4a", None, ("sequence `4a` is not",), id="letters"),
        pytest.param("4٢", None, ("sequence `4٢` is not",), id="other-digits"),
    ],
)
def test_sequence_that_is_no_whole_number_costs_only_itself(
    sequence: str, number: int | None, notes: tuple[str, ...]
) -> None:
    reading = decoded(CSV, f"W-1,,25.0,Nm,,{sequence}")

    assert reading.torque == "25.0"
    assert reading.sequence == number
    assert [note[: len(start)] for note, start in zip(reading.notes, notes, strict=True)] == list(notes)


def test_angle_is_kept_as_sent_and_a_broken_one_costs_only_itself() -> None:
    assert decoded(CSV, "W-1,,25.0,Nm,30.50,1").angle_deg == "30.50"

    broken = decoded(CSV, "W-1,,25.0,Nm,3O,1")
    assert broken.angle_deg is None
    assert broken.torque == "25.0"
    assert broken.notes == ("angle `3O` is not plain digits",)


@pytest.mark.parametrize(
    ("row", "wrench"),
    [
        pytest.param('"W-1",,25.0,Nm,,1', "W-1", id="quoted"),
        pytest.param('"W,1","a;b",25.0,Nm,,1', "W,1", id="delimiter-inside"),
        pytest.param('"W ""1""",,25.0,Nm,,1', 'W "1"', id="doubled-quotes"),
        pytest.param('W-1,,25.0,Nm,"","1"', "W-1", id="last-field-quoted"),
        pytest.param('"W-1",,25.0,Nm,,', "W-1", id="last-field-empty"),
    ],
)
def test_quoted_fields_are_read_by_rfc_4180(row: str, wrench: str) -> None:
    reading = decoded(CSV, row)

    assert reading.wrench == wrench
    assert reading.torque == "25.0"


@pytest.mark.parametrize(
    "row",
    [
        pytest.param('"W-1,,25.0,Nm,,1', id="never-closed"),
        pytest.param('3/8" drive,,25.0,Nm,,1', id="inch-mark"),
        pytest.param('3/8" to 1/2",,25.0,Nm,,1', id="two-inch-marks"),
        pytest.param('"W"-1,,25.0,Nm,,1', id="text-behind-the-quote"),
        pytest.param('W-1,,25.0,Nm,,1"', id="at-the-end"),
    ],
)
def test_row_with_broken_quoting_is_unreadable(row: str) -> None:
    error = refusal(CSV, row.encode())

    assert error.fate is Fate.UNREADABLE
    assert "double quote" in str(error)


def test_quotes_are_only_text_where_the_format_has_none() -> None:
    wire = WireFormat("bare", "ascii", ",", ("wrench", "torque", "unit"), longest=50)

    assert decoded(wire, '3/8",25.0,Nm').wrench == '3/8"'


def test_word_of_the_status_becomes_its_remark() -> None:
    wire = WireFormat(
        "flagged", "ascii", ";", ("torque", "unit", "status"), longest=50, status={"ok": "", "lb": "battery low"}
    )

    assert decoded(wire, "25.0;Nm;ok").notes == ()
    assert decoded(wire, "25.0;Nm;lb").notes == ("battery low",)
    assert decoded(wire, "25.0;Nm;").notes == ()
    assert decoded(wire, "25.0;Nm;zz").notes == ("status `zz` is not known to the wire format",)


@pytest.mark.parametrize(
    ("raw", "marks", "reason"),
    [
        pytest.param(b"25.0,Nm", {"after_open": True}, "half a line at connect", id="first-line-without-start-mark"),
        pytest.param(b"25.0,Nm", {"overlong": True}, "longer than the format allows", id="overlong"),
        pytest.param(b"25.0,Nm", {"cut": True}, "went in the middle", id="cut"),
        pytest.param(b"25.0,N\xb7m", {}, "byte 0xB7 at 6 is not utf-8", id="not-in-the-encoding"),
        pytest.param(b"25.\0\0\0,Nm", {}, "control character 0x00 at 3", id="nul"),
        pytest.param(b"25.0,Nm\x7f", {}, "control character 0x7F", id="delete"),
        pytest.param("25.0,Nm\x85".encode(), {}, "control character 0x85", id="c1"),
        pytest.param(b"25.0,Nm,", {}, "3 fields where the format has 2", id="one-field-more"),
        pytest.param(b"", {}, "1 fields where the format has 2", id="empty"),
    ],
)
def test_line_that_is_not_whole_is_unreadable(raw: bytes, marks: dict[str, bool], reason: str) -> None:
    error = refusal(TORQUE_UNIT, raw, **marks)

    assert error.fate is Fate.UNREADABLE
    assert reason in str(error)


def test_first_line_of_a_log_is_whole() -> None:
    assert decode_frame(TORQUE_UNIT, frame(b"25.0,Nm", after_open=True, line=2)).torque == "25.0"


def test_first_line_after_connecting_is_whole_with_its_start_mark() -> None:
    assert decode_frame(PLAIN, frame(b"@W-140;1;25.0;Nm;;ok", after_open=True)).torque == "25.0"


@given(
    raw=st.binary(max_size=120)
    | st.text(alphabet='@;,".-+0123456789ENmOL \t\u2028\u202e٢', max_size=60).map(lambda text: text.encode()),
    wire=st.sampled_from([PLAIN, CSV, TORQUE_UNIT]),
)
@example(raw=b"@;;1E999;Nm;;", wire=PLAIN)
@example(raw="@;;1\u2028;Nm;;".encode(), wire=CSV)
def test_any_bytes_give_a_reading_or_one_line_why_not(raw: bytes, wire: WireFormat) -> None:
    try:
        reading = decode_frame(wire, frame(raw))
    except FrameError as error:
        lines = str(error).splitlines()
    else:
        lines = list(reading.notes)
        assert (reading.torque is None) == (reading.torque_nm is None) == reading.over_range

    assert all(len(line.splitlines()) == 1 for line in lines)


@given(torque=st.decimals(allow_nan=False, allow_infinity=False, places=2, min_value=-5000, max_value=5000))
def test_packed_torque_comes_back_exactly(torque: Decimal) -> None:
    reading = decoded(PLAIN, f"@W-140;1;{torque:f};Nm;;ok")

    assert (reading.torque, reading.torque_nm) == (f"{torque:f}", torque)
