"""Reads the rows of checks out of an XLSX workbook: values as they are stored, days by the workbook's own calendar."""

import json
import warnings
from collections.abc import Sequence
from datetime import date, datetime, time

from collector.acquire.check_header import NEEDED, CheckLine, check_error, fields_of, header_fields
from collector.acquire.workbook import BROKEN, Cells, filled_rows, open_sheets, unpacked_bytes

LARGEST_UNPACKED_BYTES = 400_000_000
"""A small archive can unpack to any size."""


def sheet_rows(data: bytes, file: str) -> list[CheckLine]:
    """All rows of the one sheet that holds checks.

    Args:
        data: the workbook's bytes.
        file: its name, for messages.

    Raises:
        SourceError: no workbook, no sheet with the columns of checks, or two.
    """
    with warnings.catch_warnings():
        # Of what a spreadsheet may hold beside values; a value that is spoilt is seen in its row.
        warnings.simplefilter("ignore")
        try:
            if unpacked_bytes(data) > LARGEST_UNPACKED_BYTES:
                raise check_error(file, f"unpacks to more than {LARGEST_UNPACKED_BYTES // 1_000_000} MB; save it as CSV")
            place = _place(data, file)
            (_, head), *rows = filled_rows(open_sheets(data)[place])
            stored = _stored(data, place) if any(cell.data_type == "f" for _, cells in rows for cell in cells) else dict(rows)
        except BROKEN as error:
            raise check_error(file, f"is no XLSX workbook ({error}); save it anew, or as CSV") from error
    fields = header_fields(_names(head), file)
    return [_line(line, cells, stored.get(line, ()), fields) for line, cells in rows]


def _names(head: Cells) -> list[str]:
    return [str(cell.value or "") for cell in head]


def _place(data: bytes, file: str) -> int:
    """Which sheet holds the checks: the one whose header names all that is needed, else the first one that is not empty."""
    heads = [(place, sheet.title, next(filled_rows(sheet), None)) for place, sheet in enumerate(open_sheets(data))]
    filled = [(place, title, fields_of(_names(head[1]))) for place, title, head in heads if head is not None]
    if not filled:
        raise check_error(file, "is empty; it needs a header and rows")
    right = [(place, title) for place, title, fields in filled if set(NEEDED) <= set(fields)]
    if len(right) > 1:
        titles = " and ".join(f"`{title}`" for _, title in right)
        raise check_error(file, f"has checks on the sheets {titles}, and one is read; save each as a file of its own")
    return right[0][0] if right else filled[0][0]


def _stored(data: bytes, place: int) -> dict[int, Cells]:
    """The rows by line with the values that were stored for their formulas."""
    return dict(filled_rows(open_sheets(data, with_formulas=False)[place]))


def _line(line: int, cells: Cells, stored: Cells, fields: Sequence[str | None]) -> CheckLine:
    values = [cell.value for cell in stored]
    values += [None] * (len(cells) - len(values))
    shown = [cell.value if value is None else value for cell, value in zip(cells, values, strict=True)]
    raw = json.dumps([None if value is None else str(value) for value in shown], ensure_ascii=False).encode()
    texts: dict[str, str] = {}
    for field, cell, value in zip(fields, cells, values, strict=False):
        if field and value is None and cell.data_type == "f":
            what = f"`{field}` is a formula without a stored value; open the file in a spreadsheet and save it"
            return CheckLine(line, raw, {}, what)
        if field == "time" and isinstance(value, int | float) and not isinstance(value, bool):
            # 44621 is 2022-03-01 in one day count that spreadsheets know and 2026-03-02 in the other.
            return CheckLine(line, raw, {}, f"time {value} is a number, not a date; give its cell the form of a date")
        if field:
            texts[field] = _text(value)
    return CheckLine(line, raw, texts)


def _text(value: object) -> str:
    match value:
        case None:
            return ""
        case datetime() if value.time() == time(0):
            return str(value.date())
        case datetime() | date():
            return value.isoformat()
        case float() if value.is_integer():
            return str(int(value))
    return str(value).strip()
