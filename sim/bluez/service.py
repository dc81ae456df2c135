"""The made-up Bluetooth service itself: one adapter, the wrenches around it, their links and notifications."""

import asyncio
from collections import defaultdict
from collections.abc import Callable, Coroutine
from contextlib import suppress

from dbus_fast import Message, MessageType, NameFlag
from dbus_fast.aio import MessageBus

from sim.bluez.objects import ADAPTER, CHARACTERISTIC, DESCRIPTOR, DEVICE, SERVICE, ObjectTree
from sim.bluez.peripheral import NOTIFY_SETTING, Peripheral

BLUEZ = "org.bluez"
ADAPTER_PATH = "/org/bluez/hci0"
ADVERTISING_S = 0.02
DISCOVERY_S = 0.01
_BUS = "org.freedesktop.DBus"
# dbus-fast gives its connection up where the daemon falls behind in taking what is sent; a round trip lets it catch up.
_SIGNALS_A_ROUND_TRIP = 16

Answer = Callable[["BluezService", Message], bool | None]


class BluezService:
    """`org.bluez` on the bus at `bus_address`, in one event loop; `answer` takes what comes from the bus.

    `listeners` holds for each characteristic the bus names that take its notifications. Such a registration outlives a
    lost link, as the real service's does, and ends with the connection to the bus that made it. `searchers` are the
    bus names that search.
    """

    def __init__(self, bus_address: str, answer: Answer) -> None:
        self._answer = answer
        self._bus = MessageBus(bus_address=bus_address)
        self._sent = 0
        self._tasks: set[asyncio.Task[None]] = set()
        self.tree = ObjectTree(self._emit)
        self.peripherals: list[Peripheral] = []
        self.listeners: defaultdict[str, set[str]] = defaultdict(set)
        self.searchers: set[str] = set()
        self.connecting: dict[str, asyncio.Future[None]] = {}

    async def start(self, has_adapter: bool = True, is_powered: bool = True) -> None:
        """Take the name and begin to advertise."""
        await self._bus.connect()
        self._bus.add_message_handler(lambda message: self._answer(self, message))
        if has_adapter:
            self.tree.add(
                ADAPTER_PATH, ADAPTER, Address="00:00:5E:00:53:01", Name="made-up", Alias="made-up", Powered=is_powered,
                Discovering=False, UUIDs=[], Roles=["central", "peripheral"],
            )  # fmt: skip
        owner_rule = f"type='signal',sender='{_BUS}',member='NameOwnerChanged'"
        await self._call_bus("AddMatch", "s", [owner_rule])
        await self._bus.request_name(BLUEZ, NameFlag.DO_NOT_QUEUE)
        self.later(self._advertise())

    async def stop(self) -> None:
        """Go without a word, as a service that is killed does."""
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        self._bus.disconnect()
        with suppress(EOFError, OSError):  # what the bus ended with, where it ended first
            await self._bus.wait_for_disconnect()  # type: ignore[no-untyped-call]  # dbus-fast leaves it out

    def later(self, what: Coroutine[None, None, None]) -> None:
        """Do something after the call in hand is answered."""
        task = asyncio.get_running_loop().create_task(what)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def send(self, message: Message) -> None:
        """Send one message and now and then wait until the daemon has taken all."""
        self._emit(message)
        self._sent += 1
        if self._sent % _SIGNALS_A_ROUND_TRIP == 0:
            await self.catch_up()

    async def catch_up(self) -> None:
        """Wait until the daemon has passed on all that was sent."""
        await self._call_bus("GetId")

    def is_connected(self, peripheral: Peripheral) -> bool:
        """Whether a link to it is up."""
        path = peripheral.path(ADAPTER_PATH)
        return path in self.tree and bool(self.tree.value(path, DEVICE, "Connected"))

    async def resolve(self, peripheral: Peripheral) -> None:
        """What happens once a link is up: its services become known, or it drops before that."""
        await asyncio.sleep(DISCOVERY_S)
        if peripheral.fails_discovery:
            peripheral.fails_discovery -= 1
            self.drop(peripheral)
            return
        tree, path, service = self.tree, peripheral.path(ADAPTER_PATH), peripheral.service_path(ADAPTER_PATH)
        write, notify = peripheral.write_path(ADAPTER_PATH), peripheral.notify_path(ADAPTER_PATH)
        mtu = peripheral.mtu
        tree.add(service, SERVICE, UUID=peripheral.service, Device=path, Primary=True)
        flags = list(peripheral.write_flags)
        tree.add(write, CHARACTERISTIC, UUID=peripheral.write, Service=service, Value=b"", Flags=flags, MTU=mtu)
        tree.add(
            notify, CHARACTERISTIC, UUID=peripheral.notify, Service=service, Value=b"", Flags=["notify"], MTU=mtu,
            Notifying=False, NotifyAcquired=False,
        )  # fmt: skip
        setting = peripheral.setting_path(ADAPTER_PATH)
        tree.add(setting, DESCRIPTOR, UUID=NOTIFY_SETTING, Characteristic=notify, Value=b"\x00\x00", Flags=[])
        tree.change(path, DEVICE, UUIDs=[peripheral.service], ServicesResolved=True)
        tree.change(path, DEVICE, Name=peripheral.name, Alias=peripheral.name)  # read over the link, after the services

    def drop(self, peripheral: Peripheral) -> None:
        """The link is lost, or given up."""
        path = peripheral.path(ADAPTER_PATH)
        self.tree.change(path, DEVICE, ServicesResolved=False)
        self.tree.change(path, DEVICE, Connected=False)

    async def notify(self, peripheral: Peripheral, data: bytes) -> None:
        """One notification; without a link or a listener it is lost, as on the air."""
        path = peripheral.notify_path(ADAPTER_PATH)
        count = len(self.listeners[path]) if self.is_connected(peripheral) else 0
        for _ in range(count):  # the real service signals once for each that listens
            if (message := self.tree.changed(path, CHARACTERISTIC, Value=data)) is not None:
                await self.send(message)

    def set_power(self, on: bool) -> None:
        """Switch the adapter; off drops every link and ends every search."""
        if not on:
            for peripheral in self.peripherals:
                if self.is_connected(peripheral):
                    self.drop(peripheral)
            self.searchers.clear()
        self.tree.change(ADAPTER_PATH, ADAPTER, Powered=on, Discovering=False)

    def forget_client(self, name: str) -> None:
        """A connection to the bus has ended, and with it its search and what it listened to."""
        self.searchers.discard(name)
        for path, names in self.listeners.items():
            if name in names:
                names.discard(name)
                if not names:
                    self.tree.change(path, CHARACTERISTIC, Notifying=False)

    async def _advertise(self) -> None:
        strength = -50
        while True:
            strength = -101 - strength  # or nothing would have changed, and no signal would go out
            for peripheral in self.peripherals if self.searchers else ():
                if peripheral.is_near and not self.is_connected(peripheral):
                    self._advertise_one(peripheral, strength)
            await asyncio.sleep(ADVERTISING_S)

    def _advertise_one(self, peripheral: Peripheral, strength: int) -> None:
        path = peripheral.path(ADAPTER_PATH)
        if path not in self.tree:
            # Seen first without its name, which comes with the answer to a scan request.
            self.tree.add(
                path, DEVICE, Address=peripheral.address, Alias=peripheral.address.replace(":", "-"), Paired=False,
                Trusted=False, Connected=False, ServicesResolved=False, UUIDs=[peripheral.service],
                Adapter=ADAPTER_PATH, RSSI=strength,
            )  # fmt: skip
        elif self.tree.has(path, DEVICE, "Name"):
            self.tree.change(path, DEVICE, RSSI=strength)
        else:
            self.tree.change(path, DEVICE, RSSI=strength, Name=peripheral.name, Alias=peripheral.name)

    async def _call_bus(self, member: str, signature: str = "", body: list[object] | None = None) -> None:
        path = "/org/freedesktop/DBus"
        await self._bus.call(Message(_BUS, path, _BUS, member, signature=signature, body=body or []))

    def _emit(self, message: Message) -> None:
        if self._bus.connected:
            self._bus.send(message)


def is_end_of_client(message: Message) -> bool:
    """Whether a signal tells that a connection to the bus has ended; its name is then the first of the body."""
    return message.message_type is MessageType.SIGNAL and message.member == "NameOwnerChanged" and message.body[2] == ""
