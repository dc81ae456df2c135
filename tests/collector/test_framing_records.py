"""Records come out of a stream the same, however it is cut, and a damaged one costs no other."""

import itertools
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.acquire.framing import Framer, Piece, framer_of
from schemas.wire_checksum import Checksum
from schemas.wire_format import Framing, WireFormat

XOR = Checksum("xor", 1, written="binary")


def wire(framing: Framing, longest: int = 12, **more: Any) -> WireFormat:
    return WireFormat("made", "latin-1", ",", ("torque",), longest, framing=framing, **more)


MARKS = wire(Framing("marks", start=b"\x02", stop=b"\x03"))
MARKS_AND_SUM = wire(Framing("marks", start=b"\x02", stop=b"\x03"), checksum=Checksum("sum", 2, after_stop=True))
TWO_BYTE_MARKS = wire(Framing("marks", start=b"AB", stop=b"CD"))
LENGTH = wire(Framing("length", start=b"AB", length=5), 5, checksum=XOR)
LENGTH_AND_STOP = wire(Framing("length", start=b"A", stop=b"Z", length=4), 4)
LENGTH_AND_SILENCE = wire(Framing("length", length=4, silence_s=0.1), 4)
SILENCE = wire(Framing("silence", silence_s=0.05), 6)
LINE_AND_SUM = wire(Framing(), begins="A", checksum=Checksum("sum", 2))
ALL = {
    "marks": MARKS,
    "marks-and-sum": MARKS_AND_SUM,
    "two-byte-marks": TWO_BYTE_MARKS,
    "length": LENGTH,
    "length-and-stop": LENGTH_AND_STOP,
    "length-and-silence": LENGTH_AND_SILENCE,
    "silence": SILENCE,
    "line-and-sum": LINE_AND_SUM,
}


def framed(made: WireFormat, *chunks: bytes) -> list[Piece]:
    framer = framer_of(made)
    return [piece for chunk in chunks for piece in framer.feed(chunk)] + framer.flush()


def raws(made: WireFormat, *chunks: bytes) -> list[bytes]:
    return [piece.raw for piece in framed(made, *chunks)]


def held(framer: Framer, stream: bytes) -> int:
    given = sum(len(piece.raw) for piece in framer.feed(stream))
    return len(stream) - given


def xored(content: bytes) -> bytes:
    return content + bytes([content[0] ^ content[1]])


@pytest.mark.parametrize(
    ("made", "stream", "pieces"),
    [
        pytest.param(MARKS, b"\x02one\x03\x02two\x03", [b"\x02one\x03", b"\x02two\x03"], id="marks"),
        pytest.param(MARKS, b"x\x02one\x03y\x02two\x03z", [b"x", b"\x02one\x03", b"y", b"\x02two\x03", b"z"], id="between"),
        pytest.param(MARKS, b"\x02on\x02two\x03", [b"\x02on", b"\x02two\x03"], id="second-start-before-the-stop"),
        pytest.param(MARKS, b"\x03\x02one\x03", [b"\x03", b"\x02one\x03"], id="stop-without-a-start"),
        pytest.param(MARKS, b"\r\n\x02one\x03\r\n\x02two\x03\n", [b"\x02one\x03", b"\x02two\x03"], id="line-ends-between"),
        pytest.param(
            MARKS_AND_SUM, b"\x02a\x0361\r\n\x02b\x0362\r", [b"\x02a\x0361", b"\x02b\x0362"], id="line-end-behind-a-sum"
        ),
        pytest.param(MARKS, b"x\r\n\x02one\x03", [b"x\r\n", b"\x02one\x03"], id="line-end-behind-noise"),
        pytest.param(TWO_BYTE_MARKS, b"AxABcCDAB", [b"Ax", b"ABcCD", b"AB"], id="marks-of-two-bytes"),
        pytest.param(MARKS_AND_SUM, b"\x02a\x0361\x02b\x0362", [b"\x02a\x0361", b"\x02b\x0362"], id="sum-behind-the-stop"),
        pytest.param(MARKS_AND_SUM, b"\x02a\x036\x02b\x0362", [b"\x02a\x036", b"\x02b\x0362"], id="sum-cut-short"),
        pytest.param(MARKS_AND_SUM, b"\x02a\x0300\x02b\x0362", [b"\x02a\x0300", b"\x02b\x0362"], id="sum-wrong"),
        pytest.param(LENGTH, b"ABxy\x01ABzz\x00", [b"ABxy\x01", b"ABzz\x00"], id="length"),
        pytest.param(LENGTH, b"qABxy\x01AqABzz\x00", [b"q", b"ABxy\x01", b"Aq", b"ABzz\x00"], id="between-lengths"),
        pytest.param(LENGTH, b"ABABxy\x01", [b"AB", b"ABxy\x01"], id="false-start-right-before-a-record"),
        pytest.param(LENGTH, b"ABxABzz\x00", [b"ABx", b"ABzz\x00"], id="two-bytes-lost"),
        pytest.param(LENGTH, b"ABxy\x09ABzz\x00", [b"ABxy\x09", b"ABzz\x00"], id="checksum-wrong"),
        pytest.param(LENGTH, b"ABAB\x03ABzz\x00", [b"ABAB\x03", b"ABzz\x00"], id="start-mark-as-data"),
        pytest.param(LENGTH, b"ABxyAABzz\x00", [b"ABxy", b"A", b"ABzz\x00"], id="may-begin-at-the-last-byte"),
        pytest.param(LENGTH_AND_STOP, b"AbcZAdeZ", [b"AbcZ", b"AdeZ"], id="stop-in-its-place"),
        pytest.param(LENGTH_AND_STOP, b"AbAdeZ", [b"Ab", b"AdeZ"], id="stop-not-in-its-place"),
        pytest.param(LINE_AND_SUM, b"\xf8\xf8AxB8\r\n\xf8AyB9\n", [b"\xf8\xf8", b"AxB8", b"\xf8", b"AyB9"], id="noise-in-a-line"),
        pytest.param(LINE_AND_SUM, b"AxAyB9\n", [b"Ax", b"AyB9"], id="two-lines-ran-together"),
    ],
)
def test_records_are_found_and_no_other_byte_is_lost(made: WireFormat, stream: bytes, pieces: list[bytes]) -> None:
    assert raws(made, stream) == pieces


