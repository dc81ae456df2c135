"""A plan's table as its file holds it: each cell's text and address, and a refusal of whatever is not certain."""

import io
import re
import zipfile
from csv import QUOTE_ALL, writer
from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from collector.acquire import plan_sheet, plan_table, workbook
from collector.acquire.csv_line import open_quote_cell
from collector.acquire.plan_table import plan_tables, read_plan_table
from schemas.errors import PlanError, SourceError
from schemas.safe_cell import plain_text
from schemas.table import CellKind, letters

HEAD = "id,name,qty,torque\n"


def texts(file):
    """The texts of the one table by line and address."""
    (table,) = file.tables
    return [{cell.address: cell.text for cell in row.cells.values()} for row in table.rows]


def csv(text, name="plan.csv", encoding="utf-8"):
    return plan_tables(text.encode(encoding), name)


def says(data, name="plan.csv"):
    with pytest.raises(PlanError) as caught:
        plan_tables(data, name)
    return str(caught.value)


@pytest.fixture(name="book")
def _book(tmp_path):
    """Gives a new workbook with its sheet, and how to save and read it."""
    book = Workbook()

    def read():
        book.save(tmp_path / "plan.xlsx")
        return read_plan_table(tmp_path / "plan.xlsx")

    return book.active, read


def altered(path, pattern, text):
    """Changes what stands in a workbook's first sheet."""
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    before = parts["xl/worksheets/sheet1.xml"]
    parts["xl/worksheets/sheet1.xml"] = re.sub(pattern, text, before)
    assert parts["xl/worksheets/sheet1.xml"] != before
    with zipfile.ZipFile(path, "w") as new:
        for name, data in parts.items():
            new.writestr(name, data)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le-mark", "utf-16-be-mark"])
def test_each_way_in_which_a_spreadsheet_saves_unicode_is_read(encoding):
    text = HEAD + "a,Träger ±½ שלום 前,4,88\n"
    marks = {"utf-16-le-mark": ("utf-16-le", b"\xff\xfe"), "utf-16-be-mark": ("utf-16-be", b"\xfe\xff")}
    name, mark = marks.get(encoding, (encoding, b""))

    file = plan_tables(mark + text.encode(name), "plan.csv")

    assert texts(file)[1] == {"A2": "a", "B2": "Träger ±½ שלום 前", "C2": "4", "D2": "88"}
    assert file.notes == ()


def test_signs_that_every_usual_code_page_has_alike_are_read_and_told():
    file = plan_tables("id;unit;tolerance\na;N·m;±5 %\n".encode("cp1252"), "plan.csv")

    assert texts(file)[1] == {"A2": "a", "B2": "N·m", "C2": "±5 %"}
    assert file.notes == ("plan.csv is no UTF-8; its signs such as ° ± · are the same in every usual code page",)


def test_the_signs_that_are_sure_are_those_that_eight_code_pages_have_alike():
    # Python's own codecs, made from the mapping tables that the Unicode Consortium publishes.
    pages = ["cp1250", "cp1251", "cp1252", "cp1253", "cp1254", "cp1257", "iso8859_1", "iso8859_15"]

    for byte in plan_table._SURE:
        assert len({bytes([byte]).decode(page) for page in pages}) == 1
    assert set(b"\xb0\xb1\xb7") <= plan_table._SURE


def test_a_letter_that_code_pages_have_differently_is_refused_with_its_line():
    what = "byte F8 can be several letters, as the text is no UTF-8; save it as CSV in UTF-8, or as XLSX"
    assert says("id,name\na,B·\nb,Bøyle\n".encode("cp1252")) == f"plan.csv, line 3: {what}"


