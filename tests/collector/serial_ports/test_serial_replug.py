"""A cable that is pulled out and put back, at any byte, under any name, with whatever pyserial says meanwhile."""

import queue
import re
import termios

import pytest
import serial

from collector.acquire.framing import LineFramer
from schemas.frame import Frame
from schemas.words import Link

PATIENCE_S = 10
LINES = [b"@W-140;0042;95.2;Nm", b"@W-140;0043;96.0;Nm"]
STREAM = b"".join(line + b"\r\n" for line in LINES)
NO_DATA = "device reports readiness to read but returned no data (device disconnected or multiple access on port?)"


class Heard:
    """Framers that tell how much they were given, so that a test pulls the cable when everything sent has been read.

    What the kernel still holds when a port goes is lost with it (measured), so it must not be pulled before.
    """

    def __init__(self):
        self._given = queue.Queue()

    def framer(self):
        given = self._given

        class Telling(LineFramer):
            def feed(self, data):
                pieces = super().feed(data)
                given.put(len(data))
                return pieces

        return Telling(40)

    def wait_for(self, count):
        while count > 0:
            count -= self._given.get(timeout=PATIENCE_S)
        assert count == 0


@pytest.mark.parametrize("cut_at", range(len(STREAM) + 1))
def test_cable_pulled_at_any_byte_loses_nothing_that_came_and_joins_no_halves(port, new_source, new_run, cut_at):
    heard = Heard()
    run = new_run(new_source(framer=heard.framer))
    port.send(STREAM[:cut_at])
    heard.wait_for(cut_at)

    port.pull()
    before, _ = run.frames_until(Link.LOST)
    port.plug()
    run.link(Link.BACK)
    port.send(STREAM[cut_at:] + b"@last\r\n")
    after = []
    while not after or not after[-1].raw.endswith(b"@last"):
        after.append(run.frame())

    came = [part for part in re.split(rb"[\r\n]+", STREAM[:cut_at]) if part]
    later = STREAM[cut_at:] + b"@last"
    rest = [part for part in re.split(rb"[\r\n]+", later) if part]
    assert [frame.raw for frame in before] == came
    assert [frame.raw for frame in after] == rest
    # Exactly the half that was begun is marked as cut. The first piece after the return is marked as a possible tail, but
    # where the port came back to the end of a line.
    assert [frame.cut for frame in before] == [False] * (len(came) - 1) + [STREAM[:cut_at][-1:] not in b"\r\n"] * bool(came)
    assert [frame.after_open for frame in after] == [later[:1] not in b"\r\n"] + [False] * (len(rest) - 1)
    assert not any(frame.cut for frame in after)


def test_gap_is_told_with_what_happened_and_how_long_it_was(port, run):
    port.pull()
    lost = run.link(Link.LOST)
    port.plug()
    back = run.link(Link.BACK)

    assert lost.detail == f"port `{port.path}` went away; plug it in again"
    # The clock here goes on by half a second a call: from when the port was missed to when it was open again, three.
    assert back.detail == "after 1.0 s"
    assert back.mono_ns > lost.mono_ns


def test_loss_and_return_are_told_once_each_time(port, run):
    told = []
    for _ in range(3):
        port.pull()
        told.append(run.link().link)
        port.plug()
        told.append(run.link().link)

    assert told == [Link.LOST, Link.BACK] * 3


def test_port_that_stays_away_is_told_once_however_often_it_is_tried(port, new_source, new_run):
    tries = []

    def wait(_seconds):
        tries.append(1)
        if len(tries) == 10:
            port.plug()

    run = new_run(new_source(wait=wait))

    port.pull()

    run.link(Link.LOST)
    run.link(Link.BACK)
    assert len(tries) == 10


def test_adapter_that_comes_back_under_another_name_is_found(port, listed, new_port, new_source, new_run):
    listed.append(port.listed(serial="A7"))
    run = new_run(new_source())

    listed.clear()
    port.pull()
    run.link(Link.LOST)
    other = new_port("wrench-later")
    listed.append(other.listed(serial="A7", socket="1-2"))
    back = run.link(Link.BACK)
    other.send(b"@one\r\n")

    assert back.detail.endswith(f" as `{other.path}`")
    assert run.frame().source == f"serial:{port.path}"


def test_two_adapters_that_change_names_keep_their_wrenches(port, listed, new_port, new_source, new_run):
    # Reported of ttyUSB0 and ttyUSB1 that changed places, and data that went to the wrong device:
    # https://github.com/victronenergy/venus/issues/1680
    first, second = port, new_port("wrench-b")
    listed += [first.listed(serial="A7"), second.listed(serial="B8", socket="1-2")]
    runs = [new_run(new_source(str(first.path))), new_run(new_source(str(second.path)))]
    first.send(b"W-01;25.0\r\n")
    second.send(b"W-02;90.0\r\n")
    day_1 = [run.frame() for run in runs]

    listed.clear()
    for one, run in zip((first, second), runs, strict=True):
        one.pull()
        run.link(Link.LOST)
    second.plug()
    first.plug()
    listed += [second.listed(serial="A7"), first.listed(serial="B8", socket="1-2")]
    back = [run.link(Link.BACK) for run in runs]
    second.send(b"W-01;25.2\r\n")
    first.send(b"W-02;90.5\r\n")
    day_2 = [run.frame() for run in runs]

    assert [(frame.source, frame.raw) for frame in day_1 + day_2] == [
        (f"serial:{first.path}", b"W-01;25.0"),
        (f"serial:{second.path}", b"W-02;90.0"),
        (f"serial:{first.path}", b"W-01;25.2"),
        (f"serial:{second.path}", b"W-02;90.5"),
    ]
    assert f"as `{second.path}`" in back[0].detail
    assert f"as `{first.path}`" in back[1].detail


