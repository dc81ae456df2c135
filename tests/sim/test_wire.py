"""Both wires under the real pyserial: what goes in at one end comes out at the other, byte for byte."""

import os
import random
import sys
from collections.abc import Callable, Iterator
from contextlib import closing

import pytest
import serial

from sim.wire import PtyWire, SocketWire, Wire, open_wire, spoil

LINE = b"@W-140;0042;95.2;Nm;2026-03-02T08:15:30+01:00;ok\r\n"
EVERY_BYTE = bytes(range(256))
PATIENCE_S = 10

no_pty = pytest.mark.skipif(sys.platform == "win32", reason="this system has no pseudo-terminals")


@pytest.fixture(
    params=[
        pytest.param(PtyWire, id="pseudo-terminal", marks=no_pty),
        pytest.param(SocketWire, id="loopback"),
    ]
)
def make(request: pytest.FixtureRequest) -> Callable[..., Wire]:
    made: Callable[..., Wire] = request.param
    return made


@pytest.fixture
def wire(make: Callable[..., Wire]) -> Iterator[Wire]:
    with closing(make()) as wire:
        yield wire


def opened(wire: Wire) -> serial.Serial:
    return serial.serial_for_url(wire.url, baudrate=9600, timeout=PATIENCE_S, write_timeout=1.0, exclusive=True)


def test_bytes_arrive_as_they_were_sent(wire: Wire) -> None:
    with opened(wire) as port:
        wire.send(EVERY_BYTE)
        wire.send(LINE)

        assert port.read(len(EVERY_BYTE + LINE)) == EVERY_BYTE + LINE


def test_bytes_in_small_pieces_arrive_in_order(make: Callable[..., Wire]) -> None:
    with closing(make(random.Random(1))) as wire, opened(wire) as port:
        wire.send(LINE * 3)

        assert port.read(len(LINE) * 3) == LINE * 3


@no_pty
def test_the_pseudo_terminal_changes_nothing_whoever_opens_it() -> None:
    with closing(PtyWire()) as wire:
        port = os.open(wire.url, os.O_RDWR | os.O_NOCTTY)
        wire.send(LINE)

        assert os.read(port, 2 * len(LINE)) == LINE
        os.close(port)


@no_pty
def test_a_collector_that_comes_back_finds_the_pseudo_terminal_there() -> None:
    with closing(PtyWire()) as wire:
        opened(wire).close()

        with opened(wire) as port:
            wire.send(LINE)
            assert port.read(len(LINE)) == LINE


def test_a_closed_wire_takes_no_bytes_and_can_be_closed_again(wire: Wire) -> None:
    wire.close()
    wire.close()

    with pytest.raises(OSError, match=r"closed|descriptor|socket"):
        wire.send(LINE)


def test_the_loopback_wire_is_bound_to_this_machine_alone() -> None:
    with closing(SocketWire()) as wire:
        assert wire.url.startswith("socket://127.0.0.1:")


def test_open_wire_takes_what_the_system_has() -> None:
    with closing(open_wire()) as wire:
        assert isinstance(wire, SocketWire if sys.platform == "win32" else PtyWire)


def test_a_spoiled_line_is_no_ascii_and_still_one_line() -> None:
    spoiled = spoil(LINE)

    assert not spoiled.isascii()
    assert len(spoiled) == len(LINE)
    assert spoiled.splitlines() == [spoiled.removesuffix(b"\r\n")]
    assert sum(one != other for one, other in zip(spoiled, LINE, strict=True)) == 1
