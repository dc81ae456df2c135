"""Finds the column of text that carries the torque."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from collector.decode.number import plain_digits
from collector.listen.heard import About, Heard
from collector.listen.layout import Layout, Row, affixed
from schemas.errors import UnitError
from schemas.units import find_unit
from schemas.wire_format import DecimalMark

_MARKS: tuple[DecimalMark, ...] = (".", ",")


@dataclass(frozen=True, slots=True)
class PullRow:
    """A record in its columns: of which pull (from 0), about what it reached, and whether it is the one that says so.

    `says_value` is None where nothing is known of the pull.
    """

    pull: int
    about: About | None
    says_value: bool | None
    row: Row


@dataclass(frozen=True, slots=True)
class TextTorque:
    """A column that fits all the values: its number from 0, the decimal mark, and every record in order.

    `mark_seen` is whether a decimal mark ever stood there.
    """

    layout: Layout
    column: int
    mark: DecimalMark
    mark_seen: bool
    rows: tuple[PullRow, ...]

    @property
    def place(self) -> tuple[int, ...]:
        """Where the digits begin in each record: the same of two layouts that read the same digits."""
        return tuple(one.row[self.column].at for one in self.rows)

    @property
    def beside(self) -> str | None:
        """The unit, our symbol, that stands as fixed text right behind the digits; None where none does."""
        behind = [*self.layout.befores, self.layout.tail][self.column + 1 :]
        return symbol_of(behind[0].strip(" \t;,|:()[]")) if behind else None

    def digits(self, one: PullRow) -> Decimal:
        """The torque of one record; 0 where it has none."""
        return _value(one.row[self.column].text, self.mark) or Decimal(0)


def text_torques(layout: Layout, heard: Heard) -> Iterator[TextTorque]:
    """Each column that holds, in every pull with a known value, about that value; also with fixed text around the digits."""
    for column in range(len(layout.every_row()[0])):
        found = list(_of_column(layout, column, heard))
        bare = None if found else affixed(layout, column)
        yield from found if bare is None else _of_column(bare, column, heard)


def columns_without_mark(layout: Layout, heard: Heard) -> Iterator[str]:
    """Each column of whole numbers that fit all the values once a decimal mark is put into them, with an example."""
    for column in range(len(layout.every_row()[0])):
        for places in (1, 2, 3):
            examples = [
                text
                for rows, about in zip(layout.rows, heard.abouts, strict=True)
                for text in [row[column].text for row in rows if row]
                if about and (value := _value(text, ".")) is not None and "." not in text and about.fits(value.scaleb(-places))
            ]
            if len(examples) == len(heard.known):
                yield f"field {column + 1} (`{examples[0]}` for {heard.known[0]})"


def _of_column(layout: Layout, column: int, heard: Heard) -> Iterator[TextTorque]:
    for mark in _MARKS:
        if mark == layout.delimiter and not layout.quoted:
            continue
        rows = _rows(layout, column, mark, heard)
        if rows:
            seen = any(mark in one.row[column].text for one in rows)
            yield TextTorque(layout, column, mark, seen or layout.delimiter == ",", rows)
            if not seen:
                return


def _rows(layout: Layout, column: int, mark: DecimalMark, heard: Heard) -> tuple[PullRow, ...]:
    """Every record with what is known of it; none where the column does not fit a pull."""
    made: list[PullRow] = []
    for pull, (rows, about) in enumerate(zip(layout.rows, heard.abouts, strict=True)):
        values = [_value(row[column].text, mark) if row else None for row in rows]
        fitting = [n for n, value in enumerate(values) if about and value is not None and about.fits(value)]
        if about and not fitting:
            return ()
        made += [
            PullRow(pull, about, row == rows[fitting[-1]] if fitting else None, row) for row in rows if row is not None
        ]  # fmt: skip
    return tuple(made)


def _value(text: str, mark: DecimalMark) -> Decimal | None:
    digits = plain_digits(text, mark)
    return None if digits is None else Decimal(digits)


def symbol_of(text: str) -> str | None:
    """Our symbol of the unit that a text spells; None where it spells none."""
    try:
        return find_unit(text)[0].symbol
    except UnitError:
        return None
