"""A wrench over Bluetooth: how it is found, its link lost and taken up again, its end."""

import asyncio
import threading
from dataclasses import replace

import pytest

from collector.acquire.ble_search import scan
from schemas.frame import Frame
from schemas.words import Link
from sim.bluez.peripheral import Peripheral

PATIENCE_S = 20


def test_closing_before_a_run_gives_the_wrench_back_and_the_run_ends_at_once(radio, new_source, wrench):
    source = new_source("service=" + wrench.service)
    source.open()
    handed = []

    source.close()
    source.run(handed.append)

    # Closed before it ran: what it was opened for is given up, and the end is told all the same.
    assert [change.link for change in handed] == [Link.ENDED]
    assert not radio.is_connected(wrench)


@pytest.mark.parametrize(
    "where",
    [
        pytest.param("WRENCH-1", id="name"),
        pytest.param("c0:ff:ee:00:53:01", id="address-in-small-letters"),
        pytest.param("service=6E400001-B5A3-F393-E0A9-E50E24DCCA9E", id="service-in-capitals"),
    ],
)
def test_wrench_is_found_by_name_by_address_and_by_service(radio, wrench, start, where):
    radio.add(Peripheral("C0:FF:EE:00:53:09", "SCALE-9", service="0000fff0-0000-1000-8000-00805f9b34fb"))
    run = start(where)

    radio.send(wrench, b"@one\r\n")

    assert "C0:FF:EE:00:53:01" in run.opened
    assert run.frame().raw == b"@one"


def test_two_wrenches_are_looked_for_and_read_side_by_side(radio, wrench, new_source, start):
    # https://github.com/hbldh/bleak/issues/1689: of two searches at once one fails.
    other = Peripheral("C0:FF:EE:00:53:02", "WRENCH-2")
    radio.add(other)
    sources = [new_source("WRENCH-1"), new_source("WRENCH-2")]
    opening = [threading.Thread(target=source.open) for source in sources]
    for thread in opening:
        thread.start()
    for thread in opening:
        thread.join(PATIENCE_S)
    first, second = (start(source=source) for source in sources)

    for _ in range(20):
        radio.send(wrench, b"@first, and longer than a packet\r\n")
        radio.send(other, b"@second, and longer than a packet\r\n")
    radio.drop(wrench)
    radio.send(other, b"@last\r\n")

    assert [first.frame().raw for _ in range(20)] == [b"@first, and longer than a packet"] * 20
    assert [second.frame().raw for _ in range(21)] == [b"@second, and longer than a packet"] * 20 + [b"@last"]
    first.change(Link.LOST)


def test_lost_link_is_taken_up_again_and_joins_no_halves(radio, wrench, start):
    run = start()
    radio.send(wrench, b"@one\r\n@W-140;00")
    assert run.frame().raw == b"@one"

    radio.drop(wrench)
    half, lost, back = run.frame(), run.change(Link.LOST), run.change(Link.BACK)
    radio.send(wrench, b"42;95.2\r\n@two\r\n")

    assert (half.raw, half.cut) == (b"@W-140;00", True)
    assert lost == "wrench `WRENCH-1 (C0:FF:EE:00:53:01)` went out of reach; wake it and bring it near, it is waited for"
    assert back == "connected to WRENCH-1 (C0:FF:EE:00:53:01)"
    first, second = run.frame(), run.frame()
    assert (first.raw, first.after_open, first.cut) == (b"42;95.2", True, False)
    assert (second.raw, second.after_open) == (b"@two", False)


def test_records_come_once_however_often_the_link_was_lost(radio, wrench, start):
    # https://github.com/hbldh/bleak/issues/2002: each link that is not given up before the next one adds a copy.
    run = start()
    frames, listeners = [], []

    for number in (1, 2, 3):
        radio.send(wrench, b"@%d\r\n@end\r\n" % number)
        frames += [run.frame().raw, run.frame().raw]
        listeners.append(radio.listeners(wrench))
        radio.drop(wrench)
        run.change(Link.LOST)
        run.change(Link.BACK)

    assert frames == [b"@1", b"@end", b"@2", b"@end", b"@3", b"@end"]
    assert listeners == [1, 1, 1]


def test_wrench_that_the_service_was_told_to_forget_is_found_again(radio, wrench, start):
    run = start()

    radio.remove(wrench)

    run.change(Link.LOST)
    run.change(Link.BACK)
    radio.send(wrench, b"@one\r\n")
    assert run.frame().raw == b"@one"


def test_closing_ends_a_run_keeps_the_half_line_and_gives_the_wrench_back(radio, wrench, start):
    run = start()
    radio.send(wrench, b"@one\r\n@ha")
    assert run.frame().raw == b"@one"

    run.stop()

    half = run.frame()
    assert (half.raw, half.cut) == (b"@ha", True)
    run.change(Link.ENDED)
    assert not radio.is_connected(wrench)


def test_closing_leaves_nothing_behind_that_had_come(radio, wrench, new_source):
    handed, taken, go_on = [], threading.Event(), threading.Event()

    def put(event):
        handed.append(event)
        if isinstance(event, Frame) and not taken.is_set():
            taken.set()
            assert go_on.wait(PATIENCE_S)

    source = new_source()
    source.open()
    thread = threading.Thread(target=source.run, args=(put,))
    thread.start()
    radio.send(wrench, b"@one\r\n")
    assert taken.wait(PATIENCE_S)

    radio.send(wrench, b"@two\r\n@three\r\n")
    source.close()
    go_on.set()
    thread.join(PATIENCE_S)

    assert [event.raw for event in handed if isinstance(event, Frame)] == [b"@one", b"@two", b"@three"]


def test_closing_ends_a_run_that_looks_for_its_wrench(radio, wrench, start, quick):
    run = start(times=replace(quick, search_s=3600))
    wrench.is_near = False
    radio.drop(wrench)
    run.change(Link.LOST)

    run.stop()

    run.change(Link.ENDED)


def test_wait_grows_while_there_is_nothing_to_connect_to_and_that_is_told_once(radio, start, quick):
    waited = []
    enough = threading.Event()

    async def wait(seconds):
        waited.append(seconds)
        if len(waited) == 5:
            enough.set()
            await asyncio.Event().wait()

    run = start(times=replace(quick, retry_s=(0.1, 0.5, 2.0)), wait=wait)
    radio.power(False)

    assert enough.wait(PATIENCE_S)
    run.stop()

    assert waited == [0.1, 0.5, 2.0, 2.0, 2.0]
    told = [run.change(Link.LOST), run.change(Link.LOST)]
    run.change(Link.ENDED)
    assert "went out of reach" in told[0]
    assert "is switched off" in told[1]


def test_scan_lists_what_is_near_the_strongest_first(radio, wrench):
    radio.add(Peripheral("C0:FF:EE:00:53:09", "SCALE-9"))

    found = scan(0.5)

    assert [(one.address, one.name, one.services) for one in sorted(found, key=lambda one: one.address)] == [
        ("C0:FF:EE:00:53:01", "WRENCH-1", (wrench.service,)),
        ("C0:FF:EE:00:53:09", "SCALE-9", (wrench.service,)),
    ]
    assert all(-60 < one.rssi_dbm < -40 for one in found)