def test_false_start_in_noise_does_not_cost_the_record_behind_it() -> None:
    assert b"ABzz\x00" in raws(LENGTH, b"\xf8ABq" + b"ABzz\x00")


def test_record_without_a_stop_is_given_out_at_the_longest_and_the_next_is_clean() -> None:
    assert framed(MARKS, b"\x02" + b"a" * 20 + b"\x02b\x03") == [
        Piece(b"\x02" + b"a" * 11, after_open=True, overlong=True),
        Piece(b"a" * 9),
        Piece(b"\x02b\x03"),
    ]


def test_silence_ends_a_record() -> None:
    framer = framer_of(SILENCE)

    assert framer.silence_s == 0.05
    assert framer.feed(b"25") == framer.feed(b".1") == []
    assert framer.quiet() == [Piece(b"25.1", after_open=True)]
    assert framer.quiet() == []
    assert framer.feed(b"26") + framer.quiet() == [Piece(b"26")]
    assert framer.feed(b"27") + framer.flush() == [Piece(b"27")]


def test_silence_before_the_first_byte_shows_that_the_first_record_is_whole() -> None:
    framer = framer_of(SILENCE)

    assert framer.quiet() + framer.feed(b"25") + framer.quiet() == [Piece(b"25")]


def test_more_than_the_longest_between_two_silences_comes_in_marked_parts() -> None:
    framer = framer_of(SILENCE)

    assert framer.feed(b"123456789") + framer.quiet() == [
        Piece(b"123456", after_open=True, overlong=True),
        Piece(b"789", after_open=True, overlong=True),
    ]
    assert framer.feed(b"1") + framer.quiet() == [Piece(b"1")]


def test_silence_puts_records_of_one_length_in_step_again() -> None:
    framer = framer_of(LENGTH_AND_SILENCE)

    assert framer.feed(b"cde") + framer.quiet() == [Piece(b"cde", after_open=True)]
    assert framer.feed(b"abcdabcd") + framer.quiet() == [Piece(b"abcd"), Piece(b"abcd")]
    assert framer.feed(b"ab") + framer.quiet() + framer.feed(b"abcd") == [Piece(b"ab"), Piece(b"abcd")]


def test_records_without_a_start_mark_are_doubtful_until_a_silence() -> None:
    framer = framer_of(LENGTH_AND_SILENCE)

    assert [piece.after_open for piece in framer.feed(b"abcdabcd")] == [True, True]


def test_silence_says_nothing_where_the_format_does_not_go_by_it() -> None:
    for made in (MARKS, LENGTH, LINE_AND_SUM):
        framer = framer_of(made)

        assert framer.silence_s is None
        assert framer.feed(b"A") + framer.quiet() == []


signs = st.sampled_from([b"\x02", b"\x03", b"A", b"B", b"AB", b"CD", b"Z", b"\r", b"\n", b"x", b"\x02a\x0361", xored(b"xy")])
streams = st.lists(signs, max_size=40).map(b"".join)


@given(made=st.sampled_from(list(ALL.values())), stream=streams, cuts=st.lists(st.integers(0, 80)))
def test_any_cut_of_a_stream_gives_the_same_pieces(made: WireFormat, stream: bytes, cuts: list[int]) -> None:
    edges = [0, *sorted(min(cut, len(stream)) for cut in cuts), len(stream)]

    assert framed(made, *(stream[start:end] for start, end in itertools.pairwise(edges))) == framed(made, stream)


@given(made=st.sampled_from(list(ALL.values())), stream=streams)
def test_every_byte_that_is_no_line_end_comes_out_once_and_in_order(made: WireFormat, stream: bytes) -> None:
    pieces = framed(made, stream)

    given = b"".join(piece.raw for piece in pieces)
    assert given.translate(None, b"\r\n") == stream.translate(None, b"\r\n")
    assert given == stream or made.framing.by in ("line", "marks")
    assert all(0 < len(piece.raw) <= made.longest for piece in pieces)


@pytest.mark.parametrize("made", [pytest.param(made, id=name) for name, made in ALL.items()])
@pytest.mark.parametrize(
    "sign",
    [
        pytest.param(b"\x02", id="start"),
        pytest.param(b"A", id="other-start"),
        pytest.param(b"x", id="data"),
        pytest.param(b"\x03", id="stop"),
    ],
)
def test_bytes_held_are_bounded(made: WireFormat, sign: bytes) -> None:
    assert held(framer_of(made), sign * 1000) <= 2 * made.longest


@given(stream=streams, noise=st.binary(max_size=20))
def test_whole_record_comes_out_of_any_noise(stream: bytes, noise: bytes) -> None:
    record = b"\x02ok\x03"

    assert record in raws(MARKS, noise + record + stream)
