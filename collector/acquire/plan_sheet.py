"""Reads the sheets of a plan out of an XLSX workbook: digits as a spreadsheet shows them, and what kind each cell is."""

import re
import warnings
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from openpyxl.utils.escape import unescape

from collector.acquire.plan_table import TOO_LARGE, refuse, too_large
from collector.acquire.workbook import BROKEN, Cells, layout_of, open_sheets, sheet_rows, unpacked_bytes
from schemas.table import MONTHS, Cell, CellKind, Table, TableRow

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell as SheetCell
    from openpyxl.cell.cell import MergedCell

LARGEST_UNPACKED_BYTES = 60_000_000
"""A small archive can unpack to any size."""
MOST_FORMATTED = 3_000_000
"""Formatted cells count too, and a row of one cell far to the right costs as much as all cells before it."""

_KINDS = {"b": CellKind.TRUTH, "d": CellKind.DATE, "e": CellKind.ERROR, "n": CellKind.NUMBER}
# Text that a form shows beside the number; a percent sign in it does not multiply by 100.
_LITERAL = re.compile(r'"[^"]*"|\\.|_.')
_UNIT_BEHIND = re.compile(r'[#0.,]+"([^"]+)"')
_MONTH_AND_YEAR = re.compile(r"m{3,}[-/ ]yy", re.IGNORECASE)
# A spreadsheet keeps and shows 15 digits of a number; what stands behind them in the file comes of binary arithmetic.
_DIGITS = 15


def sheet_tables(data: bytes, file: str) -> tuple[Table, ...]:
    """Every sheet of a workbook.

    Args:
        data: the workbook's bytes.
        file: its name, for messages.

    Raises:
        PlanError: no workbook, a damaged one, or one that unpacks to more than any plan.
    """
    with warnings.catch_warnings():
        # Of what a spreadsheet may hold beside values; a value that is spoilt is seen in its cell.
        warnings.simplefilter("ignore")
        try:
            if unpacked_bytes(data) > LARGEST_UNPACKED_BYTES:
                refuse(file, f"unpacks to more than {LARGEST_UNPACKED_BYTES // 1_000_000} MB, as no plan does; save it as CSV")
            return tuple(_table(data, place, file) for place in range(len(open_sheets(data))))
        except BROKEN as error:
            refuse(file, f"this is no XLSX workbook ({error}); save it anew, or as CSV")


def _table(data: bytes, place: int, file: str) -> Table:
    sheet = open_sheets(data)[place]
    found: list[tuple[int, Cells]] = []
    line = seen = filled = 0
    for line, cells in sheet_rows(sheet):
        seen += len(cells)
        count = sum(cell.value is not None for cell in cells)
        filled += count
        if too_large(len(found), count, filled):
            refuse(file, f"sheet `{sheet.title}` has more than {TOO_LARGE}, as no plan has; take out what is not the plan")
        if seen > MOST_FORMATTED:
            what = f"sheet `{sheet.title}` has more than {MOST_FORMATTED} cells; delete the formatted ones beyond the table"
            refuse(file, what)
        if count:
            found.append((line, cells))
    stored = _stored(data, place) if any(cell.data_type == "f" for _, cells in found for cell in cells) else dict(found)
    rows = [TableRow(number, _cells(number, cells, stored[number])) for number, cells in found]
    rows = [row for row in rows if row.cells]
    layout = layout_of(sheet)
    hidden = tuple(row.line for row in rows if row.line in layout.hidden_lines)
    blank_after = line - (rows[-1].line if rows else 0)
    return Table(sheet.title, tuple(rows), layout.merged, blank_after, sheet.sheet_state != "visible", hidden)


def _stored(data: bytes, place: int) -> dict[int, Cells]:
    """The rows by line with the results that were stored for their formulas."""
    return dict(sheet_rows(open_sheets(data, with_formulas=False)[place]))


def _cells(line: int, cells: Cells, results: Cells) -> dict[int, Cell]:
    found = [
        _cell(column, line, cell, result)
        for column, (cell, result) in enumerate(zip(cells, results, strict=True), 1)
        if cell.value is not None
    ]
    return {cell.column: cell for cell in found if cell.text}


def _cell(column: int, line: int, cell: "SheetCell | MergedCell", result: "SheetCell | MergedCell") -> Cell:
    from_formula = cell.data_type == "f"
    value = result.value
    if from_formula and value is None:
        return Cell(column, line, "a formula", CellKind.NO_RESULT, True)
    kind = _KINDS.get(result.data_type, CellKind.TEXT)
    form = str(result.number_format)
    if kind is CellKind.NUMBER and isinstance(value, int | float):
        text, stored = _number(value, form)
        return Cell(column, line, text, kind, from_formula, form, stored)
    return Cell(column, line, _text(value, form), kind, from_formula, form)


def _text(value: object, form: str) -> str:
    match value:
        case bool():
            return str(value).upper()
        case str():
            # `_x0041_` stands for `A` in a cell's text, which openpyxl leaves to its callers.
            return unescape(value).strip()
        case date() if _MONTH_AND_YEAR.search(form):
            return f"{MONTHS[value.month - 1]}-{value.year % 100:02}"
        case date():
            return f"{value.day}-{MONTHS[value.month - 1]}"
    return str(value).strip()


def _number(value: float, form: str) -> tuple[str, str]:
    """The digits that a spreadsheet shows, with a percent sign or a unit of the cell's form; and all stored, where more."""
    exact = Decimal(repr(value))
    shown = Decimal(format(exact, f".{_DIGITS}g"))
    stored = "" if shown == exact else str(exact)
    if "%" in _LITERAL.sub("", form):
        return f"{_plain(shown * 100)} %", stored
    unit = _UNIT_BEHIND.search(form)
    return f"{_plain(shown)} {unit[1].strip()}" if unit else _plain(shown), stored


def _plain(value: Decimal) -> str:
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
