"""Made-up wrenches, one way of sending each: what is found, what is left open by name, and what is refused."""

import struct
from decimal import Decimal

import pytest

from collector.listen.check_draft import decode_heard, says
from collector.listen.heard import Heard, read_about
from collector.listen.propose import propose
from schemas.errors import UnitError
from schemas.frame import Reading
from schemas.wire_format_load import load_wire_format

VALUES = ["50.2", "80.7", "120.4", "95.1"]
TYPED = ["50", "81", "120", "95"]


def proposed(bursts, typed=TYPED, is_divided=True):
    heard = Heard(tuple(bursts), tuple(map(read_about, typed)), is_divided)
    return heard, propose(heard)


def found(bursts, typed=TYPED, unit="N·m"):
    """The only proposal as a wire format, what it reads, and what it leaves open."""
    heard, found = proposed(bursts, typed)
    assert len(found.drafts) == 1, (found.refusals, [draft.place for draft in found.drafts])
    (draft,) = found.drafts
    wire = load_wire_format(draft.text("found", unit).encode(), "found.yaml")
    return wire, [one.reading.torque for one in decode_heard(wire, heard) if one.reading], draft.open


def lines(made, end=b"\r\n"):
    return [made.format(v=value, n=number).encode() + end for number, value in enumerate(VALUES, 7)]


@pytest.mark.parametrize(
    "made",
    [
        pytest.param("W-140;{n};{v};Nm", id="delimiter"),
        pytest.param("{v}", id="value-alone"),
        pytest.param("{v}Nm", id="unit-behind-the-digits"),
        pytest.param("T= {v} Nm", id="name-before-and-unit-behind"),
        pytest.param("ST,GS,+{v:>8}kg.m", id="fixed-text-in-a-field"),
        pytest.param("W-140   {n:>4}{v:>9}N.m   ok", id="columns"),
        pytest.param("{n} {v:>8} Nm   ok", id="runs-of-spaces"),
        pytest.param('"{n}","{v}","Nm"', id="quotes"),
        pytest.param("{{{v}}}", id="braces"),
        pytest.param("{n}\t{v}\tNm", id="tab"),
    ],
)
@pytest.mark.parametrize("end", [pytest.param(b"\r\n", id="crlf"), pytest.param(b"\r", id="cr"), pytest.param(b"\n", id="lf")])
def test_line_is_read(made, end):
    assert found(lines(made, end))[1] == VALUES


@pytest.mark.parametrize(
    ("made", "unit"),
    [
        pytest.param("{n};{v};Nm", None, id="field"),
        pytest.param("{n};{v}lbf.ft", "lbf·ft", id="behind-the-digits"),
        pytest.param("{n};{v}", "kgf·m", id="named-by-the-person"),
    ],
)
def test_unit_is_read_where_the_record_has_it_and_else_the_one_that_was_named(made, unit):
    wire = found(lines(made), unit="kgf·m")[0]

    assert wire.unit == unit
    assert ("unit" in wire.fields) == (unit is None)


def test_unit_that_was_typed_stands_against_another_in_the_record():
    _, found = proposed(lines("{n};{v};Nm"), [f"{text} lbf.ft" for text in TYPED])

    assert (found.drafts, found.refusals[0]) == ((), "pull 1: 50 lbf·ft was typed, and field 3 says Nm")


def test_decimal_comma_is_found():
    wire, torques, _ = found([line.replace(b".", b",") for line in lines("{n};{v};Nm")])

    assert (wire.decimal_mark, torques) == (",", VALUES)


def test_decimal_mark_that_was_never_seen_is_left_open():
    sent = [b"7;50;Nm\r\n", b"8;80;Nm\r\n", b"9;120;Nm\r\n"]

    _, torques, undecided = found(sent, ["50", "80", "120"])

    assert torques == ["50", "80", "120"]
    assert any("no value had a decimal mark" in what for what in undecided)


@pytest.mark.parametrize(
    "made",
    [pytest.param("\x02{n};{v};Nm\x03", id="stx-etx"), pytest.param("<{n};{v};Nm>", id="brackets")],
)
@pytest.mark.parametrize("end", [pytest.param(b"", id="no-line-end"), pytest.param(b"\r\n", id="line-end")])
def test_record_between_marks_is_read(made, end):
    assert found(lines(made, end))[1] == VALUES


def test_text_that_ends_with_a_silence_is_read():
    wire, torques, _ = found(lines("{n};{v};Nm", b""))

    assert (wire.framing.by, torques) == ("silence", VALUES)


def test_what_nobody_can_tell_is_not_read_and_named():
    wire, _, undecided = found(lines("{n};{v};Nm;OK;GO;1"))

    assert wire.fields == ("sequence", "torque", "unit", None, None, None)
    assert [what.split(" and ")[0] for what in undecided][:3] == [
        "field 4 is always `OK`",
        "field 5 is always `GO`",
        "field 6 is always `1`",
    ]


def test_counted_time_serial_number_and_status_are_found():
    sent = [f"4711-A;{1772435730 + 20 * n};{value};Nm;ok\r\n".encode() for n, value in enumerate(VALUES)]

    wire, _, _ = found(sent)

    assert wire.fields == ("serial", "tool_time", "torque", "unit", "status")
    assert wire.time_counts == "seconds"


