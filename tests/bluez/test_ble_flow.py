"""From the radio to the record: what a wrench sends again counts once, and a job is done over the installed program."""

import struct
from binascii import crc_hqx
from functools import partial

import pytest

from collector.acquire.framing import framer_of
from collector.cli.main import main
from collector.cli.wire_named import read_wire
from schemas.bluetooth import BleCharacteristics

PLAN = """\
plan: tow-bar
title: Tow bar, side bolts
revision: "1"
source: Shop sheet 7
unit: N·m
tolerance: 10 %
joints:
  - {id: side-bolts, name: Side bolts, fasteners: 2, torque: 100}
"""
SENT_AGAIN = "the wrench sent a pull again that is stored already; not counted twice"


def plain_line(number, torque):
    return f"@W-7;{number};{torque};Nm;2026-03-02T08:15:3{number}+01:00;ok\r\n".encode()


def binary_record(number, hundredths):
    """The record of 28 bytes that the format's own comment describes, made here without it."""
    content = struct.pack("<8sIiBBBBI", b"W-7", number, hundredths, 1, 0, 80, 1, 1_772_435_730 + number)
    return b"\xa5\x5a" + content + struct.pack("<H", crc_hqx(content, 0xFFFF))


def read_back(recorder):
    readings = recorder.query("SELECT torque FROM reading")
    aside = recorder.query("SELECT fate, reason FROM not_read")
    return [torque for (torque,) in readings], aside


def test_memory_sent_again_after_a_reconnect_counts_once(radio, wrench, start, floor, recorder):
    bench = floor.bench(recorder)
    run = start(framer=partial(framer_of, bench.wire), speaks=BleCharacteristics(ask=b"MEMORY\r"))

    radio.send(wrench, plain_line(1, "49.5") + plain_line(2, "50.5"))
    radio.drop(wrench)
    events = [run.next() for _ in range(4)]
    radio.send(wrench, plain_line(1, "49.5") + plain_line(2, "50.5") + plain_line(3, "101.0"))
    events += [run.next() for _ in range(3)]
    floor.run(bench, *events)

    assert read_back(recorder) == (["49.5", "50.5", "101.0"], [("set aside", SENT_AGAIN)] * 2)
    assert wrench.written == [b"MEMORY\r"] * 2


def test_each_reconnect_may_add_a_copy_and_each_click_counts_once(radio, wrench, start, floor, recorder):
    # Three clicks, delivered once, twice and three times, as in the reports at Navideck/universal_ble 15,
    # pauldemarco/flutter_blue 525 and aritchie/bluetoothle 367; the values are made up.
    bench = floor.bench(recorder)
    bench.wire = read_wire("schemas/wire/binary-record.yaml")
    run = start(framer=partial(framer_of, bench.wire))
    events = []

    for number, hundredths in ((1, 2490), (2, 2500), (3, 2510)):
        for _ in range(number):
            radio.send(wrench, binary_record(number, hundredths))
        events += [run.next() for _ in range(number)]
        radio.drop(wrench)
        events += [run.next(), run.next()]
    floor.run(bench, *events)

    assert read_back(recorder) == (["24.90", "25.00", "25.10"], [("set aside", SENT_AGAIN)] * 3)


@pytest.fixture(name="shop")
def _shop(open_shop):
    return open_shop(PLAN, "W-7")


def test_job_over_bluetooth_outlives_a_lost_link_and_tells_of_it(radio, wrench, shop, collect):
    bench = collect(shop, "--from", "ble:WRENCH-1")
    bench.wait_for("connected to WRENCH-1")
    radio.send(wrench, plain_line(1, "99.0"))
    bench.wait_for("IN BAND")
    radio.send(wrench, b"@W-7;2;1")
    radio.drop(wrench)
    bench.wait_for("went out of reach")
    bench.wait_for("connected to WRENCH-1")
    radio.send(wrench, plain_line(1, "99.0") + plain_line(2, "101.0"))
    bench.wait_for("stripes: 2 of 2?")

    _, answer = bench.end()

    assert [row["torque_nm"] for row in answer["readings"]] == ["99.0", "101.0"]
    assert [row["raw"] for row in answer["unreadable"]] == ["@W-7;2;1"]
    assert [row["reason"] for row in answer["set_aside"]] == [SENT_AGAIN]
    assert answer["joints"][0]["proof"] == "doubtful"
    assert not any(word in "".join(bench.said) for word in ("Traceback", "bluetoothctl", "BlueZ"))
    assert not radio.is_connected(wrench)


def test_bluetooth_that_is_off_is_one_line(bus, shop, capsys):
    plan, database = shop

    assert main(["collect", plan, "--from", "ble:WRENCH-1", *database]) == 2

    looking, error = capsys.readouterr().err.splitlines()
    assert looking == "looking for ble:WRENCH-1, which may take a moment"
    assert error.startswith("witnessmark: the Bluetooth service of this computer does not answer; start it")
