"""What a wrench sends over Bluetooth, in whatever packets, and what it is asked."""

from datetime import UTC, datetime
from functools import partial

from collector.acquire.framing import LineFramer, Piece
from schemas.bluetooth import BleCharacteristics
from schemas.words import Link
from sim.bluez.peripheral import Peripheral
from sim.bluez.radio import Radio


def test_lines_come_as_frames_with_their_time(radio, wrench, start):
    run = start()
    radio.send(wrench, b"@one\r\n@two\r\n")

    first, second = run.frame(), run.frame()

    assert (first.raw, first.after_open, first.overlong, first.cut, first.line) == (b"@one", True, False, False, None)
    assert (second.raw, second.after_open) == (b"@two", False)
    assert first.source == run.source.name == "ble:WRENCH-1"
    assert first.received_at == datetime(2026, 3, 2, 9, tzinfo=UTC)
    assert first.mono_ns < second.mono_ns


def test_line_cut_into_notifications_anywhere_is_the_same_line(radio, wrench, start):
    line = b"@W-140;0042;95.2;Nm;;ok"
    run = start()

    for at in range(len(line) + 3):
        sent = line + b"\r\n"
        radio.notify(wrench, sent[:at], sent[at:])

    assert [run.frame().raw for _ in range(len(line) + 3)] == [line] * (len(line) + 3)


def test_records_over_several_notifications_are_joined_and_the_one_that_never_ends_is_cut(radio, wrench, start):
    # The packets of the reports at apache/mynewt-nimble 552 and PhilipsHue/flutter_reactive_ble 783, with made-up values.
    run = start()

    radio.notify(wrench, b"#1,24.9,Nm,OK*", b"2B\r\n#2,10", b"8.0,Nm,OK", b"*1E\r\n", b"#3,25.")
    radio.drop(wrench)

    frames = [run.frame() for _ in range(3)]
    assert [(frame.raw, frame.cut) for frame in frames] == [
        (b"#1,24.9,Nm,OK*2B", False),
        (b"#2,108.0,Nm,OK*1E", False),
        (b"#3,25.", True),
    ]
    run.change(Link.LOST)


def test_burst_comes_whole_and_in_order(radio, wrench, start):
    sent = [b"@%04d;95.2;Nm;some more of it" % number for number in range(250)]
    run = start()

    radio.send(wrench, b"\r\n".join(sent) + b"\r\n")

    assert [run.frame().raw for _ in sent] == sent


def test_longer_packets_of_a_newer_radio_are_taken(bus, start):
    wrench = Peripheral("C0:FF:EE:00:53:01", "WRENCH-1", mtu=247)
    with Radio(bus.address, wrench) as radio:
        run = start()
        radio.send(wrench, b"@one\r\n" * 80)
        frames = [run.frame().raw for _ in range(80)]
        run.stop()

    assert frames == [b"@one"] * 80


def test_empty_notification_is_nothing_not_even_a_silence(radio, wrench, start):
    class Told(LineFramer):
        def feed(self, data):
            return [Piece(data)]

        def quiet(self):
            return [Piece(b"silence")]

    run = start(framer=partial(Told, 60))

    radio.notify(wrench, b"@o", b"", b"ne")

    assert [run.frame().raw, run.frame().raw] == [b"@o", b"ne"]


def test_silence_is_told_to_a_framing_that_goes_by_it(radio, wrench, start):
    class BySilence(LineFramer):
        silence_s = 0.01
        held = b""

        def feed(self, data):
            self.held += data
            return []

        def quiet(self):
            held, self.held = self.held, b""
            return [Piece(held)]

    run = start(framer=partial(BySilence, 60))
    radio.notify(wrench, b"@one")

    assert run.frame().raw == b"@one"


def test_wrench_is_asked_at_each_connection_and_its_answer_is_not_missed(radio, wrench, start):
    # https://github.com/hbldh/bleak/issues/374: what is sent before it is listened to is lost.
    wrench.memory = b"@one\r\n@two, which is longer than a packet\r\n"
    run = start(speaks=BleCharacteristics(ask=b"SEND MEMORY, ALL OF IT\r"))
    frames = [run.frame().raw, run.frame().raw]
    radio.drop(wrench)
    run.change(Link.LOST)
    run.change(Link.BACK)
    frames += [run.frame().raw, run.frame().raw]

    assert frames == [b"@one", b"@two, which is longer than a packet"] * 2
    assert wrench.written == [b"SEND MEMORY, ALL OF IT\r"] * 2


def test_wrench_that_confirms_nothing_is_asked_in_packets(bus, start):
    wrench = Peripheral("C0:FF:EE:00:53:01", "WRENCH-1", write_flags=("write-without-response",))
    with Radio(bus.address, wrench):
        start(speaks=BleCharacteristics(ask=b"SEND MEMORY, ALL OF IT\r")).stop()

    assert wrench.written == [b"SEND MEMORY, ALL OF ", b"IT\r"]


def test_other_characteristics_may_be_named(bus, start):
    speaks = BleCharacteristics(
        service="0000fff0-0000-1000-8000-00805f9b34fb",
        notify="0000fff1-0000-1000-8000-00805f9b34fb",
        write="0000fff2-0000-1000-8000-00805f9b34fb",
        ask=b"?",
    )
    wrench = Peripheral("C0:FF:EE:00:53:01", "WRENCH-1", speaks.service, speaks.write, speaks.notify)
    with Radio(bus.address, wrench) as radio:
        run = start(speaks=speaks)
        radio.send(wrench, b"@one\r\n")
        frame = run.frame()
        run.stop()

    assert (frame.raw, wrench.written) == (b"@one", [b"?"])
