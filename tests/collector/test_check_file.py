"""A file of checks row by row: CSV and XLSX as people and spreadsheets leave them; what is no such file is one clear line."""

import json
import re
import zipfile
from datetime import date, datetime, time
from pathlib import Path

import pytest
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900

from collector.acquire import check_file, check_sheet
from collector.acquire.check_file import read_check_file
from collector.acquire.check_header import NAMES, NEEDED
from schemas.errors import SourceError, SourceReason
from schemas.safe_cell import safe_text

HEADER = b"time,wrench,reference,shown,unit\n"
ROW = b"2026-03-02,W-7,120.5,121,Nm\n"
TEXTS = {"time": "2026-03-02", "wrench": "W-7", "reference": "120.5", "shown": "121", "unit": "Nm"}
CELLS = ["2026-03-02", "W-7", 120.5, 121, "Nm"]


@pytest.fixture(name="csv_rows")
def _csv_rows(tmp_path):
    def read(data, name="checks.csv"):
        (tmp_path / name).write_bytes(data)
        return read_check_file(tmp_path / name).rows

    return read


@pytest.fixture(name="book")
def _book(tmp_path):
    """Saves a workbook of sheets, each a list of rows, and gives its path."""

    def save(*sheets, epoch=CALENDAR_WINDOWS_1900, name="checks.xlsx"):
        book = Workbook()
        book.remove(book.active)
        book.epoch = epoch
        for number, rows in enumerate(sheets, 1):
            sheet = book.create_sheet(f"Bench {number}")
            for row in rows:
                sheet.append(row)
        book.save(tmp_path / name)
        return tmp_path / name

    return save


def altered(path, part, change):
    """The workbook with one of its parts changed by a function of its bytes."""
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    assert any(name.endswith(part) for name in parts)
    with zipfile.ZipFile(path, "w") as new:
        for name, data in parts.items():
            new.writestr(name, change(data) if name.endswith(part) else data)
    return path


def stored_value(formula, value):
    """Puts beside a formula what a spreadsheet stores there."""
    return lambda data: re.sub(b"(<f>" + formula + rb"</f>)<v(?: ?/>|></v>)", rb"\g<1><v>" + value + b"</v>", data)


def texts(rows):
    return [row.texts for row in rows]


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(HEADER + ROW, id="plain"),
        pytest.param(b"\xef\xbb\xbf" + HEADER + ROW, id="byte-order-mark"),
        pytest.param((HEADER + ROW).replace(b"\n", b"\r\n"), id="cr-lf"),
        pytest.param((HEADER + ROW).replace(b"\n", b"\r"), id="cr"),
        pytest.param(HEADER + ROW.rstrip(), id="no-last-line-end"),
        pytest.param(b"\n  \n" + HEADER + b"\n,,,,\n \t\n" + ROW, id="blank-lines"),
        pytest.param(b'"Time","WRENCH ID", Reference value,Indicated,torque-unit\n' + ROW, id="other-names"),
        pytest.param(HEADER + b' 2026-03-02 ,"W-7", 120.5,"121",Nm\n', id="spaces-and-quotes"),
        pytest.param(b"note,unit,shown,reference,wrench,time\n" + b'"a, b",Nm,121,120.5,W-7,2026-03-02\n', id="another-order"),
    ],
)
def test_a_csv_file_is_read_as_spreadsheets_write_it(csv_rows, data):
    assert texts(csv_rows(data)) == [TEXTS]


def test_rows_come_in_the_order_of_the_file_with_their_lines_and_bytes(csv_rows):
    rows = csv_rows(HEADER + b"2026-03-09,W-7,1,1,Nm\n\n" + ROW + b"2026-03-05,W-8,2,2,Nm\n")

    assert [(row.line, row.texts["time"]) for row in rows] == [(2, "2026-03-09"), (4, "2026-03-02"), (5, "2026-03-05")]
    assert rows[1].raw == ROW.rstrip()


