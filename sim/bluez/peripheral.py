"""A made-up wrench as the radio sees it: what it advertises, what it offers, and which faults it has."""

import threading
from collections.abc import Iterator
from dataclasses import dataclass, field

# The common serial-over-GATT service, a convention that many makers follow (common practice).
SERIAL_SERVICE = "6e400001-b5a3-f393-e0a9-e50e24dcca9e"
SERIAL_WRITE = "6e400002-b5a3-f393-e0a9-e50e24dcca9e"
SERIAL_NOTIFY = "6e400003-b5a3-f393-e0a9-e50e24dcca9e"
NOTIFY_SETTING = "00002902-0000-1000-8000-00805f9b34fb"  # client characteristic configuration, Bluetooth assigned numbers

_FIRST_HANDLE = 0x0010
_ATT_HEADER_BYTES = 3


class FaultError(Exception):
    """What the service answers instead: the name of a D-Bus error, `org.bluez.Error.` where no other, and its text."""

    def __init__(self, name: str, text: str = "") -> None:
        super().__init__(text)
        self.name = name if "." in name else f"org.bluez.Error.{name}"


@dataclass(slots=True)
class Peripheral:
    """One wrench on the air; every field may be changed while it runs.

    `notify` and `write` are its characteristics within `service`, `mtu` what one ATT packet holds with its header.
    `memory` is what it sends each time that something is written to it, at once and to whoever listens then. `written`
    is what was written to it; `reads` can be acquired once for each time that something of it was read.
    `is_near` false: it neither advertises nor answers. Faults: `connect_error` is what connecting gives;
    `fails_discovery` counts the connections that drop before their services are known; `wants_pairing` refuses to
    notify until paired; `is_mute` leaves every call on its characteristics without an answer; `refuses_reads` answers
    that it may not be read.
    """

    address: str
    name: str
    service: str = SERIAL_SERVICE
    write: str = SERIAL_WRITE
    notify: str = SERIAL_NOTIFY
    write_flags: tuple[str, ...] = ("write", "write-without-response")
    mtu: int = 23
    memory: bytes = b""
    is_near: bool = True
    connect_error: FaultError | None = None
    fails_discovery: int = 0
    wants_pairing: bool = False
    is_mute: bool = False
    refuses_reads: bool = False
    written: list[bytes] = field(default_factory=list)
    reads: threading.Semaphore = field(default_factory=lambda: threading.Semaphore(0))

    def path(self, adapter: str) -> str:
        """Its object below an adapter."""
        return f"{adapter}/dev_{self.address.replace(':', '_')}"

    def service_path(self, adapter: str) -> str:
        """Its one service."""
        return f"{self.path(adapter)}/service{_FIRST_HANDLE:04x}"

    def write_path(self, adapter: str) -> str:
        """The characteristic that takes what is written."""
        return f"{self.service_path(adapter)}/char{_FIRST_HANDLE + 1:04x}"

    def notify_path(self, adapter: str) -> str:
        """The characteristic that notifies."""
        return f"{self.service_path(adapter)}/char{_FIRST_HANDLE + 4:04x}"

    def setting_path(self, adapter: str) -> str:
        """The descriptor through which notifications are switched on."""
        return f"{self.notify_path(adapter)}/desc{_FIRST_HANDLE + 6:04x}"

    def packets(self, data: bytes) -> Iterator[bytes]:
        """The notifications into which a wrench cuts what it has to say."""
        length = self.mtu - _ATT_HEADER_BYTES
        return (data[start : start + length] for start in range(0, len(data), length))
