"""A made-up Bluetooth service on a message bus of its own, and the unmodified bleak talking to it as to the system's."""

import itertools
import queue
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest

from collector.acquire.ble import BleSource
from collector.acquire.ble_link import BleTimes
from collector.acquire.ble_where import ble_where
from collector.acquire.framing import LineFramer
from collector.acquire.source import FrameSource
from schemas.frame import Frame, LinkChange
from schemas.words import Link

if sys.platform != "linux":
    pytest.skip("BlueZ and its message bus are a thing of Linux", allow_module_level=True)

from sim.bluez.bus import BUS_PROGRAM, BUS_VARIABLE, PrivateBus
from sim.bluez.peripheral import Peripheral
from sim.bluez.radio import Radio

PATIENCE_S = 20
QUICK = BleTimes(search_s=5, settle_s=0.05, connect_s=5, call_s=2, idle_s=60, retry_s=(0.01,))


class CountingClock:
    """Stands at one instant and counts its calls."""

    def __init__(self) -> None:
        self._count = itertools.count(1)

    def now(self) -> datetime:
        return datetime(2026, 3, 2, 9, tzinfo=UTC)

    def monotonic_ns(self) -> int:
        return next(self._count)


class Run:
    """A source that runs in its thread; `next` is what it hands over."""

    def __init__(self, source: FrameSource) -> None:
        self.source = source
        self.opened = ""
        self._handed: queue.Queue[Frame | LinkChange] = queue.Queue()
        self._thread = threading.Thread(target=source.run, args=(self._handed.put,))
        self._thread.start()

    def next(self) -> Frame | LinkChange:
        return self._handed.get(timeout=PATIENCE_S)

    def change(self, link: Link) -> str:
        """The next thing handed over must be this change of the link; gives what it says."""
        change = self.next()
        assert isinstance(change, LinkChange), change
        assert change.link is link, change
        return change.detail

    def frame(self) -> Frame:
        frame = self.next()
        assert isinstance(frame, Frame), frame
        return frame

    def stop(self) -> None:
        self.source.close()
        self._thread.join(PATIENCE_S)
        assert not self._thread.is_alive()


@pytest.fixture
def bus(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[PrivateBus]:
    with ExitStack() as stack:
        try:
            bus = stack.enter_context(PrivateBus(tmp_path))
        except OSError as error:
            if BUS_PROGRAM not in str(error):
                raise
            pytest.skip(str(error))
        monkeypatch.setenv(BUS_VARIABLE, bus.address)
        yield bus


@pytest.fixture
def quick() -> BleTimes:
    return QUICK


@pytest.fixture
def wrench() -> Peripheral:
    return Peripheral("C0:FF:EE:00:53:01", "WRENCH-1")


@pytest.fixture
def radio(bus: PrivateBus, wrench: Peripheral) -> Iterator[Radio]:
    with Radio(bus.address, wrench) as radio:
        yield radio


@pytest.fixture
def new_source(bus: PrivateBus) -> Iterator[Callable[..., BleSource]]:
    """Makes a source by what stands after `ble:`; it waits only as long as it must."""
    with ExitStack() as stack:

        def new_source(where: str = "WRENCH-1", **more: object) -> BleSource:
            options = {"framer": partial(LineFramer, 60), "times": QUICK} | more
            source = BleSource(ble_where(where), CountingClock(), **options)
            stack.callback(source.close)
            return source

        yield new_source


@pytest.fixture
def start(new_source: Callable[..., BleSource]) -> Iterator[Callable[..., Run]]:
    """Opens a source, or takes one that is open, and runs it until the test is over."""
    with ExitStack() as stack:

        def start(where: str = "WRENCH-1", source: BleSource | None = None, **more: object) -> Run:
            if source is None:
                source = new_source(where, **more)
                source.open()
            run = Run(source)
            stack.callback(run.stop)
            run.opened = run.change(Link.OPEN)
            return run

        yield start
