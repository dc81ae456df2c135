"""An exported workbook, read back with openpyxl, and its parts looked at as they lie in the archive."""

import io
import re
import zipfile
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from analysis.export import Export, Scope, What
from analysis.export.columns import COLUMNS
from analysis.export.xlsx_file import Made, write_xlsx
from analysis.load.record import Tree
from schemas.errors import RecordError

MADE = Made("2026-03-02T07:00:00.250000Z", "witnessmark 0", "Workshop (not named)")
HOSTILE = ['=HYPERLINK("http://example.invalid","x")', "=1+1", "@sum", "+ok", "-J2", "#N/A", "#REF!", "{=1}", "'=1"]


def export(rows, **more):
    facts = {"simulated": False, "workshops": (), "tree": Tree(12, "ab" * 32, 12)} | more
    return Export(Scope(What.CHECKS), COLUMNS[What.CHECKS], iter(rows), len(rows), **facts)


def check(void=None, shown="-20.0", wrench="W-140", time="2026-03-02"):
    return (time, wrench, "95.20", shown, "N·m", "Mira Tannwald", "95.20", shown, "-0.5000", void, "", 7)


def written(rows, made=MADE, **more) -> bytes:
    target = io.BytesIO()
    assert write_xlsx(export(rows, **more), target, made) == len(rows)
    return target.getvalue()


def sheet(data: bytes, name="checks"):
    return load_workbook(io.BytesIO(data))[name]


def test_a_number_is_a_numeric_cell_that_shows_its_decimals_as_sent() -> None:
    row = sheet(written([check(shown="-20.0")]))[2]

    assert [(cell.value, cell.data_type, cell.number_format) for cell in row[2:4]] == [
        (95.2, "n", "0.00"),
        (-20.0, "n", "0.0"),
    ]


@pytest.mark.parametrize(
    ("sent", "value", "form"),
    [
        pytest.param("7", 7, "0", id="whole"),
        pytest.param("+25.10", 25.1, "0.00", id="plus-sign"),
        pytest.param("76.73929587555726264", 76.73929587555726, "0.000000", id="more-decimals-than-can-be-seen"),
        pytest.param("123456789012345", 123456789012345, "0", id="longest-whole-number"),
        # IEEE 754 double: whole numbers above 2^53 are not all there, and a spreadsheet stops at 15 digits.
        pytest.param("1234567890123456", "1234567890123456", "General", id="longer-is-text"),
        pytest.param("=1+1", "=1+1", "General", id="no-number-is-text"),
        pytest.param("1e5", "1e5", "General", id="exponent-is-text"),
    ],
)
def test_what_a_column_of_numbers_makes_of_a_text(sent, value, form) -> None:
    cell = sheet(written([check(shown=sent)]))["D2"]

    assert (cell.value, cell.number_format) == (value, form)
    assert cell.data_type == ("s" if isinstance(value, str) else "n")


@pytest.mark.parametrize("name", ["00123", "12E5", "2-3", "1/2", "12345678901234567", "TRUE", "NA", "2026-03-02"])
def test_an_id_that_looks_like_something_else_is_a_text_cell(name) -> None:
    cell = sheet(written([check(wrench=name)]))["B2"]

    assert (cell.value, cell.data_type) == (name, "s")


def test_an_instant_is_a_text_because_a_spreadsheet_has_no_zones() -> None:
    cell = sheet(written([check(time="2026-03-02T07:00:00.000000Z")]))["A2"]

    assert (cell.value, cell.data_type) == ("2026-03-02T07:00:00.000000Z", "s")


def test_no_text_becomes_a_formula_or_an_error() -> None:
    data = written([check(text, wrench=text, shown=text) for text in HOSTILE])

    for row, text in zip(sheet(data).iter_rows(min_row=2), HOSTILE, strict=True):
        assert [(row[place].value, row[place].data_type) for place in (1, 3, 9)] == [(text, "s")] * 3
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for name in archive.namelist():
            if name.startswith("xl/worksheets/"):
                xml = archive.read(name)
                assert not re.search(rb"<f[ />]", xml)
                # ECMA-376 part 1, 18.18.11 (from memory): `e` an error, `str` what a formula gave.
                assert set(re.findall(rb' t="(\w+)"', xml)) <= {b"inlineStr", b"n"}


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        pytest.param("bell\a", "bell⟨U+0007⟩", id="control"),
        pytest.param("a\0b", "a⟨U+0000⟩b", id="nul"),
        pytest.param("a\r\nb", "a⟨U+000D⟩\nb", id="carriage-return"),
        pytest.param("a\uffffb", "a⟨U+FFFF⟩b", id="no-character"),
        pytest.param("abc\u202edef", "abc⟨U+202E⟩def", id="turns-the-reading-order"),
        pytest.param(" two\tlines\n ", " two\tlines\n ", id="white-space-stays"),
        pytest.param("日本 Größe", "日本 Größe", id="letters-stay"),
        # ECMA-376 part 1, ST_Xstring (from memory): `_x0041_` is read as `A`, `_x005F_` as the line.
        pytest.param("_x0041_", "_x005F_x0041_", id="escape-like"),
        pytest.param("long" * 4000 + "!", "long" * 4000 + " ⟨cut here; the CSV form has all of it⟩", id="too-long"),
    ],
)
def test_what_a_cell_cannot_hold_is_written_visibly(text, shown) -> None:
    assert sheet(written([check(text)]))["J2"].value == shown