@pytest.mark.parametrize(
    ("data", "what"),
    [
        pytest.param(HEAD.encode("utf-16-le"), "it looks like UTF-16 without its byte-order mark", id="utf-16-bare"),
        pytest.param(b"\xff\xfea", "the text is no whole UTF-16; save it anew", id="utf-16-cut"),
        pytest.param(b"", "holds no table: no line has more than one cell", id="empty"),
        pytest.param(b"plan\nx\n", "holds no table: no line has more than one cell", id="one-column"),
        pytest.param(b"a;b,c\n1;2,3\n", "both commas and semicolons can stand between its columns", id="two-marks"),
        pytest.param(b"a,b\n" * 20_001, "has more than 20000 rows, 200 columns or 300000 cells, as no plan has", id="rows"),
        pytest.param(b"a," * 201, "has more than 20000 rows, 200 columns or 300000 cells", id="columns"),
        pytest.param((b"a," * 20 + b"\n") * 15_001, "has more than 20000 rows, 200 columns or 300000 cells", id="cells"),
        pytest.param(b"a," * 5_000_001, "the file is larger than 5 MB, as no plan is", id="bytes"),
    ],
)
def test_what_is_no_table_of_a_plan_is_one_line(data, what):
    said = says(data)
    assert what in said
    assert said.isprintable()


@pytest.mark.parametrize(
    ("text", "name"),
    [
        pytest.param("id;name;torque\na;b;24,5\nc;d;108,0\n", "plan.csv", id="decimal-commas-in-every-row"),
        pytest.param("id\tname\ttorque\na\tb, c\t24,5\n", "plan.csv", id="tabs"),
        pytest.param("id\tname\ttorque\na;b\tc;d\t24,5\n", "plan.TSV", id="named-tsv"),
        pytest.param("Rear axle, all of it\nid;name;torque\na;b;1\n", "plan.csv", id="title-with-a-comma"),
        pytest.param("Rear axle\n\nid,name,torque\na,b,1\n", "plan.csv", id="title-above"),
        pytest.param("id,name,torque\r\na,b,1\r\n", "plan.csv", id="cr-lf"),
        pytest.param("id,name,torque\ra,b,1\r", "plan.csv", id="cr"),
    ],
)
def test_what_stands_between_the_columns_is_seen_from_all_lines(text, name):
    (table,) = csv(text, name).tables

    assert [row.width for row in table.rows][-2:] == [3, 3]


def test_a_line_of_another_width_is_kept_for_its_own_message():
    (table,) = csv("id,name,torque\na,b,1\nc,d,1,5\n").tables

    assert [row.width for row in table.rows] == [3, 3, 4]


def test_a_line_whose_quote_stays_open_is_refused_where_it_opens():
    data = b'id,name,qty,torque\nF1,"hanger 5/8,4,60\nF2,3/8 screw,2,30\nF3,"1/2 nut",4,90\n'

    said = says(data)

    assert said.startswith("plan.csv, line 2, cell B2: a quote opens here and does not end in its line")
    assert said.count("\n") == 0


def test_a_text_over_two_lines_is_refused_too_as_it_may_be_an_inch_mark():
    assert says(b'id,name,qty\nF1,"hanger 5/8,4\nF2,1/2",2\n').startswith("plan.csv, line 2, cell B2: a quote opens here")


def test_a_sign_behind_a_closing_quote_is_refused_with_its_line():
    assert says(b'id,name,qty\nF1,"5/8" bolt,4\nF2,b,2\n').startswith("plan.csv, line 2: its quotes do not pair (")


def test_a_quote_inside_a_cell_stays_and_a_doubled_one_is_one():
    file = csv('id,name,qty\nF1,5/8" hanger,4\nF2,"1/2"" nut, left",4\n')

    assert [row["B" + str(line)] for line, row in enumerate(texts(file)[1:], 2)] == ['5/8" hanger', '1/2" nut, left']


def test_what_looks_like_nothing_a_number_or_a_formula_stays_as_it_is():
    ids = ["NA", "None", "null", "N/A", "0077", "7E3", "200E12", "98765432109876543", "=2+2", "-K", "@x", "'=y"]
    file = csv("id,qty\n" + "".join(f"{one},1\n" for one in ids))

    # One apostrophe in front of a formula is what our own export puts there.
    assert [row[f"A{line}"] for line, row in enumerate(texts(file)[1:], 2)] == [*ids[:-1], "=y"]


def test_blank_rows_below_are_counted_and_those_between_leave_a_gap():
    (table,) = csv("id,qty\na,1\n,\n;;\nb,2\n , \n,,,\n\n").tables

    assert [row.line for row in table.rows] == [1, 2, 5]
    assert table.blank_after == 3


def test_a_file_without_rows_has_no_blank_ones():
    assert plan_tables(b"a\tb", "plan.tsv").tables[0].blank_after == 0
    assert plan_tables(b"", "plan.tsv").tables[0].rows == ()


