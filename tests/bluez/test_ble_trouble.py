"""What can be wrong with Bluetooth, each told in one line that says what to do next."""

import asyncio
import subprocess
import sys
import threading
from dataclasses import replace

import pytest

from collector.acquire.ble_error import BleError, BleTrouble
from collector.acquire.ble_search import scan
from schemas.errors import SourceReason
from schemas.words import Link
from sim.bluez.bus import BUS_VARIABLE
from sim.bluez.peripheral import FaultError, Peripheral
from sim.bluez.radio import Radio

# Another program that connects and listens, says so, and then waits to be told to go, or breaks off without a word.
OTHER_PROGRAM = """\
import asyncio, os, sys
from bleak import BleakClient, BleakScanner

async def main():
    device = await BleakScanner.find_device_by_address("C0:FF:EE:00:53:01", timeout=15)
    async with BleakClient(device) as client:
        await client.start_notify("6e400003-b5a3-f393-e0a9-e50e24dcca9e", lambda *_: None)
        print("listens", flush=True)
        await asyncio.to_thread(sys.stdin.read)
        os._exit(0)

asyncio.run(main())
"""


class Tries:
    """Has a source try again only when it is allowed to."""

    def __init__(self):
        self._waits = threading.Event()
        self._allowed = asyncio.Semaphore(0)

    async def wait(self, _):
        self._loop = asyncio.get_running_loop()
        self._waits.set()
        await self._allowed.acquire()

    def allow_one(self):
        assert self._waits.wait(20)
        self._loop.call_soon_threadsafe(self._allowed.release)


