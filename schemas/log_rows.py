"""What is known of the rows of one log before they are read: declared by a person, or proved by all rows of the file."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from schemas.log_number import Mark
from schemas.log_time import UNTOLD, TimeRule

LogEncoding = Literal["cp1252", "utf-16-le", "utf-16-be"]
UNPLACED = "unknown"
"""What stands in the place of a moment where the tool's clock tells none: not set, put back, or an hour that comes twice."""


@dataclass(frozen=True, slots=True)
class DecimalRule:
    """The decimal mark of a file's numbers, None where nothing settles it; a declared one also settles groups of digits."""

    mark: Mark | None
    is_declared: bool = False


@dataclass(frozen=True, slots=True)
class Damage:
    """A run of `size` bytes of NUL at `offset` of the file, as a power cut leaves it."""

    offset: int
    size: int


@dataclass(frozen=True, slots=True)
class LogRows:
    """How the rows of one log are read beyond their wire format; what goes by line has the line's number in the file.

    `decimal` None: the wire format's own mark. `unit` is the declared one of rows that state none. `folds` tells in the
    repeated hour which of the two it is, 0 or 1; `doubts` why the clock of that row is not believed; `remarks` what else
    is to be seen with it. `is_sheet`: a row is a JSON list of cells.
    """

    decimal: DecimalRule | None = None
    time: TimeRule = UNTOLD
    unit: str | None = None
    folds: Mapping[int, int] = field(default_factory=dict)
    doubts: Mapping[int, str] = field(default_factory=dict)
    remarks: Mapping[int, str] = field(default_factory=dict)
    damaged: Mapping[int, Damage] = field(default_factory=dict)
    is_sheet: bool = False


PLAIN_ROWS = LogRows()
"""Rows of which nothing has to be known."""
