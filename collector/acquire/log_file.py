"""Reads a readings log, text or XLSX: twice, once for what its rows prove, once row by row as it stands in the file."""

import hashlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Protocol

from collector.acquire.log_clock import MOST_ROWS, Timed, look_at_clocks
from collector.acquire.log_evidence import Evidence
from collector.acquire.log_header import log_error
from collector.acquire.log_lines import Line
from collector.acquire.log_settled import Told
from collector.acquire.log_text import TextLog
from collector.acquire.source import Put
from collector.acquire.stamp import Stamp
from schemas.clock import Clock
from schemas.frame import Frame
from schemas.log_layout import LogLayout
from schemas.log_rows import PLAIN_ROWS, LogRows
from schemas.log_time import Shape
from schemas.wire_format import WireFormat
from schemas.words import Link

LONGEST = 4096
"""Signs of a row; no tool's record comes near it."""

_UNDECLARED = LogLayout()


class LogSource:
    """A readings log as a source of frames, one a line; nothing is held but the line in hand.

    A line is what ends in CR, LF or CR LF, whatever quotes stand in it: an open quote spoils its own line and no
    other. From `open` on, `wire_format` is how its lines are laid out and `sha256` the hash of the whole file in hex;
    `told` is how it is read and how that is known, one line each.
    """

    wire_format: WireFormat
    sha256: str
    told: tuple[Told, ...]

    def __init__(self, path: Path, clock: Clock, longest: int = LONGEST, layout: LogLayout = _UNDECLARED) -> None:
        self._path = path
        self._clock = clock
        self._longest = longest
        self._layout = layout
        self._closed = threading.Event()

    @property
    def name(self) -> str:
        """`log:` and the file's name without its folder."""
        return f"log:{self._path.name}"

    def open(self) -> None:
        """Hash the file and look through it; SourceError where it is missing, empty, no such log, or can be read in two ways."""
        if self._path.exists() and not self._path.is_file():
            raise log_error(self._path.name, "is no plain file; choose a file of readings")
        with self._readable():
            self._log = self._opened()
        self.sha256 = self._log.sha256
        self.wire_format, self.told = _with_rows(self._log, self._clock.now())

    def rows(self) -> Iterator[Frame]:
        """One frame a line under the header, blank lines left out; `line` counts every line of the file from 1.

        A line longer than allowed comes in parts, each marked `overlong`; one with a run of NUL comes in two, up to its end and
        behind it. What is appended after `open` is left out. A row of a workbook is the JSON list of its cells.

        Raises:
            SourceError: the file cannot be read any more; or, at the end, it is no longer what was hashed.
        """
        read, source = hashlib.sha256(), self.name
        with self._readable():
            for line in self._log.lines(read.update):
                yield self._frame(source, line)
        if read.hexdigest() != self.sha256:
            raise log_error(self._path.name, "was changed while it was read; import it again when nothing writes to it")

    def run(self, put: Put) -> None:
        """Hand over every row, with `open` before and `ended` after; SourceError as from `rows`."""
        stamp = Stamp(self.name, self._clock)
        put(stamp.change(Link.OPEN))
        for frame in self.rows():
            if self._closed.is_set():
                break
            put(frame)
        put(stamp.change(Link.ENDED))

    def close(self) -> None:
        """Stop a run after the row in hand."""
        self._closed.set()

    def _opened(self) -> "_Log":
        if self._path.suffix.lower() == ".xlsx":
            # Loaded only here: openpyxl is slow to load.
            from collector.acquire.log_sheet import SheetLog

            return SheetLog(self._path, self._layout, self._clock.now(), self._longest)
        return TextLog(self._path, self._layout, self._clock.now(), self._longest)

    @contextmanager
    def _readable(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            what = f"cannot be read ({error.strerror}); check its name and place"
            raise log_error(self._path.name, what) from error

    def _frame(self, source: str, line: Line) -> Frame:
        return Frame(
            source=source,
            raw=line.raw,
            received_at=self._clock.now(),
            mono_ns=self._clock.monotonic_ns(),
            overlong=line.overlong,
            line=line.number,
        )


class _Log(Protocol):
    """A file of either kind that was looked through."""

    sha256: str
    wire: WireFormat
    told: tuple[Told, ...]
    evidence: Evidence
    rows: LogRows

    def lines(self, read: Callable[[bytes], None] | None = None) -> Iterator[Line]:
        """Its rows."""

    def timed(self) -> Iterator[Timed]:
        """Its rows that have a number and a time."""


def _with_rows(log: "_Log", now: datetime) -> tuple[WireFormat, tuple[Told, ...]]:
    """The wire format with what the clock shows, and what is told; without the former where nothing has to be known."""
    found, rows, told = log.evidence, log.rows, log.told
    is_foreign = bool(set(found.shapes) - {Shape.ISO, Shape.OTHER})
    has_numbers = {"sequence", "tool_time"} <= set(log.wire.fields)
    needs_clock = found.is_disordered or (found.is_naive and rows.time.zone) or is_foreign
    if has_numbers and needs_clock:
        if found.rows > MOST_ROWS:
            told += (Told(f"more than {MOST_ROWS} rows: their times are not compared with their numbers"),)
        else:
            clock = look_at_clocks(log.timed(), rows.time, now)
            rows = replace(rows, folds=clock.folds, doubts=clock.doubts)
    times = is_foreign or found.is_astray or rows.time.checks or (found.is_naive and rows.time.zone)
    is_plain = rows == replace(PLAIN_ROWS, time=rows.time) and not times
    return replace(log.wire, log=None if is_plain else rows), told
