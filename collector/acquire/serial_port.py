"""Reads bytes from a serial port through pyserial, and takes the port up again after it went away."""

import os
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from itertools import chain, repeat

import serial

from collector.acquire.framing import Framer, Piece
from collector.acquire.port_error import LINK_LOST, first_line, holders, port_error
from collector.acquire.serial_find import SYSTEM_PORTS, Comports, Port, PortFinder, list_ports
from collector.acquire.source import Put
from collector.acquire.stamp import Stamp
from schemas.clock import Clock
from schemas.errors import SourceError, SourceReason
from schemas.words import Link

if sys.platform != "win32":
    import fcntl
    import termios

READ_TIMEOUT_S = 0.2
WRITE_TIMEOUT_S = 1.0
RETRY_S = (0.05, 0.1, 0.2, 0.5, 1.0)
# Right after a plug a port may refuse for a moment, until the system has set its group; that is no news.
TOLD_AFTER_TRIES = 3


class SerialSource:
    """One serial port as a source of frames; reads only.

    Args:
        wanted: a port, `usb=VVVV:PPPP` with `:SERIAL` or without, or any URL that pyserial knows (`socket://`, `loop://`).
        clock: for the time of arrival.
        framer: makes what cuts the bytes of one session.
        baudrate: bits a second; 8 data bits, no parity, 1 stop bit.
        retry_s: seconds to wait before each try to take a lost port up again; the last one repeats.
        dtr: whether DTR and RTS are raised. Low, an instrument that restarts with them is left alone; raised, one is fed
            that draws its power from them or sends only then.
        opener: makes the port without opening it.
        comports: lists the ports.
        wait: waits that many seconds, less when the source is closed.
    """

    def __init__(
        self,
        wanted: str,
        clock: Clock,
        framer: Callable[[], Framer],
        baudrate: int = 9600,
        retry_s: tuple[float, ...] = RETRY_S,
        *,
        dtr: bool = False,
        opener: Callable[..., serial.Serial] = serial.serial_for_url,
        comports: Comports = SYSTEM_PORTS,
        wait: Callable[[float], object] | None = None,
    ) -> None:
        self._wanted = wanted
        self._clock = clock
        self._stamp = Stamp(self.name, clock)
        self._framer = framer
        self._baudrate = baudrate
        self._retry_s = retry_s
        self._dtr = dtr
        self._opener = opener
        self._comports = comports
        self._finder = PortFinder(wanted, comports)
        self._closed = threading.Event()
        self._wait = wait or self._closed.wait
        self._running = threading.Lock()
        self._port: serial.Serial | None = None
        self._opened = Port(wanted)
        self._shared = 0
        silence_s = framer().silence_s
        self._timeout_s = READ_TIMEOUT_S if silence_s is None else min(READ_TIMEOUT_S, silence_s)

    @property
    def name(self) -> str:
        """`serial:` and the port as it was named, also while it has another name."""
        return f"serial:{self._wanted}"

    def open(self) -> None:
        """Open the port; SourceError where it is missing, in use, forbidden, no serial port, or one of two."""
        found = self._finder.find()
        try:
            port = self._opener(
                found.name,
                do_not_open=True,
                baudrate=self._baudrate,
                timeout=self._timeout_s,
                write_timeout=WRITE_TIMEOUT_S,
                exclusive=True,
            )
            # Set after opening, both would be high until then (pyserial issue 124). Linux raises them for a moment all the
            # same while it opens a port (drivers/tty/tty_port.c, tty_port_block_til_ready), and nobody can prevent it.
            port.dtr = port.rts = self._dtr
            port.open()
        except LINK_LOST as error:
            raise port_error(found.name, error, [str(port) for port in list_ports(self._comports)]) from error
        _claim(port)
        self._finder.keep(found)
        self._port, self._opened = port, found

    def run(self, put: Put) -> None:
        """Hand over frames, and `lost` and `back` each time the port goes and returns, until closed.

        `lost` comes again where the port is there and cannot be taken, with the reason.
        """
        with self._running:
            put(self._stamp.change(Link.OPEN, ", ".join(self._news())))
            while not self._closed.is_set():
                lost = self._read_session(put)
                if lost is None or self._closed.is_set():
                    break
                lost_ns = self._clock.monotonic_ns()
                put(self._stamp.change(Link.LOST, self._why(lost)))
                self._let_go()
                if self._open_again(put):
                    gone_s = (self._clock.monotonic_ns() - lost_ns) / 1e9
                    put(self._stamp.change(Link.BACK, ", ".join([f"after {gone_s:.1f} s", *self._news()])))
            self._let_go()
            put(self._stamp.change(Link.ENDED))

    def close(self) -> None:
        """Stop a run within the read time-out, or give the port back where none is going on."""
        self._closed.set()
        # A port closed under a blocked read makes pyserial fail with TypeError, so a run closes its own.
        if self._running.acquire(blocking=False):
            self._let_go()
            self._running.release()

    def _read_session(self, put: Put) -> Exception | None:
        """Read until the link is lost, which gives the reason, or the source closed."""
        framer = self._framer()
        lost: Exception | None = None
        silent_s = 0.0
        while not self._closed.is_set():
            try:
                data = self._read()
            except LINK_LOST as error:
                lost = error
                break
            silent_s = 0.0 if data else silent_s + self._timeout_s
            for piece in framer.feed(data) if data else _pieces_of_silence(framer, silent_s):
                put(self._stamp.frame(piece))
        for piece in framer.flush():
            put(self._stamp.frame(piece, cut=True))
        return lost

    def _read(self) -> bytes:
        port = self._port
        if port is None:
            raise OSError("not open")
        # read(n) waits for n bytes or the whole time-out, so: one byte, and then what is there already.
        data: bytes = port.read(1)
        if data:
            # A port that goes right here keeps the byte; the next read says that it went.
            with suppress(*LINK_LOST):
                data += port.read(port.in_waiting)
        return data

    def _why(self, lost: Exception) -> str:
        port = self._opened.name
        # pyserial says the same of a port that went and of one whose bytes somebody else took. A port that is pulled out
        # may be there for a moment still, so it has to happen twice to a port that was never away.
        is_usual = "multiple access" in str(lost)
        self._shared = self._shared + 1 if is_usual and os.path.exists(port) else 0
        if self._shared > 1:
            return f"another program is reading port `{port}` too, and takes bytes{holders(port)}; close that program"
        return f"port `{port}` went away{'' if is_usual else f' ({first_line(lost)})'}; plug it in again"

    def _open_again(self, put: Put) -> bool:
        waits_s = chain(self._retry_s, repeat(self._retry_s[-1]))
        refused, tries = "", 0
        while not self._closed.is_set():
            self._wait(next(waits_s))
            if self._closed.is_set():
                break
            # Just after it is plugged in a port may be there and still refuse, so every refusal is tried again.
            try:
                self.open()
                return True
            except SourceError as error:
                self._shared = 0
                tries = tries + 1 if str(error) == refused else 1
                refused = str(error)
                if error.reason is not SourceReason.MISSING and tries == TOLD_AFTER_TRIES:
                    put(self._stamp.change(Link.LOST, f"waiting: {error}"))
        return False

    def _news(self) -> list[str]:
        """What is worth a word about the port just opened."""
        news = [] if self._opened.name == self._wanted else [f"as `{self._opened.name}`"]
        # One that opened it earlier and asked for no lock stays in, and each byte then goes to whoever reads first.
        if others := holders(self._opened.name):
            news.append(f"open in another program too{others}, which may take bytes: close it")
        return news

    def _let_go(self) -> None:
        port, self._port = self._port, None
        if port is not None:
            _release(port)
            with suppress(*LINK_LOST):
                port.close()


def _pieces_of_silence(framer: Framer, silent_s: float) -> list[Piece]:
    return framer.quiet() if framer.silence_s is not None and silent_s >= framer.silence_s else []


def _claim(port: serial.Serial) -> None:
    """Where it can be done, keep out programs that ask for no lock, and have an adapter pass bytes on at once."""
    if sys.platform != "win32":
        with suppress(OSError, termios.error, AttributeError, ValueError):
            fcntl.ioctl(port.fileno(), termios.TIOCEXCL)
    # An FTDI adapter otherwise holds bytes back for up to 16 ms (pyserial issue 287).
    with suppress(OSError, AttributeError, NotImplementedError, ValueError):
        port.set_low_latency_mode(True)


def _release(port: serial.Serial) -> None:
    """Take the claim back, which outlives us where another program holds the same port open."""
    if sys.platform != "win32":
        with suppress(OSError, termios.error, AttributeError, TypeError, ValueError):
            fcntl.ioctl(port.fileno(), termios.TIOCNXCL)
