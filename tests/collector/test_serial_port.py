"""Serial ports: real pseudo-terminals under the real pyserial, plugged in and pulled out behind a path that stays.

Closing the master end makes the kernel hang up the other end, which is the way a USB port goes.
"""

import contextlib
import errno
import fcntl
import itertools
import os
import queue
import sys
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import serial

from collector.acquire.port_error import port_error
from collector.acquire.serial_port import SerialSource
from collector.acquire.source import FrameSource
from schemas.errors import SourceError, SourceReason
from schemas.frame import Frame, LinkChange
from schemas.words import Link

pty = pytest.importorskip("pty", reason="pseudo-terminals are a thing of POSIX systems")
tty = pytest.importorskip("tty", reason="pseudo-terminals are a thing of POSIX systems")

PATIENCE_S = 10


class CountingClock:
    """Stands at one instant and counts its calls."""

    def __init__(self) -> None:
        self._count = itertools.count(1)

    def now(self) -> datetime:
        return datetime(2026, 3, 2, 9, tzinfo=UTC)

    def monotonic_ns(self) -> int:
        return next(self._count)


class PseudoPort:
    """A port that can be plugged in and pulled out; `path` stays the same."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._ends: tuple[int, ...] = ()

    def plug(self) -> None:
        self._ends = pty.openpty()
        tty.setraw(self._ends[1])  # or the line discipline would echo and change what is sent
        made = self.path.with_suffix(".new")
        made.symlink_to(os.ttyname(self._ends[1]))
        made.rename(self.path)

    def pull(self) -> None:
        self.path.unlink(missing_ok=True)
        ends, self._ends = self._ends, ()
        for end in ends:
            os.close(end)

    def is_claimed(self) -> bool:
        """Whether a program shut others out (TIOCGEXCL of Linux's ioctl_tty(2); the superuser gets in all the same)."""
        return fcntl.ioctl(self._ends[1], 0x80045440, bytes(4)) != bytes(4)

    def send(self, data: bytes) -> None:
        assert os.write(self._ends[0], data) == len(data)


class Run:
    """A source that runs in its thread; `next` is what it hands over."""

    def __init__(self, source: FrameSource) -> None:
        self.source = source
        self._handed: queue.Queue[Frame | LinkChange] = queue.Queue()
        self._thread = threading.Thread(target=source.run, args=(self._handed.put,))
        self._thread.start()

    def next(self) -> Frame | LinkChange:
        return self._handed.get(timeout=PATIENCE_S)

    def link(self) -> Link:
        change = self.next()
        assert isinstance(change, LinkChange)
        return change.link

    def frame(self) -> Frame:
        frame = self.next()
        assert isinstance(frame, Frame)
        return frame

    def stop(self) -> None:
        self.source.close()
        self._thread.join(PATIENCE_S)
        assert not self._thread.is_alive()


@pytest.fixture
def port(tmp_path: Path) -> Iterator[PseudoPort]:
    port = PseudoPort(tmp_path / "wrench")
    port.plug()
    yield port
    port.pull()


@pytest.fixture
def source(port: PseudoPort) -> Iterator[SerialSource]:
    source = SerialSource(str(port.path), CountingClock(), longest=40, retry_s=(0.005,))
    source.open()
    yield source
    source.close()


@pytest.fixture
def run(source: SerialSource) -> Iterator[Run]:
    run = Run(source)
    assert run.link() is Link.OPEN
    yield run
    run.stop()


def opener_that_raises(error: Exception) -> Callable[..., serial.Serial]:
    def opener(*_args: object, **_options: object) -> serial.Serial:
        raise error

    return opener


def refused(url: str, opener: Callable[..., serial.Serial] = serial.serial_for_url) -> SourceError:
    with pytest.raises(SourceError, match=r"^port `") as caught:
        SerialSource(url, CountingClock(), longest=40, opener=opener).open()
    return caught.value


def test_lines_come_as_frames_with_their_time(port: PseudoPort, run: Run) -> None:
    port.send(b"@one\r\n@tw")
    port.send(b"o\r\n")

    first, second = run.frame(), run.frame()

    assert (first.raw, first.after_open, first.overlong, first.cut, first.line) == (b"@one", True, False, False, None)
    assert (second.raw, second.after_open) == (b"@two", False)
    assert first.source == run.source.name == f"serial:{port.path}"
    assert first.received_at == datetime(2026, 3, 2, 9, tzinfo=UTC)
    assert first.mono_ns < second.mono_ns


def test_line_that_never_ends_comes_in_marked_parts(port: PseudoPort, run: Run) -> None:
    port.send(b"x" * 90 + b"\rnext\r")

    frames = [run.frame() for _ in range(4)]

    assert [(len(frame.raw), frame.overlong) for frame in frames] == [(40, True), (40, True), (10, True), (4, False)]


def test_port_that_goes_and_comes_back_loses_no_whole_line_and_joins_no_halves(port: PseudoPort, run: Run) -> None:
    port.send(b"@one\r\n@W-140;00")
    assert run.frame().raw == b"@one"

    port.pull()
    half, lost = run.next(), run.next()
    port.plug()
    assert run.link() is Link.BACK
    port.send(b"42;95.2\r\n@two\r\n")

    assert isinstance(half, Frame)
    assert (half.raw, half.cut) == (b"@W-140;00", True)
    assert isinstance(lost, LinkChange)
    assert lost.link is Link.LOST
    assert f"port `{port.path}` went away" in lost.detail
    assert len(lost.detail.splitlines()) == 1
    first, second = run.frame(), run.frame()
    assert (first.raw, first.after_open, first.cut) == (b"42;95.2", True, False)
    assert (second.raw, second.after_open) == (b"@two", False)


def test_loss_and_return_are_told_once_each_time(port: PseudoPort, run: Run) -> None:
    told = []
    for _ in range(3):
        port.pull()
        told.append(run.link())
        port.plug()
        told.append(run.link())

    assert told == [Link.LOST, Link.BACK] * 3


def test_closing_ends_a_run_and_keeps_the_half_line(port: PseudoPort, run: Run) -> None:
    port.send(b"@one\r\n@ha")
    assert run.frame().raw == b"@one"

    run.stop()

    half, ended = run.next(), run.next()
    assert isinstance(half, Frame)
    assert (half.raw, half.cut) == (b"@ha", True)
    assert isinstance(ended, LinkChange)
    assert ended.link is Link.ENDED


def test_closing_ends_a_run_that_waits_for_its_port(port: PseudoPort, run: Run) -> None:
    port.pull()
    assert run.link() is Link.LOST

    run.stop()

    assert run.link() is Link.ENDED


def test_closing_gives_the_port_back_to_others(port: PseudoPort, source: SerialSource) -> None:
    source.close()

    with serial.Serial(str(port.path), exclusive=True) as other:
        assert other.is_open


def test_wait_grows_while_the_port_stays_away(port: PseudoPort) -> None:
    waited: list[float] = []
    enough = threading.Event()

    def wait(seconds: float) -> None:
        waited.append(seconds)
        if len(waited) == 5:
            enough.set()
            patient.close()

    patient = SerialSource(str(port.path), CountingClock(), longest=40, retry_s=(0.1, 0.5, 2.0), wait=wait)
    patient.open()
    run = Run(patient)
    port.pull()

    assert enough.wait(PATIENCE_S)
    run.stop()

    assert waited == [0.1, 0.5, 2.0, 2.0, 2.0]


def test_byte_read_just_before_the_port_went_is_kept() -> None:
    # Measured with pyserial 3.5: `in_waiting` of a port that went raises a bare OSError. The moment between the two
    # calls cannot be met from outside, so a port that goes right there is put in its place.
    class GoesBetween(serial.Serial):
        def __init__(self, *_args: object, **_options: object) -> None:
            self._left = [b"@"]

        def read(self, size: int = 1, /) -> bytes:
            if not self._left:
                raise serial.SerialException("device reports readiness to read but returned no data")
            return self._left.pop()

        @property
        def in_waiting(self) -> int:
            raise OSError(errno.EIO, "Input/output error")

        def close(self) -> None:
            self._left = []

    source = SerialSource("gone", CountingClock(), longest=40, opener=GoesBetween, retry_s=(3600,))
    source.open()
    run = Run(source)

    assert run.link() is Link.OPEN
    half = run.frame()
    assert (half.raw, half.cut) == (b"@", True)
    assert run.link() is Link.LOST
    run.stop()


def test_any_url_of_pyserial_is_a_source() -> None:
    made: list[serial.Serial] = []

    def opener(url: str, **options: Any) -> serial.Serial:
        made.append(serial.serial_for_url(url, **options))
        return made[-1]

    source = SerialSource("loop://", CountingClock(), longest=40, opener=opener)
    source.open()
    run = Run(source)
    made[0].write(b"@one\r\n")

    assert run.link() is Link.OPEN
    assert run.frame().raw == b"@one"
    run.stop()
    assert not made[0].is_open


def test_missing_port_is_named_with_what_to_do(tmp_path: Path) -> None:
    error = refused(str(tmp_path / "ttyX"))

    assert error.reason is SourceReason.MISSING
    assert str(error) == (
        f"port `{tmp_path}/ttyX` is not there; plug the cable in, or see the ports with"
        " `python -m serial.tools.list_ports`"
    )


def test_port_locked_by_another_program_is_busy(port: PseudoPort) -> None:
    other = os.open(port.path, os.O_RDWR | os.O_NOCTTY)
    with contextlib.closing(os.fdopen(other, "rb", buffering=0)):
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)

        error = refused(str(port.path))

    assert error.reason is SourceReason.BUSY
    assert "in use by another program" in str(error)