@pytest.fixture
def other_program(radio):
    """Another program of this computer that is connected to the wrench."""
    program = subprocess.Popen(
        [sys.executable, "-c", OTHER_PROGRAM], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    assert program.stdout.readline() == b"listens\n"
    yield program
    program.communicate(timeout=20)


@pytest.fixture
def refused(new_source):
    def refused(where="WRENCH-1", **more):
        with pytest.raises(BleError) as caught:
            new_source(where, **more).open()
        assert len(str(caught.value).splitlines()) == 1
        return caught.value

    return refused


def test_wrench_out_of_reach_is_named_with_what_was_seen_instead(radio, wrench, refused, quick):
    radio.add(Peripheral("C0:FF:EE:00:53:09", "SCALE-9"))
    wrench.is_near = False

    error = refused(times=replace(quick, search_s=1))

    assert (error.reason, error.trouble) == (SourceReason.MISSING, BleTrouble.NOT_SEEN)
    assert str(error) == (
        "wrench `WRENCH-1` was not seen in 1 s; wake it, bring it near, and end its connection to a phone or another computer;"
        " seen instead: SCALE-9 (C0:FF:EE:00:53:09)"
    )


def test_two_of_one_name_are_never_guessed_between(radio, refused, quick):
    scan(0.3)  # the one is known by its name when the other comes, which gives its own a little later
    radio.add(Peripheral("C0:FF:EE:00:53:02", "WRENCH-1"))

    error = refused(times=replace(quick, settle_s=3600))

    assert error.trouble is BleTrouble.SEVERAL
    assert str(error) == (
        "`WRENCH-1` is more than one device: WRENCH-1 (C0:FF:EE:00:53:01), WRENCH-1 (C0:FF:EE:00:53:02);"
        " name the one that is meant by its address, ble:ADDRESS"
    )


def test_another_wrench_of_that_name_never_takes_the_place_of_the_one_that_was_lost(radio, wrench, start, quick):
    run = start(times=replace(quick, search_s=1))
    radio.add(Peripheral("C0:FF:EE:00:53:02", "WRENCH-1"))
    wrench.is_near = False
    radio.drop(wrench)

    run.change(Link.LOST)
    said = run.change(Link.LOST)
    wrench.is_near = True

    assert "wrench `WRENCH-1 (C0:FF:EE:00:53:01)` was not seen" in said
    assert said.endswith("seen instead: WRENCH-1 (C0:FF:EE:00:53:02)")
    assert "C0:FF:EE:00:53:01" in run.change(Link.BACK)


def test_adapter_that_is_off_is_told(bus, wrench, refused):
    with Radio(bus.address, wrench, is_powered=False):
        error = refused()

    assert (error.reason, error.trouble) == (SourceReason.MISSING, BleTrouble.OFF)
    assert str(error) == "Bluetooth is switched off; switch it on (on Linux `bluetoothctl power on`)"


def test_computer_without_an_adapter_is_told(bus, wrench, refused):
    with Radio(bus.address, wrench, has_adapter=False):
        error = refused()

    assert error.trouble is BleTrouble.NO_ADAPTER
    assert str(error) == "this computer has no Bluetooth adapter for such wrenches; plug one in"


def test_computer_without_a_bluetooth_service_is_told(bus, refused):
    error = refused()

    assert error.trouble is BleTrouble.NO_SERVICE
    assert str(error).startswith("the Bluetooth service of this computer does not answer; start it")


def test_computer_without_a_message_bus_is_told(monkeypatch, tmp_path, bus, refused):
    monkeypatch.setenv(BUS_VARIABLE, f"unix:path={tmp_path}/none")

    assert refused().trouble is BleTrouble.NO_SERVICE


def test_adapter_switched_off_and_on_under_a_run_is_told_and_waited_for(radio, wrench, start):
    run = start()

    radio.power(False)
    told = [run.change(Link.LOST), run.change(Link.LOST)]
    radio.power(True)
    run.change(Link.BACK)
    radio.send(wrench, b"@one\r\n")

    assert "went out of reach" in told[0]
    assert "is switched off" in told[1]
    assert run.frame().raw == b"@one"


def test_service_that_was_killed_is_noticed_although_it_says_nothing(radio, wrench, start, quick):
    # https://github.com/hbldh/bleak/pull/2012: the link looks as if it were up for ever.
    tries = Tries()
    run = start(times=replace(quick, idle_s=0.05), wait=tries.wait)

    radio.kill()
    told = [run.change(Link.LOST)]
    tries.allow_one()
    told.append(run.change(Link.LOST))
    radio.start()
    tries.allow_one()  # one try is enough: what the new service does not know of is not believed to be connected
    run.change(Link.BACK)
    radio.send(wrench, b"@one\r\n")

    assert "no longer answers" in told[0]
    assert "does not answer; start it" in told[1]
    assert run.frame().raw == b"@one"


@pytest.mark.parametrize("refuses", [False, True], ids=["answers", "refuses-to-be-read"])
def test_quiet_wrench_that_is_there_is_not_given_up(radio, wrench, start, quick, refuses):
    wrench.refuses_reads = refuses
    run = start(times=replace(quick, idle_s=0.01))

    asked = [wrench.reads.acquire(timeout=20) for _ in range(3)]
    radio.send(wrench, b"@one\r\n")

    assert all(asked)
    assert run.frame().raw == b"@one"


def test_message_bus_that_ends_under_a_run_is_told(bus, radio, start):
    run = start()

    bus.stop()

    run.change(Link.LOST)
    assert "does not answer; start it" in run.change(Link.LOST)
    run.stop()
    run.change(Link.ENDED)


def test_wrench_that_wants_to_be_paired_is_told(radio, wrench, refused):
    wrench.wants_pairing = True

    error = refused()

    assert (error.reason, error.trouble) == (SourceReason.PERMISSION, BleTrouble.PAIRING)
    assert str(error) == (
        "wrench `WRENCH-1 (C0:FF:EE:00:53:01)` wants to be paired first; pair it once in the system's settings"
        " (on Linux `bluetoothctl pair` with its address)"
    )
    assert not radio.is_connected(wrench)


def test_wrench_that_refuses_the_pairing_is_told(radio, wrench, refused):
    wrench.connect_error = FaultError("AuthenticationFailed", "Authentication Failed")

    assert refused().trouble is BleTrouble.PAIRING


def test_wrench_that_never_answers_is_told_and_given_back(radio, wrench, refused, quick):
    wrench.is_mute = True

    error = refused(times=replace(quick, call_s=0.2))

    assert error.trouble is BleTrouble.NO_ANSWER
    assert "does not answer; wake it" in str(error)
    assert not radio.is_connected(wrench)


def test_wrench_without_the_characteristics_is_told_with_those_it_has(bus, refused):
    wrench = Peripheral("C0:FF:EE:00:53:01", "WRENCH-1", notify="0000fff1-0000-1000-8000-00805f9b34fb")
    with Radio(bus.address, wrench):
        error = refused()

    assert (error.reason, error.trouble) == (SourceReason.NOT_READABLE, BleTrouble.NOT_SUCH)
    assert str(error) == (
        "wrench `WRENCH-1 (C0:FF:EE:00:53:01)` has no characteristic 6e400003-b5a3-f393-e0a9-e50e24dcca9e that notifies;"
        " name in the wire format one of: 0000fff1-0000-1000-8000-00805f9b34fb"
    )


@pytest.mark.parametrize("drops", [1, 2], ids=["once", "twice"])
def test_connection_that_drops_before_it_is_ready_is_tried_again(radio, wrench, start, drops):
    # https://github.com/hbldh/bleak/issues/1489
    wrench.fails_discovery = drops

    run = start()
    radio.send(wrench, b"@one\r\n")

    assert run.frame().raw == b"@one"


def test_wrench_that_another_program_listens_to_is_left_to_it(radio, wrench, other_program, refused):
    error = refused()

    assert (error.reason, error.trouble) == (SourceReason.BUSY, BleTrouble.HELD)
    assert str(error) == (
        "wrench `WRENCH-1 (C0:FF:EE:00:53:01)` is in use by another program on this computer; close that program"
    )
    assert radio.is_connected(wrench)
    assert radio.listeners(wrench) == 1


def test_wrench_that_a_broken_off_run_has_left_connected_is_taken_over(radio, wrench, other_program, start):
    # https://github.com/hbldh/bleak/issues/992: it does not advertise, so no search would ever find it.
    other_program.communicate(timeout=20)
    assert radio.is_connected(wrench)

    run = start()
    radio.send(wrench, b"@one\r\n")

    assert run.frame().raw == b"@one"
    assert radio.listeners(wrench) == 1
