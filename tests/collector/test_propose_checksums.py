"""Checksums are found in records that others published, and none is seen where there is none."""

import binascii

import pytest

from collector.listen.catalogue import CRC_8, CRC_16, checksums
from collector.listen.cut import cuts
from collector.listen.heard import Heard, read_about

# Captures of two dust sensors: github.com/avaldebe/PyPMS, tests/captured_data/PMSx003.hexdump and SDS01x.hexdump.
PMS = [
    "42 4d 00 1c 00 00 00 08 00 08 00 00 00 08 00 08 00 d2 00 46 00 2d 00 1e 00 00 00 00 97 00 02 c5",
    "42 4d 00 1c 00 00 00 07 00 07 00 00 00 07 00 07 00 d2 00 46 00 2d 00 1e 00 00 00 00 97 00 02 c1",
    "42 4d 00 1c 00 00 00 06 00 06 00 00 00 06 00 06 00 b4 00 3c 00 1d 00 15 00 00 00 00 97 00 02 7c",
]
SDS = ["aa c0 06 00 06 00 58 d9 3d ab", "aa c0 09 00 09 00 58 d9 43 ab", "aa c0 08 00 08 00 58 d9 41 ab"]
# What a ship's receiver sent (downloads.psl.noaa.gov, ATOMIC_2020, gps02001420_raw.txt).
SHIP = [b"$GPHDT,74.20,T*34\r\n", b"$GPHDT,75.24,T*31\r\n", b"$GPZDA,195959.00,14,01,2020,00,00*6A\r\n"]


def found(bursts):
    heard = Heard(tuple(bursts), tuple(map(read_about, ("1", "2", "3"))))
    return [(name, one) for cut in cuts(heard)[0] for name, one in checksums(cut)]


# The catalogue of parametrised CRC algorithms publishes for each what it gives over 123456789; written down from memory.
CHECKS = {
    "SMBUS": 0xF4, "ITU": 0xA1, "ROHC": 0xD0, "MAXIM": 0xA1, "NRSC-5": 0xF7, "J1850": 0x4B, "AUTOSAR": 0xDF, "DARC": 0x15,
    "CDMA2000": 0xDA, "WCDMA": 0x25, "XMODEM": 0x31C3, "IBM-3740": 0x29B1, "SPI-FUJITSU": 0xE5CC, "GENIBUS": 0xD64E,
    "KERMIT": 0x2189, "X-25": 0x906E, "ARC": 0xBB3D, "MODBUS": 0x4B37, "USB": 0xB4C8, "UMTS": 0xFEE8, "DNP": 0xEA82,
}  # fmt: skip


@pytest.mark.parametrize(("width", "name"), [(8, name) for name in CRC_8] + [(16, name) for name in CRC_16])
def test_crc_of_the_catalogue_gives_its_published_check(width, name):
    crc = (CRC_8 if width == 8 else CRC_16)[name]

    assert crc.of(b"123456789", width) == CHECKS[name]


def test_crc_of_the_standard_library_is_in_the_catalogue():
    assert CRC_16["XMODEM"].of(b"a torque record", 16) == binascii.crc_hqx(b"a torque record", 0)


def test_sum_of_a_dust_sensor_is_found_over_all_before_it():
    ((name, one),) = found(map(bytes.fromhex, PMS))

    assert (name, one.byte_order, one.size) == ("sum of 16 bits", "big", 2)


def test_sum_before_a_stop_byte_is_found_without_the_start_mark():
    ((name, one),) = found(map(bytes.fromhex, SDS))

    assert (name, one.size, one.includes_start) == ("sum of 8 bits", 1, False)


def test_xor_of_a_ships_receiver_is_found_behind_its_star():
    ((name, one),) = found(SHIP)

    assert (name, one.behind, one.includes_start, one.includes_mark) == ("XOR", b"*", False, False)


@pytest.mark.parametrize(
    "bursts",
    [
        pytest.param([SHIP[0], SHIP[1], SHIP[2].replace(b"6A", b"6B")], id="one-record-does-not-fit"),
        pytest.param([SHIP[0], SHIP[0], SHIP[1]], id="only-two-records-differ"),
    ],
)
def test_sum_that_does_not_fit_at_least_three_records_and_all_of_them_is_none(bursts):
    assert found(bursts) == []
