"""Over which Bluetooth characteristics a wrench speaks."""

import re
from dataclasses import dataclass

# The common serial-over-GATT service and its two characteristics: an open convention that many makers follow (common practice).
SERIAL_SERVICE = "6e400001-b5a3-f393-e0a9-e50e24dcca9e"
SERIAL_WRITE = "6e400002-b5a3-f393-e0a9-e50e24dcca9e"
SERIAL_NOTIFY = "6e400003-b5a3-f393-e0a9-e50e24dcca9e"

_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_SHORT_UUID = re.compile(r"(?:[0-9a-f]{4}){1,2}")
_BASE = "-0000-1000-8000-00805f9b34fb"  # Bluetooth Core Specification, volume 3, part B, 2.5.1


@dataclass(frozen=True, slots=True)
class BleCharacteristics:
    """The UUIDs over which a wrench speaks, full and in lower case.

    `notify` brings its records, `write` takes what it is asked, `service` is the service that has them. `ask` is what is
    written after each connection, so that the wrench sends its memory; empty for nothing.
    """

    service: str = SERIAL_SERVICE
    notify: str = SERIAL_NOTIFY
    write: str = SERIAL_WRITE
    ask: bytes = b""


def full_uuid(text: str) -> str | None:
    """A UUID of 4, 8 or 32 hex digits in its full form, lower case; None where the text is none."""
    text = text.strip().lower()
    if _SHORT_UUID.fullmatch(text):
        return text.zfill(8) + _BASE
    return text if _UUID.fullmatch(text) else None
