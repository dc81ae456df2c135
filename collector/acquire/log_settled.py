"""Settles how a log is read, from what was declared and what its rows prove; says which of them it was, or refuses the file."""

from dataclasses import replace
from typing import Generic, NamedTuple, TypeVar

from collector.acquire.log_encoding import SHOWN, Encoded, Found
from collector.acquire.log_evidence import Evidence
from collector.acquire.log_header import DELIMITERS, Header, log_error
from schemas.log_layout import LogLayout
from schemas.log_number import Mark
from schemas.log_rows import DecimalRule
from schemas.log_time import Counts, Order, Shape, TimeRule

T = TypeVar("T")

_OPEN = "each number that is open is set aside"
_ORDERS: tuple[Order, ...] = ("day first", "month first")


class Told(NamedTuple):
    """How something was read and how that is known, one line; `is_usual` where it is as in any plain log."""

    what: str
    is_usual: bool = False


class Settled(NamedTuple, Generic[T]):
    """What holds of a file, and what is told of it."""

    value: T
    told: Told


def settle_encoding(found: Evidence, encoded: Encoded) -> Settled[Found]:
    """UTF-8, what its mark says, or cp1252 where the rows are no UTF-8 in places in which that changes nothing."""
    if encoded.why:
        what = f"encoding {SHOWN[encoded.encoding]} ({encoded.why})"
        return Settled(encoded.encoding, Told(what, is_usual=encoded.encoding == "utf-8"))
    if found.legacy and not found.legacy_doubt and not found.utf8:
        why = f"line {found.legacy} is not UTF-8, and such bytes stand only in units, angles and columns that are not read"
        return Settled("cp1252", Told(f"encoding cp1252 ({why})"))
    first = min(filter(None, (found.legacy, found.legacy_doubt)), default=None)
    if first:
        what = f"encoding UTF-8, and rows that are not are unreadable, first line {first}; --encoding cp1252 declares another"
        return Settled("utf-8", Told(what))
    return Settled("utf-8", Told("encoding UTF-8 (standard)", is_usual=True))


def settle_decimal(found: Evidence, header: Header, layout: LogLayout) -> Settled[DecimalRule | None]:
    """The rule for numbers; None where every row is read with a decimal point, as in any plain log."""
    if layout.decimal_mark:
        told = Told(f"decimal mark `{layout.decimal_mark}` ({layout.source})")
        return Settled(DecimalRule(layout.decimal_mark, is_declared=True), told)
    if header.delimiter == "," and not found.is_quoted:
        return Settled(None, Told("decimal mark `.` (standard: commas part the columns)", is_usual=True))
    if len(found.marks) > 1 or (found.marks and found.malformed):
        lines = " and ".join(f"line {line}" for line in sorted({*found.marks.values(), found.malformed or 0} - {0}))
        return Settled(DecimalRule(None), Told(f"decimal mark not settled ({lines} differ): {_OPEN}"))
    for mark, line in found.marks.items():
        proved: Mark = "." if mark == "." else ","
        told = Told(f"decimal mark `{mark}` (proved by line {line}, and no row speaks against it)")
        return Settled(None if mark == "." and not found.needs_rule else DecimalRule(proved), told)
    if found.needs_rule or found.malformed:
        return Settled(DecimalRule(None), Told(f"decimal mark not settled (no row proves it): {_OPEN}"))
    return Settled(None, Told("decimal mark: no number has one", is_usual=True))


def settle_time(found: Evidence, file: str, layout: LogLayout) -> Settled[TimeRule]:
    """The rule for times; SourceError where the file's days and months, or its counts, can be read in two ways."""
    rule = layout.time
    told: list[str] = []
    if Shape.PARTED in found.shapes or Shape.SHORT_YEAR in found.shapes:
        rule = replace(rule, order=rule.order or _order(found, file))
        line = found.orders.get(rule.order or "", (0, ""))[0]
        told.append(f"days and months {rule.order} ({layout.source if layout.time.order else f'proved by line {line}'})")
    if Shape.COUNT in found.shapes and not rule.counts:
        rule = replace(rule, counts=_counts(found, file))
        if rule.counts:
            told.append(f"times count {rule.counts} from 1970 UTC (proved by their length, all rows alike)")
    elif rule.counts:
        told.append(f"times count {rule.counts} from 1970 UTC ({layout.source})")
    if rule.zone:
        told.append(f"zone {rule.zone} ({layout.source}), assumed for times without an offset")
    elif found.is_naive:
        told.append("zone not stated: times without an offset give pauses and order only; declare it with --zone")
    return Settled(rule, Told("; ".join(told) or "times as they stand (standard)", is_usual=not told))


def _order(found: Evidence, file: str) -> Order:
    do = "declare it with --dates day-first or --dates month-first, then import it again"
    if Shape.SHORT_YEAR in found.shapes:
        line, text = found.shapes[Shape.SHORT_YEAR]
        raise log_error(file, f"has times with two-digit years, such as `{text}` in line {line}, whose order no row proves; {do}")
    if len(found.orders) > 1:
        days, months = (found.orders[order] for order in _ORDERS)
        what = f"has the day first in line {days[0]} (`{days[1]}`) and the month first in line {months[0]} (`{months[1]}`)"
        raise log_error(file, f"{what}; nothing was imported: export it anew, with times as 2026-03-14 09:00")
    for order in _ORDERS:
        if order in found.orders:
            return order
    line, text = found.shapes[Shape.PARTED]
    raise log_error(file, f"has times such as `{text}` in line {line}, and no row proves whether the day comes first; {do}")


def _counts(found: Evidence, file: str) -> Counts | None:
    if len(found.counts) > 1:
        seconds, milliseconds = found.counts["seconds"], found.counts["milliseconds"]
        what = f"counts seconds in line {seconds[0]} (`{seconds[1]}`) and milliseconds in line {milliseconds[0]}"
        raise log_error(file, f"{what} (`{milliseconds[1]}`); nothing was imported: export it with times of one kind")
    if not found.counts:
        return None
    return "seconds" if "seconds" in found.counts else "milliseconds"


def told_unit(header: Header, layout: LogLayout) -> tuple[Told, ...]:
    """The unit of rows that state none, where one was declared, or that it has to be."""
    if layout.unit:
        return (Told(f"unit {layout.unit} ({layout.source}), for rows that state none"),)
    if "unit" not in header.fields:
        return (Told("no column of units: every row is set aside until --unit declares it"),)
    return ()


def told_columns(header: Header, layout: LogLayout) -> tuple[Told, ...]:
    """The columns that were declared and are none of the file's, as a slip of the pen has it."""
    missing = ", ".join(f"`{name}`" for name in layout.columns if name not in header.names)
    return (Told(f"no column {missing}, which is {layout.source}; look at its spelling"),) if missing else ()


def told_delimiter(found: Evidence, header: Header, layout: LogLayout) -> Told:
    """What divides the columns, and how many rows have another number of cells by it."""
    why = layout.source if layout.delimiter else "standard" if header.delimiter == "," else "its header has known names so"
    odd = f"; {found.odd} of {found.rows} rows have another number of cells" if found.odd else ""
    is_usual = header.delimiter == "," and not found.odd
    return Told(f"columns divided by {DELIMITERS[header.delimiter]} ({why}{odd})", is_usual)