def test_values_between_peaks_are_told_apart_by_their_kind():
    sent = [f"L;{float(v) - 20:.1f};Nm\r\nL;{float(v) - 5:.1f};Nm\r\nP;{v};Nm\r\n".encode() for v in VALUES]

    wire, torques, _ = found(sent)

    assert (wire.peak, wire.live, torques) == (("P",), ("L",), VALUES)


def test_several_records_a_pull_that_nothing_tells_apart_are_named():
    sent = [f"{float(v) - 20:.1f};Nm\r\n{v};Nm\r\n".encode() for v in VALUES]

    _, _, undecided = found(sent)

    assert undecided[0].startswith("pull 1 brought more than one record")


def test_loosening_is_told_by_a_word_where_the_digits_have_no_sign():
    sent = [b"50.2;Nm;C\r\n", b"19.6;Nm;A\r\n", b"120.4;Nm;C\r\n", b"30.1;Nm;A\r\n"]

    wire, torques, _ = found(sent, ["50", "-20", "120", "-30"])

    assert (wire.tightening, wire.loosening) == (("C",), ("A",))
    assert torques == ["50.2", "-19.6", "120.4", "-30.1"]


def test_loosening_that_no_field_tells_is_refused():
    _, found = proposed([b"50.2;Nm\r\n", b"19.6;Nm\r\n", b"120.4;Nm\r\n"], ["50", "-20", "120"])

    assert (found.drafts, found.refusals[0]) == ((), "the sign of pull 2 is in no field")


def test_two_fields_that_fit_are_both_shown():
    sent = [f"{value};{float(value) + 0.3:.1f};Nm\r\n".encode() for value in VALUES]

    _, found = proposed(sent)

    assert [draft.place[:12] for draft in found.drafts] == ["field 1 of 3", "field 2 of 3"]
    assert all("type every digit" in draft.telling for draft in found.drafts)


def test_every_digit_typed_tells_two_fields_apart():
    sent = [f"{float(value) + 0.3:.1f};{value};Nm\r\n".encode() for value in VALUES]

    assert found(sent, VALUES)[1] == VALUES


def test_a_target_that_was_typed_is_not_taken_for_the_pull():
    # Whoever pulls to about 50 types 50, and a wrench may send its target beside what was reached.
    sent = [f"{target};{value};Nm\r\n".encode() for target, value in zip(("50", "80", "120", "95"), VALUES, strict=True)]

    _, found = proposed(sent, ["50", "80", "120", "95"])

    assert len(found.drafts) == 2


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        pytest.param(["50", "81", "60", "95"], "pull 3: 60 is in no field; field 2 of 3", id="third"),
        pytest.param(["70", "81", "120", "95"], "pull 1: 70 is in no field; field 2 of 3", id="first"),
    ],
)
def test_value_typed_wrong_is_told_with_what_the_record_says(typed, told):
    _, found = proposed(lines("{n};{v};Nm"), typed)

    assert not found.drafts
    assert [refusal[: len(told)] for refusal in found.refusals] == [told]


def test_torque_without_its_decimal_mark_is_named():
    _, found = proposed([line.replace(b".", b"") for line in lines("{n};{v};Nm")])

    assert found.drafts == ()
    assert found.refusals[0].startswith("field 2 (`502` for 50) holds the torque without its decimal mark")


def test_unit_in_brackets_at_the_end_of_a_line_is_found():
    wire, torques, _ = found(lines("<{n};{v};Nm>"))

    assert (wire.fields, wire.framing.stop, torques) == (("sequence", "torque", "unit"), b">", VALUES)


def test_text_that_can_be_a_binary_number_too_is_read_as_text():
    # The same two bytes, high one first and times 0.001, are 12.594 and 12.595, which is about 12 and 13 too.
    wire, torques, _ = found([b"12", b"13", b"12"], ["12", "13", "12"])

    assert (wire.binary, torques) == (None, ["12", "13", "12"])


def test_column_right_behind_the_digits_is_the_unit():
    wire, _, _ = found(lines("W-140   {n:>4}{v:>9}N.m   ok"))

    assert [(part.name, part.width) for part in wire.pattern] == [
        ("serial", 5), ("sequence", 7), ("torque", 9), ("unit", 6), ("status", 2),
    ]  # fmt: skip


def test_number_that_does_not_rise_by_one_is_no_sequence():
    wire, _, undecided = found([f"{2 * n};{value};Nm\r\n".encode() for n, value in enumerate(VALUES)])

    assert wire.fields == (None, "torque", "unit")
    assert undecided[0].startswith("field 1 changes (`0`, `2`, `4`)")


def test_field_that_changes_and_is_no_checksum_behind_a_stop_mark_is_named():
    _, found = proposed([f"\x02{v};Nm\x03{n}Z".encode() for n, v in enumerate(VALUES)])

    assert found.drafts == ()
    assert "those 2 bytes are no checksum that is known here" in found.refusals[0]


