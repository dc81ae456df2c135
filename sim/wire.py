"""The wire between wrench and collector: a pseudo-terminal pair, or one loopback connection where there are none."""

import os
import random
import socket
import sys
from collections.abc import Iterator
from typing import Protocol

if sys.platform != "win32":
    import pty
    import tty

ACCEPT_S = 10.0
_LONGEST_PIECE = 7


class Wire(Protocol):
    """One end of a wire; the other end is what pyserial opens under `url`."""

    @property
    def url(self) -> str:
        """What pyserial opens: a device path or a URL."""

    def send(self, data: bytes) -> None:
        """Put bytes on the wire; OSError where it is closed."""

    def close(self) -> None:
        """Pull the wire out; more than once does no harm."""


def open_wire(pieces: random.Random | None = None) -> Wire:
    """The wire that this system has: a pseudo-terminal, on Windows a loopback connection.

    With `pieces` every send goes out in pieces of random length, so that lines are cut anywhere.
    """
    return SocketWire(pieces) if sys.platform == "win32" else PtyWire(pieces)


def spoil(line: bytes) -> bytes:
    """The same line with the top bit of its middle byte knocked over: no ASCII any more, and no new line end."""
    middle = len(line.rstrip(b"\r\n")) // 2
    return line[:middle] + bytes([line[middle] ^ 0x80]) + line[middle + 1 :]


class PtyWire:
    """A raw pseudo-terminal pair; `url` is the path of the end that the collector opens."""

    def __init__(self, pieces: random.Random | None = None) -> None:
        self._pieces = pieces
        if sys.platform == "win32":
            raise OSError("this system has no pseudo-terminals; use a SocketWire")
        # The far end stays open here too: else the wire would hang up each time the collector lets go.
        self._near, self._far = pty.openpty()
        tty.setraw(self._far)  # or the line discipline would echo and change what is sent
        self._url = os.ttyname(self._far)
        self._open = True

    @property
    def url(self) -> str:
        """The device path of the far end."""
        return self._url

    def send(self, data: bytes) -> None:
        """Put bytes on the wire; OSError where it is closed."""
        if not self._open:
            raise OSError(f"the wire {self._url} is closed")
        for piece in _cut(data, self._pieces):
            sent = 0
            while sent < len(piece):
                sent += os.write(self._near, piece[sent:])

    def close(self) -> None:
        """Pull the wire out; more than once does no harm."""
        if self._open:
            self._open = False
            os.close(self._near)
            os.close(self._far)


class SocketWire:
    """One connection on loopback, taken at the first send; `url` is what pyserial opens."""

    def __init__(self, pieces: random.Random | None = None) -> None:
        self._pieces = pieces
        self._server = socket.create_server(("127.0.0.1", 0))
        self._server.settimeout(ACCEPT_S)
        self._port: int = self._server.getsockname()[1]
        self._peer: socket.socket | None = None

    @property
    def url(self) -> str:
        """`socket://`, the loopback address and the port that the system chose."""
        return f"socket://127.0.0.1:{self._port}"

    def send(self, data: bytes) -> None:
        """Put bytes on the wire, to whoever connected; OSError where it is closed or nobody connects in time."""
        if self._peer is None:
            self._peer, _address = self._server.accept()
            # Or the system would put small pieces together and hold them back.
            self._peer.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        for piece in _cut(data, self._pieces):
            self._peer.sendall(piece)

    def close(self) -> None:
        """Pull the wire out; more than once does no harm."""
        if self._peer is not None:
            self._peer.close()
        self._server.close()


def _cut(data: bytes, pieces: random.Random | None) -> Iterator[bytes]:
    if pieces is None:
        yield data
        return
    while data:
        length = pieces.randint(1, _LONGEST_PIECE)
        yield data[:length]
        data = data[length:]
