"""What is claimed of the collector's Bluetooth, with a real bluetoothd; the wrench is made up, and so is the radio alone."""

import asyncio
import itertools
import os
import queue
import subprocess
import sys
import tempfile
import threading
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from bumble import hci
from bumble.controller import Controller
from bumble.core import AdvertisingData
from bumble.device import Device
from bumble.gatt import Characteristic, CharacteristicValue, Service
from bumble.host import Host
from bumble.link import LocalLink
from bumble.transport import open_transport
from dbus_fast import BusType, Message, Variant
from dbus_fast.aio import MessageBus

from collector.acquire.ble import BleSource
from collector.acquire.ble_link import BleTimes
from collector.acquire.ble_where import ble_where
from collector.acquire.framing import LineFramer
from schemas.bluetooth import SERIAL_NOTIFY, SERIAL_SERVICE, SERIAL_WRITE
from schemas.frame import Frame
from schemas.words import Link
from sim.bluez.bus import BUS_VARIABLE, PrivateBus

PATIENCE_S = 60
TIMES = BleTimes(search_s=20, settle_s=1, connect_s=20, call_s=10, idle_s=3, retry_s=(0.5, 1))


class Central(Controller):
    """The computer's own adapter; of two things that bumble leaves out, the kernel needs both."""

    def on_hci_le_create_connection_cancel_command(self, command):
        done = super().on_hci_le_create_connection_cancel_command(command)
        self.send_hci_packet(
            hci.HCI_LE_Connection_Complete_Event(
                status=hci.HCI_ErrorCode.UNKNOWN_CONNECTION_IDENTIFIER_ERROR, connection_handle=0, role=0, peer_address_type=0,
                peer_address=hci.Address("00:00:00:00:00:00"), connection_interval=0, peripheral_latency=0,
                supervision_timeout=0, central_clock_accuracy=0,
            )
        )  # fmt: skip
        return done

    def on_hci_le_set_random_address_command(self, command):
        # The made-up air knows a link by the present address, so a new one would cut it.
        if self.le_connections:
            return hci.HCI_StatusReturnParameters(hci.HCI_ErrorCode.SUCCESS)
        return super().on_hci_le_set_random_address_command(command)


class Air:
    """A wrench and the computer's adapter, on a loop of their own."""

    def __init__(self):
        self.loop = asyncio.new_event_loop()
        self.written = []
        threading.Thread(target=self.loop.run_forever, daemon=True).start()
        self.do(self._begin())

    def do(self, what):
        return asyncio.run_coroutine_threadsafe(what, self.loop).result(PATIENCE_S)

    async def _begin(self):
        self.link = LocalLink()
        self.vhci = await open_transport("vhci")
        self.central = Central("central", host_source=self.vhci.source, host_sink=self.vhci.sink, link=self.link)
        host = Host()
        host.controller = Controller("wrench", link=self.link)
        self.wrench = Device(name="WRENCH-1", address=hci.Address("F0:F1:F2:F3:F4:01"), host=host)
        write = CharacteristicValue(write=lambda _, value: self.written.append(bytes(value)))
        self.notify = Characteristic(SERIAL_NOTIFY, Characteristic.Properties.NOTIFY, Characteristic.READABLE, b"")
        writes = Characteristic(SERIAL_WRITE, Characteristic.Properties.WRITE, Characteristic.WRITEABLE, write)
        self.wrench.add_service(Service(SERIAL_SERVICE, [writes, self.notify]))
        self.wrench.advertising_data = bytes(
            AdvertisingData([(AdvertisingData.COMPLETE_LOCAL_NAME, b"WRENCH-1"), (AdvertisingData.FLAGS, b"\x06")])
        )
        await self.wrench.power_on()
        await self._advertise()

    async def _advertise(self):
        self.wrench.on(Device.EVENT_CONNECTION, self._keep_advertising)
        await self.wrench.start_advertising()

    def _keep_advertising(self, connection):
        connection.on(connection.EVENT_DISCONNECTION, lambda _: asyncio.ensure_future(self.wrench.start_advertising()))

    def send(self, *packets):
        async def send():
            for packet in packets:
                for connection in list(self.wrench.connections.values()):
                    await self.wrench.gatt_server.notify_subscriber(connection, self.notify, packet)

        self.do(send())

    def drop(self):
        async def drop():
            for connection in list(self.wrench.connections.values()):
                await connection.disconnect()

        self.do(drop())


