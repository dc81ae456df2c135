"""Looks through all rows of a log for what proves how they are written, in one pass and in constant memory."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from collector.acquire.csv_line import csv_cells
from collector.acquire.log_header import Header
from schemas.log_number import number_forms
from schemas.log_rows import Damage
from schemas.log_time import EARLIEST, Shape, counts_by_length, order_proved, shape_of

MOST_LINES = 10_000
"""So many lines are held that have something of their own; what lies beyond counts without it."""

MOST_WRENCHES = 1_000
"""No shop has as many; of those beyond no change is seen."""

# What may stand in another place than UTF-8 has it and change no name and no value.
_HARMLESS = (None, "unit", "angle")
_NUL = re.compile(rb"\x00+")
_LOCAL = re.compile(r".*(?:Z|[+-][0-9]{2}:?[0-9]{2}(?::[0-9]{2})?)", re.DOTALL)


@dataclass(slots=True)
class Evidence:
    """What the rows of a log show. Lines count from 1 in the file; a mapping to lines has the first of each.

    `odd`: rows with another number of cells. `legacy`, `legacy_doubt`, `utf8`: the first line that is not UTF-8 where that
    changes nothing, where it may, and that is UTF-8 beyond ASCII. `marks`: decimal marks that are the only ones to fit.
    `malformed`: a number that no mark fits. `needs_rule`: one that both fit, or that has groups of digits. `is_quoted`: a cell
    stands in quotes. `units`: what to say of a row whose unit is not that of the row before.
    `is_astray`: a time before any tool's clock was set, or to come. `is_naive`: a time without an offset. `is_disordered`:
    a wrench's numbers or times go back.
    """

    rows: int = 0
    odd: int = 0
    legacy: int | None = None
    legacy_doubt: int | None = None
    utf8: int | None = None
    marks: dict[str, int] = field(default_factory=dict)
    malformed: int | None = None
    needs_rule: bool = False
    is_quoted: bool = False
    shapes: dict[Shape, tuple[int, str]] = field(default_factory=dict)
    orders: dict[str, tuple[int, str]] = field(default_factory=dict)
    counts: dict[str, tuple[int, str]] = field(default_factory=dict)
    is_astray: bool = False
    is_naive: bool = False
    is_disordered: bool = False
    units: dict[int, str] = field(default_factory=dict)
    damaged: dict[int, Damage] = field(default_factory=dict)


@dataclass(slots=True)
class _Last:
    """The record before of one wrench, as its cells had it."""

    number: bytes
    time: bytes
    unit: bytes


class EvidenceTaker:
    """Takes the rows under one header; what it found is in `evidence`."""

    def __init__(self, header: Header, now: datetime, *, is_utf16: bool = False) -> None:
        self.evidence = Evidence()
        self._fields = header.fields
        self._columns = len(header.fields)
        self._mark = header.delimiter.encode()
        self._blank = self._mark + b" \t"
        self._torque = header.fields.index("torque")
        self._time = _place(header, "tool_time")
        self._wrench = _place(header, "wrench")
        self._number = _place(header, "sequence")
        self._unit = _place(header, "unit")
        self._last: dict[bytes, _Last] = {}
        self._is_utf16 = is_utf16
        self._day, self._tail = b"-", b""
        self._early = str(EARLIEST.year).encode()
        self._late = (now + timedelta(days=1)).date().isoformat().encode()

    def take_line(self, number: int, offset: int, line: bytes) -> None:
        """A line of text with its end, not the header."""
        body = line.rstrip(b"\r\n")
        if body[:1] in self._blank and not body.strip(self._blank):
            return
        if b"\0" in body and not self._is_utf16:
            self._take_damage(number, offset, body)
            return
        if b'"' in body:
            self.evidence.is_quoted = True
            cells = _quoted(body, self._mark.decode())
        else:
            cells = body.split(self._mark)
        if not body.isascii():
            self._take_encoding(number, body, cells)
        self.take_cells(number, cells)

    def take_cells(self, number: int, cells: Sequence[bytes]) -> None:
        """The cells of a row."""
        found = self.evidence
        found.rows += 1
        if len(cells) != self._columns:
            found.odd += 1
            return
        time = b"" if self._time is None else cells[self._time]
        if time:
            self._take_time(number, time)
        self._compare(number, cells, time)
        # Where commas part the cells, a decimal comma needs quotes; without them the first decimal point says all.
        if found.is_quoted or self._mark != b"," or not found.marks:
            self._take_number(number, cells[self._torque])

    def _take_damage(self, number: int, offset: int, body: bytes) -> None:
        runs = list(_NUL.finditer(body))
        if len(self.evidence.damaged) < MOST_LINES:
            size = sum(run.end() - run.start() for run in runs)
            self.evidence.damaged[number] = Damage(offset + runs[0].start(), size)

    def _take_encoding(self, number: int, body: bytes, cells: Sequence[bytes]) -> None:
        found = self.evidence
        try:
            body.decode("utf-8")
        except UnicodeDecodeError:
            is_known = len(cells) == self._columns and all(
                cell.isascii() or name in _HARMLESS for name, cell in zip(self._fields, cells, strict=True)
            )
            if is_known:
                found.legacy = found.legacy or number
            else:
                found.legacy_doubt = found.legacy_doubt or number
        else:
            found.utf8 = found.utf8 or number

    def _take_time(self, number: int, time: bytes) -> None:
        # Every row comes here, and nearly all of them are of the same day, in the same form.
        if time[:11] == self._day and time[19:] == self._tail:
            return
        found = self.evidence
        if time[4:5] == b"-" and time[13:14] == b":":
            found.shapes.setdefault(Shape.ISO, (number, ""))
            if time[:4] < self._early or time[:10] >= self._late:
                found.is_astray = True
            if time[-6:-5] != b"+" and not found.is_naive and not _LOCAL.fullmatch(time[16:].decode("latin-1")):
                found.is_naive = True
            if len(time) >= len("2026-03-02T07:15:00"):
                self._day, self._tail = time[:11], time[19:]
            return
        text = time.decode("latin-1").strip().strip('"')
        shape = shape_of(text)
        found.shapes.setdefault(shape, (number, text))
        if shape is Shape.COUNT and (counts := counts_by_length(text)):
            found.counts.setdefault(counts, (number, text))
        if shape is Shape.PARTED and (order := order_proved(text)):
            found.orders.setdefault(order, (number, text))
        found.is_naive = found.is_naive or shape not in (Shape.COUNT, Shape.OTHER)

    def _compare(self, number: int, cells: Sequence[bytes], time: bytes) -> None:
        found = self.evidence
        wrench = b"" if self._wrench is None else cells[self._wrench]
        own = b"" if self._number is None else cells[self._number]
        unit = b"" if self._unit is None else cells[self._unit]
        before = self._last.get(wrench)
        if before is None:
            if len(self._last) < MOST_WRENCHES:
                self._last[wrench] = _Last(own, time, unit)
            return
        if unit != before.unit:
            if len(found.units) < MOST_LINES:
                found.units[number] = f"the unit changes here, from {_said(before.unit)} to {_said(unit)}"
            before.unit = unit
        if own and not found.is_disordered:
            # Digits of one length are in the order of their numbers; a false alarm costs another look, and no more.
            is_later = (len(own), own) > (len(before.number), before.number) and time >= before.time
            found.is_disordered = not is_later or time[19:] != before.time[19:]
            before.number, before.time = own, time

    def _take_number(self, number: int, cell: bytes) -> None:
        found = self.evidence
        forms = number_forms(cell.decode("latin-1").strip())
        if forms is None:
            return
        # A number with groups needs the rule too, since a wire format reads none.
        found.needs_rule = found.needs_rule or forms.is_open or (b"." in cell and b"," in cell)
        if mark := forms.proves:
            found.marks.setdefault(mark, number)
        elif forms.point is None and forms.comma is None:
            found.malformed = found.malformed or number


def _place(header: Header, field: str) -> int | None:
    return header.fields.index(field) if field in header.fields else None


def _quoted(body: bytes, mark: str) -> Sequence[bytes]:
    try:
        return [cell.encode("latin-1") for cell in csv_cells(body.decode("latin-1"), mark)]
    except csv.Error:
        return ()


def _said(unit: bytes) -> str:
    # repr escapes what would break the line, or could not be seen.
    return f"`{repr(unit.decode('utf-8', 'backslashreplace').strip()[:40])[1:-1]}`" if unit.strip() else "none"
