"""Writes an exported table as an XLSX workbook: real numbers, texts that stay texts, never a formula."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, BinaryIO

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.writer.excel import ExcelWriter

from analysis.export.columns import Column, is_number
from analysis.export.fixed_zip import FixedZip
from analysis.export.rows import Export
from analysis.report.wording import with_visible_controls
from schemas.database import Value
from schemas.errors import RecordError

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet  # the write-only one has what is used here of it

MOST_ROWS = 1_048_575
"""A sheet has 2^20 rows, and the first is the header."""
_MOST_DIGITS = 15  # those that a spreadsheet's binary numbers keep
_MOST_DECIMALS = 6  # to be seen: a number that is wider than its column shows as ####
_MOST_SIGNS = 16_000  # a cell holds 32,767 units of UTF-16, and a sign may take two
_CUT = " ⟨cut here; the CSV form has all of it⟩"
# XML has no place for these, the controls aside.
_NOT_XML = re.compile("[\ud800-\udfff\ufffe\uffff]")
# In a cell's text `_x0041_` stands for `A` (ECMA-376 part 1, ST_Xstring, from memory); so does `_x005F_` for the line itself.
_ESCAPE_LIKE = re.compile("_(?=x[0-9A-Fa-f]{4}_)")


@dataclass(frozen=True, slots=True)
class Made:
    """When a workbook was made (RFC 3339, UTC), by which program, in which workshop where the record names none."""

    at: str
    program: str
    workshop: str


def write_xlsx(export: Export, target: BinaryIO, made: Made, *, most_rows: int = MOST_ROWS) -> int:
    """Write a workbook with the table and a sheet `about`, and give how many rows the table has.

    Numbers are numeric cells of the 15 digits that a spreadsheet keeps, and show their decimals as sent, at most 6; longer
    whole numbers are texts. Everything else is a text cell, also `00123`, `2-3` and `=1+1`, with control characters written
    as ⟨U+0007⟩. Rows go to a temporary file one by one, so that memory does not grow with them. The same table and `made`
    give the same bytes.

    Raises:
        RecordError: more rows than a sheet can hold.
    """
    if export.count > most_rows:
        raise _too_many(export.count, most_rows)
    book = Workbook(write_only=True)
    sheet = book.create_sheet(str(export.scope.what))
    count = _fill(sheet, export, most_rows)
    _fill_about(book.create_sheet("about"), export, made, count)
    moment = datetime.fromisoformat(made.at).astimezone(UTC).replace(tzinfo=None, microsecond=0)
    save_book(book, target, str(export.scope), made.program, moment)
    return count


def save_book(book: Workbook, target: BinaryIO, title: str, program: str, made_at: datetime) -> None:
    """Write a workbook with its properties; the same content and `made_at`, UTC without a zone, give the same bytes."""
    book.properties.creator = program
    book.properties.title = title
    book.properties.created = book.properties.modified = made_at
    # `Workbook.save` would put in the present time instead.
    ExcelWriter(book, FixedZip(target, "w")).save()


def _too_many(count: int, most: int) -> RecordError:
    return RecordError(f"{count} rows are more than the {most} that a sheet can hold; export as CSV instead: --to FILE.csv")


def _fill(sheet: "Worksheet", export: Export, most_rows: int) -> int:
    sheet.freeze_panes = "A2"
    set_widths(sheet, [column.width for column in export.columns])
    sheet.append([bold_cell(sheet, column.name) for column in export.columns])
    count = 0
    try:
        for row in export.rows:
            if count == most_rows:
                raise _too_many(count + 1, most_rows)
            sheet.append([_cell(sheet, column, value) for column, value in zip(export.columns, row, strict=True)])
            count += 1
        sheet.auto_filter.ref = f"A1:{get_column_letter(len(export.columns))}{count + 1}"
    finally:
        # Left open after an error, it would complain when it is thrown away.
        sheet.close()  # type: ignore[attr-defined]  # a write-only sheet has it
    return count


def set_widths(sheet: "Worksheet", widths: Iterable[int]) -> None:
    """Give the columns of a sheet their widths, in characters, before its first row."""
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = width


def bold_cell(sheet: "Worksheet", text: str) -> "Cell":
    """A cell that holds a text, in bold."""
    cell = text_cell(sheet, text)
    cell.font = Font(bold=True)
    return cell


def _cell(sheet: "Worksheet", column: Column, value: Value) -> "Cell | None":
    text = "" if value is None else str(value)
    if not text:
        return None
    whole, _, decimals = text.lstrip("+-").partition(".")
    if not is_number(column, text) or len(whole.lstrip("0")) > _MOST_DIGITS:
        return text_cell(sheet, text)
    cell = WriteOnlyCell(sheet, float(text))
    places = min(len(decimals), _MOST_DECIMALS)
    cell.number_format = f"0.{'0' * places}" if places else "0"
    return cell


def text_cell(sheet: "Worksheet", text: str) -> "Cell":
    """A cell that holds a text, whatever it looks like; a sign that XML has no place for is written as its code point."""
    cell = WriteOnlyCell(sheet, _cell_text(text))
    # openpyxl takes `=…` for a formula and `#N/A` for an error, and would write them as such.
    cell.data_type = "s"
    return cell


def _cell_text(text: str) -> str:
    if not text.isprintable():
        text = _NOT_XML.sub(lambda sign: f"⟨U+{ord(sign[0]):04X}⟩", str(with_visible_controls(text)))
    text = _ESCAPE_LIKE.sub("_x005F_", text)
    return text if len(text) <= _MOST_SIGNS else text[:_MOST_SIGNS] + _CUT


def _fill_about(sheet: "Worksheet", export: Export, made: Made, count: int) -> None:
    set_widths(sheet, (16, 110))
    for label, text in _about(export, made, count):
        sheet.append([bold_cell(sheet, label), text_cell(sheet, text)])


def _about(export: Export, made: Made, count: int) -> Iterator[tuple[str, str]]:
    if export.simulated:
        yield "SIMULATED", "holds what simulated wrenches sent, which proves nothing of a real vehicle; such rows say SIMULATED"
    yield "what", f"{export.scope}: {count} row{'' if count == 1 else 's'}"
    yield "workshop", ", ".join(export.workshops) or made.workshop
    yield "made", f"{made.at} by {made.program}"
    yield "tree head", f"{export.tree.head}, over {export.tree.size} entries of the audit database's ledger"
    yield "proof", "this workbook is a copy that anybody can change; the audit database is the record: `witnessmark verify FILE`"
    yield "meaning", "the record says which torque was reached; it does not say that a vehicle is safe to drive"
    decimals = f"shown with their decimals as sent, at most {_MOST_DECIMALS}"
    yield "numbers", f"{decimals}; a cell holds {_MOST_DIGITS} digits, the CSV form all of them"
    yield "times", "texts as RFC 3339 has them, in UTC unless an offset stands behind; a spreadsheet's own times have no zone"
    yield "texts", "as recorded; a sign that cannot be shown is written as its code point: ⟨U+0007⟩"