def test_port_is_ours_alone_while_it_is_open(port: PseudoPort, source: SerialSource) -> None:
    error = refused(str(port.path))

    assert error.reason is SourceReason.BUSY


@pytest.mark.skipif(sys.platform != "linux", reason="the request that asks for the claim is Linux's own")
def test_port_is_claimed_while_it_is_open_and_not_after(port: PseudoPort, source: SerialSource) -> None:
    held = port.is_claimed()
    source.close()

    assert held
    assert not port.is_claimed()


def test_forbidden_port_is_named_with_the_group() -> None:
    # The superuser may open any port, and tests may run as one; so pyserial's own exception is put in its place.
    said = serial.SerialException(errno.EACCES, "could not open port /dev/ttyX: [Errno 13] Permission denied")

    error = refused("/dev/ttyX", opener=opener_that_raises(said))

    assert error.reason is SourceReason.PERMISSION
    assert "`dialout`" in str(error)


def test_file_that_is_no_port_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "notes.txt"
    file.write_text("no port", encoding="utf-8")

    error = refused(str(file))

    assert error.reason is SourceReason.NOT_READABLE
    assert "cannot be read as a serial port" in str(error)


def test_url_that_pyserial_does_not_know_is_refused() -> None:
    assert refused("nothing://here").reason is SourceReason.NOT_READABLE


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        pytest.param(
            "could not open port 'COM7': FileNotFoundError(2, 'x', None, 2)", SourceReason.MISSING, id="missing"
        ),
        pytest.param("could not open port 'COM7': PermissionError(13, 'x', None, 5)", SourceReason.BUSY, id="busy"),
        pytest.param("no ports found matching regexp 'SER=9'", SourceReason.MISSING, id="search-by-name"),
    ],
)
def test_words_stand_in_where_there_is_no_error_number(said: str, reason: SourceReason) -> None:
    # Texts of pyserial 3.5 on Windows, from its source; not run there.
    assert port_error("COM7", serial.SerialException(said)).reason is reason
