"""What is typed becomes frames line by line; blank lines are counted, answers go elsewhere, nothing typed is lost."""

import io
import os
import threading
from functools import partial

import pytest

from collector.acquire.framing import LineFramer
from collector.acquire.keys import KeysSource
from schemas.errors import SourceError
from schemas.frame import Frame
from schemas.words import Link


@pytest.fixture(name="keyboard")
def _keyboard(stepped_clock):
    class Keyboard:
        """A pipe that is typed into; `lines` and `links` are what the source hands over."""

        def __init__(self, longest=40, is_mixed=lambda _: False):
            far, self.near = os.pipe()
            self.stream = os.fdopen(far, "r")
            self.answers, self.put = [], []
            self.came = threading.Semaphore(0)
            framer = partial(LineFramer, longest)
            self.source = KeysSource(self.stream, stepped_clock, framer, self.answers.append, is_mixed)

        def type(self, *parts):
            for part in parts:
                os.write(self.near, part)

        def run(self, *parts):
            """Everything that a typing of these parts brings, to its end."""
            self.type(*parts)
            os.close(self.near)
            self.source.open()
            self.source.run(self.put.append)
            self.stream.close()
            return self.put

        @property
        def lines(self):
            return [one.raw for one in self.put if isinstance(one, Frame)]

    return Keyboard


def test_lines_come_between_open_and_ended(keyboard):
    typed = keyboard()

    first, *frames, last = typed.run(b"J-01 24.9\nJ-02 25.1\r\n")

    assert (first.link, last.link, last.detail) == (Link.OPEN, Link.ENDED, "")
    assert [(one.source, one.raw, one.after_open, one.cut) for one in frames] == [
        ("keys:", b"J-01 24.9", False, False),
        ("keys:", b"J-02 25.1", False, False),
    ]


def test_blank_lines_are_counted_and_are_no_frames(keyboard):
    typed = keyboard()

    events = typed.run(b"J-01 24.9\n\n \t\n\r\nJ-02 25.1\n")

    assert typed.lines == [b"J-01 24.9", b"J-02 25.1"]
    assert events[-1].detail == "3 empty lines ignored"


def test_one_blank_line_is_one(keyboard):
    assert keyboard().run(b"\n")[-1].detail == "1 empty line ignored"


def test_a_line_may_come_sign_by_sign(keyboard):
    typed = keyboard()

    typed.run(*(bytes([byte]) for byte in b"J-01 24.9\n/s\nJ-02 25.1\n"))

    assert (typed.lines, typed.answers) == ([b"J-01 24.9", b"J-02 25.1"], ["s"])


def test_a_line_may_end_as_the_instrument_ends_it(keyboard):
    typed = keyboard()

    events = typed.run(b"J-01 24.9\rJ-02 25.1\r\n/s\r")

    assert (typed.lines, typed.answers, events[-1].detail) == ([b"J-01 24.9", b"J-02 25.1"], ["s"], "")


def test_a_line_end_that_comes_in_two_halves_is_one(keyboard):
    typed = keyboard()
    later = [lambda: os.close(typed.near), lambda: typed.type(b"\nJ-02 25.1\n")]
    typed.type(b"J-01 24.9\r")

    def put(one):
        typed.put.append(one)
        if isinstance(one, Frame):
            later.pop()()

    typed.source.run(put)
    typed.stream.close()

    assert (typed.lines, typed.put[-1].detail) == ([b"J-01 24.9", b"J-02 25.1"], "")


def test_an_answer_that_the_instrument_typed_into_is_kept_and_answers_nothing(keyboard):
    typed = keyboard(is_mixed=lambda line: b"@" in line)

    _, frame, _ = typed.run(b"/yes Mi@J-01;24.9\n/yes Mira\n")

    assert (frame.raw, frame.after_open) == (b"/yes Mi@J-01;24.9", True)
    assert typed.answers == ["yes Mira"]


def test_an_answer_goes_to_nobody_else(keyboard):
    typed = keyboard()

    typed.run("J-01 24.9\n/yes Zoë Lead\n/\nJ-02 25.1\n".encode())

    assert (typed.lines, typed.answers) == ([b"J-01 24.9", b"J-02 25.1"], ["yes Zoë Lead", ""])


def test_a_line_without_its_enter_is_cut(keyboard):
    *_, frame, _ = keyboard().run(b"J-01 24.9\nJ-02 2")

    assert (frame.raw, frame.cut) == (b"J-02 2", True)


def test_a_line_that_is_too_long_comes_whole_in_marked_parts(keyboard):
    typed = keyboard(40_000)
    rubbish = b"x" * 50_000

    writer = threading.Thread(target=lambda: (typed.type(rubbish, rubbish, b"/q\nJ-02 25.1\n"), os.close(typed.near)))
    writer.start()
    typed.source.run(typed.put.append)
    writer.join()
    typed.stream.close()

    *parts, last = (one for one in typed.put if isinstance(one, Frame))
    assert b"".join(one.raw for one in parts) == rubbish * 2 + b"/q"
    assert all(one.overlong for one in parts)
    assert (last.raw, last.overlong, typed.answers) == (b"J-02 25.1", False, [])


def test_what_was_typed_before_the_source_is_closed_is_handed_over(keyboard):
    typed = keyboard()
    came = threading.Event()
    reader = threading.Thread(target=typed.source.run, args=(lambda one: (typed.put.append(one), came.set()),))
    reader.start()
    came.wait(10)
    came.clear()
    typed.type(b"J-01 24.9\n")
    came.wait(10)

    typed.source.close()
    reader.join(10)
    os.close(typed.near)
    for thread in (thread for thread in threading.enumerate() if thread.name == "keys"):
        thread.join(10)
    typed.stream.close()

    assert not reader.is_alive()
    assert typed.lines == [b"J-01 24.9"]
    assert typed.put[-1].link is Link.ENDED


@pytest.mark.parametrize("stream", [None, "closed"], ids=["none", "closed"])
def test_without_anything_to_type_into_it_is_one_line(stepped_clock, stream):
    if stream:
        stream = io.StringIO()
        stream.close()
    source = KeysSource(stream, stepped_clock, partial(LineFramer, 40), lambda line: None)

    with pytest.raises(SourceError, match="standard input is closed, so nothing can be typed; start this in a terminal"):
        source.open()
