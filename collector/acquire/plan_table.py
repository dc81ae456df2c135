"""Reads the file of a plan that was written as a table, CSV or XLSX: its cells as they are stored, each with its address."""

import csv
import hashlib
import re
from collections.abc import Iterable, Sequence
from itertools import dropwhile
from pathlib import Path
from typing import NoReturn

from collector.acquire.csv_line import csv_cells, open_quote_cell
from schemas.errors import PlanError, PlanFault, SourceError, SourceReason
from schemas.safe_cell import plain_text
from schemas.table import Cell, Place, Table, TableFile, TableRow, fault_at, letters

LARGEST_BYTES = 5_000_000
"""Far beyond any plan: one of 999 joints has some 200,000 bytes."""
MOST_ROWS = 20_000
MOST_COLUMNS = 200
MOST_CELLS = 300_000
"""Filled ones, of a sheet."""
TOO_LARGE = f"{MOST_ROWS} rows, {MOST_COLUMNS} columns or {MOST_CELLS} cells"
TABLE_ENDINGS = (".csv", ".tsv", ".xlsx")

_MARKS = {",": "commas", ";": "semicolons", "\t": "tabs"}
# What eight code pages of East and West (Windows 1250 to 1254 and 1257, ISO 8859-1 and -15) read alike: § ° ± µ · and few more.
_SURE = frozenset(b"\xa0\xa7\xa9\xab\xac\xae\xb0\xb1\xb5\xb6\xb7\xbb")
_LINE_END = re.compile(r"\r\n|\r|\n")


def read_plan_table(path: Path) -> TableFile:
    """The tables of a file whose name ends in one of `TABLE_ENDINGS`.

    Raises:
        SourceError: the file cannot be read.
        PlanError: too large, no such file, or one whose rows are not certain; the faults name line and cell.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise SourceError(f"{path}: cannot be read ({error.strerror}); name a plan file", SourceReason.MISSING) from error
    return plan_tables(data, path.name)


def plan_tables(data: bytes, file: str) -> TableFile:
    """The tables in the bytes of a file of that name; PlanError as `read_plan_table`."""
    if len(data) > LARGEST_BYTES:
        refuse(file, f"the file is larger than {LARGEST_BYTES // 1_000_000} MB, as no plan is; take out what is not the plan")
    sha256 = hashlib.sha256(data).hexdigest()
    if file.lower().endswith(".xlsx"):
        # Loaded only here: openpyxl is slow to load.
        from collector.acquire.plan_sheet import sheet_tables

        return TableFile(file, sha256, sheet_tables(data, file))
    text, notes = _decoded(data, file)
    lines = _LINE_END.split(text)
    filled = [(number, line) for number, line in enumerate(lines, 1) if not _is_blank(line)]
    marks = [max(line.count(mark) for mark in _MARKS) for _, line in filled]
    if too_large(len(filled), max(marks, default=0), sum(marks)):
        refuse(file, f"has more than {TOO_LARGE}, as no plan has; take out what is not the plan")
    mark = "\t" if file.lower().endswith(".tsv") else _mark([line for _, line in filled], file)
    rows = tuple(_row(number, line, mark, file) for number, line in filled)
    # What stands behind the last line end is no row.
    blank_after = len(lines) - (rows[-1].line if rows else 0) - (lines[-1] == "")
    return TableFile(file, sha256, (Table(None, rows, blank_after=max(blank_after, 0)),), notes)


def too_large(rows: int, columns: int, cells: int) -> bool:
    """Whether a table is far beyond any plan."""
    return rows > MOST_ROWS or columns > MOST_COLUMNS or cells > MOST_CELLS


def refuse(file: str, what: str) -> NoReturn:
    """Stop on a file as a whole."""
    raise PlanError(file, (PlanFault(0, "", what),))


def _decoded(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif b"\0" in data[:1000]:
        refuse(
            file, "the text is no UTF-8, it looks like UTF-16 without its byte-order mark; save it as CSV in UTF-8, or as XLSX"
        )
    else:
        encoding = "utf-8-sig"
    try:
        return data.decode(encoding), ()
    except UnicodeDecodeError as error:
        if encoding == "utf-16":
            refuse(file, "the text is no whole UTF-16; save it anew, as CSV in UTF-8 or as XLSX")
        unsure = next((place for place, byte in enumerate(data) if byte >= 0x80 and byte not in _SURE), None)
        if unsure is None:
            return data.decode("cp1252"), (f"{file} is no UTF-8; its signs such as ° ± · are the same in every usual code page",)
        line = data[:unsure].count(b"\n") + 1
        what = f"byte {data[unsure]:02X} can be several letters, as the text is no UTF-8; save it as CSV in UTF-8, or as XLSX"
        raise PlanError(file, (fault_at(Place(line, f"line {line}"), what),)) from error


def _mark(lines: Sequence[str], file: str) -> str:
    """What stands between the columns: the one sign that gives each line the same number of cells."""
    rows = [{mark: _width(line, mark) for mark in _MARKS} for line in lines]
    # A title above the header has one cell, whatever stands between the columns.
    table = list(dropwhile(lambda widths: max(widths.values()) < 2, rows))
    fitting = [mark for mark in _MARKS if _is_even(widths[mark] for widths in table)]
    if not fitting:
        # A title may have a comma in it where semicolons stand between the columns.
        below = {mark: dropwhile(lambda width: width < 2, [widths[mark] for widths in table]) for mark in _MARKS}
        fitting = [mark for mark in _MARKS if _is_even(below[mark])]
    if not fitting and table:
        # A line of another width is told as such, once its header shows what stands between its columns.
        fitting = [mark for mark in _MARKS if table[0][mark] > 1]
    if len(fitting) > 1:
        between = " and ".join(_MARKS[mark] for mark in fitting)
        refuse(file, f"both {between} can stand between its columns; save it with one of them, or as XLSX")
    if not fitting:
        refuse(file, "holds no table: no line has more than one cell; it needs a header and a row for each joint")
    return fitting[0]


def _is_even(widths: Iterable[int]) -> bool:
    """Whether all lines have one width above 1, but for those whose quotes are at fault."""
    found = {width for width in widths if width}
    return len(found) == 1 and found != {1}


def _width(line: str, mark: str) -> int:
    try:
        return len(csv_cells(line, mark))
    except csv.Error:
        return 0


def _is_blank(line: str) -> bool:
    return not line.strip(' \t\xa0,;"')


def _row(number: int, line: str, mark: str, file: str) -> TableRow:
    try:
        texts = csv_cells(line, mark)
    except csv.Error as error:
        raise PlanError(file, (_quote_fault(number, line, mark, error),)) from error
    cells = {column: Cell(column, number, plain_text(text)) for column, text in enumerate(texts, 1) if text.strip()}
    return TableRow(number, cells, len(texts))


def _quote_fault(number: int, line: str, mark: str, error: csv.Error) -> PlanFault:
    column = open_quote_cell(line, mark)
    if column is None:
        return fault_at(Place(number, f"line {number}"), f'its quotes do not pair ({error}); double an inch mark: "3/8"" bolt"')
    what = (
        "a quote opens here and does not end in its line, so it would take in the rows below; take it out, double an inch mark"
        ' ("3/8"" bolt"), and keep a text on one line'
    )
    return fault_at(Place(number, f"line {number}, cell {letters(column)}{number}"), what)
