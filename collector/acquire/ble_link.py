"""One connection to one Bluetooth wrench, from connecting to the moment when it is lost or given up."""

import asyncio
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collector.acquire.ble_error import BleError, BleTrouble, ble_error, ble_faults, trouble_error
from collector.acquire.ble_search import Found
from schemas.bluetooth import BleCharacteristics

if TYPE_CHECKING:
    from bleak import BleakClient
    from bleak.backends.characteristic import BleakGATTCharacteristic

_NOTIFY_SETTING = "00002902-0000-1000-8000-00805f9b34fb"  # client characteristic configuration, Bluetooth assigned numbers


@dataclass(frozen=True, slots=True)
class BleTimes:
    """How long to wait for what, in seconds.

    `search_s` until a wrench shows itself, `settle_s` more for a second one of that name, `connect_s` until it is
    connected, `call_s` for the answer to one request. After `idle_s` without a byte the link is tried: seldom, for it
    costs the wrench's battery. `retry_s` before each try to find it again, the last one repeats. (Guesses, no source; a
    wrench may advertise only once a second.)
    """

    search_s: float = 10.0
    settle_s: float = 1.5
    connect_s: float = 20.0
    call_s: float = 5.0
    idle_s: float = 30.0
    retry_s: tuple[float, ...] = (0.1, 0.5, 1.0, 2.0, 5.0)


class BleLink:
    """A connection to one wrench; used once, since the next one has to begin with nothing of this one left.

    Args:
        found: the device.
        speaks: its characteristics, looked up by UUID each time, for a new firmware may have moved them.
        times: how long to wait for what.
    """

    def __init__(self, found: Found, speaks: BleCharacteristics, times: BleTimes) -> None:
        from bleak import BleakClient

        self._found = found
        self._speaks = speaks
        self._times = times
        self._inbox: asyncio.Queue[bytes | None] = asyncio.Queue()
        self._client = BleakClient(
            found.device, disconnected_callback=lambda _: self._inbox.put_nowait(None), timeout=times.connect_s
        )

    def __str__(self) -> str:
        return str(self._found.nearby)

    async def open(self) -> None:
        """Connect, listen, and then ask: what a wrench sends before it is listened to is lost.

        Raises:
            BleError: it cannot be done; then nothing of it is left.
        """
        try:
            async with asyncio.timeout(self._times.connect_s + self._times.call_s):
                await self._client.connect()
            notify = self._characteristic(self._speaks.notify, "notifies", ("notify", "indicate"))
            async with asyncio.timeout(self._times.call_s):
                await self._client.start_notify(notify, self._hear)
            if self._speaks.ask:
                write = self._characteristic(self._speaks.write, "can be written", ("write", "write-without-response"))
                await self._write(write, self._speaks.ask)
        except ble_faults() as error:
            await self.close()
            raise ble_error(str(self), error) from error
        except BaseException:
            await self.close()
            raise

    async def take(self, within_s: float | None) -> bytes:
        """The next bytes, never none of them; b"" where none came within that time, if one is given.

        Raises:
            BleError: the link is lost, or was so long without a byte that it was tried and did not answer.
        """
        while True:
            try:
                async with asyncio.timeout(self._times.idle_s if within_s is None else within_s):
                    data = await self._inbox.get()
            except TimeoutError:
                if within_s is not None:
                    return b""
                await self._try()
                continue
            if data is None:
                raise self._lost("went out of reach")
            return data

    def rest(self) -> list[bytes]:
        """What has come in and was not taken."""
        left = [self._inbox.get_nowait() for _ in range(self._inbox.qsize())]
        return [data for data in left if data is not None]

    async def close(self) -> None:
        """Give the link up; also one that is lost already, or the next one would get everything twice (bleak issue 2002)."""
        with suppress(*ble_faults()):
            async with asyncio.timeout(self._times.call_s * 2):
                await self._client.disconnect()

    def _hear(self, _: "BleakGATTCharacteristic", data: bytearray) -> None:
        if data:
            self._inbox.put_nowait(bytes(data))

    def _characteristic(self, uuid: str, does: str, ways: tuple[str, ...]) -> "BleakGATTCharacteristic":
        def is_able(one: "BleakGATTCharacteristic") -> bool:
            return not set(ways).isdisjoint(one.properties)

        able = [one for one in self._client.services.characteristics.values() if one.uuid == uuid and is_able(one)]
        if len(able) == 1:
            return able[0]
        others = ", ".join(sorted(one.uuid for one in self._client.services.characteristics.values() if is_able(one)))
        count = len(able) or "no"
        what = f"has {count} characteristic {uuid} that {does}; name in the wire format one of: {others or 'none there'}"
        raise trouble_error(str(self), BleTrouble.NOT_SUCH, what)

    async def _write(self, to: "BleakGATTCharacteristic", data: bytes) -> None:
        is_answered = "write" in to.properties
        # Without an answer one packet is all that can be written at once.
        length = len(data) if is_answered else to.max_write_without_response_size
        for start in range(0, len(data), length):
            async with asyncio.timeout(self._times.call_s):
                await self._client.write_gatt_char(to, data[start : start + length], response=is_answered)

    async def _try(self) -> None:
        """Ask the wrench for a little; a service that was killed says nothing, and its links look as if they were up."""
        from bleak.exc import BleakGATTProtocolError

        try:
            async with asyncio.timeout(self._times.call_s):
                await _read_something(self._client, self._speaks.notify)
        except BleakGATTProtocolError:
            return  # it refuses, so it is there
        except ble_faults() as error:
            raise self._lost("no longer answers") from error

    def _lost(self, what: str) -> BleError:
        return trouble_error(str(self), BleTrouble.FAULT, f"{what}; wake it and bring it near, it is waited for")


async def _read_something(client: "BleakClient", notify: str) -> None:
    # Never the characteristic that notifies: what is read of it would come as a notification too.
    for one in client.services.characteristics.values():
        if one.uuid != notify and "read" in one.properties:
            await client.read_gatt_char(one)
            return
        for descriptor in one.descriptors:
            if descriptor.uuid == _NOTIFY_SETTING:
                await client.read_gatt_descriptor(descriptor)
                return
