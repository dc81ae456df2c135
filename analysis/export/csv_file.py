"""Writes an exported table as CSV: RFC 4180, UTF-8, numbers with their digits as sent, texts that no spreadsheet runs."""

import csv
import io
from codecs import BOM_UTF8
from collections.abc import Iterable
from typing import BinaryIO

from analysis.export.columns import Column, is_number
from analysis.export.rows import Export
from schemas.database import Row
from schemas.safe_cell import safe_text


def write_csv(export: Export, target: BinaryIO, *, with_bom: bool = True) -> int:
    """Write a header and all rows, and give how many rows they are; the same rows give the same bytes.

    Commas, CR LF, quotes where needed. A byte-order mark in front, unless told otherwise, because spreadsheets on Windows
    read UTF-8 only behind one. Texts go through `schemas.safe_cell.safe_text`, numbers never do: -20.0 stays -20.0.
    """
    return write_rows(export.columns, export.rows, target, with_bom=with_bom)


def write_rows(columns: tuple[Column, ...], rows: Iterable[Row], target: BinaryIO, *, with_bom: bool = True) -> int:
    """Write a header and these rows, as `write_csv`, and give how many they are."""
    if with_bom:
        target.write(BOM_UTF8)
    text = io.TextIOWrapper(target, encoding="utf-8", newline="")
    try:
        return _write(columns, rows, text)
    finally:
        text.flush()
        text.detach()


def _write(columns: tuple[Column, ...], rows: Iterable[Row], text: io.TextIOWrapper) -> int:
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([column.name for column in columns])
    count = 0
    for row in rows:
        writer.writerow([_cell(column, value) for column, value in zip(columns, row, strict=True)])
        count += 1
    return count


def _cell(column: Column, value: object) -> str:
    text = "" if value is None else str(value)
    return text if is_number(column, text) else safe_text(text)
