"""Opens an XLSX workbook row by row, and refuses one that would unpack to more than can be held."""

import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import cast
from xml.parsers import expat
from zipfile import BadZipFile, ZipFile

from openpyxl import load_workbook
from openpyxl.cell.cell import Cell, MergedCell
from openpyxl.utils.cell import range_boundaries
from openpyxl.utils.exceptions import InvalidFileException
from openpyxl.worksheet.worksheet import Worksheet

from schemas.table import Merged

# What comes out of openpyxl, zlib and the XML reader where a workbook is damaged or made by hand.
BROKEN = (
    InvalidFileException, BadZipFile, LookupError, ValueError, TypeError, AttributeError, SyntaxError, zlib.error, EOFError,
    NotImplementedError, RuntimeError, OSError, struct.error, expat.ExpatError,
)  # fmt: skip

MOST_LINES = 1_048_576
"""A sheet has 2^20 rows; openpyxl gives blank ones for all that a made-up row number passes over."""

Cells = tuple[Cell | MergedCell, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """What a sheet says beside its values: ranges of merged cells, and the lines that it hides, as a filter does."""

    merged: tuple[Merged, ...]
    hidden_lines: frozenset[int]


def unpacked_bytes(data: bytes) -> int:
    """How many bytes the parts of a workbook unpack to, as the archive states, which holds its reader to it."""
    return sum(part.file_size for part in ZipFile(BytesIO(data)).infolist())


def open_sheets(data: bytes, with_formulas: bool = True) -> list[Worksheet]:
    """The sheets of a workbook, to be read row by row; without formulas their cells give the results that were stored."""
    return cast("list[Worksheet]", load_workbook(BytesIO(data), read_only=True, data_only=not with_formulas).worksheets)


def sheet_rows(sheet: Worksheet) -> Iterator[tuple[int, Cells]]:
    """Every row with its line, blank ones too; ValueError where lines go on beyond those that a sheet can have."""
    # The size that a sheet states of itself may be wrong, and rows beyond it would be left out in silence.
    sheet.reset_dimensions()  # type: ignore[attr-defined]  # a read-only sheet, for which the stubs have no type of use
    for line, cells in enumerate(sheet.iter_rows(), 1):
        if line > MOST_LINES:
            raise ValueError(f"a row lies beyond line {MOST_LINES}")
        yield line, cells


def filled_rows(sheet: Worksheet) -> Iterator[tuple[int, Cells]]:
    """The rows that hold a value, each with its line."""
    return ((line, cells) for line, cells in sheet_rows(sheet) if any(cell.value is not None for cell in cells))


def layout_of(sheet: Worksheet) -> Layout:
    """The layout of a sheet, which openpyxl does not give where it reads row by row."""
    found: list[Merged] = []
    hidden: set[int] = set()
    line = 0

    def look(tag: str, attributes: dict[str, str]) -> None:
        nonlocal line
        name = tag.rpartition(" ")[2]
        if name == "row":
            line = int(attributes.get("r", line + 1))
            if attributes.get("hidden") in ("1", "true"):
                hidden.add(line)
        elif name == "mergeCell":
            first_column, first_line, last_column, last_line = range_boundaries(attributes["ref"])
            found.append(Merged(int(first_column or 0), int(first_line or 0), int(last_column or 0), int(last_line or 0)))

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = look
    with sheet._get_source() as source:  # type: ignore[attr-defined]  # the only way to the part that the sheet is read from
        parser.ParseFile(source)
    return Layout(tuple(found), frozenset(hidden))