def test_the_name_without_folder_and_the_hash_of_the_file_are_told(tmp_path):
    (tmp_path / "c.csv").write_bytes(b"time,wrench,reference,shown,unit\nx\n")
    read = read_check_file(tmp_path / "c.csv")

    # sha256sum of the same bytes (GNU coreutils 9.1).
    assert (read.file, read.sha256) == ("c.csv", "7207029010bbb7f9e008ffa0c060fbf899faa0a5842023ce4dd8096ad08d3a64")


def test_a_missing_cell_is_missing_and_nothing_moves_into_its_place(csv_rows):
    assert texts(csv_rows(HEADER + b"2026-03-02,W-7,120.5\n2026-03-02,,120.5,121,Nm\n")) == [
        {"time": "2026-03-02", "wrench": "W-7", "reference": "120.5"},
        TEXTS | {"wrench": ""},
    ]


@pytest.mark.parametrize(
    ("line", "trouble"),
    [
        pytest.param(b"2026-03-02,W-7,120,121,N\xb7m", "is not UTF-8; save the file as CSV in UTF-8", id="cp1252"),
        pytest.param(b'"2026-03-02,W-7,120,121,Nm', "is no CSV row (unexpected end of data); mend its quotes", id="open-quote"),
        pytest.param(b'2026-03-02,W-7,"120"1,121,Nm', "is no CSV row (',' expected after '\"'); mend", id="stray-quote"),
        pytest.param(
            b"2026-03-02,W-7,120,5,121,Nm",
            "has 6 cells under a header of 5; a comma inside a cell needs quotes around the cell",
            id="decimal-comma-makes-too-many-cells",
        ),
        pytest.param(b"2026-03-02," + b"W" * 200_000 + b",1,1,Nm", "is no CSV row (field larger", id="very-long"),
    ],
)
def test_a_row_that_cannot_be_read_spoils_no_other(csv_rows, line, trouble):
    before, row, after = csv_rows(HEADER + ROW + line + b"\n" + ROW)

    assert before.texts == after.texts == TEXTS
    assert (row.line, row.raw, row.texts) == (3, line, {})
    assert row.trouble.startswith(trouble)


def test_a_nul_stays_in_its_cell(csv_rows):
    rows = csv_rows(HEADER + ROW.replace(b"121", b"12\x001") + ROW)

    assert texts(rows) == [TEXTS | {"shown": "12\x001"}, TEXTS]


@pytest.mark.parametrize("wrench", ["=1+1", "+49", "-7", "@home", "'=x", "'W", "''=y", "＝1"])
def test_a_wrench_that_looks_like_a_formula_comes_back_as_our_own_export_wrote_it(csv_rows, wrench):
    (row,) = csv_rows(HEADER + ROW.replace(b"W-7", safe_text(wrench).encode()))

    assert row.texts["wrench"] == wrench


