"""Reads a wrench over Bluetooth LE through bleak, and takes the link up again after it was lost."""

import asyncio
import threading
from collections.abc import Awaitable, Callable
from contextlib import suppress
from itertools import chain, repeat

from collector.acquire.ble_error import BleError, BleTrouble, ble_error, ble_faults
from collector.acquire.ble_link import BleLink, BleTimes
from collector.acquire.ble_search import find, refuse_held
from collector.acquire.ble_where import BleWhere
from collector.acquire.framing import Framer, Piece
from collector.acquire.source import Put
from collector.acquire.stamp import Stamp
from schemas.bluetooth import BleCharacteristics
from schemas.clock import Clock
from schemas.words import Link

# A radio link may fail at the first try and hold at the next; what else is wrong a second try does not cure.
_TRIES_AT_OPEN = 3
_WORTH_A_TRY = (BleTrouble.FAULT, BleTrouble.NO_ANSWER)


class BleSource:
    """One Bluetooth wrench as a source of frames; once found it is known by its address, whatever it was found by.

    Args:
        where: which wrench.
        clock: for the time of arrival.
        framer: makes a new framer, one for each connection.
        speaks: its characteristics, and what it is asked; by default the common serial-over-GATT pair, and nothing.
        times: how long to wait for what.
        wait: waits that many seconds before a try to find it again.
    """

    def __init__(
        self,
        where: BleWhere,
        clock: Clock,
        framer: Callable[[], Framer],
        speaks: BleCharacteristics | None = None,
        *,
        times: BleTimes | None = None,
        wait: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self._where = where
        self._stamp = Stamp(self.name, clock)
        self._framer = framer
        self._speaks = speaks or BleCharacteristics()
        self._times = times or BleTimes()
        self._wait = wait
        self._known = where
        self._closed = threading.Event()
        self._running = threading.Lock()
        self._runner: asyncio.Runner | None = None
        self._link: BleLink | None = None
        self._life: asyncio.Task[None] | None = None

    @property
    def name(self) -> str:
        """`ble:` and what the wrench was called."""
        return f"ble:{self._where}"

    def open(self) -> None:
        """Find the wrench, connect and listen.

        Raises:
            BleError: Bluetooth is missing, off or forbidden; the wrench is not in reach, more than one, wants pairing, is
                in use, or has no such characteristics.
        """
        # Connecting and running share one event loop, for the connection lives in it; the threads take turns in it.
        self._runner = asyncio.Runner(loop_factory=asyncio.new_event_loop)
        try:
            self._runner.run(self._connect_first())
        except BaseException:
            self._let_go()
            raise

    def run(self, put: Put) -> None:
        """Hand over pieces as frames, and `lost` and `back` each time the link goes and returns, until closed.

        While it is away, each new kind of reason is told once more as `lost`. Bytes of a connection that ended before their
        record did come as a frame that is `cut`.
        """
        with self._running:
            try:
                if self._runner is not None and self._link is not None:
                    put(self._stamp.change(Link.OPEN, f"connected to {self._link}"))
                    self._runner.run(self._live(put, self._link))
            finally:
                self._let_go()
            put(self._stamp.change(Link.ENDED))

    def close(self) -> None:
        """Stop a run as soon as the link is given up, or give the link up where none is going on."""
        self._closed.set()
        if self._running.acquire(blocking=False):
            self._let_go()
            self._running.release()
        elif self._runner is not None:
            with suppress(RuntimeError):  # the run ended by itself just now, and its loop with it
                self._runner.get_loop().call_soon_threadsafe(self._call_off)

    def _call_off(self) -> None:
        if self._life is not None:
            self._life.cancel()

    def _let_go(self) -> None:
        runner, self._runner = self._runner, None
        if runner is not None:
            with runner:
                runner.run(self._give_up_link())

    async def _give_up_link(self) -> None:
        link, self._link = self._link, None
        if link is not None:
            await link.close()

    async def _live(self, put: Put, link: BleLink) -> None:
        self._life = asyncio.current_task()
        with suppress(asyncio.CancelledError):
            while not self._closed.is_set():
                lost = await self._read(put, link)
                put(self._stamp.change(Link.LOST, str(lost)))
                await self._give_up_link()
                link = await self._connect_again(put, lost)
                put(self._stamp.change(Link.BACK, f"connected to {link}"))

    async def _read(self, put: Put, link: BleLink) -> BleError:
        """Hand over what comes until the link is lost, and give why; whatever ends it, nothing that came is left behind."""
        framer = self._framer()
        within_s: float | None = None
        try:
            while True:
                data = await link.take(within_s)
                within_s = framer.silence_s if data else None
                self._hand_over(put, framer.feed(data) if data else framer.quiet())
        except BleError as lost:
            return lost
        finally:
            for data in link.rest():
                self._hand_over(put, framer.feed(data))
            self._hand_over(put, framer.flush(), cut=True)

    async def _connect_first(self) -> None:
        for tries_left in reversed(range(_TRIES_AT_OPEN)):
            try:
                await self._connect()
                return
            except BleError as error:
                if error.trouble not in _WORTH_A_TRY or not tries_left:
                    raise
            await self._wait(self._times.retry_s[0])

    async def _connect_again(self, put: Put, lost: BleError) -> BleLink:
        told = {lost.trouble}
        waits_s = chain(self._times.retry_s, repeat(self._times.retry_s[-1]))
        while True:
            await self._wait(next(waits_s))
            try:
                return await self._connect()
            except BleError as error:
                # A new line for each new thing to do, and not one for each try.
                if error.trouble not in told:
                    told.add(error.trouble)
                    put(self._stamp.change(Link.LOST, str(error)))

    async def _connect(self) -> BleLink:
        try:
            found = await find(self._known, self._speaks.service, self._times.search_s, self._times.settle_s)
            refuse_held(found, self._speaks.notify)
        except ble_faults() as error:
            raise ble_error(self._where, error) from error
        link = BleLink(found, self._speaks, self._times)
        await link.open()
        self._link = link
        self._known = BleWhere(found.nearby.name, found.nearby.address.upper())
        return link

    def _hand_over(self, put: Put, pieces: list[Piece], cut: bool = False) -> None:
        for piece in pieces:
            put(self._stamp.frame(piece, cut=cut))
