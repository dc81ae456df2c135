"""What comes off a source: frames of raw bytes, changes of the link, and the reading that a frame decodes to."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from schemas.words import Link, Measures


@dataclass(frozen=True, slots=True)
class Frame:
    """One piece of raw bytes, cut out but not understood.

    `raw` of a line has no line end, any other record its marks. `received_at` is our own aware UTC time of its last byte,
    `mono_ns` the count beside it. `after_open` marks the first piece after a link was opened, which may be the tail of a
    record. `overlong` marks a piece that was cut off at the format's longest record. `line` is the line number in a log
    file, counted from 1, else None. `cut` marks a record in whose middle the link went, so that its rest never came.
    """

    source: str
    raw: bytes
    received_at: datetime
    mono_ns: int
    after_open: bool = False
    overlong: bool = False
    line: int | None = None
    cut: bool = False


@dataclass(frozen=True, slots=True)
class LinkChange:
    """The link to a source was opened, lost, came back or ended; `detail` is one line fit to show."""

    source: str
    link: Link
    at: datetime
    mono_ns: int
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One value that a wrench sent.

    `torque` are the digits as sent, with their sign; `torque_nm` the exact value in N·m, negative for loosening.
    Both are None only with `over_range`, where the tool says that its range was passed. `unit` is our symbol.
    `wrench`, `sequence`, `tool_time` (as sent), `angle_deg` (digits as sent) are None where the record has none.
    `serial` is the tool's serial number, `measures` what the record says that its value is, `battery` its charge as
    sent; all None where it has none. `battery_low` is whether the record says so.
    `pulled_at` is the tool's time where `tool_time` does not stand for itself: ISO 8601, with offset where the instant is
    certain, without where only its wall clock is, `unknown` where it tells nothing.
    `notes` are remarks that do not change the value, such as a unit in another spelling or a low battery. `doubt` is why the
    value, as it was taken, does not show how high the pull went; None where it does.
    """

    torque: str | None
    unit: str | None
    torque_nm: Decimal | None
    over_range: bool = False
    wrench: str | None = None
    sequence: int | None = None
    tool_time: str | None = None
    angle_deg: str | None = None
    notes: tuple[str, ...] = ()
    serial: str | None = None
    measures: Measures | None = None
    battery: str | None = None
    battery_low: bool = False
    pulled_at: str | None = None
    doubt: str | None = None
