"""A wire format that says two things that cannot be true together is refused, each with line, field and what to do."""

import pytest

from tests.rigs.made_formats import BINARY, FIELDS, PATTERN, faults, put, with_fields

MARKS = FIELDS + "framing: {by: marks, start: 02, stop: 03}\n"
XOR = "checksum: {kind: xor, written: hex}\n"
CRC = "checksum: {kind: crc, width: 16, poly: 1021, init: FFFF, refin: no, refout: no, xorout: 0000, written: hex}\n"


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param(
            FIELDS + "framing: {by: marks, start: 02}\n",
            "line 6, `framing.stop`: is missing; framing by marks needs it",
            id="marks-without-a-stop",
        ),
        pytest.param(
            FIELDS + "framing: {by: marks, start: 02, stop: 02}\n",
            "line 6, `framing.stop`: is the start mark too",
            id="one-mark-for-both",
        ),
        pytest.param(
            FIELDS + "framing: {by: line, stop: 03}\n",
            "line 6, `framing.stop`: does not belong to framing by line",
            id="stop-of-a-line",
        ),
        pytest.param(FIELDS + "framing: {by: silence}\n", "line 6, `framing.silence_s`: is missing", id="silence-of-no-length"),
        pytest.param(
            FIELDS + "framing: {by: silence, silence_s: 11}\n",
            "line 6, `framing.silence_s`: `11` is not right",
            id="silence-too-long",
        ),
        pytest.param(
            PATTERN + "framing: {by: length, length: 12, start: 02}\n",
            "line 4, `longest`: is the framing's length already",
            id="two-lengths",
        ),
        pytest.param(
            put(PATTERN, "longest: 40", "framing: {by: length, length: 12}"),
            "line 4, `framing.length`: alone cannot be found again after a lost byte",
            id="length-alone",
        ),
        pytest.param(
            put(PATTERN, "longest: 40", "framing: {by: length, length: 11, start: 02}"),
            "line 4, `framing.length`: is shorter than the 13 bytes",
            id="length-shorter-than-the-columns",
        ),
        pytest.param(
            put(PATTERN, "40", "11"), "line 4, `longest`: is shorter than the 12 bytes", id="longest-shorter-than-the-columns"
        ),
        pytest.param(
            put(FIELDS, "40", "2") + XOR, "line 5, `longest`: is shorter than the 3 bytes", id="longest-shorter-than-marks"
        ),
        pytest.param(MARKS + "begins: '@'\n", "line 7, `begins`: is the framing's `start` already", id="two-start-marks"),
        pytest.param(
            FIELDS + "framing: {by: marks, start: 2, stop: 03}\n",
            "line 6, `framing.start`: `2` is not right: wants bytes as pairs of hex digits",
            id="no-hex",
        ),
        pytest.param(
            FIELDS + "framing: {by: marks, start: [02], stop: 03}\n",
            "line 6, `framing.start`: input should be a valid bytes",
            id="mark-as-a-list",
        ),
        pytest.param(FIELDS + "framing: {by: frames}\n", "line 6, `framing.by`: `frames` is not right", id="unknown-framing"),
        pytest.param(
            FIELDS + "framing: {by: line, begin: '@'}\n",
            "line 6, `framing.begin`: `@` is not right: is not known here; the fields are by, start, stop",
            id="unknown-in-framing",
        ),
        pytest.param(BINARY + "framing: {by: line}\n", "line 8, `framing`: `framing` stands twice", id="framing-twice"),
        pytest.param(
            put(BINARY, "{by: length, length: 8, start: A5}", "{by: silence, silence_s: 0.1}"),
            "line 1, `longest`: is missing",
            id="binary-without-any-length",
        ),
        pytest.param(
            put(BINARY, "{by: length, length: 8, start: A5}", "{by: silence, silence_s: 0.1}") + "longest: 8\n",
            "line 2, `framing.length`: is missing; a binary record has a fixed length",
            id="binary-with-a-longest",
        ),
        pytest.param(
            put(BINARY, "{by: length, length: 8, start: A5}", "{by: marks, start: 02, stop: 03}") + "longest: 8\n",
            "line 2, `framing`: by marks cuts a binary record in two",
            id="binary-between-marks",
        ),
    ],
)
def test_framing_that_cannot_be_is_refused(text: str, fault: str) -> None:
    assert faults(text)[0].startswith(fault)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param(
            FIELDS + put(CRC, "poly: 1021, ", ""), "line 6, `checksum.poly`: is missing; a CRC has five", id="crc-without-poly"
        ),
        pytest.param(
            FIELDS + put(XOR, "xor,", "xor, init: 00,"),
            "line 6, `checksum.init`: is a parameter of a CRC only",
            id="xor-with-init",
        ),
        pytest.param(FIELDS + put(XOR, "xor,", "xor, width: 16,"), "line 6, `checksum.width`: is 8 for an XOR", id="xor-of-16"),
        pytest.param(
            FIELDS + put(CRC, "width: 16", "width: 8"), "line 6, `checksum.poly`: does not fit into 8 bits", id="poly-too-wide"
        ),
        pytest.param(
            FIELDS + put(CRC, "poly", "check: 31C3, poly"),
            "line 6, `checksum.check`: these parameters give 29B1 over 123456789; one of them is wrong",
            id="check-value-wrong",
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", "hex, byte_order: big"),
            "line 6, `checksum.byte_order`: belongs to a checksum written in",
            id="byte-order-of-digits",
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", "binary"),
            "line 6, `checksum.written`: cannot be binary here: one of its values would end the record",
            id="binary-in-a-line",
        ),
        pytest.param(
            MARKS + put(XOR, "hex", "binary"), "line 7, `checksum.written`: cannot be binary here", id="binary-before-a-stop"
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", "hex, after_stop: yes"),
            "line 6, `checksum.after_stop`: needs a stop mark",
            id="behind-a-stop-that-is-not-there",
        ),
        pytest.param(
            MARKS + put(XOR, "hex", "hex, after_stop: yes, behind: '*'"),
            "line 7, `checksum.behind`: is the stop mark already",
            id="two-marks-before-it",
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", "hex, includes: [mark]"),
            "line 6, `checksum.includes`: names the mark before the checksum",
            id="includes-no-mark",
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", "hex, includes: [start]"),
            "line 6, `checksum.includes`: names the start mark, and there is",
            id="includes-no-start",
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", r'hex, behind: "\n"'), "line 6, `checksum.behind`: holds a line end", id="behind-a-line-end"
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", "hex, behind: ·"), "line 6, `checksum.behind`: cannot be written in ascii", id="not-ascii"
        ),
        pytest.param(
            BINARY + put(XOR, "hex", "hex, behind: '*'"), "line 8, `checksum.behind`: is for records of text", id="mark-in-binary"
        ),
        pytest.param(
            put(BINARY, "length: 8", "length: 4") + put(XOR, "hex", "binary"),
            "line 7, `binary.fields[2]`: ends at byte 4, and the checksum and stop mark behind it leave it no more than 3",
            id="field-in-the-checksum",
        ),
        pytest.param(
            FIELDS + put(XOR, "hex", "hex, over: all"),
            "line 6, `checksum.over`: `all` is not right: is not known here",
            id="unknown-in-checksum",
        ),
    ],
)
def test_checksum_that_cannot_be_is_refused(text: str, fault: str) -> None:
    assert faults(text)[0].startswith(fault)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param(
            FIELDS + "unit: Nm\n", "line 6, `unit`: is fixed here, and the record has a field `unit` too", id="two-units"
        ),
        pytest.param(put(FIELDS, ", unit", "") + "unit: J\n", "line 6, `unit`: unit `J` is an energy", id="unit-no-torque"),
        pytest.param(
            FIELDS + "unit_codes: {'1': Nm, '2': parsec}\n",
            "line 6, `unit_codes.2`: unit `parsec` is not known",
            id="code-no-torque",
        ),
        pytest.param(
            put(FIELDS, ", unit", "") + "unit: Nm\nunit_codes: {'1': Nm}\n",
            "line 7, `unit_codes`: needs a field `unit`",
            id="codes-without-a-field",
        ),
        pytest.param(FIELDS + "measures: peak\n", "line 6, `measures`: `peak` is not right", id="unknown-measure"),
        pytest.param(
            with_fields("measures"),
            "line 1, `measures_codes`: is missing; say which words of the field `measures`",
            id="measures-without-codes",
        ),
        pytest.param(
            with_fields("measures") + "measures: set\nmeasures_codes: {S: set}\n",
            "line 6, `measures`: is fixed here",
            id="measures-twice",
        ),
        pytest.param(
            FIELDS + "measures_codes: {S: set}\n", "line 6, `measures_codes`: needs a field `measures`", id="measures-nowhere"
        ),
        pytest.param(
            with_fields("kind") + "peak: [P]\n",
            "line 1, `live`: is missing; say which words of the field `kind`",
            id="live-unsaid",
        ),
        pytest.param(FIELDS + "peak: [P]\n", "line 6, `peak`: needs a field `kind`", id="peak-nowhere"),
        pytest.param(
            FIELDS + "live: [L]\n", "line 6, `live`: needs a field that can say so: kind, status or flags", id="live-nowhere"
        ),
        pytest.param(with_fields("direction") + "loosening: [A]\n", "line 1, `tightening`: is missing", id="tightening-unsaid"),
        pytest.param(FIELDS + "loosening: [A]\n", "line 6, `loosening`: needs a field that can say so", id="loosening-nowhere"),
        pytest.param(
            FIELDS + "low_battery: [lb]\n", "line 6, `low_battery`: needs a field that can say so: battery,", id="battery-nowhere"
        ),
        pytest.param(FIELDS + "status: {ok: ''}\n", "line 6, `status`: needs a field `status` or `flags`", id="status-nowhere"),
        pytest.param(FIELDS + "flags: {0: low}\n", "line 6, `flags`: needs a field `flags`", id="flags-nowhere"),
        pytest.param(FIELDS + "time_counts: seconds\n", "line 6, `time_counts`: needs a field `tool_time`", id="time-nowhere"),
        pytest.param(
            FIELDS + "over_range: [OL]\nno_reading: [x, OL]\n",
            "line 7, `no_reading`: holds `OL`, which stands under `over_range`",
            id="one-mark-two-meanings",
        ),
        pytest.param(with_fields("kind") + "peak: [P]\nlive: [P]\n", "line 7, `live`: holds `P`", id="peak-and-live"),
        pytest.param(FIELDS + "others: {H·B: x}\n", "line 6, `others.H·B`: cannot be written in ascii", id="others-not-ascii"),
    ],
)
def test_meaning_that_cannot_be_is_refused(text: str, fault: str) -> None:
    assert faults(text)[0].startswith(fault)