class Clock:
    _count = itertools.count(1)

    def now(self):
        return datetime.now(UTC)

    def monotonic_ns(self):
        return next(self._count)


class Run:
    def __init__(self):
        self.source = BleSource(ble_where("WRENCH-1"), Clock(), partial(LineFramer, 60), ask=b"MEMORY\r", times=TIMES)
        self.handed = queue.Queue()
        self.source.open()
        self.thread = threading.Thread(target=self.source.run, args=(self.handed.put,), daemon=True)
        self.thread.start()

    def next(self):
        event = self.handed.get(timeout=PATIENCE_S)
        return (event.raw, event.cut) if isinstance(event, Frame) else (event.link, event.detail)

    def until_back(self):
        """What the link said until it was back."""
        said = []
        while (event := self.next())[0] is not Link.BACK:
            said.append(event)
        return said


def tell(text):
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def claim(what, is_so, seen):
    tell(f"{'ok' if is_so else 'FAILED'}: {what}: {seen!r}")
    return is_so


async def power(on):
    bus = await MessageBus(bus_type=BusType.SYSTEM).connect()
    for _ in range(100):  # a service that has just begun has no adapter yet
        reply = await bus.call(
            Message("org.bluez", "/org/bluez/hci0", "org.freedesktop.DBus.Properties", "Set", signature="ssv",
                    body=["org.bluez.Adapter1", "Powered", Variant("b", on)])
        )  # fmt: skip
        if reply.error_name is None:
            break
        await asyncio.sleep(0.2)
    bus.disconnect()
    return reply.error_name


def start(bluetoothd):
    with open("/tmp/bluetoothd.log", "ab") as said:
        service = subprocess.Popen([bluetoothd, "-n"], stdout=said, stderr=said)
    tell(f"## adapter on: {asyncio.run(power(True)) or 'yes'}")
    return service


def main(bluetoothd):
    with PrivateBus(Path(tempfile.mkdtemp())) as bus:
        os.environ[BUS_VARIABLE] = bus.address
        air = Air()
        service = start(bluetoothd)
        run = Run()
        well = [claim("found by its name and connected", (first := run.next())[0] is Link.OPEN, first)]

        air.send(b"@on", b"e\r\n@tw", b"o\r\n")
        seen = [run.next(), run.next()]
        well.append(claim("packets are joined", seen == [(b"@one", False), (b"@two", False)], seen))

        air.send(b"@ha")
        air.drop()
        half = run.next()
        said = run.until_back()
        well.append(claim("the half line is cut", half == (b"@ha", True), half))
        well.append(claim("a lost link comes back", said[0][0] is Link.LOST, said))
        air.send(b"@three\r\n", b"@end\r\n")
        seen = [run.next(), run.next()]
        well.append(claim("nothing comes twice after it", seen == [(b"@three", False), (b"@end", False)], seen))
        well.append(claim("asked at each connection", air.written == [b"MEMORY\r"] * 2, air.written))

        asyncio.run(power(False))
        said = [run.next(), run.next()]
        asyncio.run(power(True))
        run.until_back()
        well.append(claim("an adapter that is off is told", "switched off" in said[1][1], said))

        service.kill()
        service.wait()
        said = run.next()
        well.append(claim("a service that was killed is noticed", "no longer answers" in said[1], said))

        # Taking it up again is claimed against the made-up service alone: here a second bluetoothd finds no route.
        run.source.close()
        run.thread.join(PATIENCE_S)
        well.append(claim("closing ends the run", not run.thread.is_alive(), run.handed.qsize()))
    if all(well):
        tell("## all went well")


main(sys.argv[1])
os._exit(0)  # the made-up air has no end of its own
