"""Cuts a log into lines: whole and quick to look for evidence, or with every byte, for the record."""

import codecs
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, TextIO, cast

from collector.acquire.log_encoding import Found, unit_bytes

BLOCK_BYTES = 1 << 18

# Latin-1 maps bytes to characters one to one, so Python's own text file cuts lines at CR, LF and CR LF alike and the
# bytes come back unchanged; so does UTF-16 with half surrogates let through.
_AS_TEXT = {"utf-16-le": ("utf-16-le", "surrogatepass"), "utf-16-be": ("utf-16-be", "surrogatepass")}
_BYTES = ("latin-1", "strict")


@dataclass(frozen=True, slots=True)
class Line:
    """One physical line without its end, or a part of one that is too long or damaged; `number` counts from 1."""

    number: int
    raw: bytes
    overlong: bool


def look_lines(path: Path, encoding: Found, size: int) -> Iterator[tuple[int, int, bytes]]:
    """The lines of a log as (number, offset in the file, line with its end), in memory for one block; UTF-16 as UTF-8.

    A line longer than a block is left out.
    """
    decoder = codecs.getincrementaldecoder(encoding)("replace") if unit_bytes(encoding) > 1 else None
    number, offset, carry, is_spoilt = 1, 0, b"", False
    with path.open("rb") as file:
        for block in _blocks(file, size):
            data = carry + (block if decoder is None else decoder.decode(block).encode("utf-8", "replace"))
            lines = data.splitlines(keepends=True)
            # A CR at the very end may have its LF still to come.
            carry = lines.pop() if lines and not lines[-1].endswith(b"\n") else b""
            for line in lines:
                if not is_spoilt:
                    yield number, offset, line
                is_spoilt = False
                offset += len(line)
                number += 1
            if len(carry) > BLOCK_BYTES:
                offset, carry, is_spoilt = offset + len(carry) - 1, carry[-1:], True
    if carry and not is_spoilt:
        yield number, offset, carry


def _blocks(file: BinaryIO, size: int) -> Iterator[bytes]:
    left = size
    while left and (block := file.read(min(BLOCK_BYTES, left))):
        left -= len(block)
        yield block


def cut_lines(
    path: Path, encoding: Found, size: int, longest: int, read: Callable[[bytes], None] | None = None
) -> Iterator[Line]:
    """The lines that are not blank, of the first `size` bytes; every byte is handed to `read` in order.

    A line of more than `longest` signs comes in parts. One with a run of NUL comes as what stands up to the end of the run,
    and what stands behind it.
    """
    width = unit_bytes(encoding)
    how = _AS_TEXT.get(encoding, _BYTES)
    number = 1
    with path.open("rb") as file:
        front = cast("BinaryIO", _Front(file, size - size % width))
        with io.TextIOWrapper(front, *how, newline="") as text:
            for line in _cut(text, how, longest, read):
                number = line.number
                yield line
        half = file.read(size % width)
    if half:
        # Half a sign, at the end of a file that was cut off.
        if read:
            read(half)
        yield Line(number + 1, half, overlong=False)


class _Front(io.BufferedIOBase):
    """The first bytes of a file, which stays open when this is closed."""

    def __init__(self, file: BinaryIO, size: int) -> None:
        self._file = file
        self._left = size

    def readable(self) -> bool:
        """Yes."""
        return True

    def read1(self, size: int = -1) -> bytes:
        """The next bytes, at most so many; empty at the end."""
        data = self._file.read(min(size if size > 0 else BLOCK_BYTES, self._left))
        self._left -= len(data)
        return data


def _cut(text: TextIO, how: tuple[str, str], longest: int, read: Callable[[bytes], None] | None) -> Iterator[Line]:
    limit = longest + 2  # room for the line end
    number, goes_on, half_end = 1, False, False
    while piece := text.readline(limit):
        if read:
            read(piece.encode(*how))
        if half_end and piece == "\n":
            half_end = False
            continue
        line = piece.rstrip("\r\n")
        overlong = goes_on or len(line) > longest
        if line if overlong else line.strip(" \t"):
            if "\0" in line and how is _BYTES and not overlong:
                yield from _around_damage(number, line.encode(*how))
            else:
                yield Line(number, line.encode(*how), overlong)
        goes_on = line == piece
        number += not goes_on
        # A CR just at the limit may have its LF still to come.
        half_end = len(piece) == limit and piece.endswith("\r")


def _around_damage(number: int, raw: bytes) -> Iterator[Line]:
    end = raw.rindex(b"\0") + 1
    yield Line(number, raw[:end], overlong=False)
    if raw[end:].strip(b" \t"):
        yield Line(number, raw[end:], overlong=False)
