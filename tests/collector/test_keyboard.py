"""The keyboard on a real pseudo-terminal: what is typed arrives at once, and the terminal is given back as it was."""

import errno
import io
import os
import queue
import select
import threading
from collections.abc import Iterator
from typing import TextIO

import pytest

from collector.cli.keyboard import Keyboard, has_keyboard

termios = pytest.importorskip("termios", reason="terminals of this kind are a thing of POSIX systems")

PATIENCE_S = 10


class PseudoTerminal:
    """A terminal, and the hand that types on it."""

    def __init__(self) -> None:
        self.hand, end = os.openpty()
        self.stream: TextIO = open(end, encoding="utf-8")  # noqa: SIM115 - closed by the fixture

    def type(self, data: bytes) -> None:
        os.write(self.hand, data)

    def hang_up(self) -> None:
        if self.hand >= 0:
            os.close(self.hand)
            self.hand = -1

    def mode(self) -> list[object]:
        return termios.tcgetattr(self.stream.fileno())

    def is_line_by_line(self) -> bool:
        return bool(self.mode()[3] & termios.ICANON)


@pytest.fixture
def terminal() -> Iterator[PseudoTerminal]:
    made = PseudoTerminal()
    yield made
    made.hang_up()
    made.stream.close()


@pytest.fixture
def typed() -> "queue.Queue[str]":
    return queue.Queue()


@pytest.fixture
def keyboard(terminal, typed) -> Iterator[Keyboard]:
    made = Keyboard(typed.put, terminal.stream)
    made.open()
    yield made
    made.close()


def keyboard_threads() -> list[threading.Thread]:
    return [thread for thread in threading.enumerate() if thread.name == "keyboard"]


def test_a_key_arrives_without_enter_and_is_not_echoed(terminal, typed, keyboard):
    terminal.type(b"n")

    assert typed.get(timeout=PATIENCE_S) == "n"
    assert not terminal.mode()[3] & termios.ECHO


def test_a_letter_of_two_bytes_that_come_apart_arrives_as_one(terminal, typed, keyboard):
    terminal.type(b"\xc3")
    terminal.type(b"\xb6")

    assert typed.get(timeout=PATIENCE_S) == "ö"


def test_bytes_that_are_no_text_do_no_harm(terminal, typed, keyboard):
    terminal.type(b"\xff")

    assert typed.get(timeout=PATIENCE_S) == "\ufffd"


def test_escape_alone_arrives_though_more_may_follow_it(terminal, typed, keyboard):
    terminal.type(b"\x1b")

    assert typed.get(timeout=PATIENCE_S) == "\x1b"


def test_an_arrow_key_arrives_in_one_piece(terminal, typed, keyboard):
    terminal.type(b"\x1bOA")

    assert typed.get(timeout=PATIENCE_S) == "\x1bOA"


def test_an_arrow_key_that_comes_apart_on_a_slow_line_arrives_in_one_piece(terminal, typed, keyboard, monkeypatch):
    monkeypatch.setattr("collector.cli.keyboard.ESCAPE_S", PATIENCE_S)
    escape_was_read = threading.Event()
    read = os.read

    def read_and_tell(descriptor: int, length: int) -> bytes:
        data = read(descriptor, length)
        escape_was_read.set()
        return data

    monkeypatch.setattr(os, "read", read_and_tell)
    terminal.type(b"\x1b")
    assert escape_was_read.wait(PATIENCE_S)
    terminal.type(b"OA")

    assert typed.get(timeout=PATIENCE_S) == "\x1bOA"


def test_close_gives_the_terminal_back_and_ends_the_thread(terminal, typed):
    before = terminal.mode()
    keyboard = Keyboard(typed.put, terminal.stream)

    keyboard.open()
    assert not terminal.is_line_by_line()
    keyboard.close()
    keyboard.close()

    assert terminal.mode() == before
    assert keyboard_threads() == []


def test_what_was_typed_before_it_opened_answers_nothing(terminal, typed):
    terminal.type(b"\n")
    # The kernel hands typed bytes over in its own time; only then can they be flushed.
    assert select.select([terminal.stream], [], [], PATIENCE_S)[0]
    keyboard = Keyboard(typed.put, terminal.stream)
    keyboard.open()
    try:
        terminal.type(b"q")

        assert typed.get(timeout=PATIENCE_S) == "q"
    finally:
        keyboard.close()


def test_closed_from_the_callable_it_ends_by_itself(terminal):
    keyboard = Keyboard(lambda text: keyboard.close(), terminal.stream)
    keyboard.open()
    (thread,) = keyboard_threads()

    terminal.type(b"q")
    thread.join(PATIENCE_S)

    assert not thread.is_alive()
    assert terminal.is_line_by_line()


def test_a_terminal_that_goes_away_ends_the_thread(terminal, typed, keyboard):
    (thread,) = keyboard_threads()

    terminal.hang_up()
    thread.join(PATIENCE_S)

    assert not thread.is_alive()
    assert typed.empty()


def test_a_terminal_that_cannot_be_read_ends_the_thread(terminal, typed, keyboard, monkeypatch):
    (thread,) = keyboard_threads()

    def fail(descriptor: int, length: int) -> bytes:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "read", fail)
    terminal.type(b"s")
    thread.join(PATIENCE_S)

    assert not thread.is_alive()
    assert typed.empty()


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_callable_that_fails_leaves_the_terminal_as_it_was(terminal):
    before = terminal.mode()

    def fail(text: str) -> None:
        raise RuntimeError(text)

    keyboard = Keyboard(fail, terminal.stream)
    keyboard.open()
    (thread,) = keyboard_threads()
    terminal.type(b"s")
    thread.join(PATIENCE_S)

    assert terminal.mode() == before
    keyboard.close()


def closed_stream() -> TextIO:
    stream = io.StringIO()
    stream.close()
    return stream


@pytest.mark.parametrize(
    "stream",
    [
        pytest.param(None, id="no-stream-at-all"),
        pytest.param(io.StringIO("n"), id="text-in-memory"),
        pytest.param(closed_stream(), id="closed"),
    ],
)
def test_only_a_terminal_is_a_keyboard(stream):
    assert not has_keyboard(stream)


def test_a_terminal_is_a_keyboard_but_not_from_the_background(terminal, monkeypatch):
    assert has_keyboard(terminal.stream)

    monkeypatch.setattr(os, "tcgetpgrp", lambda descriptor: os.getpgrp() + 1)

    assert not has_keyboard(terminal.stream)


def test_a_pipe_is_never_read_from(typed):
    reader, writer = os.pipe()
    with open(reader) as stream, open(writer, "w") as hand:
        keyboard = Keyboard(typed.put, stream)

        keyboard.open()
        hand.write("q")

        assert keyboard_threads() == []
        keyboard.close()
    assert typed.empty()
