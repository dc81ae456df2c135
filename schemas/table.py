"""A table as it stands in a file, before anybody knows what its columns mean: cells with their addresses."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from schemas.errors import PlanFault

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
"""As spreadsheets in English write them into a day."""


class CellKind(StrEnum):
    """What a cell holds; every cell of a CSV file is a text."""

    TEXT = "text"
    NUMBER = "number"
    TRUTH = "truth value"
    DATE = "date"
    ERROR = "error"
    NO_RESULT = "formula without a stored result"


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that is not blank. `column` and `line` count from 1, in a CSV file too, where `line` is the line of the file.

    `text` is the text as stored; of a number its digits as a spreadsheet shows them (15 at most), of a date day and month,
    of a formula its stored result. `form` is the cell's number format, empty in a CSV file; `stored` its digits where they are
    more than `text` has.
    """

    column: int
    line: int
    text: str
    kind: CellKind = CellKind.TEXT
    from_formula: bool = False
    form: str = ""
    stored: str = ""

    @property
    def address(self) -> str:
        """Column letters and line, as `B2`."""
        return f"{letters(self.column)}{self.line}"


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row that is not blank, its filled cells by column; `width` counts all cells of a CSV line, None in a workbook."""

    line: int
    cells: Mapping[int, Cell]
    width: int | None = None


@dataclass(frozen=True, slots=True)
class Merged:
    """A range of merged cells; only the first of them can hold a value."""

    first_column: int
    first_line: int
    last_column: int
    last_line: int

    def __str__(self) -> str:
        return f"{letters(self.first_column)}{self.first_line}:{letters(self.last_column)}{self.last_line}"


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet, or a whole CSV file, where `sheet` is None; `blank_after` counts the blank rows below the last filled one.

    `hidden` says that a spreadsheet does not show the sheet, `hidden_lines` which of its filled rows it does not show.
    """

    sheet: str | None
    rows: tuple[TableRow, ...]
    merged: tuple[Merged, ...] = ()
    blank_after: int = 0
    hidden: bool = False
    hidden_lines: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TableFile:
    """A file of tables: its name without folder, the hex SHA-256 of its bytes, and what a person should know of the reading."""

    file: str
    sha256: str
    tables: tuple[Table, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands in a file that is no YAML: its line (or row) from 1, and its name as people read it."""

    line: int
    name: str


@dataclass(frozen=True, slots=True)
class PlacedFault(PlanFault):
    """A fault of a plan that was made from another file, shown at its place there; `line` is the line of that file."""

    place: str = ""

    def __str__(self) -> str:
        where = [self.place] * bool(self.place) + [f"`{self.field}`"] * bool(self.field)
        return f"{', '.join(where)}: {self.what}" if where else self.what


@dataclass(frozen=True, slots=True)
class Naming:
    """How places in a table are called: `cell B2`, with `prefix` in front, and with the line where the file has no sheets."""

    prefix: str = ""
    by_line: bool = False

    def cell(self, cell: Cell) -> Place:
        """The place of a cell."""
        return Place(cell.line, f"{f'line {cell.line}, ' if self.by_line else self.prefix}cell {cell.address}")

    def row(self, line: int) -> Place:
        """The place of a whole row."""
        return Place(line, f"line {line}" if self.by_line else f"{self.prefix}row {line}")


def fault_at(place: Place, what: str, field: str = "") -> PlacedFault:
    """A fault at a place."""
    return PlacedFault(place.line, field, what, place=place.name)


def letters(column: int) -> str:
    """The letters of a column from 1: A, Z, AA."""
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
