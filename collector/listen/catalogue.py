"""The checksums that are tried, and the one that fits every record."""

from collections.abc import Iterator, Sequence

from collector.listen.cut import Cut
from schemas.wire_checksum import Checksum, Crc, Written
from schemas.wire_format import WireFormat
from schemas.wire_record import fits

FEWEST_RECORDS = 3
"""Fewer records that differ could fit by chance, so many sums are tried."""

CRC_8: dict[str, Crc] = {
    "SMBUS": Crc(0x07),
    "ITU": Crc(0x07, xorout=0x55),
    "ROHC": Crc(0x07, 0xFF, refin=True, refout=True),
    "MAXIM": Crc(0x31, refin=True, refout=True),
    "NRSC-5": Crc(0x31, 0xFF),
    "J1850": Crc(0x1D, 0xFF, xorout=0xFF),
    "AUTOSAR": Crc(0x2F, 0xFF, xorout=0xFF),
    "DARC": Crc(0x39, refin=True, refout=True),
    "CDMA2000": Crc(0x9B, 0xFF),
    "WCDMA": Crc(0x9B, refin=True, refout=True),
}
CRC_16: dict[str, Crc] = {
    "XMODEM": Crc(0x1021),
    "IBM-3740": Crc(0x1021, 0xFFFF),
    "SPI-FUJITSU": Crc(0x1021, 0x1D0F),
    "GENIBUS": Crc(0x1021, 0xFFFF, xorout=0xFFFF),
    "KERMIT": Crc(0x1021, refin=True, refout=True),
    "X-25": Crc(0x1021, 0xFFFF, refin=True, refout=True, xorout=0xFFFF),
    "ARC": Crc(0x8005, refin=True, refout=True),
    "MODBUS": Crc(0x8005, 0xFFFF, refin=True, refout=True),
    "USB": Crc(0x8005, 0xFFFF, refin=True, refout=True, xorout=0xFFFF),
    "UMTS": Crc(0x8005),
    "DNP": Crc(0x3D65, refin=True, refout=True, xorout=0xFFFF),
}
"""By the names that catalogues of CRCs use; parameters from memory, held to their published check values by a test."""


def checksums(cut: Cut) -> list[tuple[str, Checksum]]:
    """The checksums that fit every record, each with its name; none where fewer than 3 records differ."""
    records = list(dict.fromkeys(cut.every_record()))
    if len(records) < FEWEST_RECORDS:
        return []
    return [(name, sum_) for name, sum_ in _tried(cut, records) if all(fits(_bare(cut, sum_), one) for one in records)]


def content_of(cut: Cut, checksum: Checksum | None, record: bytes) -> bytes:
    """What stands in a record between its marks and before its checksum."""
    closing = b"" if checksum and checksum.after_stop else cut.framing.stop
    behind = 0
    if checksum:
        behind = checksum.size + len(cut.framing.stop if checksum.after_stop else checksum.behind)
    return record[len(cut.start) : len(record) - len(closing) - behind]


def _tried(cut: Cut, records: Sequence[bytes]) -> Iterator[tuple[str, Checksum]]:
    after_stop = cut.trailing > 0
    ways: list[Written] = ["hex", "decimal", "binary"] if cut.encoding else ["binary"]
    for name, kind in _kinds():
        for way in ways:
            size = {"hex": kind.width // 4, "decimal": 3 if kind.width == 8 else 5, "binary": kind.width // 8}[way]
            if (after_stop and size != cut.trailing) or (way == "binary" and cut.encoding and not after_stop):
                continue
            behind = b"" if after_stop or not cut.encoding else _mark_before(cut, records, size)
            for order in ("big", "little") if way == "binary" and size == 2 else ("big",):
                for includes_start in (False, True) if cut.start else (False,):
                    for includes_mark in (False, True) if behind or after_stop else (False,):
                        yield name, Checksum(
                            kind.kind, size, kind.width, kind.crc, way, "little" if order == "little" else "big", behind,
                            after_stop, includes_start, includes_mark,
                        )  # fmt: skip


def _kinds() -> Iterator[tuple[str, Checksum]]:
    yield "sum of 8 bits", Checksum("sum", 0, 8)
    yield "sum of 16 bits", Checksum("sum", 0, 16)
    yield "XOR", Checksum("xor", 0, 8)
    for width, catalogue in ((8, CRC_8), (16, CRC_16)):
        for name, crc in catalogue.items():
            yield f"CRC-{width}/{name}", Checksum("crc", 0, width, crc)


def _mark_before(cut: Cut, records: Sequence[bytes], size: int) -> bytes:
    """The sign right before the checksum where it is the same in every record and no letter or digit."""
    closing = len(cut.framing.stop)
    marks = {record[-size - closing - 1 : len(record) - size - closing] for record in records}
    mark = marks.pop()
    return mark if not marks and not mark.isalnum() and mark not in (b" ", cut.start) else b""


def _bare(cut: Cut, checksum: Checksum) -> WireFormat:
    encoding = cut.encoding or "ascii"
    begins = cut.begins.decode(encoding)
    return WireFormat("", encoding, "", (), 0, begins=begins, framing=cut.framing, checksum=checksum)
