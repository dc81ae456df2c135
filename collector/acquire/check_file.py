"""Reads a file of checks, CSV or XLSX, row by row as it stands; what a row means is not known here."""

import csv
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from collector.acquire.check_header import CheckLine, check_error, header_fields
from collector.acquire.csv_line import csv_cells
from schemas.errors import SourceError, SourceReason
from schemas.safe_cell import plain_text

LARGEST_BYTES = 20_000_000
"""A file is read whole; one of this size holds some 400,000 checks and takes about 1 GB of memory and half a minute."""


@dataclass(frozen=True, slots=True)
class CheckRows:
    """A file of checks: its name without folder, the SHA-256 of its bytes, its rows without blank ones."""

    file: str
    sha256: str
    rows: tuple[CheckLine, ...]


def read_check_file(path: Path) -> CheckRows:
    """All rows of a file of checks; SourceError where it is missing, too large, of another kind, or lacks a column or rows."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise SourceError(f"{path}: cannot be read ({error.strerror}); check its name and place", SourceReason.MISSING) from error
    if len(data) > LARGEST_BYTES:
        raise check_error(path.name, f"is larger than {LARGEST_BYTES // 1_000_000} MB; split it, each part with the header")
    if path.suffix.lower() == ".xlsx":
        # Loaded only here: openpyxl is slow to load.
        from collector.acquire.check_sheet import sheet_rows

        rows = sheet_rows(data, path.name)
    else:
        rows = list(_csv_rows(data, path.name))
    if not rows:
        raise check_error(path.name, "holds no rows under its header; choose one with checks")
    return CheckRows(path.name, hashlib.sha256(data).hexdigest(), tuple(rows))


def _csv_rows(data: bytes, file: str) -> Iterator[CheckLine]:
    lines = data.removeprefix(b"\xef\xbb\xbf").splitlines()
    header = next((place for place, line in enumerate(lines) if line.strip()), None)
    if header is None:
        raise check_error(file, "is empty; it needs a header and rows")
    if b"\0" in lines[header]:
        raise check_error(file, "is no CSV in UTF-8; save it so, or as .xlsx")
    head = _csv_line(header + 1, lines[header])
    if head.trouble:
        raise check_error(file, f"has a header that {head.trouble}")
    names = list(head.texts.values())
    for mark, word in ((";", "semicolons"), ("\t", "tabs")):
        if len(names) == 1 and mark in names[0]:
            raise check_error(file, f"has {word} between its columns, and only commas are read; save it with commas, or as .xlsx")
    fields = header_fields(names, file)
    for number, raw in enumerate(lines[header + 1 :], header + 2):
        if raw.strip(b" \t,"):
            yield _named(_csv_line(number, raw), fields)


def _csv_line(number: int, raw: bytes) -> CheckLine:
    """A line with its cells under their places as names."""
    try:
        cells = csv_cells(raw.decode())
    except UnicodeDecodeError:
        return CheckLine(number, raw, {}, "is not UTF-8; save the file as CSV in UTF-8")
    except csv.Error as error:
        return CheckLine(number, raw, {}, f"is no CSV row ({error}); mend its quotes")
    return CheckLine(number, raw, {str(place): plain_text(cell.strip()) for place, cell in enumerate(cells)})


def _named(line: CheckLine, fields: Sequence[str | None]) -> CheckLine:
    if line.trouble:
        return line
    if len(line.texts) > len(fields):
        what = f"has {len(line.texts)} cells under a header of {len(fields)}; a comma inside a cell needs quotes around the cell"
        return CheckLine(line.line, line.raw, {}, what)
    texts = {field: text for field, text in zip(fields, line.texts.values(), strict=False) if field}
    return CheckLine(line.line, line.raw, texts)
