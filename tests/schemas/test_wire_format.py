"""A wire format file is read strictly: every fault with its line and field."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import schemas.wire
from schemas.errors import PlanError
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

SHORT = """\
name: short
encoding: ascii
delimiter: ";"
fields: [torque, unit]
longest: 40
"""


def faults(text: str | bytes) -> list[str]:
    data = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(PlanError, match=r"^made\.yaml, line ") as caught:
        load_wire_format(data, "made.yaml")
    return [str(fault) for fault in caught.value.faults]


def test_plain_line_is_what_its_file_says() -> None:
    path = Path(schemas.wire.__file__).parent / "plain-line.yaml"

    assert load_wire_format(path.read_bytes(), path.name) == WireFormat(
        name="plain-line",
        encoding="ascii",
        delimiter=";",
        fields=("wrench", "sequence", "torque", "unit", "tool_time", "status"),
        longest=120,
        begins="@",
        over_range=("OL",),
        no_reading=("----",),
        status={"": "", "ok": "", "lb": "battery low"},
        low_battery=("lb",),
    )


def test_format_says_only_what_differs_from_the_usual() -> None:
    assert load_wire_format(SHORT.encode(), "made.yaml") == WireFormat(
        name="short", encoding="ascii", delimiter=";", fields=("torque", "unit"), longest=40
    )


def test_field_that_is_not_read_is_null_and_quoting_is_a_word() -> None:
    text = SHORT.replace("[torque, unit]", "[null, torque, ~, unit]") + "quoted: yes\ndecimal_mark: ','\nover_range: [32767]\n"

    wire = load_wire_format(b"\xef\xbb\xbf" + text.encode(), "made.yaml")

    assert wire.fields == (None, "torque", None, "unit")
    assert wire.quoted
    assert wire.over_range == ("32767",)
    assert all(type(text) is str for text in (wire.name, wire.delimiter, *wire.over_range))
    assert wire.decimal_mark == ","


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param(SHORT + "delimeter: x\n", "line 6, `delimeter`: .* is not known here; the fields are", id="unknown"),
        pytest.param(SHORT.replace("longest: 40\n", ""), "line 1, `longest`: is missing; write it", id="missing"),
        pytest.param(SHORT.replace("40", "long"), "line 5, `longest`: `long` is not right: .* integer", id="no-number"),
        pytest.param(SHORT.replace("40", "0"), "line 5, `longest`: `0` is not right: .* greater", id="no-bytes"),
        pytest.param(SHORT.replace("40", "65537"), "line 5, `longest`: .* less than or equal to 65536", id="too-many"),
        pytest.param(SHORT.replace("ascii", "cp1252"), "line 2, `encoding`: `cp1252` .* 'utf-8'", id="encoding"),
        pytest.param(SHORT.replace("short", "[a]"), "line 1, `name`: wants one text, not a list", id="name-a-list"),
        pytest.param(SHORT + "over_range:\n  - OL\n  - [a]\n", r"line 8, `over_range\[2\]`: wants one", id="in-a-list"),
        pytest.param(SHORT + "over_range: OL\n", "line 6, `over_range`: `OL` .* valid list", id="list-left-out"),
        pytest.param(SHORT + "status:\n  a: x\n  b: {}\n", r"line 8, `status.b`: wants one text", id="in-a-map"),
        pytest.param(SHORT.replace("unit]", "unti]"), r"line 4, `fields\[2\]`: `unti` .* 'wrench'", id="field-typo"),
        pytest.param(SHORT.replace("unit]", "unit, torque]"), "line 4, `fields`: names `torque` twice", id="field-twice"),
        pytest.param(SHORT.replace("torque, unit", "unit"), "line 4, `fields`: does not name `torque`", id="no-torque"),
        pytest.param(SHORT.replace(", unit", ""), "line 4, `fields`: does not name `unit`", id="no-unit"),
        pytest.param(SHORT.replace('";"', '"."'), "line 3, `delimiter`: is the decimal mark too", id="delimiter-a-point"),
        pytest.param(SHORT.replace('";"', '""'), "line 3, `delimiter`: `` is not right", id="delimiter-empty"),
        pytest.param(SHORT.replace('";"', r'"\n"'), "line 3, `delimiter`: holds a line end", id="delimiter-a-line-end"),
        pytest.param(SHORT.replace('";"', "·"), "line 3, `delimiter`: cannot be written in ascii", id="not-ascii"),
        pytest.param(SHORT + "begins: '…'\n", "line 6, `begins`: cannot be written in ascii", id="begins-not-ascii"),
        pytest.param(SHORT.replace('";"', '";;"') + "quoted: yes\n", "line 3, `delimiter`: must be one", id="quoted-two"),
        pytest.param(SHORT.replace('";"', "'\"'") + "quoted: yes\n", "line 3, `delimiter`: must be", id="quoted-quote"),
        pytest.param(SHORT + "quoted: true\n", "line 6, `quoted`: `true` .* 'yes' or 'no'", id="true"),
        pytest.param(SHORT + "name: again\n", "line 6, `name`: ", id="key-twice"),
        pytest.param("name: [\n", "line 2: ", id="never-closed"),
        pytest.param("", "line 1: ", id="empty"),
        pytest.param("- a\n", "line 1: ", id="a-list"),
        pytest.param(b"name: x\nencoding: \xff\n", "line 2: .* UTF-8", id="not-utf-8"),
    ],
)
def test_fault_is_named_with_line_and_field(text: str | bytes, fault: str) -> None:
    found = faults(text)

    assert len(found) == 1
    assert re.match(fault, found[0])


def test_all_faults_are_named_at_once() -> None:
    assert len(faults("name: [a]\nencoding: x\ndelimiter: ';'\nfields: [torque, unit]\n")) == 3


pieces = st.sampled_from(
    [
        "name",
        "fields",
        "status",
        ": ",
        "\n",
        "  ",
        "- ",
        "[",
        "]",
        "{",
        "}",
        "&a",
        "*a",
        "!!int ",
        "!x ",
        "1",
        "null",
        "'",
    ]
)


@given(text=st.lists(pieces, max_size=25).map("".join) | st.text(max_size=40))
def test_any_text_that_is_no_format_gives_faults_with_lines(text: str) -> None:
    with pytest.raises(PlanError, match=r"^made\.yaml, line \d+"):
        load_wire_format(text.encode("utf-8", "surrogatepass"), "made.yaml")
