"""Looks for Bluetooth wrenches: those that advertise, and those that a run which broke off has left connected."""

import asyncio
import logging
import sys
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from collector.acquire.ble_error import BleError, BleTrouble, ble_error, ble_faults, not_seen, several, trouble_error
from collector.acquire.ble_where import BleWhere, Nearby

if TYPE_CHECKING:
    from bleak.backends.device import BLEDevice
    from bleak.backends.scanner import AdvertisementData

_ANSWER_S = 10.0  # for the service to begin or end a search, however long that goes on
_TURN_S = 0.05
# One search at a time in this program: a second one fails, or takes the other's results away (bleak issue 1689).
_SEARCHING = threading.Lock()
# What these two warn of reaches people as our own one line; without a handler Python would print it in between.
for _library in ("bleak", "dbus_fast"):
    logging.getLogger(_library).addHandler(logging.NullHandler())
_DEVICE = "org.bluez.Device1"
_CHARACTERISTIC = "org.bluez.GattCharacteristic1"
# Of each object its interfaces, of each of these its properties, each of which carries its type with it.
_Objects = dict[str, dict[str, dict[str, Any]]]


@dataclass(frozen=True, slots=True)
class Found:
    """One device to connect to.

    `is_connected` where the system holds a link to it already; `listened_to` are then the UUIDs of the characteristics
    that a program takes (known on Linux alone).
    """

    device: "BLEDevice"
    nearby: Nearby
    is_connected: bool = False
    listened_to: frozenset[str] = frozenset()


def scan(seconds: float) -> list[Nearby]:
    """Every device that shows itself within that time, the strongest first.

    Raises:
        BleError: Bluetooth is missing, off or forbidden.
    """

    async def look() -> list[Nearby]:
        async with _searching() as search:
            await asyncio.sleep(seconds)
        return sorted((found.nearby for found in search.seen.values()), key=lambda nearby: -nearby.rssi_dbm)

    try:
        return asyncio.run(look())
    except ble_faults() as error:
        raise ble_error("any", error) from error


async def find(where: BleWhere, service: str, search_s: float, settle_s: float) -> Found:
    """Find the one wrench that is meant.

    Args:
        where: which one.
        service: what such wrenches offer, by which one is found that is connected already and so does not advertise.
        search_s: seconds to wait for it.
        settle_s: seconds to wait for a second one, unless it is meant by its address.

    Raises:
        BleError: it was not seen, or more than one was.
        Exception: whatever of `ble_faults` the search ends with.
    """
    async with _searching(where) as search:
        for found in await _connected(where.service or service):
            search.take(found)
        with suppress(TimeoutError):
            async with asyncio.timeout(search_s):
                await search.one.wait()
        if search.one.is_set() and not where.address:
            with suppress(TimeoutError):
                async with asyncio.timeout(settle_s):
                    await search.two.wait()
    if len(search.fitting) > 1:
        raise several(where, (found.nearby for found in search.fitting.values()))
    if not search.fitting:
        raise not_seen(where, search_s, (found.nearby for found in search.seen.values()))
    return next(iter(search.fitting.values()))


def refuse_held(found: Found, notify: str) -> None:
    """Make sure that no other program takes this wrench's records; else both would, and either would cut the other off.

    Raises:
        BleError: another program does.
    """
    if notify in found.listened_to:
        raise trouble_error(str(found.nearby), BleTrouble.HELD)


async def _bluez_objects() -> _Objects:
    from dbus_fast import BusType, Message
    from dbus_fast.aio import MessageBus

    bus = MessageBus(bus_type=BusType.SYSTEM)
    try:
        await bus.connect()
        ask = Message("org.bluez", "/", "org.freedesktop.DBus.ObjectManager", "GetManagedObjects")
        async with _answering():
            reply = await bus.call(ask)
    finally:
        bus.disconnect()
    objects: _Objects = reply.body[0] if reply is not None and reply.signature == "a{oa{sa{sv}}}" else {}
    return objects


@asynccontextmanager
async def _answering() -> AsyncIterator[None]:
    try:
        async with asyncio.timeout(_ANSWER_S):
            yield
    except TimeoutError as error:
        raise trouble_error("", BleTrouble.NO_SERVICE) from error


async def _connected(service: str) -> list[Found]:
    from bleak import BleakAdapter

    async with _answering():
        adapter = await BleakAdapter.get()
        devices = await adapter.get_connected_devices([service])
    if not devices or sys.platform != "linux":
        return [_left_connected(device, service) for device in devices]
    # After a restart of the service bleak goes on with what it knew of the one before, so that one is asked itself.
    objects = await _bluez_objects()
    return [
        _left_connected(device, service, _listened_to(objects, path))
        for device in devices
        if _is_true(objects.get(path := device.details["path"], {}).get(_DEVICE, {}), "Connected")
    ]


def _left_connected(device: "BLEDevice", service: str, listened_to: frozenset[str] = frozenset()) -> Found:
    nearby = Nearby(device.address, device.name or "", (service,), 0)
    return Found(device, nearby, is_connected=True, listened_to=listened_to)


def _listened_to(objects: _Objects, device: str) -> frozenset[str]:
    below = [found.get(_CHARACTERISTIC, {}) for path, found in objects.items() if path.startswith(f"{device}/")]
    return frozenset(one["UUID"].value for one in below if _is_true(one, "Notifying") or _is_true(one, "NotifyAcquired"))


def _is_true(properties: dict[str, Any], name: str) -> bool:
    return name in properties and bool(properties[name].value)


class _Search:
    """What was seen so far, by address; `one` and `two` are set once that many fit."""

    def __init__(self, where: BleWhere | None) -> None:
        self._where = where
        self.seen: dict[str, Found] = {}
        self.fitting: dict[str, Found] = {}
        self.one = asyncio.Event()
        self.two = asyncio.Event()

    def take(self, found: Found) -> None:
        self.seen[found.nearby.address] = found
        if self._where is not None and self._where.fits(found.nearby):
            self.fitting[found.nearby.address] = found
        for event, count in ((self.one, 1), (self.two, 2)):
            if len(self.fitting) >= count:
                event.set()

    def hear(self, device: "BLEDevice", said: "AdvertisementData") -> None:
        if (known := self.seen.get(device.address)) is not None and known.is_connected:
            return  # its link changes, which is told in the same way as what it advertises
        name = said.local_name or device.name or ""
        self.take(Found(device, Nearby(device.address, name, tuple(said.service_uuids), said.rssi)))


@asynccontextmanager
async def _searching(where: BleWhere | None = None) -> AsyncIterator[_Search]:
    from bleak import BleakScanner

    search = _Search(where)
    scanner = BleakScanner(search.hear)
    # Asked again and again, since a thread that waits for the lock could not be called off.
    while not _SEARCHING.acquire(blocking=False):
        await asyncio.sleep(_TURN_S)
    try:
        async with _answering():
            await scanner.start()
        try:
            yield search
        finally:
            # An adapter that was switched off has ended the search by itself; what else is wrong the next call will tell.
            with suppress(BleError, *ble_faults()):
                async with _answering():
                    await scanner.stop()
    finally:
        _SEARCHING.release()
