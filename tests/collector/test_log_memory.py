"""A log of any size is read in memory that does not grow with it."""

import tracemalloc
from datetime import UTC, datetime
from pathlib import Path

import pytest

from collector.acquire.log_file import LogSource
from collector.acquire.log_lines import BLOCK_BYTES, cut_lines, look_lines

BOUND_BYTES = 3_500_000
ROWS = 60_000


class StillClock:
    def now(self) -> datetime:
        return datetime(2026, 11, 2, 9, tzinfo=UTC)

    def monotonic_ns(self) -> int:
        return 7


def write(path: Path, header: str, row: str, rows: int, encoding: str = "utf-8") -> None:
    with path.open("w", encoding=encoding, newline="") as file:
        file.write(header)
        for first in range(0, rows, 1000):
            file.write("".join(row.format(n=n, minute=n // 60 % 60, second=n % 60) for n in range(first, first + 1000)))


@pytest.mark.parametrize(
    ("header", "row", "encoding"),
    [
        pytest.param("time,wrench,torque,unit,seq\n", "2026-03-02T08:15:30+01:00,W-140,95.2,Nm,{n}\n", "utf-8", id="plain"),
        pytest.param("zeit;tool;torque;unit;seq\n", "14/03/2026 09:00;W-140;95,2;N·m;{n}\n", "utf-16", id="utf-16-and-commas"),
        pytest.param("tool,torque,unit\n", "W-{n},95.2,Nm\nW-{n},95.2,lbf.ft\n", "utf-8", id="wrenches-and-changes-without-end"),
    ],
)
def test_memory_does_not_grow_with_the_log(tmp_path, header, row, encoding):
    path = tmp_path / "day.csv"
    write(path, header, row, ROWS, encoding)
    source = LogSource(path, StillClock())

    tracemalloc.start()
    try:
        source.open()
        rows = sum(1 for _ in source.rows())
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert rows >= ROWS
    assert peak < BOUND_BYTES


def test_a_file_without_a_line_end_is_never_held_whole(tmp_path):
    path = tmp_path / "day.csv"
    path.write_bytes(b"torque,unit\n" + b"x" * 20_000_000 + b"\n95,Nm\n")
    source = LogSource(path, StillClock())

    tracemalloc.start()
    try:
        source.open()
        parts = [(frame.line, len(frame.raw), frame.overlong) for frame in source.rows()]
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert sum(size for line, size, _ in parts if line == 2) == 20_000_000
    assert parts[-1] == (3, 5, False)
    assert peak < BOUND_BYTES


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["lf", "crlf", "cr"])
@pytest.mark.parametrize("more", range(-3, 4))
def test_both_ways_to_cut_agree_where_a_block_ends(tmp_path, end, more):
    path = tmp_path / "day.csv"
    data = b"a" * (BLOCK_BYTES + more) + end + b"b" + end + end + b"c"
    path.write_bytes(data)

    lines = list(look_lines(path, "utf-8", len(data)))
    looked = [(number, line.rstrip(b"\r\n")) for number, offset, line in lines if data[offset:].startswith(line)]
    cut = [(line.number, line.raw) for line in cut_lines(path, "utf-8", len(data), 2 * BLOCK_BYTES)]

    assert [one for one in looked if one[1] and len(one[1]) < BLOCK_BYTES] == [one for one in cut if len(one[1]) < BLOCK_BYTES]
    assert [number for number, _ in cut] == [1, 2, 4]


def test_a_line_longer_than_a_block_does_not_shift_the_lines_after_it(tmp_path):
    path = tmp_path / "day.csv"
    data = b"a" * (3 * BLOCK_BYTES) + b"\r\nb\r\nc"
    path.write_bytes(data)

    assert [(number, data[offset:]) for number, offset, _ in look_lines(path, "utf-8", len(data))] == [(2, b"b\r\nc"), (3, b"c")]
