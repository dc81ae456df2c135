"""What comes off a source: frames of raw bytes, changes of the link, and the reading that a frame decodes to."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from schemas.words import Link


@dataclass(frozen=True, slots=True)
class Frame:
    """One piece of raw bytes, cut out but not understood.

    `raw` has no line end. `received_at` is our own aware UTC time of its last byte, `mono_ns` the count beside it.
    `after_open` marks the first piece after a link was opened, which may be the tail of a line. `overlong` marks a
    piece that was cut off at the format's longest line. `line` is the line number in a log file, counted from 1, else
    None. `cut` marks a line in whose middle the link went, so that its rest never came.
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
    `notes` are remarks that do not change the value, such as a unit in another spelling or a low battery.
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
