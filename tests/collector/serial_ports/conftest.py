"""Real pseudo-terminals under the real pyserial, plugged in and pulled out behind a path that stays.

Closing the master end makes the kernel hang up the other end, which is the way a USB port goes.
"""

import itertools
import os
import queue
import sys
import threading
from datetime import UTC, datetime
from functools import partial

import pytest
from serial.tools.list_ports_common import ListPortInfo

from collector.acquire.framing import LineFramer
from collector.acquire.serial_port import SerialSource
from schemas.frame import Frame, LinkChange
from schemas.words import Link

if sys.platform != "win32":
    import fcntl
    import pty
    import tty
else:  # no pseudo-terminals there
    collect_ignore = ["test_serial_port.py", "test_serial_refused.py", "test_serial_replug.py"]

PATIENCE_S = 10
LINES = partial(LineFramer, 40)


class CountingClock:
    """Stands at one instant; its count goes on by half a second a call."""

    def __init__(self):
        self._count = itertools.count(1)

    def now(self):
        return datetime(2026, 3, 2, 9, tzinfo=UTC)

    def monotonic_ns(self):
        return next(self._count) * 500_000_000


class PseudoPort:
    """A port that can be plugged in and pulled out; `path` stays the same."""

    def __init__(self, path):
        self.path = path
        self._ends = ()

    def plug(self):
        self._ends = pty.openpty()
        tty.setraw(self._ends[1])  # or the line discipline would echo and change what is sent
        made = self.path.with_suffix(".new")
        made.symlink_to(self.device)
        made.rename(self.path)

    def pull(self):
        self.path.unlink(missing_ok=True)
        ends, self._ends = self._ends, ()
        for end in ends:
            os.close(end)

    @property
    def device(self):
        return os.ttyname(self._ends[1])

    def is_claimed(self):
        """Whether a program shut others out (TIOCGEXCL of Linux's ioctl_tty(2); the superuser gets in all the same)."""
        return fcntl.ioctl(self._ends[1], 0x80045440, bytes(4)) != bytes(4)

    def send(self, data):
        assert os.write(self._ends[0], data) == len(data)

    def listed(self, serial=None, socket="1-1", vid=0x1209, pid=0x0001, interface=""):
        """How a list of ports shows this one, as a USB adapter."""
        info = ListPortInfo(str(self.path), skip_link_detection=True)
        info.vid, info.pid, info.serial_number = vid, pid, serial
        info.location = f"{socket}:{interface}" if interface else socket
        info.product = "Made-up adapter"
        info.apply_usb_info()
        return info


class Run:
    """A source that runs in its thread; `next` is what it hands over."""

    def __init__(self, source):
        self.source = source
        self._handed = queue.Queue()
        self._thread = threading.Thread(target=source.run, args=(self._handed.put,))
        self._thread.start()

    def next(self):
        return self._handed.get(timeout=PATIENCE_S)

    def link(self, expected=None):
        change = self.next()
        assert isinstance(change, LinkChange)
        assert expected in (None, change.link)
        return change

    def frame(self):
        frame = self.next()
        assert isinstance(frame, Frame)
        return frame

    def frames_until(self, link):
        """The frames that come before the link changes to this, and the change."""
        frames = []
        while isinstance(came := self.next(), Frame):
            frames.append(came)
        assert came.link is link
        return frames, came

    def stop(self):
        self.source.close()
        self._thread.join(PATIENCE_S)
        assert not self._thread.is_alive()


@pytest.fixture(name="plugged")
def _plugged():
    """Every port that a test has made."""
    ports = []
    yield ports
    for port in ports:
        port.pull()


@pytest.fixture(name="new_port")
def _new_port(tmp_path, plugged):
    """Makes a port under a name of one's own, plugged in."""

    def new_port(name):
        port = PseudoPort(tmp_path / name)
        port.plug()
        plugged.append(port)
        return port

    return new_port


@pytest.fixture(name="port")
def _port(new_port):
    return new_port("wrench")


@pytest.fixture(name="listed")
def _listed():
    """The list of ports that sources see; nothing is in it until a test says so."""
    return []


@pytest.fixture(name="new_source")
def _new_source(port, listed):
    """Makes a source, not yet opened, that tries again at once."""
    made = []

    def new_source(wanted=None, framer=LINES, retry_s=(0.005,), **options):
        wanted = str(port.path) if wanted is None else wanted
        made.append(SerialSource(wanted, CountingClock(), framer, retry_s=retry_s, comports=lambda: list(listed), **options))
        return made[-1]

    yield new_source
    for source in made:
        source.close()


@pytest.fixture(name="new_run")
def _new_run(plugged):
    """Opens a source and runs it until the test ends; what it says first is that it is open."""
    made = []

    def new_run(source):
        source.open()
        made.append(Run(source))
        made[-1].opened = made[-1].link(Link.OPEN)
        return made[-1]

    yield new_run
    for run in made:
        run.source.close()
    for port in plugged:
        port.pull()  # or each run would sit out its read time-out
    for run in made:
        run.stop()


@pytest.fixture(name="run")
def _run(new_source, new_run):
    return new_run(new_source())
