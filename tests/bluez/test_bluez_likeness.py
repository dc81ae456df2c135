"""The made-up service does what the real one was seen to do: bleak 3.1 with BlueZ 5.66, kernel 6.1, in an emulated machine.

What is wrong with that is likeness too: where the real pair doubles or loses something, this one has to.
"""

import asyncio

import pytest
from bleak import BleakClient, BleakScanner
from bleak.exc import BleakDBusError, BleakError

from sim.bluez.peripheral import SERIAL_NOTIFY, SERIAL_WRITE


async def look_up(address="C0:FF:EE:00:53:01"):
    device = await BleakScanner.find_device_by_address(address, timeout=10)
    assert device is not None
    return device


class Listener:
    """Counts what one client is told until the mark comes, which ends what was sent."""

    def __init__(self):
        self.heard = []
        self._more = asyncio.Event()

    def __call__(self, _, data):
        self.heard.append(bytes(data))
        self._more.set()

    async def until(self, count):
        async with asyncio.timeout(10):
            while len(self.heard) < count:
                self._more.clear()
                await self._more.wait()


async def connected(device, listener):
    gone = asyncio.Event()
    client = BleakClient(device, disconnected_callback=lambda _: gone.set())
    await client.connect()
    await client.start_notify(SERIAL_NOTIFY, listener)
    return client, gone


def test_name_comes_after_the_first_advertisement(radio):
    assert asyncio.run(look_up()).name is None


def test_second_search_of_one_client_is_refused(radio):
    async def both():
        async with BleakScanner(), BleakScanner():
            pass

    with pytest.raises(BleakDBusError, match="InProgress"):
        asyncio.run(both())


def test_wrench_out_of_reach_gives_no_answer_until_the_caller_gives_up(radio, wrench):
    async def reach():
        device = await look_up()
        wrench.is_near = False
        await BleakClient(device, timeout=0.2).connect()

    with pytest.raises(TimeoutError):
        asyncio.run(reach())


def test_connecting_while_the_adapter_is_off_is_an_input_output_error(radio):
    async def reach():
        device = await look_up()
        await asyncio.to_thread(radio.power, False)
        await BleakClient(device, timeout=5).connect()

    with pytest.raises(BleakDBusError, match="Input/output error"):
        asyncio.run(reach())


def test_second_connection_without_giving_up_the_first_hears_everything_twice(radio, wrench):
    async def sessions():
        device, listener = await look_up(), Listener()
        first, gone = await connected(device, Listener())
        await asyncio.to_thread(radio.drop, wrench)
        await gone.wait()
        second, _ = await connected(device, listener)
        await asyncio.to_thread(radio.notify, wrench, b"one", b"two")
        await listener.until(4)
        await second.disconnect()
        await first.disconnect()
        return listener.heard

    assert asyncio.run(sessions()) == [b"one", b"one", b"two", b"two"]


def test_what_is_sent_before_and_after_listening_is_lost(radio, wrench):
    async def session():
        listener = Listener()
        client = BleakClient(await look_up())
        await client.connect()
        await asyncio.to_thread(radio.notify, wrench, b"before")
        await client.start_notify(SERIAL_NOTIFY, listener)
        await asyncio.to_thread(radio.notify, wrench, b"now")
        await listener.until(1)
        await client.stop_notify(SERIAL_NOTIFY)
        await asyncio.to_thread(radio.notify, wrench, b"after")
        await client.disconnect()
        return listener.heard

    assert asyncio.run(session()) == [b"now"]


def test_write_without_answer_holds_one_packet_and_one_with_answer_any_length(radio, wrench):
    async def session():
        client, _ = await connected(await look_up(), Listener())
        await client.write_gatt_char(SERIAL_WRITE, b"x" * 60, response=True)
        try:
            await client.write_gatt_char(SERIAL_WRITE, b"x" * 21, response=False)
        finally:
            await client.disconnect()

    with pytest.raises(BleakDBusError, match="Failed to initiate write"):
        asyncio.run(session())

    assert wrench.written == [b"x" * 60]


def test_characteristic_that_does_not_notify_cannot_be_listened_to(radio):
    async def session():
        async with BleakClient(await look_up()) as client:
            await client.start_notify(SERIAL_WRITE, Listener())

    with pytest.raises(BleakDBusError, match="NotSupported"):
        asyncio.run(session())


def test_drop_before_the_services_are_known_ends_connecting(radio, wrench):
    wrench.fails_discovery = 1

    async def session():
        await BleakClient(await look_up(), timeout=5).connect()

    with pytest.raises(BleakError, match="failed to discover services, device disconnected"):
        asyncio.run(session())
