"""A readings log in an XLSX workbook: its header, its evidence, and its rows as lists of cells, one after the other."""

import hashlib
import json
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from itertools import chain, repeat
from pathlib import Path

from collector.acquire.log_clock import Timed, timed_row
from collector.acquire.log_evidence import Evidence, EvidenceTaker
from collector.acquire.log_header import Header, header_of, header_wire, log_error, no_torque, two_for_one, unit_of_rows
from collector.acquire.log_lines import Line
from collector.acquire.log_settled import Told, settle_decimal, settle_time, told_columns, told_unit
from collector.acquire.workbook import BROKEN, Cells, filled_rows, open_sheets, unpacked_bytes
from schemas.log_layout import LogLayout
from schemas.log_rows import DecimalRule, LogRows
from schemas.wire_format import WireFormat

SheetCell = dict[str, object] | str | int | float | bool | None
"""A cell as it stands in a row's JSON: `date` for a day, `formula` and `value` for a result."""

LARGEST_BYTES = 20_000_000
LARGEST_UNPACKED_BYTES = 400_000_000
"""A small archive can unpack to any size."""


class SheetLog:
    """The one sheet of a workbook that has a torque column; the same as `TextLog` to whoever reads it."""

    def __init__(self, path: Path, layout: LogLayout, now: datetime, longest: int) -> None:
        self._file = path.name
        self._longest = longest
        with path.open("rb") as file:
            self._data = file.read(LARGEST_BYTES + 1)
        if len(self._data) > LARGEST_BYTES:
            raise log_error(self._file, f"is larger than {LARGEST_BYTES // 1_000_000} MB; save it as CSV")
        self.sha256 = hashlib.sha256(self._data).hexdigest()
        with self._readable():
            if unpacked_bytes(self._data) > LARGEST_UNPACKED_BYTES:
                raise log_error(self._file, f"unpacks to more than {LARGEST_UNPACKED_BYTES // 1_000_000} MB; save it as CSV")
            self._place, title, self._header_line, self._header = self._find_sheet(layout)
            self.evidence = self._look(now)
        decimal = settle_decimal(self.evidence, self._header, layout)
        self.time = settle_time(self.evidence, self._file, layout)
        sheet = Told(f"workbook, sheet `{title}`")
        of_columns = (*told_unit(self._header, layout), *told_columns(self._header, layout))
        self.told: tuple[Told, ...] = (sheet, decimal.told, self.time.told, *of_columns)
        rule = decimal.value or DecimalRule(".")
        self.rows = LogRows(rule, self.time.value, unit_of_rows(self._header, layout), remarks=self.evidence.units, is_sheet=True)
        self.wire: WireFormat = header_wire(self._header, longest, layout)

    def lines(self, read: Callable[[bytes], None] | None = None) -> Iterator[Line]:
        """Every filled row under the header as a JSON list of its cells, blank ones at the end left out."""
        if read:
            read(self._data)
        with self._readable():
            for number, cells in self._rows():
                raw = json.dumps(cells, ensure_ascii=False).encode()
                yield Line(number, raw, overlong=len(raw) > self._longest)

    def timed(self) -> Iterator[Timed]:
        """The rows that have a number and a time."""
        with self._readable():
            for line, cells in self._rows():
                if row := timed_row(self._header, _texts(cells, len(self._header.fields)), line):
                    yield row

    @contextmanager
    def _readable(self) -> Iterator[None]:
        with warnings.catch_warnings():
            # Of what a spreadsheet may hold beside values; a value that is spoilt is seen in its row.
            warnings.simplefilter("ignore")
            try:
                yield
            except BROKEN as error:
                raise log_error(self._file, f"is no XLSX workbook ({error}); save it anew, or as CSV") from error

    def _find_sheet(self, layout: LogLayout) -> tuple[int, str, int, Header]:
        sheets = [(place, sheet.title, next(filled_rows(sheet), None)) for place, sheet in enumerate(open_sheets(self._data))]
        filled = [
            (place, title, row[0], header_of([str(cell.value or "") for cell in row[1]], layout))
            for place, title, row in sheets
            if row is not None
        ]
        if not filled:
            raise log_error(self._file, "holds no rows; choose one with a header and readings")
        right = [one for one in filled if "torque" in one[3].fields]
        if not right:
            raise no_torque(filled[0][3].names, self._file)
        if len(right) > 1:
            titles = " and ".join(f"`{title}`" for _, title, *_ in right)
            raise log_error(self._file, f"has readings on the sheets {titles}, and one is read; save each as a file of its own")
        if wrong := two_for_one(right[0][3]):
            raise log_error(self._file, wrong)
        return right[0]

    def _look(self, now: datetime) -> Evidence:
        taker = EvidenceTaker(self._header, now)
        # A cell of text may hold a number with a comma, whatever parts the cells.
        taker.evidence.is_quoted = True
        torque = self._header.fields.index("torque")
        for line, cells in self._rows():
            texts = [text.encode() for text in _texts(cells, len(self._header.fields))]
            if torque < len(cells) and not isinstance(cells[torque], str):
                # A cell that holds a number has no decimal mark, whichever one is shown.
                texts[torque] = b""
            taker.take_cells(line, texts)
        if not taker.evidence.rows:
            raise log_error(self._file, "holds no rows under its header; choose one with readings")
        return taker.evidence

    def _rows(self) -> Iterator[tuple[int, list[SheetCell]]]:
        rows = filled_rows(open_sheets(self._data)[self._place])
        # The stored results stand in the same rows of a second reading.
        stored = dict[int, Cells]()
        results = filled_rows(open_sheets(self._data, with_formulas=False)[self._place])
        for line, cells in rows:
            if line <= self._header_line:
                continue
            if any(cell.data_type == "f" for cell in cells):
                stored = _up_to(results, line)
            values = [_value(cell.value) for cell in cells]
            beside = chain(stored.get(line, ()), repeat(None))
            for place, (cell, result) in enumerate(zip(cells, beside, strict=False)):
                if cell.data_type == "f":
                    values[place] = {"formula": str(cell.value), "value": None if result is None else _value(result.value)}
            while values and values[-1] is None:
                values.pop()
            yield line, values


def _up_to(results: Iterator[tuple[int, Cells]], line: int) -> dict[int, Cells]:
    """The row of stored results with that line; a row whose formulas have none is not there."""
    for at, cells in results:
        if at >= line:
            return {at: cells}
    return {}


def _value(value: object) -> SheetCell:
    match value:
        case None | bool() | int() | float() | str():
            return value
        case datetime() | date():
            return {"date": value.isoformat()}
    return str(value)


def _texts(cells: list[SheetCell], columns: int) -> list[str]:
    texts = [_text(cell) for cell in cells]
    return texts + [""] * (columns - len(texts))


def _text(cell: object) -> str:
    if isinstance(cell, dict):
        return _text(cell.get("value", cell.get("date")))
    return "" if cell is None else str(cell).strip()