def test_the_name_and_the_hash_of_the_bytes_are_told(tmp_path):
    (tmp_path / "plan.csv").write_bytes(b"id,qty\nx,1\n")

    file = read_plan_table(tmp_path / "plan.csv")

    # sha256sum of the same bytes (GNU coreutils 9.1).
    assert (file.file, file.sha256[:16]) == ("plan.csv", "f236d2601ae29a2f")


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(SourceError, match=re.escape(f"{tmp_path / 'no.csv'}: cannot be read (No such file or directory); name")):
        read_plan_table(tmp_path / "no.csv")


def lines_or_none(data, name):
    try:
        plan_tables(data, name)
    except PlanError as error:
        return str(error).splitlines()
    return []


@given(st.binary(max_size=300), st.sampled_from(["plan.csv", "plan.tsv", "plan.xlsx"]))
def test_any_bytes_are_a_table_or_a_line_that_says_why_not(data, name):
    assert all(line.isprintable() for line in lines_or_none(data, name))


@given(st.lists(st.lists(st.text("ab,;\"' /8=-\u05d0", max_size=6), min_size=3, max_size=3), min_size=2, max_size=5))
def test_what_is_written_as_rfc_4180_has_it_comes_back(rows):
    out = io.StringIO()
    # A header of plain words in front, without which the marks in the cells could be taken for what parts them.
    writer(out, quoting=QUOTE_ALL).writerows([["id", "name", "qty"], *rows])
    (table,) = plan_tables(out.getvalue().encode(), "plan.csv").tables

    wanted = [[plain_text(cell) for cell in row if cell.strip()] for row in rows if any(cell.strip(' \t,;"') for cell in row)]
    assert [[cell.text for cell in row.cells.values()] for row in table.rows[1:]] == wanted


def test_open_quote_cell_is_none_where_all_is_well():
    assert open_quote_cell('a,"b",c') is None
    assert open_quote_cell('a,"b,c') == 2


@pytest.mark.parametrize(("column", "name"), [(1, "A"), (26, "Z"), (27, "AA"), (702, "ZZ"), (703, "AAA"), (16384, "XFD")])
def test_columns_have_the_letters_of_a_spreadsheet(column, name):
    # ECMA-376 names the last of 16,384 columns XFD (from memory).
    assert letters(column) == name


def test_each_kind_of_cell_is_told_apart(book, tmp_path):
    sheet, read = book
    for value in ("text", 12, 12.5, 0.1 + 0.2, True, date(2026, 3, 8), time(7, 30), "=1+1", "#N/A", 1e-7, -3):
        sheet.append([value])
    sheet["A9"].data_type = "e"
    read()
    # A spreadsheet stores more digits than it shows; openpyxl does not write them.
    altered(tmp_path / "plan.xlsx", rb"<v>0\.3</v>", b"<v>0.30000000000000004</v>")

    (table,) = read_plan_table(tmp_path / "plan.xlsx").tables

    assert [(row.cells[1].text, row.cells[1].kind.value) for row in table.rows] == [
        ("text", "text"),
        ("12", "number"),
        ("12.5", "number"),
        ("0.3", "number"),
        ("TRUE", "truth value"),
        ("8-Mar", "date"),
        ("07:30:00", "date"),
        ("a formula", "formula without a stored result"),
        ("#N/A", "error"),
        ("0.0000001", "number"),
        ("-3", "number"),
    ]
    assert [row.cells[1].stored for row in table.rows if row.cells[1].stored] == ["0.30000000000000004"]
    assert table.rows[7].cells[1].from_formula


