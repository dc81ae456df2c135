"""Links that carry a spoiled stream to a program, and are pulled out and put back."""

import os
import select
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from sim.bluez.peripheral import Peripheral
    from sim.bluez.radio import Radio

if sys.platform != "win32":
    import pty
    import tty


class BadLink(Protocol):
    """One wrench at the end of one link."""

    @property
    def source(self) -> str:
        """What `collect --from` calls it, and so do its frames."""

    def send(self, data: bytes) -> None:
        """Send bytes to whoever reads."""

    def settle(self) -> None:
        """Come back once the reader has taken everything, or cannot but take it before it sees the link go."""

    def unplug(self) -> None:
        """The link goes."""

    def plug(self) -> None:
        """The link can be had again."""


class Cable:
    """A pseudo-terminal behind a path that stays; closing its near end makes the kernel hang up, as for a port that goes.

    It is plugged in from the start.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._ends: tuple[int, ...] = ()
        self.plug()

    @property
    def source(self) -> str:
        """The path as a serial port."""
        return f"serial:{self._path}"

    def send(self, data: bytes) -> None:
        """Put bytes on the cable."""
        while data:
            data = data[os.write(self._ends[0], data) :]

    def settle(self) -> None:
        """Wait until the reader has taken everything: what the kernel still holds when a port goes is gone."""
        # Asked by poll, the kernel first passes on what it has not yet made readable (n_tty_poll).
        held = select.poll()
        held.register(self._ends[1], select.POLLIN)
        while held.poll(0):
            os.sched_yield()

    def unplug(self) -> None:
        """Pull it out; more than once does no harm."""
        self._path.unlink(missing_ok=True)
        ends, self._ends = self._ends, ()
        for end in ends:
            os.close(end)

    def plug(self) -> None:
        """Plug it in; the path is there once the port is ready."""
        self._ends = pty.openpty()
        tty.setraw(self._ends[1])  # or the line discipline would echo and change what is sent
        made = self._path.with_suffix(".new")
        made.symlink_to(os.ttyname(self._ends[1]))
        made.rename(self._path)


class Air:
    """A wrench on the private bus, near from the start."""

    def __init__(self, radio: "Radio", peripheral: "Peripheral") -> None:
        self._radio = radio
        self._peripheral = peripheral

    @property
    def source(self) -> str:
        """By its address: found by name, a second one of that name would be waited for."""
        return f"ble:{self._peripheral.address}"

    def send(self, data: bytes) -> None:
        """Notify, in packets as long as the link allows."""
        self._radio.send(self._peripheral, data)

    def settle(self) -> None:
        """Nothing: the bus keeps its order, so what was sent comes before the end of the link."""

    def unplug(self) -> None:
        """Go out of reach."""
        self._peripheral.is_near = False
        self._radio.drop(self._peripheral)

    def plug(self) -> None:
        """Come back."""
        self._peripheral.is_near = True
