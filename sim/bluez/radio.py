"""The made-up Bluetooth service on a thread of its own, driven from outside by plain calls."""

import asyncio
import threading
from collections.abc import Callable, Coroutine
from types import TracebackType
from typing import Any, Self, TypeVar

from sim.bluez.answers import answer
from sim.bluez.peripheral import Peripheral
from sim.bluez.service import ADAPTER_PATH, BluezService

_ANSWER_S = 20.0
_T = TypeVar("_T")


class Radio:
    """All wrenches around one adapter, on the bus at `bus_address`; a context, safe from any thread.

    Each call returns when the service has done it and the bus has it.
    """

    def __init__(self, bus_address: str, *peripherals: Peripheral, has_adapter: bool = True, is_powered: bool = True) -> None:
        self._bus_address = bus_address
        self._peripherals = list(peripherals)
        self._has_adapter = has_adapter
        self._is_powered = is_powered
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, name="radio")
        self._service: BluezService | None = None

    def __enter__(self) -> Self:
        self._thread.start()
        try:
            self.start()
        except BaseException:
            self.__exit__(None, None, None)
            raise
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        try:
            self.kill()
        finally:
            self._loop.call_soon_threadsafe(self._loop.stop)
            self._thread.join()
            self._loop.close()

    def start(self) -> None:
        """Start the service, as after a restart: nothing that it knew is left."""

        async def start() -> BluezService:
            service = BluezService(self._bus_address, answer)
            service.peripherals = self._peripherals
            await service.start(self._has_adapter, self._is_powered)
            return service

        self._service = self._run(start())

    def kill(self) -> None:
        """End the service without a word to anybody; more than once does no harm."""
        service, self._service = self._service, None
        if service is not None:
            self._run(service.stop())

    def add(self, peripheral: Peripheral) -> None:
        """Another wrench comes near."""
        self._loop.call_soon_threadsafe(self._peripherals.append, peripheral)

    def notify(self, peripheral: Peripheral, *packets: bytes) -> None:
        """Send notifications as they are; without a link, or where nobody listens, they are lost as on the air."""

        async def notify(service: BluezService) -> None:
            for packet in packets:
                await service.notify(peripheral, packet)

        self._do(notify)

    def send(self, peripheral: Peripheral, data: bytes) -> None:
        """Send as a wrench does, cut into packets as long as its link allows."""
        self.notify(peripheral, *peripheral.packets(data))

    def drop(self, peripheral: Peripheral) -> None:
        """Its link is lost."""

        async def drop(service: BluezService) -> None:
            service.drop(peripheral)

        self._do(drop)

    def remove(self, peripheral: Peripheral) -> None:
        """Somebody has the service forget the wrench, in whatever state its link is."""

        async def remove(service: BluezService) -> None:
            service.drop(peripheral)
            service.tree.remove_below(peripheral.path(ADAPTER_PATH))

        self._do(remove)

    def power(self, on: bool) -> None:
        """Switch the adapter."""

        async def power(service: BluezService) -> None:
            service.set_power(on)

        self._do(power)

    def listeners(self, peripheral: Peripheral) -> int:
        """How many connections to the bus take its notifications."""

        async def count(service: BluezService) -> int:
            return len(service.listeners[peripheral.notify_path(ADAPTER_PATH)])

        return self._do(count)

    def is_connected(self, peripheral: Peripheral) -> bool:
        """Whether a link to it is up."""

        async def look(service: BluezService) -> bool:
            return service.is_connected(peripheral)

        return self._do(look)

    def _do(self, what: Callable[[BluezService], Coroutine[Any, Any, _T]]) -> _T:
        service = self._service
        if service is None:
            raise OSError("the service was killed; start it first")

        async def do() -> _T:
            done = await what(service)
            await service.catch_up()
            return done

        return self._run(do())

    def _run(self, what: Coroutine[Any, Any, _T]) -> _T:
        return asyncio.run_coroutine_threadsafe(what, self._loop).result(_ANSWER_S)