@pytest.mark.parametrize(
    ("data", "says"),
    [
        pytest.param(b"", "is empty; it needs a header and rows", id="empty"),
        pytest.param(b"\n \n", "is empty; it needs a header and rows", id="blank"),
        pytest.param(HEADER, "holds no rows under its header; choose one with checks", id="header-only"),
        pytest.param(HEADER + b"\n,,,,\n", "holds no rows under its header; choose one with checks", id="blank-rows-only"),
        pytest.param((HEADER + ROW).decode().encode("utf-16"), "is no CSV in UTF-8; save it so, or as .xlsx", id="utf-16"),
        pytest.param((HEADER + ROW).decode().encode("utf-16-be"), "is no CSV in UTF-8; save it so, or as .xlsx", id="utf-16-be"),
        pytest.param(
            (HEADER + ROW).replace(b",", b";"),
            "has semicolons between its columns, and only commas are read; save it with commas, or as .xlsx",
            id="semicolons",
        ),
        pytest.param((HEADER + ROW).replace(b",", b"\t"), "has tabs between its columns, and only commas are read", id="tabs"),
        pytest.param(b"time,wrench,Pr\xfcfer\n" + ROW, "has a header that is not UTF-8; save the file as CSV in", id="cp1252"),
        pytest.param(b'"time,wrench\n' + ROW, "has a header that is no CSV row (unexpected end of data)", id="open-quote"),
        pytest.param(ROW + ROW, "has no column `time` in its header, which is `2026-03-02`, `W-7`, `120.5`", id="no-header"),
        pytest.param(b"a\n1\n", "has no column `time` in its header, which is `a`; needed are time, wrench, ", id="one-column"),
        pytest.param(b"time,tool,wrench,reference,shown,unit\n", "has 2 columns for `wrench` in its header", id="two-for-one"),
        pytest.param(HEADER.replace(b"unit", b"unit,void,void"), "has 2 columns for `void` in its header", id="two-for-void"),
        pytest.param(
            HEADER.replace(b"unit", b"unit,simulated,Simulated"), "has 2 columns for `simulated`", id="two-for-simulated"
        ),
        pytest.param(b"\x1b[31mtime,x\n", r"which is `\x1b[31mtime`, `x`", id="control-signs-are-written-out"),
        pytest.param(b"PK\x03\x04\x14\x00\x00", "is no CSV in UTF-8; save it so, or as .xlsx", id="a-workbook-named-csv"),
    ],
)
def test_what_is_no_file_of_checks_is_one_line_that_says_what_to_do(csv_rows, data, says):
    with pytest.raises(SourceError, match=f"^checks `checks.csv` .*{re.escape(says)}") as caught:
        csv_rows(data)
    assert str(caught.value).isprintable()
    assert caught.value.reason is SourceReason.NOT_READABLE


@pytest.mark.parametrize("field", NEEDED)
def test_a_column_that_is_missing_is_named(csv_rows, field):
    names = [name for name in NEEDED if name != field]
    with pytest.raises(SourceError, match=f"has no column `{field}` in its header, which is .*; needed are time, wrench, "):
        csv_rows(",".join(names).encode() + b"\n" + ROW)


@pytest.mark.parametrize("name", NAMES)
def test_each_header_that_is_known_stands_for_its_field(csv_rows, name):
    field = NAMES[name]
    header = [name if other == field else other for other in (*NEEDED, "void", "simulated")]

    (row,) = csv_rows(f"{','.join(header)}\n2026-03-02,W-7,120.5,121,Nm,typo,SIMULATED\n".encode())

    assert row.texts == TEXTS | {"void": "typo", "simulated": "SIMULATED"}


@pytest.mark.parametrize(
    ("make", "says"),
    [
        pytest.param(lambda path: None, "cannot be read (No such file or directory); check its name and place", id="missing"),
        pytest.param(Path.mkdir, "cannot be read (Is a directory); check its name and place", id="folder"),
    ],
)
def test_a_place_without_a_file_is_named(tmp_path, make, says):
    make(tmp_path / "checks.csv")
    with pytest.raises(SourceError, match=re.escape(f"{tmp_path / 'checks.csv'}: {says}")) as caught:
        read_check_file(tmp_path / "checks.csv")
    assert caught.value.reason is SourceReason.MISSING


def test_a_file_that_is_too_large_to_be_read_whole_is_refused(csv_rows, monkeypatch):
    monkeypatch.setattr(check_file, "LARGEST_BYTES", len(HEADER + ROW))

    assert len(csv_rows(HEADER + ROW)) == 1
    with pytest.raises(SourceError, match="is larger than 0 MB; split it, each part with the header"):
        csv_rows(HEADER + ROW + b"\n")


def test_two_hundred_thousand_rows_are_read(csv_rows):
    assert len(csv_rows(HEADER + ROW * 200_000)) == 200_000


