"""Reads single characters from a real terminal, on a thread of its own, and gives the terminal back as it was."""

import sys
import threading
from collections.abc import Callable
from typing import TextIO

if sys.platform == "win32":  # pragma: no cover: no Windows console in the tests
    import msvcrt

    LOOK_S = 0.05

    class _Terminal:
        """The Windows console, which needs no other mode and cannot be waited for together with a wake-up."""

        def __init__(self, stream: TextIO) -> None:
            self._closed = threading.Event()

        def read(self) -> str:
            while not self._closed.is_set():
                if not msvcrt.kbhit():
                    self._closed.wait(LOOK_S)
                    continue
                key = msvcrt.getwch()
                # A function key comes as one of these two with a code behind it; à comes alone.
                if key in "\x00\xe0" and msvcrt.kbhit():
                    msvcrt.getwch()
                    continue
                return key
            return ""

        def wake(self) -> None:
            self._closed.set()

        def release(self) -> None:
            self._closed.set()

    def _is_in_background(descriptor: int) -> bool:
        return False

else:
    import codecs
    import os
    import select
    import termios
    import tty
    from contextlib import suppress

    # Long enough for the rest of an arrow key over a slow line, too short for two presses.
    ESCAPE_S = 0.05

    class _Terminal:
        """A POSIX terminal without echo and line editing, until released; Ctrl-C stays a signal."""

        def __init__(self, stream: TextIO) -> None:
            self._descriptor = stream.fileno()
            self._decoder = codecs.getincrementaldecoder("utf-8")("replace")
            self._lock = threading.Lock()
            self._is_released = False
            self._saved = termios.tcgetattr(self._descriptor)
            self._woken, self._waker = os.pipe()
            # What was typed before there was anything to see is thrown away: it cannot have been an answer.
            tty.setcbreak(self._descriptor, termios.TCSAFLUSH)

        def read(self) -> str:
            """What was typed together, after waiting for it; empty when woken, released, or the terminal is gone."""
            text = ""
            if self._is_released:  # closed by what it handed the last key to
                return text
            while not text or text.endswith("\x1b"):
                ready, _, _ = select.select([self._descriptor, self._woken], [], [], ESCAPE_S if text else None)
                if self._woken in ready:
                    return ""
                if not ready:
                    break
                data = self._typed()
                if not data:
                    return text
                text += self._decoder.decode(data)
            return text

        def wake(self) -> None:
            """Make a waiting read return."""
            with self._lock:
                if not self._is_released:
                    os.write(self._waker, b"\0")

        def release(self) -> None:
            """Give the terminal its former mode back; a second time does nothing."""
            with self._lock:
                if self._is_released:
                    return
                self._is_released = True
                with suppress(termios.error):
                    termios.tcsetattr(self._descriptor, termios.TCSANOW, self._saved)
                os.close(self._woken)
                os.close(self._waker)

        def _typed(self) -> bytes:
            with suppress(OSError):  # a terminal that was closed at its other end
                return os.read(self._descriptor, 1024)
            return b""

    def _is_in_background(descriptor: int) -> bool:
        """Whether a change of the terminal's mode would stop us, because a shell put us in the background."""
        with suppress(OSError):
            return os.tcgetpgrp(descriptor) != os.getpgrp()
        return False


def has_keyboard(stream: TextIO | None) -> bool:
    """Whether somebody can type into that stream: a terminal, open, and ours to read from."""
    if stream is None or stream.closed or not stream.isatty():
        return False
    return not _is_in_background(stream.fileno())


class Keyboard:
    """What is typed, handed on at once.

    Args:
        put: gets what was typed together, mostly one character; called on the keyboard's thread.
        stream: a terminal, such as `sys.stdin`, that nobody else reads from meanwhile.
    """

    def __init__(self, put: Callable[[str], object], stream: TextIO) -> None:
        self._put = put
        self._stream = stream
        self._terminal: _Terminal | None = None
        self._thread: threading.Thread | None = None

    def open(self) -> None:
        """Start to read; does nothing where `has_keyboard` says no."""
        if not has_keyboard(self._stream):
            return
        self._terminal = _Terminal(self._stream)
        self._thread = threading.Thread(target=self._run, args=(self._terminal,), name="keyboard", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop at once and give the terminal back; may be called twice, and from `put`."""
        if self._terminal is None or self._thread is None:
            return
        self._terminal.wake()
        if self._thread is not threading.current_thread():
            self._thread.join()
        self._terminal.release()

    def _run(self, terminal: _Terminal) -> None:
        try:
            while text := terminal.read():
                self._put(text)
        finally:
            terminal.release()
