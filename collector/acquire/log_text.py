"""A readings log in a text file: finds its header, looks through it for evidence, and gives its lines."""

import csv
import hashlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from collector.acquire import log_evidence
from collector.acquire.csv_line import csv_cells
from collector.acquire.log_clock import Timed, timed_row
from collector.acquire.log_encoding import HEAD_BYTES, Found, encoding_of
from collector.acquire.log_evidence import Evidence, EvidenceTaker
from collector.acquire.log_header import DELIMITERS, Header, header_wire, log_error, read_headers, unit_of_rows
from collector.acquire.log_lines import Line, cut_lines, look_lines
from collector.acquire.log_settled import (
    Told,
    settle_decimal,
    settle_encoding,
    settle_time,
    told_columns,
    told_delimiter,
    told_unit,
)
from schemas.errors import SourceError
from schemas.log_layout import LogLayout
from schemas.log_rows import LogRows
from schemas.wire_format import WireFormat


class TextLog:
    """A text file as a log; `wire` (without what its clock shows), `told` and `evidence` are there once it is made."""

    def __init__(self, path: Path, layout: LogLayout, now: datetime, longest: int) -> None:
        self._path = path
        self._longest = longest
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
            file.seek(0)
            self.sha256 = hashlib.file_digest(file, "sha256").hexdigest()
            self._size = file.tell()
        encoded = encoding_of(head, layout.encoding)
        self._encoding: Found = encoded.encoding
        self._header_line, ways = self._find_header(layout)
        self._header, self.evidence = self._look(ways, now)
        encoding = settle_encoding(self.evidence, encoded)
        self._encoding = encoding.value
        decimal = settle_decimal(self.evidence, self._header, layout)
        self.time = settle_time(self.evidence, path.name, layout)
        delimiter = told_delimiter(self.evidence, self._header, layout)
        of_columns = (*told_unit(self._header, layout), *told_columns(self._header, layout))
        self.told: tuple[Told, ...] = (encoding.told, delimiter, decimal.told, self.time.told, *of_columns)
        found, unit = self.evidence, unit_of_rows(self._header, layout)
        self.rows = LogRows(decimal.value, self.time.value, unit, remarks=found.units, damaged=found.damaged)
        self.wire: WireFormat = replace(header_wire(self._header, longest, layout), encoding=self._encoding)

    def lines(self, read: Callable[[bytes], None] | None = None) -> Iterator[Line]:
        """Every line under the header that holds more than delimiters; see `cut_lines`."""
        blank = tuple(sign.encode(self._encoding) for sign in (self._header.delimiter, " ", "\t"))
        for line in cut_lines(self._path, self._encoding, self._size, self._longest, read):
            is_empty = line.raw.startswith(blank) and not line.overlong and self._is_empty(line.raw)
            if line.number > self._header_line and not is_empty:
                yield line

    def _is_empty(self, raw: bytes) -> bool:
        return not raw.decode(self._encoding, "replace").strip(f"{self._header.delimiter} \t")

    def timed(self) -> Iterator[Timed]:
        """The rows that have a number and a time."""
        for line in self.lines():
            cells = self._cells(line)
            if len(cells) == len(self._header.fields) and (row := timed_row(self._header, cells, line.number)):
                yield row

    def _cells(self, line: Line) -> list[str]:
        text = line.raw.decode(self._encoding, "replace")
        try:
            return [cell.strip() for cell in csv_cells(text, self._header.delimiter)]
        except csv.Error:
            return []

    def _find_header(self, layout: LogLayout) -> tuple[int, list[Header]]:
        """The first line that is not blank; comments before it, and what tells a spreadsheet its delimiter, are passed over."""
        refused: SourceError | None = None
        for line in cut_lines(self._path, self._encoding, self._size, self._longest):
            text = self._text(line.raw)
            if not text.strip("\ufeff\0 \t"):
                continue
            try:
                return line.number, read_headers(text, self._path.name, layout)
            except SourceError as error:
                if not text.lstrip("\ufeff ").startswith(("#", "sep=")):
                    raise
                refused = error
        raise refused or log_error(self._path.name, "holds no rows; choose one with a header and readings")

    def _text(self, raw: bytes) -> str:
        try:
            return raw.decode(self._encoding)
        except UnicodeDecodeError:
            # Only the names of columns that are known matter, and these are ASCII.
            return raw.decode("latin-1")

    def _look(self, ways: list[Header], now: datetime) -> tuple[Header, Evidence]:
        """The header whose columns every row has, and what the rows under it show."""
        found = [(way, self._evidence(way, now)) for way in ways]
        if len(found) > 1:
            found = [(way, evidence) for way, evidence in found if not evidence.odd]
        if len(found) != 1:
            words = " or by ".join(DELIMITERS[way.delimiter] for way in ways)
            raise log_error(self._path.name, f"can be divided by {words}; declare which with --delimiter")
        header, evidence = found[0]
        if len(evidence.damaged) >= log_evidence.MOST_LINES:
            what = f"has runs of NUL in more than {log_evidence.MOST_LINES - 1} of its lines; copy it from the tool once more"
            raise log_error(self._path.name, what)
        if not evidence.rows and not evidence.damaged:
            raise log_error(self._path.name, "holds no rows under its header; choose one with readings")
        return header, evidence

    def _evidence(self, header: Header, now: datetime) -> Evidence:
        taker = EvidenceTaker(header, now, is_utf16=self._encoding.startswith("utf-16"))
        for number, offset, line in look_lines(self._path, self._encoding, self._size):
            if number > self._header_line:
                taker.take_line(number, offset, line)
        return taker.evidence