@pytest.mark.parametrize(
    ("value", "form", "text"),
    [
        pytest.param(0.08, "0%", "8 %", id="percent"),
        pytest.param(0.085, "0.0%", "8.5 %", id="part-of-a-percent"),
        # A percent sign in quotes or behind a backslash is a text and multiplies nothing (ECMA-376, from memory).
        pytest.param(0.5, '0.0" %"', "0.5 %", id="percent-as-a-text"),
        pytest.param(0.5, "0.0\\%", "0.5", id="percent-behind-a-backslash"),
        pytest.param(88, '0" Nm"', "88 Nm", id="unit-in-the-form"),
        pytest.param(95.2, "0.00", "95.2", id="decimals"),
        pytest.param(1200000, "0.0E+00", "1200000", id="wide"),
        pytest.param(date(1932, 6, 1), "mmm-yy", "Jun-32", id="month-and-year"),
        pytest.param(date(2026, 7, 16), "d-mmm", "16-Jul", id="day-and-month"),
    ],
)
def test_a_value_is_the_text_that_a_person_sees(book, value, form, text):
    sheet, read = book
    sheet["B3"] = value
    sheet["B3"].number_format = form

    (table,) = read().tables

    cell = table.rows[0].cells[2]
    assert (cell.address, cell.text, cell.form) == ("B3", text, form)


def test_a_formula_gives_the_result_that_was_stored_and_says_so(book, tmp_path):
    sheet, read = book
    sheet["A1"] = "=40+8"
    read()
    altered(tmp_path / "plan.xlsx", rb"(<f>40\+8</f>)<v(?: ?/>|></v>)", rb"\1<v>48</v>")

    (table,) = read_plan_table(tmp_path / "plan.xlsx").tables

    cell = table.rows[0].cells[1]
    assert (cell.text, cell.kind, cell.from_formula) == ("48", CellKind.NUMBER, True)


def test_formatted_rows_without_values_are_counted_and_left_out(book):
    sheet, read = book
    sheet.append(["id", "qty"])
    sheet.append(["a", 4])
    for line in range(3, 300):
        sheet.cell(line, 1).number_format = "@"
        sheet.cell(line, 2, " " if line == 250 else None)

    (table,) = read().tables

    assert [row.line for row in table.rows] == [1, 2]
    assert table.blank_after == 297


def test_merged_cells_are_named_by_their_range(book):
    sheet, read = book
    sheet["A1"] = "LEFT"
    sheet.merge_cells("A1:C1")
    sheet.merge_cells("B4:B7")

    assert [str(cells) for cells in read().tables[0].merged] == ["A1:C1", "B4:B7"]


def test_every_sheet_is_a_table_under_its_name(book):
    sheet, read = book
    sheet.title = "joints"
    sheet.parent.create_sheet("steps").append(["step"])

    assert [(table.sheet, len(table.rows)) for table in read().tables] == [("joints", 0), ("steps", 1)]


def test_a_workbook_that_unpacks_to_more_than_a_plan_is_refused(book, monkeypatch):
    sheet, read = book
    sheet.append(["x"])
    monkeypatch.setattr(plan_sheet, "LARGEST_UNPACKED_BYTES", 1000)

    with pytest.raises(PlanError, match=r"plan\.xlsx: unpacks to more than 0 MB, as no plan does; save it as CSV"):
        read()


@pytest.mark.parametrize("limit", ["MOST_ROWS", "MOST_COLUMNS", "MOST_CELLS"])
def test_a_sheet_that_is_far_beyond_a_plan_is_refused(book, monkeypatch, limit):
    sheet, read = book
    for _ in range(3):
        sheet.append(["x", "y"])
    monkeypatch.setattr(plan_table, limit, 1)

    with pytest.raises(PlanError, match="sheet `Sheet` has more than 20000 rows, 200 columns or 300000 cells, as no plan has"):
        read()


def test_a_row_number_that_no_sheet_has_is_refused_at_once(book, tmp_path, monkeypatch):
    sheet, read = book
    sheet.append(["x"])
    read()
    altered(tmp_path / "plan.xlsx", b'<row r="1"', b'<row r="99999999999"')
    monkeypatch.setattr(workbook, "MOST_LINES", 1000)

    with pytest.raises(PlanError, match="this is no XLSX workbook \\(a row lies beyond line 1000\\)"):
        read_plan_table(tmp_path / "plan.xlsx")


def test_rows_with_one_cell_far_to_the_right_do_not_use_up_memory(book):
    sheet, read = book
    for line in range(1, 400):
        sheet.cell(line, 16384, "x")

    with pytest.raises(PlanError, match="has more than 3000000 cells"):
        read()


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"id,qty\na,1\n"])
def test_what_is_no_workbook_is_one_line(data):
    assert "this is no XLSX workbook (" in says(data, "plan.xlsx")
