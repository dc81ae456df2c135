"""Finds the serial port that is meant, by its name or by its USB adapter, and finds it again under another name."""

import os
import re
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass

from serial.tools.list_ports import comports as _system_comports
from serial.tools.list_ports_common import ListPortInfo

from collector.acquire.port_error import LINK_LOST, missing_port
from schemas.errors import SourceError, SourceReason

Comports = Callable[[], Iterable[ListPortInfo]]
SYSTEM_PORTS: Comports = _system_comports
_BY_ADAPTER = "usb="
_SPELLED = re.compile(r"usb=([0-9A-Fa-f]{4}):([0-9A-Fa-f]{4})(?::(.+))?")


@dataclass(frozen=True, slots=True)
class Adapter:
    """What a USB adapter says of itself, and where it sits.

    `serial` is None where it has none, as many cheap ones. `socket` is the path of hubs and sockets that it is plugged
    into, `interface` which of its several ports this is; both are "" where the system does not tell.
    """

    vid: int
    pid: int
    serial: str | None
    socket: str = ""
    interface: str = ""

    def __str__(self) -> str:
        """As a person writes it after `serial:`."""
        return f"{_BY_ADAPTER}{self.vid:04X}:{self.pid:04X}" + (f":{self.serial}" if self.serial else "")


@dataclass(frozen=True, slots=True)
class Port:
    """One serial port; `adapter` is None where it is not on USB, or where that is not known."""

    name: str
    description: str = ""
    adapter: Adapter | None = None

    def __str__(self) -> str:
        """Its name, with the adapter where it has one."""
        return f"{self.name} ({self.adapter})" if self.adapter else self.name


def list_ports(comports: Comports = SYSTEM_PORTS) -> list[Port]:
    """Every port that the system knows, by name; none is opened, for one of them may be a console."""
    with suppress(*LINK_LOST):
        return [_port(info) for info in sorted(comports())]
    return []


class PortFinder:
    """Says which port to open, each time anew; never opens one, and never chooses between two.

    Args:
        wanted: a port's name, a URL of pyserial, or `usb=VVVV:PPPP` with `:SERIAL` or without.
        comports: lists the ports, as pyserial does.

    Once `keep` was told which port was opened, only the same adapter is found again, whatever its name is by then. An
    adapter that no serial number tells from others of its kind is the same one only in the same USB socket; where a
    person named its kind, it is the only one of that kind.
    """

    def __init__(self, wanted: str, comports: Comports = SYSTEM_PORTS) -> None:
        self._wanted = wanted
        self._comports = comports
        self._kept: Adapter | None = None
        self._by_socket = False

    def find(self) -> Port:
        """The port to open; SourceError where it is missing, or where more than one may be meant."""
        if "://" in self._wanted:
            return Port(self._wanted)
        ports = list_ports(self._comports)
        if self._kept is not None:
            return self._find_again(self._kept, ports)
        fitting = self._fitting(ports)
        if self._wanted.startswith(_BY_ADAPTER):
            return self._only(fitting, ports)
        return fitting[0] if fitting else Port(self._wanted)

    def keep(self, port: Port) -> None:
        """Look for the adapter of this port from now on, where it has one."""
        adapter = port.adapter
        if adapter is None or self._kept is not None:
            return
        self._kept = adapter
        twins = [other for other in list_ports(self._comports) if _is_alike(other.adapter, adapter)]
        is_named_by_kind = self._wanted.startswith(_BY_ADAPTER)
        self._by_socket = len(twins) > 1 or (adapter.serial is None and not is_named_by_kind)

    def _fitting(self, ports: Sequence[Port]) -> list[Port]:
        """The ports that what was wanted may mean."""
        if not self._wanted.startswith(_BY_ADAPTER):
            return [port for port in ports if _is_same_name(port.name, self._wanted)]
        spelled = _SPELLED.fullmatch(self._wanted)
        if spelled is None:
            what = f"`{self._wanted}` is no USB adapter; write usb=VVVV:PPPP or usb=VVVV:PPPP:SERIAL, see `witnessmark ports`"
            raise SourceError(what, SourceReason.NOT_READABLE)
        kind, serial = (int(spelled[1], 16), int(spelled[2], 16)), spelled[3]
        on_usb = [(port, port.adapter) for port in ports if port.adapter is not None]
        return [port for port, its in on_usb if (its.vid, its.pid) == kind and serial in (None, its.serial)]

    def _find_again(self, kept: Adapter, ports: Sequence[Port]) -> Port:
        alike = [port for port in ports if _is_alike(port.adapter, kept)]
        here = [port for port in alike if port.adapter and port.adapter.socket == kept.socket]
        if len(here) == 1:
            return here[0]
        if alike and not self._by_socket:
            return self._only(alike, ports)
        if alike:
            what = f"{alike[0]} has no serial number of its own, so in another USB socket it may belong to another wrench"
        elif others := self._fitting(ports):
            what = f"{others[0]} is another adapter than the one before ({kept})"
        else:
            return self._only([], ports)
        raise SourceError(f"{what}; plug in the one before where it was, or quit and begin again", SourceReason.NOT_READABLE)

    def _only(self, found: Sequence[Port], ports: Sequence[Port]) -> Port:
        if not found:
            raise missing_port(str(self._kept or self._wanted), [str(port) for port in ports])
        if len(found) > 1:
            names = " and ".join(map(str, found))
            what = f"`{self._wanted}` may be {names}; name one by its port, or by a serial number that only it has"
            raise SourceError(what, SourceReason.NOT_READABLE)
        return found[0]


def _port(info: ListPortInfo) -> Port:
    description = "" if info.description in ("n/a", info.name) else _printable(info.description or "")
    if info.vid is None or info.pid is None:
        return Port(info.device, description)
    socket, _, interface = (info.location or "").partition(":")
    serial = _printable(info.serial_number or "").strip() or None
    return Port(info.device, description, Adapter(info.vid, info.pid, serial, socket, interface))


def _printable(text: str) -> str:
    # An adapter may say anything of itself, and what it says ends up on a terminal and in one line.
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def _is_alike(one: Adapter | None, other: Adapter) -> bool:
    return one is not None and (one.vid, one.pid, one.serial, one.interface) == (
        other.vid, other.pid, other.serial, other.interface,
    )  # fmt: skip


def _is_same_name(one: str, other: str) -> bool:
    # A person may name a link that the system keeps, as those in /dev/serial/by-id, or write `com7`.
    return os.path.normcase(os.path.realpath(one)) == os.path.normcase(os.path.realpath(other))