def test_port_named_by_its_adapter_is_found_whatever_its_name(port, listed, new_source, new_run):
    listed.append(port.listed(serial="A7"))

    run = new_run(new_source("usb=1209:0001:A7"))
    port.send(b"@one\r\n")

    assert run.opened.detail == f"as `{port.path}`"
    assert run.frame().source == run.source.name == "serial:usb=1209:0001:A7"


def test_other_adapter_under_the_old_name_is_not_read_and_what_to_do_is_told_once(port, listed, new_source, new_run):
    listed.append(port.listed(serial="A7"))
    run = new_run(new_source())

    listed[:] = [port.listed(serial="B8")]
    port.pull()
    run.link(Link.LOST)
    port.plug()
    waiting = run.link(Link.LOST)
    listed[:] = [port.listed(serial="A7")]

    assert waiting.detail == (
        f"waiting: {port.path} (usb=1209:0001:B8) is another adapter than the one before (usb=1209:0001:A7);"
        " plug in the one before where it was, or quit and begin again"
    )
    run.link(Link.BACK)


@pytest.mark.parametrize("where", ["read", "close", "open", "dtr", "fileno"])
@pytest.mark.parametrize(
    "error",
    [
        pytest.param(OSError(5, "Input/output error"), id="OSError"),
        pytest.param(termios.error(5, "Input/output error"), id="termios.error"),
        pytest.param(TypeError("'NoneType' object cannot be interpreted as an integer"), id="TypeError"),
        pytest.param(ValueError("file descriptor cannot be a negative integer"), id="ValueError"),
    ],
)
def test_whatever_pyserial_raises_of_a_port_that_goes_the_port_is_taken_up_again(port, new_source, new_run, where, error):
    # All four were measured with pyserial 3.5, none of them at every call; here each comes at each call.
    faults = []

    def fail(name):
        if name in faults:
            faults.remove(name)
            raise error

    class Faulty(serial.Serial):
        def open(self):
            fail("open")
            super().open()

        def read(self, size=1, /):
            if size:
                fail("read")
            return super().read(size)

        def close(self):
            super().close()
            fail("close")

        def fileno(self):
            fail("fileno")
            return super().fileno()

        @property
        def dtr(self):
            return False

        @dtr.setter
        def dtr(self, _value):
            fail("dtr")

    def opener(url, do_not_open, **more):
        made = Faulty(**more)
        made.port = url
        return made

    run = new_run(new_source(opener=opener))
    faults += ["read", where] if where != "read" else ["read"]
    port.send(b"\n")  # wakes the read that is going on, so that the next one fails
    lost = run.link(Link.LOST)
    run.link(Link.BACK)
    port.send(b"@one\r\n")

    assert f"went away ({error}); plug it in again" in lost.detail
    assert run.frame().raw == b"@one"
    assert faults == []


def test_byte_read_just_before_the_port_went_is_kept(new_source, new_run):
    # `in_waiting` of a port that went raises a bare OSError. The moment between the two calls cannot be met from outside,
    # so a port that goes right there is put in its place.
    class GoesBetween(serial.Serial):
        def open(self):
            self.left = [b"@"]

        def read(self, size=1, /):
            if not self.left:
                raise serial.SerialException(NO_DATA)
            return self.left.pop()

        @property
        def in_waiting(self):
            raise OSError(5, "Input/output error")

    run = new_run(new_source(opener=lambda _url, **_options: GoesBetween(), retry_s=(3600,)))

    (half,), _ = run.frames_until(Link.LOST)
    assert (half.raw, half.cut) == (b"@", True)


def test_port_that_is_there_and_is_lost_again_at_once_has_another_reader(port, new_source, new_run):
    # pyserial says the same of both, so one time may be a cable.
    class ReadByAnother(serial.Serial):
        def open(self):
            pass

        def read(self, size=1, /):
            raise serial.SerialException(NO_DATA)

    run = new_run(new_source(opener=lambda _url, **_options: ReadByAnother()))

    lost = [run.link(link).detail for link in (Link.LOST, Link.BACK) * 2][::2]

    assert lost[0] == f"port `{port.path}` went away; plug it in again"
    assert lost[1].startswith(f"another program is reading port `{port.path}` too, and takes bytes")
    assert lost[1].endswith("; close that program")


def test_each_session_has_a_framer_of_its_own(port, new_source, new_run):
    made = []
    run = new_run(new_source(framer=lambda: made.append(LineFramer(40)) or made[-1]))
    asked_before = len(made)

    port.pull()
    run.link(Link.LOST)
    port.plug()
    run.link(Link.BACK)
    port.send(b"@one\r\n")

    assert isinstance(run.next(), Frame)
    assert len(made) == asked_before + 1