@pytest.mark.parametrize(
    "code", [pytest.param(code, id=name) for name, code in (("i16", "h"), ("i32", "i"), ("f32", "f"))]
)
@pytest.mark.parametrize("order", [pytest.param("<", id="little"), pytest.param(">", id="big")])
@pytest.mark.parametrize("scale", [pytest.param("0.1", id="tenths"), pytest.param("0.01", id="hundredths")])
def test_binary_number_is_found_with_its_type_order_and_scale(code, order, scale):
    values = ["50.2", "80.7", "-19.6", "120.4"]
    numbers = [float(v) if code == "f" else int(Decimal(v) / Decimal(scale)) for v in values]
    sent = [b"\xa5\x5a" + struct.pack(order + "B" + code + "B", 7 * n + 3, number, 0x11) for n, number in enumerate(numbers)]

    wire, torques, _ = found(sent, ["50", "81", "-20", "120"])

    assert [Decimal(torque) for torque in torques] == list(map(Decimal, values))
    assert wire.binary.byte_order == ("little" if order == "<" else "big")


def test_text_at_the_beginning_of_a_binary_record_is_the_serial_number_and_no_mark():
    sent = [b"TB-77" + struct.pack("<Ih", 1772435730 + n, number) for n, number in enumerate((502, 807, -196, 1204))]

    wire, torques, _ = found(sent, ["50", "81", "-20", "120"])

    assert (wire.start, torques) == (b"", ["50.2", "80.7", "-19.6", "120.4"])
    assert [(field.name, field.at, field.size) for field in wire.binary.fields] == [
        ("torque", 9, 2), ("serial", 0, 5), ("tool_time", 5, 4),
    ]  # fmt: skip
    assert wire.time_counts == "seconds"


@pytest.mark.parametrize(
    ("typed", "right"),
    [
        pytest.param("50", True, id="value"),
        pytest.param("50 Nm", True, id="value-and-unit"),
        pytest.param("50 lbf.ft", False, id="other-unit"),
        pytest.param("-50", False, id="other-way"),
        pytest.param("60", False, id="other-value"),
    ],
)
def test_reading_is_held_against_value_sign_and_unit(typed, right):
    assert says(Reading("50.2", "N·m", Decimal("50.2")), read_about(typed)) is right


@pytest.mark.parametrize(
    ("first", "is_told"), [pytest.param(254, True, id="into-its-second-byte"), pytest.param(7, False, id="in-its-first-byte")]
)
def test_binary_sequence_is_read_once_its_length_shows(first, is_told):
    numbers = enumerate((502, 807, -196, 1204))
    sent = [b"\xa5" + struct.pack("<HBhB", first + n, 0x11, number, 0x22) for n, number in numbers]

    wire, _, undecided = found(sent, ["50", "81", "-20", "120"])

    assert ("sequence" in [field.name for field in wire.binary.fields]) is is_told
    assert any("add `{name: sequence, at: 1, type: u16}`" in what for what in undecided) is not is_told


def test_two_units_that_no_byte_tells_apart_are_refused():
    sent = [b"\xa5" + struct.pack("<hB", number, 0x22) for number in (502, 807, -196, 1204)]

    _, found = proposed(sent, ["50 Nm", "81 Nm", "-20 lbf.ft", "120 Nm"])

    assert (found.drafts, found.refusals[0].endswith("and no byte tells one from the other")) == ((), True)


def test_records_of_one_capture_that_are_not_as_many_as_the_values_are_counted():
    _, found = proposed([b"".join(lines("{n};{v};Nm"))], ["50", "81", "120"], is_divided=False)

    assert found.drafts == ()
    assert "these are 4, and 3 values were typed" in found.refusals[0]


@pytest.mark.parametrize(
    ("typed", "enough"),
    [
        pytest.param(["50", "80", "50"], True, id="two-values"),
        pytest.param(["50", "50", "50"], False, id="one-value"),
        pytest.param(["50", "80"], False, id="two-pulls"),
        pytest.param(["50", "80", "-"], False, id="one-not-known"),
    ],
)
def test_three_pulls_of_two_values_are_needed(typed, enough):
    heard = Heard((b"x",) * len(typed), tuple(map(read_about, typed)))

    assert (heard.why_too_few() is None) == enough


@pytest.mark.parametrize(
    ("typed", "value", "fits"),
    [
        pytest.param("50", "51", True, id="one-last-digit"),
        pytest.param("50", "51.1", False, id="more-than-one-digit"),
        pytest.param("200", "204", True, id="two-percent"),
        pytest.param("200", "204.1", False, id="more-than-two-percent"),
        pytest.param("0.5", "0.6", True, id="tenth"),
    ],
)
def test_about_means_within_two_percent_or_one_last_digit(typed, value, fits):
    assert read_about(typed).fits(Decimal(value)) is fits


@pytest.mark.parametrize(
    ("typed", "error", "told"),
    [
        pytest.param("fifty", ValueError, "`fifty` is no value", id="word"),
        pytest.param("50 J", UnitError, "an energy", id="energy"),
    ],
)
def test_what_is_no_value_is_refused(typed, error, told):
    with pytest.raises(error, match=told):
        read_about(typed)
