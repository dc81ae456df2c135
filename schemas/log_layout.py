"""What a person declares of a log: everything that its own rows may leave open."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from schemas.log_number import Mark
from schemas.log_rows import LogEncoding
from schemas.log_time import UNTOLD, TimeRule
from schemas.wire_format import FieldName

Delimiter = Literal[",", ";", "\t", "|"]


@dataclass(frozen=True, slots=True)
class LogLayout:
    """The layout of a log as declared; whatever is None or empty is found in the file, or left open.

    `columns` names the field of a header, None for a column that is not read, and goes before the headers that are known.
    `unit` is of rows that state none. `over_range`, `no_reading`, `status` and `low_battery` are as in a wire format, and
    take the place of the usual ones. `source` says where it was declared, for the record.
    """

    source: str = "declared"
    encoding: Literal["utf-8", LogEncoding] | None = None
    delimiter: Delimiter | None = None
    decimal_mark: Mark | None = None
    unit: str | None = None
    time: TimeRule = UNTOLD
    columns: Mapping[str, FieldName | None] = field(default_factory=dict)
    over_range: tuple[str, ...] | None = None
    no_reading: tuple[str, ...] | None = None
    status: Mapping[str, str] | None = None
    low_battery: tuple[str, ...] | None = None
