"""Reads the header of a file of checks: which column is what; and what a row under it is."""

from collections.abc import Sequence
from dataclasses import dataclass

from collector.acquire.log_header import header_key, shown_names
from schemas.errors import SourceError, SourceReason

NAMES = {
    "time": "time", "date": "time", "checked_at": "time", "timestamp": "time", "datetime": "time",
    "wrench": "wrench", "wrench_id": "wrench", "tool": "wrench", "tool_id": "wrench",
    "reference": "reference", "ref": "reference", "reference_value": "reference",
    "shown": "shown", "indicated": "shown", "reading": "shown",
    "unit": "unit", "units": "unit", "torque_unit": "unit",
    "void": "void",
    "simulated": "simulated",
}  # fmt: skip
"""Headers that are known, in small letters and with `_` between words; any other column is kept raw and not read."""

NEEDED = ("time", "wrench", "reference", "shown", "unit")
_ONCE = (*NEEDED, "void", "simulated")


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One row of a file: its line from 1, its raw bytes (of a sheet: its cells as JSON), its texts by field.

    `trouble` says why the row cannot be read; then there are no texts.
    """

    line: int
    raw: bytes
    texts: dict[str, str]
    trouble: str | None = None


def check_error(file: str, what: str) -> SourceError:
    """The SourceError for a file of checks that cannot be read."""
    return SourceError(f"checks `{file}` {what}", SourceReason.NOT_READABLE)


def fields_of(names: Sequence[str]) -> list[str | None]:
    """The field of each column of a header, None where it is not one of ours."""
    return [NAMES.get(header_key(name)) for name in names]


def header_fields(names: Sequence[str], file: str) -> list[str | None]:
    """The field of each column; SourceError where a field that is needed has none, or any field has two."""
    fields = fields_of(names)
    for field in _ONCE:
        count = fields.count(field)
        if count > 1 or (count == 0 and field in NEEDED):
            what = f"{count} columns for `{field}`" if count else f"no column `{field}`"
            raise check_error(file, f"has {what} in its header, which is {shown_names(names)}; needed are {', '.join(NEEDED)}")
    return fields
