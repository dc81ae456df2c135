"""A layout of a record that says two things that cannot be true together is refused, each with line and field."""

import pytest

from tests.rigs.made_formats import BINARY, FIELDS, PATTERN, faults, put, with_fields


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param(FIELDS + 'begins: ";"\n', "line 3, `delimiter`: holds the start mark", id="start-mark-as-delimiter"),
        pytest.param(
            put(PATTERN, "{torque:8}", "@{torque:8}") + 'begins: "@"\n',
            "line 3, `pattern`: holds the start mark",
            id="start-mark-in-the-pattern-too",
        ),
        pytest.param(
            FIELDS + "framing: {by: marks, start: 3B, stop: 03}\n",
            "line 3, `delimiter`: holds the start mark",
            id="start-mark-in-hex-as-delimiter",
        ),
        pytest.param(
            put(BINARY, "length: 8", "length: 3"),
            "line 7, `binary.fields[2]`: ends at byte 4, and the record's length leave",
            id="shorter-than-the-last-field",
        ),
        pytest.param(
            put(BINARY, "at: 1", "at: 0"), "line 6, `binary.fields[1].at`: lies in the start mark", id="in-the-start-mark"
        ),
        pytest.param(
            put(BINARY, "at: 3", "at: 2"), "line 7, `binary.fields[2].at`: overlaps with the field before it", id="overlap"
        ),
        pytest.param(
            put(BINARY, "0.1", "0"),
            "line 6, `binary.fields[1].scale`: `0` is not right: wants plain digits above 0",
            id="scale-0",
        ),
        pytest.param(
            put(BINARY, "0.1", "1e-1"), "line 6, `binary.fields[1].scale`: `1e-1` is not right", id="scale-with-exponent"
        ),
        pytest.param(put(BINARY, "0.1", "[0.1]"), "line 6, `binary.fields[1].scale`: ", id="scale-a-list"),
        pytest.param(
            put(BINARY, "u8}", "u8, scale: 2}"),
            "line 7, `binary.fields[2].scale`: belongs to the number of",
            id="scale-of-a-unit",
        ),
        pytest.param(
            put(BINARY, "u8}", "text}"),
            "line 7, `binary.fields[2].length`: is missing; a text needs it",
            id="text-without-length",
        ),
        pytest.param(
            put(BINARY, "u8}", "u8, length: 1}"), "line 7, `binary.fields[2].length`: is 1 for u8", id="length-of-a-number"
        ),
        pytest.param(put(BINARY, "u8}", "u12}"), "line 7, `binary.fields[2].type`: `u12` is not right", id="unknown-type"),
        pytest.param(
            put(BINARY, "u8}", "u8, offset: 1}"),
            "line 7, `binary.fields[2].offset`: `1` is not right: is not known here; the fields"
            " are name, at, type, scale, length",
            id="unknown-in-a-field",
        ),
        pytest.param(
            BINARY + "    - {name: flags, at: 4, type: i8}\nflags: {0: low}\n",
            "line 8, `binary.fields[3].type`: of flags is u8",
            id="flags-with-a-sign",
        ),
        pytest.param(
            BINARY + "    - {name: torque, at: 4, type: i8}\n", "line 5, `binary.fields`: names `torque` twice", id="twice"
        ),
        pytest.param(
            BINARY + "    - {name: flags, at: 4, type: u8}\n", "line 1, `flags`: is missing; say which bits", id="flags-unsaid"
        ),
        pytest.param(
            BINARY + "    - {name: flags, at: 4, type: u8}\nflags: {8: low}\n",
            "line 9, `flags.8`: is no bit of the field `flags`",
            id="bit-too-high",
        ),
        pytest.param(
            BINARY + "    - {name: flags, at: 4, type: u8}\nflags: {a: low}\n",
            "line 9, `flags.a`: is no bit of the field `flags`",
            id="bit-is-no-number",
        ),
        pytest.param(
            BINARY + "pattern: '{torque} {unit}'\n", "line 8, `pattern`: does not belong beside `binary`", id="binary-and-pattern"
        ),
        pytest.param(BINARY + "decimal_mark: ','\n", "line 8, `decimal_mark`: is for text", id="decimal-mark"),
        pytest.param(
            PATTERN + "delimiter: ';'\n", "line 5, `delimiter`: does not belong beside `pattern`", id="pattern-and-delimiter"
        ),
        pytest.param(PATTERN + "quoted: yes\n", "line 5, `quoted`: does not belong beside `pattern`", id="pattern-and-quotes"),
        pytest.param(
            put(PATTERN, "unit:4", "unti:4"), "line 3, `pattern`: `unti` is no field; the fields are wrench", id="pattern-typo"
        ),
        pytest.param(
            put(PATTERN, "torque:8", "torque"), "line 3, `pattern`: `{torque}` has another field right behind", id="no-end"
        ),
        pytest.param(put(PATTERN, "torque:8", "torque:x"), "line 3, `pattern`: `x` is no width", id="width-no-number"),
        pytest.param(put(PATTERN, "torque:8", "torque!r"), "line 3, `pattern`: `!r` is not known here", id="conversion"),
        pytest.param(put(PATTERN, "{torque:8}", "{torque:8"), "line 3, `pattern`: ", id="brace-not-closed"),
        pytest.param(
            put(PATTERN, "{unit:4}", "{unit:4}·"), "line 3, `pattern`: cannot be written in ascii", id="pattern-not-ascii"
        ),
        pytest.param(put(PATTERN, "{unit:4}", ""), "line 3, `pattern`: does not name `unit`", id="pattern-without-unit"),
        pytest.param(with_fields("flags"), "line 4, `fields`: names `flags`, which only a binary record has", id="flags-in-text"),
        pytest.param("name: a\nlongest: 40\n", "line 1, `encoding`: is missing; write it", id="nothing-of-a-layout"),
        pytest.param(
            "name: a\nencoding: ascii\nlongest: 40\n",
            "line 1, `delimiter`: is missing; write it, or a `pattern` or `binary`",
            id="no-layout",
        ),
    ],
)
def test_layout_that_cannot_be_is_refused(text: str, fault: str) -> None:
    assert faults(text)[0].startswith(fault)
