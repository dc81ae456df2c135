"""Checksums give the published check values, and are written and compared as a format says."""

import binascii

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.wire_checksum import Checksum, Crc
from schemas.wire_format import Framing, WireFormat
from schemas.wire_record import fits, record_parts

CHECKED = b"123456789"


# The catalogue of parametrised CRC algorithms (reveng.sourceforge.io/crc-catalogue), check values over 123456789.
@pytest.mark.parametrize(
    ("width", "crc", "check"),
    [
        pytest.param(8, Crc(0x07), 0xF4, id="CRC-8/SMBUS"),
        pytest.param(8, Crc(0x31, refin=True, refout=True), 0xA1, id="CRC-8/MAXIM-DOW"),
        pytest.param(8, Crc(0x07, xorout=0x55), 0xA1, id="CRC-8/I-432-1"),
        pytest.param(16, Crc(0x8005, 0xFFFF, refin=True, refout=True), 0x4B37, id="CRC-16/MODBUS"),
        pytest.param(16, Crc(0x1021, 0xFFFF), 0x29B1, id="CRC-16/IBM-3740"),
        pytest.param(16, Crc(0x1021), 0x31C3, id="CRC-16/XMODEM"),
        pytest.param(16, Crc(0x1021, refin=True, refout=True), 0x2189, id="CRC-16/KERMIT"),
        pytest.param(16, Crc(0x1021, 0xFFFF, refin=True, refout=True, xorout=0xFFFF), 0x906E, id="CRC-16/IBM-SDLC"),
    ],
)
def test_crc_gives_the_published_check_value(width: int, crc: Crc, check: int) -> None:
    assert Checksum("crc", width // 4, width, crc).of(CHECKED) == check


@given(data=st.binary(max_size=300), init=st.integers(0, 0xFFFF))
def test_crc_of_16_bits_is_that_of_the_standard_library(data: bytes, init: int) -> None:
    assert Crc(0x1021, init).of(data, 16) == binascii.crc_hqx(data, init)


@pytest.mark.parametrize(
    ("checksum", "value"),
    [
        pytest.param(Checksum("sum", 2), 0xDD, id="sum-8"),
        pytest.param(Checksum("sum", 4, 16), 0x01DD, id="sum-16"),
        pytest.param(Checksum("xor", 2), 0x31, id="xor"),
    ],
)
def test_sum_and_xor_are_plain(checksum: Checksum, value: int) -> None:
    # 49 + 50 + … + 57 = 477 = 0x1DD; the digits 1 to 9 XORed leave 0x31.
    assert checksum.of(CHECKED) == value


@pytest.mark.parametrize(
    ("checksum", "sent"),
    [
        pytest.param(Checksum("sum", 4, 16), b"01DD", id="hex"),
        pytest.param(Checksum("sum", 4, 16), b"01dd", id="hex-in-small-letters"),
        pytest.param(Checksum("sum", 5, 16, written="decimal"), b"00477", id="decimal"),
        pytest.param(Checksum("sum", 2, 16, written="binary"), b"\x01\xdd", id="binary-big"),
        pytest.param(Checksum("sum", 2, 16, written="binary", byte_order="little"), b"\xdd\x01", id="binary-little"),
    ],
)
def test_checksum_is_compared_as_it_is_written(checksum: Checksum, sent: bytes) -> None:
    assert checksum.fits(CHECKED, sent)
    assert not checksum.fits(CHECKED + b"0", sent)


LINE = {"longest": 40, "begins": "$"}
STX = {"longest": 40, "framing": Framing("marks", b"\x02", b"\x03")}


@pytest.mark.parametrize(
    ("layout", "checksum", "raw", "covered"),
    [
        pytest.param(LINE, Checksum("xor", 2, behind=b"*"), b"$ab*xx", b"ab", id="between"),
        pytest.param(LINE, Checksum("xor", 2, behind=b"*", includes_start=True), b"$ab*xx", b"$ab", id="with-start"),
        pytest.param(LINE, Checksum("xor", 2, behind=b"*", includes_mark=True), b"$ab*xx", b"ab*", id="with-mark"),
        pytest.param(LINE, Checksum("xor", 2), b"$a*b*xx", b"a*b*", id="no-mark"),
        pytest.param(STX, Checksum("xor", 2), b"\x02abxx\x03", b"ab", id="in-front-of-the-stop"),
        pytest.param(STX, Checksum("xor", 2, after_stop=True), b"\x02ab\x03xx", b"ab", id="after-stop"),
        pytest.param(STX, Checksum("xor", 2, after_stop=True, includes_mark=True), b"\x02ab\x03xx", b"ab\x03", id="with-stop"),
    ],
)
def test_what_is_summed_is_what_the_format_says(layout: dict, checksum: Checksum, raw: bytes, covered: bytes) -> None:
    wire = WireFormat("made", "ascii", ",", ("torque",), checksum=checksum, **layout)

    assert record_parts(wire, raw).covered == covered
    assert not fits(wire, raw)
    assert fits(wire, raw.replace(b"xx", f"{checksum.of(covered):02x}".encode()))


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(b"", id="empty"),
        pytest.param(b"\x02\x03", id="too-short-for-its-checksum"),
        pytest.param(b"\x0200", id="no-stop"),
        pytest.param(b"ab\x03xx", id="no-start"),
    ],
)
def test_record_without_its_marks_is_not_whole(raw: bytes) -> None:
    wire = WireFormat("made", "ascii", ",", ("torque",), checksum=Checksum("xor", 2, after_stop=True), **STX)

    assert not record_parts(wire, raw).is_whole
    assert not fits(wire, raw)
