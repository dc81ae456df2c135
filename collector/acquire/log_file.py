"""Reads a readings log, a CSV file with a header, line by line as it stands in the file."""

import hashlib
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from collector.acquire.log_header import log_error, log_wire_format
from collector.acquire.source import Put
from schemas.clock import Clock
from schemas.frame import Frame, LinkChange
from schemas.wire_format import WireFormat
from schemas.words import Link

LONGEST_BYTES = 4096

# Latin-1 maps bytes to characters one to one, so Python's own text file cuts lines at CR, LF and CR LF alike and the
# bytes come back unchanged.
_BYTES_AS_TEXT = "latin-1"


@dataclass(frozen=True, slots=True)
class _Line:
    """One physical line without its end, or a part of one that is too long; `number` counts from 1."""

    number: int
    raw: bytes
    overlong: bool


class LogSource:
    """A readings log as a source of frames, one a line; nothing is held but the line in hand.

    A line is what ends in CR, LF or CR LF, whatever quotes stand in it: an open quote spoils its own line and no
    other. From `open` on, `wire_format` is how its lines are laid out and `sha256` the hash of the whole file in hex.
    """

    wire_format: WireFormat
    sha256: str

    def __init__(self, path: Path, clock: Clock, longest: int = LONGEST_BYTES) -> None:
        self._path = path
        self._clock = clock
        self._longest = longest
        self._size = 0
        self._header_line = 0
        self._closed = threading.Event()

    @property
    def name(self) -> str:
        """`log:` and the file's name without its folder."""
        return f"log:{self._path.name}"

    def open(self) -> None:
        """Hash the file and read its header; SourceError where it is missing, has no rows or is no such log."""
        if self._path.exists() and not self._path.is_file():
            raise log_error(self._path.name, "is no plain file; choose a file of readings")
        with self._readable():
            with self._path.open("rb") as file:
                self.sha256 = hashlib.file_digest(file, "sha256").hexdigest()
                self._size = file.tell()
            with self._text() as text:
                lines = self._lines(text)
                header = next(lines, None)
                if header is None:
                    raise log_error(self._path.name, "holds no rows; choose one with a header and readings")
                self.wire_format = log_wire_format(header.raw, self._path.name, self._longest)
                self._header_line = header.number
                if next(lines, None) is None:
                    raise log_error(self._path.name, "holds no rows under its header; choose one with readings")

    def rows(self) -> Iterator[Frame]:
        """One frame a line under the header, blank lines left out; `line` counts every line of the file from 1.

        A line longer than allowed comes in parts, each marked `overlong`. What is appended after `open` is left out.

        Raises:
            SourceError: the file cannot be read any more; or, at the end, it is no longer what was hashed.
        """
        read, source = hashlib.sha256(), self.name
        with self._readable(), self._text() as text:
            for line in self._lines(text, read):
                if line.number > self._header_line:
                    yield self._frame(source, line)
        if read.hexdigest() != self.sha256:
            raise log_error(self._path.name, "was changed while it was read; import it again when nothing writes to it")

    def run(self, put: Put) -> None:
        """Hand over every row, with `open` before and `ended` after; SourceError as from `rows`."""
        put(self._change(Link.OPEN))
        for frame in self.rows():
            if self._closed.is_set():
                break
            put(frame)
        put(self._change(Link.ENDED))

    def close(self) -> None:
        """Stop a run after the row in hand."""
        self._closed.set()

    def _text(self) -> TextIO:
        return self._path.open(encoding=_BYTES_AS_TEXT, newline="")

    @contextmanager
    def _readable(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            what = f"cannot be read ({error.strerror}); check its name and place"
            raise log_error(self._path.name, what) from error

    def _frame(self, source: str, line: _Line) -> Frame:
        return Frame(
            source=source,
            raw=line.raw,
            received_at=self._clock.now(),
            mono_ns=self._clock.monotonic_ns(),
            overlong=line.overlong,
            line=line.number,
        )

    def _change(self, link: Link) -> LinkChange:
        return LinkChange(self.name, link, self._clock.now(), self._clock.monotonic_ns())

    def _lines(self, text: TextIO, read: "hashlib._Hash | None" = None) -> Iterator[_Line]:
        """The lines that are not blank, from the bytes that were hashed; adds those bytes to `read`."""
        limit = self._longest + 2  # room for the line end
        number, left, goes_on, half_end = 1, self._size, False, False
        while left and (piece := text.readline(min(limit, left))):
            data = piece.encode(_BYTES_AS_TEXT)
            left -= len(data)
            if read:
                read.update(data)
            if half_end and data == b"\n":
                half_end = False
                continue
            raw = data.rstrip(b"\r\n")
            overlong = goes_on or len(raw) > self._longest
            if raw if overlong else raw.strip(b" \t"):
                yield _Line(number, raw, overlong)
            goes_on = raw == data
            number += not goes_on
            # A CR just at the limit may have its LF still to come.
            half_end = len(data) == limit and data.endswith(b"\r")