# A workbook counts days from 1900 or from 1904 (ECMA-376 part 1, 18.2.28, date1904, from memory); 1462 days lie between them.
@pytest.mark.parametrize(
    ("epoch", "number"),
    [
        pytest.param(CALENDAR_WINDOWS_1900, b"<v>46083</v>", id="1900"),
        pytest.param(CALENDAR_MAC_1904, b"<v>44621</v>", id="1904"),
    ],
)
def test_a_day_is_that_of_the_workbooks_own_calendar(book, epoch, number):
    cells = [[date(2026, 3, 2), *CELLS[1:]], [datetime(2026, 3, 2, 7, 30), *CELLS[1:]]]  # noqa: DTZ001  # as cells are
    path = book([NEEDED, *cells], epoch=epoch)

    # Both files hold another number for the day; without that the test would show nothing.
    with zipfile.ZipFile(path) as parts:
        assert number in parts.read("xl/worksheets/sheet1.xml")
    assert [row.texts["time"] for row in read_check_file(path).rows] == ["2026-03-02", "2026-03-02T07:30:00"]


@pytest.mark.parametrize("epoch", [CALENDAR_WINDOWS_1900, CALENDAR_MAC_1904], ids=["1900", "1904"])
@pytest.mark.parametrize("number", [44621, 46083.3125])
def test_a_bare_number_is_no_day(book, epoch, number):
    (row,) = read_check_file(book([NEEDED, [number, *CELLS[1:]]], epoch=epoch)).rows

    assert row.trouble == f"time {number} is a number, not a date; give its cell the form of a date"
    assert row.texts == {}


def test_cells_are_read_as_they_are_stored(book):
    path = book([
        ["Time", "Tool", "Reference", "Shown", "Units", "void", "by"],
        ["2026-03-02", 7, "120.50", 121, " Nm ", None, "Jo"],
        [time(7, 30), "=W", True, 1e-7, None, "typo"],
        [],
        ["2026-03-03", "'=W", 0.1 + 0.2, date(2026, 5, 1), "Nm"],
    ])  # fmt: skip
    altered(path, "sheet1.xml", stored_value(b"W", b"9"))
    altered(path, "sheet1.xml", lambda data: data.replace(b"<v>121</v>", b"<v>121.0</v>"))

    first, second, third = read_check_file(path).rows

    assert first.texts == {"time": "2026-03-02", "wrench": "7", "reference": "120.50", "shown": "121", "unit": "Nm", "void": ""}
    assert second.texts == {
        "time": "07:30:00", "wrench": "9", "reference": "True", "shown": "1e-07", "unit": "", "void": "typo"
    }  # fmt: skip
    assert third.texts["wrench"] == "'=W"
    assert third.texts["shown"] == "2026-05-01"
    assert [first.line, second.line, third.line] == [2, 3, 5]
    assert json.loads(first.raw) == ["2026-03-02", "7", "120.50", "121.0", " Nm ", None, "Jo"]


def test_a_text_that_looks_like_a_formula_is_that_text(tmp_path):
    book = Workbook(write_only=True)
    sheet = book.create_sheet()
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(sheet, "=1+1")
    cell.data_type = "s"
    sheet.append(NEEDED)
    sheet.append(["2026-03-02", cell, 120.5, 121, "Nm"])
    book.save(tmp_path / "c.xlsx")

    assert texts(read_check_file(tmp_path / "c.xlsx").rows) == [TEXTS | {"wrench": "=1+1"}]


def test_a_formula_without_a_stored_value_is_not_read_as_an_empty_cell(book):
    path = book([NEEDED, ["2026-03-02", "W-7", "=100+20", 121, "Nm"], ["=A2", "=B2", "=C2", "=D2", "=E2"], CELLS])

    reference, all_of_it, right = read_check_file(path).rows

    says = "is a formula without a stored value; open the file in a spreadsheet and save it"
    assert (reference.line, reference.trouble) == (2, f"`reference` {says}")
    assert (all_of_it.line, all_of_it.trouble) == (3, f"`time` {says}")
    assert json.loads(all_of_it.raw) == ["=A2", "=B2", "=C2", "=D2", "=E2"]
    assert right.texts == TEXTS


