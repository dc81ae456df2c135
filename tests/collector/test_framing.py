"""Lines come out of a stream the same, however it is cut."""

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.acquire.framing import LineFramer, Piece

LONGEST = 8


def framed(chunks: list[bytes], longest: int = LONGEST) -> list[Piece]:
    framer = LineFramer(longest)
    return [piece for chunk in chunks for piece in framer.feed(chunk)] + framer.flush()


@pytest.mark.parametrize(
    "stream",
    [
        pytest.param([b"one\rtwo\r"], id="cr"),
        pytest.param([b"one\ntwo\n"], id="lf"),
        pytest.param([b"one\r\ntwo\r\n"], id="cr-lf"),
        pytest.param([b"one\n\rtwo\n\r"], id="lf-cr"),
        pytest.param([b"one\r", b"\ntwo\r", b"\n"], id="cr-lf-cut-in-two"),
        pytest.param([b"one\r\n\r\n\n\ntwo\r"], id="empty-lines-between"),
        pytest.param([b"o", b"n", b"e", b"\r", b"two", b"", b"\n"], id="byte-by-byte"),
    ],
)
def test_every_line_end_gives_the_same_lines(stream: list[bytes]) -> None:
    assert framed(stream) == [Piece(b"one", after_open=True), Piece(b"two")]


def test_line_without_an_end_is_held_back_until_the_flush() -> None:
    framer = LineFramer(LONGEST)

    assert framer.feed(b"one\nhal") == [Piece(b"one", after_open=True)]
    assert framer.flush() == [Piece(b"hal")]
    assert framer.flush() == []


def test_line_end_first_of_all_shows_that_the_next_line_is_whole() -> None:
    assert framed([b"\r\none\r\n"]) == [Piece(b"one")]


def test_line_of_just_the_longest_length_is_whole() -> None:
    assert framed([b"12345678\nx\n"]) == [Piece(b"12345678", after_open=True), Piece(b"x")]


def test_overlong_line_comes_in_marked_parts_and_the_next_line_is_clean() -> None:
    assert framed([b"x\n1234567812345678123\nnext\n"]) == [
        Piece(b"x", after_open=True),
        Piece(b"12345678", overlong=True),
        Piece(b"12345678", overlong=True),
        Piece(b"123", overlong=True),
        Piece(b"next"),
    ]


def test_stream_without_any_line_end_is_not_held_in_memory() -> None:
    framer = LineFramer(LONGEST)

    pieces = [piece for _ in range(1000) for piece in framer.feed(b"\0" * 100)]

    assert sum(len(piece.raw) for piece in pieces) >= 1000 * 100 - LONGEST
    assert all(piece.overlong for piece in pieces)


lines_and_noise = st.lists(st.sampled_from([b"\r", b"\n", b"a", b"bc", b"defghijkl"]), max_size=60).map(b"".join)


@given(stream=lines_and_noise, cuts=st.lists(st.integers(0, 200)))
def test_any_cut_of_a_stream_gives_the_same_pieces(stream: bytes, cuts: list[int]) -> None:
    edges = [0, *sorted(min(cut, len(stream)) for cut in cuts), len(stream)]
    chunks = [stream[start:end] for start, end in itertools.pairwise(edges)]

    assert framed(chunks) == framed([stream])


@given(stream=st.binary(max_size=200))
def test_every_byte_that_is_no_line_end_comes_out_once_and_in_order(stream: bytes) -> None:
    pieces = framed([stream])

    assert b"".join(piece.raw for piece in pieces) == re.sub(rb"[\r\n]", b"", stream)
    assert all(0 < len(piece.raw) <= LONGEST for piece in pieces)
