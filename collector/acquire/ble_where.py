"""Which Bluetooth wrench is meant."""

import re
from dataclasses import dataclass

from schemas.bluetooth import SERIAL_SERVICE, full_uuid
from schemas.errors import SourceError, SourceReason

_ADDRESS = re.compile(r"(?:[0-9A-F]{2}:){5}[0-9A-F]{2}")
_SERVICE = "service="


@dataclass(frozen=True, slots=True)
class Nearby:
    """One device that was seen; `name` is "" where it gave none, `services` are full UUIDs, `rssi_dbm` its strength."""

    address: str
    name: str
    services: tuple[str, ...]
    rssi_dbm: int

    def __str__(self) -> str:
        return f"{self.name} ({self.address})" if self.name else self.address


@dataclass(frozen=True, slots=True)
class BleWhere:
    """One wrench by its `address`, else by its exact `name`, else by a `service` that it offers; "" is not looked at.

    A `name` beside an address is only for people.
    """

    name: str = ""
    address: str = ""
    service: str = ""

    def __str__(self) -> str:
        if self.name and self.address:
            return f"{self.name} ({self.address})"
        return self.address or self.name or f"{_SERVICE}{self.service}"

    def fits(self, device: Nearby) -> bool:
        """Whether a device is such a one."""
        if self.address:
            return device.address.upper() == self.address
        return device.name == self.name if self.name else self.service in device.services


def ble_where(text: str) -> BleWhere:
    """Read what stands after `ble:`: a name, an address such as `C0:FF:EE:00:53:01`, or `service=` with a UUID.

    Raises:
        SourceError: it is empty, or what stands after `service=` is no UUID.
    """
    if text.startswith(_SERVICE):
        service = full_uuid(text.removeprefix(_SERVICE))
        if service is None:
            what = f"`ble:{text}` names no service; give a UUID such as {_SERVICE}{SERIAL_SERVICE}"
            raise SourceError(what, SourceReason.NOT_READABLE)
        return BleWhere(service=service)
    if _ADDRESS.fullmatch(text.upper()):
        return BleWhere(address=text.upper())
    if not text.strip():
        raise SourceError("`ble:` names no wrench; give its name or its address after it", SourceReason.NOT_READABLE)
    return BleWhere(name=text)
