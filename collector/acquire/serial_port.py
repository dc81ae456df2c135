"""Reads lines from a serial port through pyserial, and takes the port up again after it went away."""

import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from itertools import chain, repeat

import serial

from collector.acquire.framing import LineFramer, Piece
from collector.acquire.port_error import LINK_LOST, port_error
from collector.acquire.source import Put
from schemas.clock import Clock
from schemas.errors import SourceError
from schemas.frame import Frame, LinkChange
from schemas.words import Link

if sys.platform != "win32":
    import fcntl
    import termios

READ_TIMEOUT_S = 0.2
WRITE_TIMEOUT_S = 1.0
RETRY_S = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0)


class SerialSource:
    """One serial port as a source of frames; reads only, and leaves the modem lines alone.

    Args:
        url: a device or any URL that pyserial knows (`socket://`, `loop://`, `hwgrep://`).
        clock: for the time of arrival.
        longest: the longest line of the wire format, in bytes.
        baudrate: bits a second; 8 data bits, no parity, 1 stop bit.
        retry_s: seconds to wait before each try to take a lost port up again; the last one repeats.
        opener: makes and opens the port.
        wait: waits that many seconds, less when the source is closed.
    """

    def __init__(
        self,
        url: str,
        clock: Clock,
        longest: int,
        baudrate: int = 9600,
        retry_s: tuple[float, ...] = RETRY_S,
        *,
        opener: Callable[..., serial.Serial] = serial.serial_for_url,
        wait: Callable[[float], object] | None = None,
    ) -> None:
        self._url = url
        self._clock = clock
        self._longest = longest
        self._baudrate = baudrate
        self._retry_s = retry_s
        self._opener = opener
        self._closed = threading.Event()
        self._wait = wait or self._closed.wait
        self._running = threading.Lock()
        self._port: serial.Serial | None = None

    @property
    def name(self) -> str:
        """`serial:` and the port."""
        return f"serial:{self._url}"

    def open(self) -> None:
        """Open the port; SourceError where it is missing, in use, forbidden or no serial port."""
        try:
            self._port = self._opener(
                self._url,
                baudrate=self._baudrate,
                timeout=READ_TIMEOUT_S,
                write_timeout=WRITE_TIMEOUT_S,
                exclusive=True,
            )
        except LINK_LOST as error:
            raise port_error(self._url, error) from error
        _claim(self._port)

    def run(self, put: Put) -> None:
        """Hand over lines as frames, and `lost` and `back` once each time the port goes and returns, until closed."""
        with self._running:
            put(self._change(Link.OPEN))
            while not self._closed.is_set():
                lost = self._read_lines(put)
                if self._closed.is_set():
                    break
                put(self._change(Link.LOST, f"port `{self._url}` went away ({lost}); plug it in again"))
                self._let_go()
                if self._open_again():
                    put(self._change(Link.BACK))
            self._let_go()
            put(self._change(Link.ENDED))

    def close(self) -> None:
        """Stop a run within the read time-out, or give the port back where none is going on."""
        self._closed.set()
        # A port closed under a blocked read makes pyserial fail with TypeError, so a run closes its own.
        if self._running.acquire(blocking=False):
            self._let_go()
            self._running.release()

    def _read_lines(self, put: Put) -> str:
        """Read until the link is lost or the source closed; says why in a few words."""
        framer = LineFramer(self._longest)
        lost = "closed"
        while not self._closed.is_set():
            try:
                data = self._read()
            except LINK_LOST as error:
                lost = str(error).partition("\n")[0]
                break
            for piece in framer.feed(data):
                put(self._frame(piece))
        for piece in framer.flush():
            put(self._frame(piece, cut=True))
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

    def _open_again(self) -> bool:
        waits_s = chain(self._retry_s, repeat(self._retry_s[-1]))
        while True:
            self._wait(next(waits_s))
            if self._closed.is_set():
                return False
            # Just after it is plugged in a port may be there and still refuse, so every refusal is tried again.
            with suppress(SourceError):
                self.open()
                return True

    def _let_go(self) -> None:
        port, self._port = self._port, None
        if port is not None:
            _release(port)
            with suppress(*LINK_LOST):
                port.close()

    def _frame(self, piece: Piece, cut: bool = False) -> Frame:
        return Frame(
            source=self.name,
            raw=piece.raw,
            received_at=self._clock.now(),
            mono_ns=self._clock.monotonic_ns(),
            after_open=piece.after_open,
            overlong=piece.overlong,
            cut=cut,
        )

    def _change(self, link: Link, detail: str = "") -> LinkChange:
        return LinkChange(self.name, link, self._clock.now(), self._clock.monotonic_ns(), detail)


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
