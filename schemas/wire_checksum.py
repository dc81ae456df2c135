"""Checksums of wire formats: sum, XOR and CRC over the bytes of a record, and how the sum is written into it."""

from dataclasses import dataclass
from typing import Literal

Written = Literal["hex", "decimal", "binary"]
ByteOrder = Literal["little", "big"]


@dataclass(frozen=True, slots=True)
class Crc:
    """A cyclic redundancy check by the usual parameters: `poly` without its top bit, `init` as for an unreflected register."""

    poly: int
    init: int = 0
    refin: bool = False
    refout: bool = False
    xorout: int = 0

    def of(self, data: bytes, width: int) -> int:
        """The check over `data`; `width` is 8 or 16 bits."""
        top, mask, register = 1 << (width - 1), (1 << width) - 1, self.init
        for byte in data:
            register ^= (_reversed(byte, 8) if self.refin else byte) << (width - 8)
            for _ in range(8):
                register = (register << 1 ^ (self.poly if register & top else 0)) & mask
        return (_reversed(register, width) if self.refout else register) ^ self.xorout


@dataclass(frozen=True, slots=True)
class Checksum:
    """How a record vouches for its bytes.

    `width` is 8 or 16 bits, `crc` None for a plain sum or XOR. `size` is how many bytes the checksum takes in the record:
    digits where it is `written` in hex or decimal, else bytes in `byte_order`. It stands at the end, before the stop mark,
    or `after_stop`. `behind` is a mark right before it. Summed are the bytes between start mark and `behind` (or the stop
    mark, where it comes first), with `includes_start` the start mark too, with `includes_mark` that mark too.
    """

    kind: Literal["sum", "xor", "crc"]
    size: int
    width: int = 8
    crc: Crc | None = None
    written: Written = "hex"
    byte_order: ByteOrder = "big"
    behind: bytes = b""
    after_stop: bool = False
    includes_start: bool = False
    includes_mark: bool = False

    def of(self, data: bytes) -> int:
        """The checksum over `data`."""
        if self.crc is not None:
            return self.crc.of(data, self.width)
        if self.kind == "sum":
            return sum(data) & ((1 << self.width) - 1)
        found = 0
        for byte in data:
            found ^= byte
        return found

    def pack(self, data: bytes) -> bytes:
        """The checksum over `data` as it is written into a record; hex in capitals."""
        value = self.of(data)
        if self.written == "binary":
            return value.to_bytes(self.size, self.byte_order)
        return (f"{value:0{self.size}X}" if self.written == "hex" else f"{value:0{self.size}d}").encode()

    def fits(self, data: bytes, sent: bytes) -> bool:
        """Whether `sent` is the checksum over `data`; hex in capitals or small letters."""
        return sent.upper() == self.pack(data) if self.written == "hex" else sent == self.pack(data)


def _reversed(value: int, width: int) -> int:
    return int(f"{value:0{width}b}"[::-1], 2)
