"""What a serial port hands over while it is there, how it is opened and how it is given back."""

import sys
import threading
from datetime import UTC, datetime

import pytest
import serial

from collector.acquire.framing import Piece
from schemas.words import Link

PATIENCE_S = 10


def test_lines_come_as_frames_with_their_time(port, run):
    port.send(b"@one\r\n@tw")
    port.send(b"o\r\n")

    first, second = run.frame(), run.frame()

    assert (first.raw, first.after_open, first.overlong, first.cut, first.line) == (b"@one", True, False, False, None)
    assert (second.raw, second.after_open) == (b"@two", False)
    assert first.source == run.source.name == f"serial:{port.path}"
    assert first.received_at == datetime(2026, 3, 2, 9, tzinfo=UTC)
    assert first.mono_ns < second.mono_ns


def test_line_that_never_ends_comes_in_marked_parts(port, run):
    port.send(b"x" * 90 + b"\rnext\r")

    frames = [run.frame() for _ in range(4)]

    assert [(len(frame.raw), frame.overlong) for frame in frames] == [(40, True), (40, True), (10, True), (4, False)]


class BySilence:
    """Takes everything up to a silence as one piece."""

    silence_s = 0.01

    def __init__(self):
        self._held = b""

    def feed(self, data):
        self._held += data
        return []

    def quiet(self):
        held, self._held = self._held, b""
        return [Piece(held)] if held else []

    flush = quiet


def test_silence_ends_a_piece_of_a_framing_that_goes_by_it(port, new_source, new_run):
    run = new_run(new_source(framer=BySilence))

    port.send(b"95.2")
    first = run.frame()
    port.send(b"96.0")

    assert (first.raw, first.cut) == (b"95.2", False)
    assert run.frame().raw == b"96.0"


def test_silence_longer_than_one_read_is_added_up_and_ends_with_a_byte(new_source, new_run):
    # The reads here come back at once, each for a time-out of 0.2 s without a byte.
    heard = []

    class HalfASecond(BySilence):
        silence_s = 0.5

        def feed(self, data):
            heard.append(data)
            return []

        def quiet(self):
            heard.append("quiet")
            return []

    class Scripted(serial.Serial):
        def open(self):
            self.left = [b"a", b"", b"", b"b", b"", b"", b""]

        def read(self, size=1, /):
            if size == 0:
                return b""
            if not self.left:
                raise OSError("went away")
            return self.left.pop(0)

        in_waiting = 0

    run = new_run(new_source(framer=HalfASecond, opener=lambda _url, **_options: Scripted(), retry_s=(3600,)))

    run.link(Link.LOST)
    assert heard == [b"a", b"b", "quiet"]


@pytest.mark.parametrize("raised", [False, True], ids=["left-low", "raised-when-asked"])
def test_lines_that_restart_an_instrument_are_set_before_the_port_is_open(new_source, new_run, raised):
    at_open = []

    class Noted(serial.Serial):
        def open(self):
            at_open.append((self.dtr, self.rts))
            super().open()

    options = {"dtr": True} if raised else {}
    new_run(new_source(opener=lambda url, do_not_open, **more: _unopened(Noted(**more), url), **options))

    assert at_open == [(raised, raised)]


def _unopened(port, url):
    port.port = url
    return port


def test_closing_ends_a_run_and_keeps_the_half_line(port, run):
    port.send(b"@one\r\n@ha")
    assert run.frame().raw == b"@one"

    run.stop()

    (half,), _ = run.frames_until(Link.ENDED)
    assert (half.raw, half.cut) == (b"@ha", True)


def test_closing_ends_a_run_that_waits_for_its_port(port, run):
    port.pull()
    run.link(Link.LOST)

    run.stop()

    run.link(Link.ENDED)


def test_closing_gives_the_port_back_to_others(port, new_source):
    source = new_source()
    source.open()
    source.close()

    with serial.Serial(str(port.path), exclusive=True) as other:
        assert other.is_open


@pytest.mark.skipif(sys.platform != "linux", reason="the request that asks for the claim is Linux's own")
def test_port_is_claimed_while_it_is_open_and_not_after(port, new_source):
    source = new_source()
    source.open()

    held = port.is_claimed()
    source.close()

    assert held
    assert not port.is_claimed()


def test_any_url_of_pyserial_is_a_source(new_source, new_run):
    made = []

    def opener(url, **options):
        made.append(serial.serial_for_url(url, **options))
        return made[-1]

    run = new_run(new_source("loop://", opener=opener))
    made[0].write(b"@one\r\n")

    assert run.frame().raw == b"@one"
    run.stop()
    assert not made[0].is_open


def test_wait_grows_while_the_port_stays_away(port, new_source, new_run):
    waited = []
    enough = threading.Event()

    def wait(seconds):
        waited.append(seconds)
        if len(waited) == 5:
            enough.set()
            patient.close()

    patient = new_source(retry_s=(0.1, 0.5, 2.0), wait=wait)
    run = new_run(patient)
    port.pull()

    assert enough.wait(PATIENCE_S)
    run.stop()

    assert waited == [0.1, 0.5, 2.0, 2.0, 2.0]