@settings(max_examples=40, deadline=None)
@given(st.lists(st.text(max_size=20), min_size=1, max_size=5))
def test_every_text_gives_a_workbook_that_can_be_read_and_runs_nothing(texts) -> None:
    data = written([check(text, wrench=text) for text in texts])

    assert {cell.data_type for row in sheet(data).iter_rows() for cell in row} <= {"s", "n"}
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        xml = ElementTree.fromstring(archive.read("xl/worksheets/sheet1.xml"))
    assert not list(xml.iter("{http://schemas.openxmlformats.org/spreadsheetml/2006/main}f"))


def test_the_header_is_bold_frozen_and_can_be_filtered() -> None:
    checks = sheet(written([check(), check()]))

    assert [cell.value for cell in checks[1]] == [column.name for column in COLUMNS[What.CHECKS]]
    assert all(cell.font.bold for cell in checks[1])
    assert checks.freeze_panes == "A2"
    assert checks.auto_filter.ref == "A1:L3"
    assert checks.column_dimensions["A"].width == 28


def test_the_table_is_the_first_sheet_and_about_says_what_it_is() -> None:
    data = written([check()])

    about = {row[0].value: row[1].value for row in sheet(data, "about").iter_rows()}

    assert load_workbook(io.BytesIO(data)).sheetnames == ["checks", "about"]
    assert about["what"] == "checks of all wrenches: 1 row"
    assert about["workshop"] == "Workshop (not named)"
    assert about["made"] == "2026-03-02T07:00:00.250000Z by witnessmark 0"
    assert about["tree head"].startswith("ab" * 32)
    assert "12 entries" in about["tree head"]
    assert "SIMULATED" not in about


def test_a_simulated_table_says_so_first() -> None:
    about = sheet(written([check()], simulated=True, workshops=("Tannwald Trailers",)), "about")

    assert about["A1"].value == "SIMULATED"
    assert [row[1].value for row in about.iter_rows() if row[0].value == "workshop"] == ["Tannwald Trailers"]


@pytest.mark.parametrize("hostile", HOSTILE)
@pytest.mark.parametrize("where", ["record", "settings", "scope"])
def test_about_runs_nothing_whatever_a_workshop_or_wrench_is_called(hostile, where) -> None:
    workshops = (hostile,) if where == "record" else ()
    made = replace(MADE, program=hostile, workshop=hostile if where == "settings" else "Workshop")
    of = hostile if where == "scope" else None
    table = Export(Scope(What.CHECKS, of), COLUMNS[What.CHECKS], iter(()), 0, False, workshops, Tree(1, hostile, 1))
    target = io.BytesIO()
    write_xlsx(table, target, made)

    cells = [cell for row in sheet(target.getvalue(), "about").iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} == {"s"}
    if where != "scope":
        assert hostile in [cell.value for cell in cells]


def test_the_same_table_gives_the_same_bytes_with_no_time_but_the_given_one() -> None:
    data = written([check("=1+1")])

    assert written([check("=1+1")]) == data
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert {part.date_time for part in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {part.compress_type for part in archive.infolist()} == {zipfile.ZIP_DEFLATED}
    properties = load_workbook(io.BytesIO(data)).properties
    assert str(properties.created) == str(properties.modified) == "2026-03-02 07:00:00"


def test_no_row_gives_a_header_and_about() -> None:
    assert sheet(written([])).auto_filter.ref == "A1:L1"


@pytest.mark.parametrize("counted", [pytest.param(3, id="seen-before"), pytest.param(2, id="more-came-than-were-counted")])
def test_more_rows_than_a_sheet_holds_are_refused_with_the_way_out(counted) -> None:
    rows = iter([check()] * 3)
    table = Export(Scope(What.CHECKS), COLUMNS[What.CHECKS], rows, counted, False, (), Tree(1, "ab", 1))

    with pytest.raises(RecordError, match="3 rows are more than the 2 that a sheet can hold; export as CSV instead: --to"):
        write_xlsx(table, io.BytesIO(), MADE, most_rows=2)
