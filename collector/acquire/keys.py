"""Reads what an instrument types as if it were a keyboard: lines from standard input, and answers on lines of their own."""

import os
import queue
import re
import threading
from collections.abc import Callable
from typing import TextIO

from collector.acquire.framing import Framer, Piece
from collector.acquire.source import Put
from collector.acquire.stamp import Stamp
from schemas.clock import Clock
from schemas.errors import SourceError, SourceReason
from schemas.words import Link

ANSWER = b"/"
"""A typed line that begins so is a person's answer, not the instrument's."""
_LONGEST_HELD = 65536
_A_READ = 4096
# A terminal makes a line feed of Enter; what comes through a pipe may have the instrument's own carriage return.
_LINE_END = re.compile(rb"\r\n|\r|\n")


class KeysSource:
    """Typed lines as a source of frames; a line ends with Enter. It ends with the end of its stream (Ctrl-D).

    Blank lines are counted and left out. A line that begins with `/` goes to `answer` and to nobody else, but for one that
    the instrument typed into: it comes as a frame that may lack its beginning, and answers nothing. The thread that
    waits for the keyboard cannot be woken: after `close` it ends with its next line, or with the program.

    Args:
        stream: standard input, None where it was closed before the start.
        clock: for the time of arrival.
        framer: makes what cuts lines; one whose lines end with a line end.
        answer: takes an answer as it was typed, without its `/`; called on the thread of `run`.
        is_mixed: whether a line that begins as an answer holds a record of the instrument as well.
    """

    name = "keys:"

    def __init__(
        self,
        stream: TextIO | None,
        clock: Clock,
        framer: Callable[[], Framer],
        answer: Callable[[str], object],
        is_mixed: Callable[[bytes], bool] = lambda _: False,
    ) -> None:
        self._stream = stream
        self._stamp = Stamp(self.name, clock)
        self._framer = framer()
        self._answer = answer
        self._is_mixed = is_mixed
        self._typed: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._held = b""
        self._is_after_return = False
        self._is_part = False
        self._blank = 0

    def open(self) -> None:
        """Look whether anything can be typed; SourceError where not."""
        if self._stream is None or self._stream.closed:
            raise SourceError("standard input is closed, so nothing can be typed; start this in a terminal", SourceReason.MISSING)

    def run(self, put: Put) -> None:
        """Hand over typed lines until the stream ends or the source is closed; a line begun and not ended is `cut`."""
        put(self._stamp.change(Link.OPEN, "type, or let the instrument type; answers begin with /"))
        threading.Thread(target=self._read, name="keys", daemon=True).start()
        while data := self._typed.get():
            self._take(data, put)
        if self._held:
            self._hand_over(self._held, put, cut=True)
        lines = f"{self._blank} empty line{'s' * (self._blank != 1)} ignored" if self._blank else ""
        put(self._stamp.change(Link.ENDED, lines))

    def close(self) -> None:
        """Stop a run after what was typed already."""
        self._typed.put(b"")

    def _read(self) -> None:
        try:
            # Not through the stream's own buffer: its lock would be held by a read that never ends.
            while self._stream is not None and (data := os.read(self._stream.fileno(), _A_READ)):
                self._typed.put(data)
        except (OSError, ValueError):
            pass  # a terminal that was closed at its other end gives nothing more
        self._typed.put(b"")

    def _take(self, data: bytes, put: Put) -> None:
        self._held += data.removeprefix(b"\n") if self._is_after_return else data
        self._is_after_return = data.endswith(b"\r")
        *lines, self._held = _LINE_END.split(self._held)
        for line in lines:
            self._take_line(line, put)
        if len(self._held) > _LONGEST_HELD:
            self._hand_over(self._held, put)
            self._held, self._is_part = b"", True

    def _take_line(self, line: bytes, put: Put) -> None:
        if self._is_part:
            self._hand_over(line, put)
            self._is_part = False
        elif line.startswith(ANSWER) and self._is_mixed(line):
            self._hand_over(line, put, mixed=True)
        elif line.startswith(ANSWER):
            self._answer(line.removeprefix(ANSWER).decode("utf-8", "replace").strip())
        elif line.strip():
            self._hand_over(line, put)
        else:
            self._blank += 1

    def _hand_over(self, line: bytes, put: Put, cut: bool = False, mixed: bool = False) -> None:
        pieces = self._framer.feed(line) + self._framer.flush() if cut else self._framer.feed(line + b"\n")
        for piece in pieces:
            put(self._stamp.frame(Piece(piece.raw, mixed, piece.overlong or self._is_part), cut=cut))
