"""Reads a file of checks, CSV or XLSX, row by row as it stands; what a row means is not known here."""

import csv
import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from zipfile import BadZipFile

from schemas.errors import SourceError, SourceReason
from schemas.safe_cell import plain_text

NAMES = {
    "time": "time", "date": "time", "checked_at": "time", "timestamp": "time", "datetime": "time",
    "wrench": "wrench", "wrench_id": "wrench", "tool": "wrench", "tool_id": "wrench",
    "reference": "reference", "ref": "reference", "reference_value": "reference",
    "shown": "shown", "indicated": "shown", "reading": "shown",
    "unit": "unit", "units": "unit", "torque_unit": "unit",
    "void": "void",
}  # fmt: skip
"""Headers that are known, in small letters and with `_` between words; any other column is kept raw and not read."""

NEEDED = ("time", "wrench", "reference", "shown", "unit")


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One row of a file: its line from 1, its raw bytes (of a sheet: its cells as JSON), its texts by field.

    `trouble` says why the row cannot be read; then there are no texts.
    """

    line: int
    raw: bytes
    texts: dict[str, str]
    trouble: str | None = None


@dataclass(frozen=True, slots=True)
class CheckRows:
    """A file of checks: its name without folder, the SHA-256 of its bytes, its rows without blank ones."""

    file: str
    sha256: str
    rows: tuple[CheckLine, ...]


def read_check_file(path: Path) -> CheckRows:
    """All rows of a file of checks; SourceError where it is missing, of another kind, or lacks a column."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise SourceError(f"{path}: cannot be read ({error.strerror}); check its name and place", SourceReason.MISSING) from error
    rows = _sheet_rows(data, path) if path.suffix.lower() == ".xlsx" else _csv_rows(data, path.name)
    return CheckRows(path.name, hashlib.sha256(data).hexdigest(), tuple(rows))


def _error(file: str, what: str) -> SourceError:
    return SourceError(f"checks `{file}` {what}", SourceReason.NOT_READABLE)


def _fields(names: Sequence[str], file: str) -> list[str | None]:
    fields = [NAMES.get("_".join(name.lower().replace("-", " ").replace("_", " ").split())) for name in names]
    for field in NEEDED:
        count = fields.count(field)
        if count != 1:
            seen = ", ".join(f"`{name}`" for name in names)[:200]
            what = f"has no column `{field}`" if count == 0 else f"has {count} columns for `{field}`"
            raise _error(file, f"{what} in its header, which is {seen}; needed are {', '.join(NEEDED)}")
    return fields


def _csv_rows(data: bytes, file: str) -> Iterator[CheckLine]:
    if b"\0" in data[:4096]:
        raise _error(file, "is no CSV in UTF-8; save it so, or as .xlsx")
    lines = data.removeprefix(b"\xef\xbb\xbf").splitlines()
    header = next((place for place, line in enumerate(lines) if line.strip()), None)
    if header is None:
        raise _error(file, "is empty; it needs a header and rows")
    head = _csv_line(header + 1, lines[header])
    if head.trouble:
        raise _error(file, f"has a header that cannot be read: {head.trouble}")
    fields = _fields(list(head.texts.values()), file)
    for number, raw in enumerate(lines[header + 1 :], header + 2):
        if raw.strip(b" \t,"):
            yield _named(_csv_line(number, raw), fields)


def _csv_line(number: int, raw: bytes) -> CheckLine:
    """A line with its cells under their places as names."""
    try:
        # One line at a time, so that an open quote spoils its own line and no other.
        cells = next(csv.reader([raw.decode()], strict=True))
    except UnicodeDecodeError:
        return CheckLine(number, raw, {}, "is not UTF-8")
    except csv.Error as error:
        return CheckLine(number, raw, {}, f"is no CSV row ({error})")
    return CheckLine(number, raw, {str(place): plain_text(cell.strip()) for place, cell in enumerate(cells)})


def _named(line: CheckLine, fields: Sequence[str | None]) -> CheckLine:
    if line.trouble:
        return line
    if len(line.texts) > len(fields):
        return CheckLine(line.line, line.raw, {}, f"has {len(line.texts)} cells under a header of {len(fields)}")
    texts = {field: text for field, text in zip(fields, line.texts.values(), strict=False) if field}
    return CheckLine(line.line, line.raw, texts)


def _sheet_rows(data: bytes, path: Path) -> Iterator[CheckLine]:
    from io import BytesIO

    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        book = load_workbook(BytesIO(data), read_only=True, data_only=True)
    except (InvalidFileException, BadZipFile, KeyError, ValueError) as error:
        raise _error(path.name, f"is no XLSX workbook ({error}); save it anew, or as CSV") from error
    rows = enumerate(book.worksheets[0].iter_rows(values_only=True), 1)
    filled = ((line, cells) for line, cells in rows if any(cell is not None for cell in cells))
    _, head = next(filled, (0, ()))
    fields = _fields([str(name or "") for name in head], path.name)
    for line, cells in filled:
        yield _sheet_line(line, cells, fields)


def _sheet_line(line: int, cells: Sequence[object], fields: Sequence[str | None]) -> CheckLine:
    raw = json.dumps([None if cell is None else str(cell) for cell in cells], ensure_ascii=False).encode()
    texts: dict[str, str] = {}
    for field, cell in zip(fields, cells, strict=False):
        if field == "time" and isinstance(cell, int | float) and not isinstance(cell, bool):
            # 44621 is 2022-03-01 in one day count that spreadsheets know and 2026-03-02 in the other.
            return CheckLine(line, raw, {}, f"time {cell} is a number, not a date; give its cell the form of a date")
        if field:
            texts[field] = _cell_text(cell)
    return CheckLine(line, raw, texts)


def _cell_text(cell: object) -> str:
    match cell:
        case None:
            return ""
        case datetime() if cell.time() == time(0):
            return str(cell.date())
        case datetime() | date():
            return cell.isoformat()
        case float() if cell.is_integer():
            return str(int(cell))
    return str(cell).strip()
