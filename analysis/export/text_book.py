"""Writes tables of texts as an XLSX workbook in which every cell has the form of a text, those below the tables too."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import BinaryIO

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from analysis.export.xlsx_file import bold_cell, save_book, set_widths, text_cell

_AS_TEXT = "@"
_WIDEST = 60
# The earliest that a workbook's parts can tell; nothing in it says when it was made, so that the same tables give the same bytes.
_MADE_AT = datetime(1980, 1, 1)  # noqa: DTZ001  # as a workbook has it, without a zone


def write_text_book(sheets: Mapping[str, Sequence[Sequence[str]]], target: BinaryIO, title: str, program: str) -> None:
    """Write a workbook with a sheet for each table, its first row in bold; the same tables give the same bytes.

    Cells have the form of a text, and so have the empty ones below: what is typed there, such as 3/8 or 0012, stays as it is
    typed. A text that begins with `=` is that text.
    """
    book = Workbook(write_only=True)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        widths = [min(max(len(row[place]) for row in rows) + 3, _WIDEST) for place in range(len(rows[0]))]
        set_widths(sheet, widths)
        for place in range(1, len(widths) + 1):
            sheet.column_dimensions[get_column_letter(place)].number_format = _AS_TEXT
        for number, row in enumerate(rows):
            cells = [bold_cell(sheet, text) if number == 0 else text_cell(sheet, text) for text in row]
            for cell in cells:
                cell.number_format = _AS_TEXT
            sheet.append([cell if text else None for cell, text in zip(cells, row, strict=True)])
        sheet.close()
    save_book(book, target, title, program, _MADE_AT)