def test_a_formula_with_its_stored_value_is_that_value(book):
    path = book([NEEDED, ["2026-03-02", "W-7", "=100+20.5", 121, "Nm"]])
    altered(path, "sheet1.xml", stored_value(rb"100\+20.5", b"120.5"))

    assert texts(read_check_file(path).rows) == [TEXTS]


def test_a_sheet_that_states_too_small_a_size_loses_no_row(book):
    path = book([NEEDED, CELLS, CELLS])
    altered(path, "sheet1.xml", lambda data: re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="A1:E2"', data))

    assert len(read_check_file(path).rows) == 2


def test_the_sheet_with_the_columns_of_checks_is_read(book):
    assert texts(read_check_file(book([], [["Notes"], ["x"]], [NEEDED, CELLS])).rows) == [TEXTS]


def test_checks_on_two_sheets_are_not_halved_in_silence(book):
    path = book([NEEDED, CELLS], [["Notes"]], [NEEDED, CELLS])
    with pytest.raises(SourceError, match="has checks on the sheets `Bench 1` and `Bench 3`, and one is read; save each"):
        read_check_file(path)


@pytest.mark.parametrize(
    ("sheets", "says"),
    [
        pytest.param([[]], "is empty; it needs a header and rows", id="empty"),
        pytest.param([[NEEDED]], "holds no rows under its header; choose one with checks", id="header-only"),
        pytest.param([[["x", None, "unit"]], [["y"]]], "has no column `time` in its header, which is `x`, ``, `u", id="header"),
        pytest.param([[(*NEEDED, "tool"), CELLS]], "has 2 columns for `wrench`", id="two-for-one"),
    ],
)
def test_a_workbook_without_checks_is_one_line(book, sheets, says):
    with pytest.raises(SourceError, match=f"^checks `checks.xlsx` {re.escape(says)}"):
        read_check_file(book(*sheets))


@pytest.mark.parametrize(
    ("part", "change"),
    [
        pytest.param("sheet1.xml", lambda data: data[: len(data) // 2], id="sheet-cut"),
        pytest.param("sheet1.xml", lambda data: data.replace(b"<v>121</v>", b"<v>abc</v>"), id="no-number"),
        pytest.param("workbook.xml", lambda data: b"<a", id="no-xml"),
        pytest.param("workbook.xml", lambda data: b"<workbook/>", id="no-sheets"),
        pytest.param("[Content_Types].xml", lambda data: b"<Types/>", id="no-types"),
    ],
)
def test_a_damaged_workbook_is_one_line(book, part, change):
    path = altered(book([NEEDED, CELLS]), part, change)
    with pytest.raises(SourceError, match=r"^checks `checks.xlsx` is (no XLSX workbook \(.*\); save it anew, or as CSV|empty; )"):
        read_check_file(path)


def test_what_is_no_archive_or_a_broken_one_is_one_line(book):
    path = book([NEEDED, *[CELLS] * 50])
    whole = path.read_bytes()
    middle = len(whole) // 2
    for data in (b"", b"time,wrench", whole[:-30], whole[:middle] + bytes([whole[middle] ^ 255]) + whole[middle + 1 :]):
        path.write_bytes(data)
        with pytest.raises(SourceError, match="is no XLSX workbook"):
            read_check_file(path)


def test_a_small_archive_that_unpacks_to_a_huge_one_is_refused(book, monkeypatch):
    path = book([NEEDED, CELLS])
    monkeypatch.setattr(check_sheet, "LARGEST_UNPACKED_BYTES", 1000)

    with pytest.raises(SourceError, match="unpacks to more than 0 MB; save it as CSV"):
        read_check_file(path)


def test_a_date_beyond_the_calendar_shows_in_its_row_alone(book):
    path = book([NEEDED, [date(2026, 3, 2), *CELLS[1:]], [date(2026, 3, 3), *CELLS[1:]]])
    altered(path, "sheet1.xml", lambda data: data.replace(b"<v>46083</v>", b"<v>99999999999</v>"))

    assert [row.texts["time"] for row in read_check_file(path).rows] == ["#VALUE!", "2026-03-03"]
