"""The ways in which records of text can be laid out in columns."""

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import NamedTuple

NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?-?")
_NO_DELIMITER = ".+-\"'_ "
_COLUMN = re.compile(r"\S+")


class Field(NamedTuple):
    """One field of one record: its text without the spaces around it, and where in the content it begins."""

    text: str
    at: int


Row = tuple[Field, ...]
Texts = Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True)
class Layout:
    """One way to lay records out: `rows` are the fields of each record of each pull, None where it has another shape.

    With `delimiter` the fields stand between delimiters; else `befores` has for each column the fixed text before it,
    `widths` its width or 0, and `tail` the text behind the last. `why` says what was seen.
    """

    rows: tuple[tuple[Row | None, ...], ...]
    why: str
    delimiter: str = ""
    quoted: bool = False
    befores: tuple[str, ...] = ()
    widths: tuple[int, ...] = ()
    tail: str = ""

    def every_row(self) -> list[Row]:
        """The rows of all pulls, in order, without those of another shape."""
        return [row for row in chain.from_iterable(self.rows) if row is not None]


def layouts(texts: Texts) -> Iterator[Layout]:
    """Every way to lay these contents out (of each pull, of each record), the simplest first."""
    everything = [text for of_pull in texts for text in of_pull]
    delimiters = dict.fromkeys(sign for sign in everything[0] if not sign.isalnum() and sign not in _NO_DELIMITER)
    for delimiter in [*delimiters, " "]:
        yield from _delimited(texts, delimiter)
    columns = _in_columns(texts, everything)
    if columns:
        yield columns
    spaced = _by_spaces(texts)
    if spaced:
        yield spaced
    yield Layout(_rows(texts, lambda text: _trimmed(text, 0)), "one value a record", befores=("",), widths=(0,))


def affixed(layout: Layout, column: int) -> Layout | None:
    """The same with the fixed text left out that stands around the number in a column; None where there is none."""
    if layout.quoted or any(layout.widths):
        return None
    found = [NUMBER.search(row[column].text) for row in layout.every_row()]
    texts = [row[column].text for row in layout.every_row()]
    around = {(text[: match.start()], text[match.end() :]) for text, match in zip(texts, found, strict=True) if match}
    if len(around) != 1 or None in found:
        return None
    ((before, behind),) = around
    if not (before or behind):
        return None
    befores = layout.befores or ("", *[layout.delimiter] * (len(layout.every_row()[0]) - 1))
    later = [*befores[column + 1 :], layout.tail]
    later[0] = behind + later[0]
    said = " and ".join(f"`{text.strip()}` {where}" for text, where in ((before, "before"), (behind, "behind")) if text.strip())
    return replace(
        layout,
        rows=tuple(tuple(row and _cut_field(row, column, before, behind) for row in of_pull) for of_pull in layout.rows),
        why=f"{layout.why}, with {said} it" if said else layout.why,
        delimiter="",
        befores=(*befores[:column], befores[column] + before, *later[:-1]),
        widths=(0,) * len(befores),
        tail=later[-1],
    )


def _cut_field(row: Row, column: int, before: str, behind: str) -> Row:
    text, at = row[column]
    inner = text[len(before) : len(text) - len(behind)]
    return (*row[:column], Field(inner, at + len(before)), *row[column + 1 :])


def _rows(texts: Texts, divide: Callable[[str], Row]) -> tuple[tuple[Row | None, ...], ...]:
    """The rows, of which those count that have the usual number of fields."""
    rows = [[divide(text) for text in of_pull] for of_pull in texts]
    counts = Counter(len(row) for of_pull in rows for row in of_pull)
    usual = counts.most_common(1)[0][0]
    return tuple(tuple(row if len(row) == usual else None for row in of_pull) for of_pull in rows)


def _delimited(texts: Texts, delimiter: str) -> Iterator[Layout]:
    rows = _rows(texts, lambda text: _divided(text, delimiter))
    layout = Layout(rows, f"fields divided by `{_named(delimiter)}`", delimiter)
    if len(layout.every_row()[0]) < 2:
        return
    fields = [field.text for row in layout.every_row() for field in row]
    if any(len(text) > 1 and text[0] == text[-1] == '"' for text in fields):
        bare = tuple(tuple(row and tuple(_unquoted(field) for field in row) for row in of_pull) for of_pull in rows)
        layout = replace(layout, rows=bare, quoted=True, why=f"{layout.why}, in double quotes")
    yield layout


def _divided(text: str, delimiter: str) -> Row:
    fields: list[Field] = []
    at, is_inside = 0, False
    for n, sign in enumerate(text + delimiter):
        if sign == '"':
            is_inside = not is_inside
        elif sign == delimiter and not is_inside:
            fields += _trimmed(text[at:n], at)
            at = n + 1
    return tuple(fields)


def _unquoted(field: Field) -> Field:
    return Field(field.text[1:-1], field.at + 1) if field.text[:1] == '"' else field


def _trimmed(part: str, at: int) -> Row:
    return (Field(part.strip(" \t"), at + len(part) - len(part.lstrip(" \t"))),)


def _by_spaces(texts: Texts) -> Layout | None:
    rows = _rows(texts, lambda text: tuple(Field(found[0], found.start()) for found in _COLUMN.finditer(text)))
    layout = Layout(rows, "fields divided by spaces")
    fields = len(layout.every_row()[0])
    if fields < 2:
        return None
    return replace(layout, befores=("", *[" "] * (fields - 1)), widths=(0,) * fields)


def _in_columns(texts: Texts, everything: Sequence[str]) -> Layout | None:
    """Columns of one width each, told by the places that are blank in every record."""
    length = len(everything[0])
    spaces = {text.count(" ") for text in everything}
    if any(len(text) != length for text in everything) or spaces == {0}:
        return None
    edges = _edges(everything)
    spans = list(zip([0, *edges], [*edges, length], strict=True))
    rows = tuple(
        tuple(tuple(_trimmed(text[at:end], at)[0] for at, end in spans) for text in of_pull) for of_pull in texts
    )  # fmt: skip
    widths = tuple(end - at for at, end in spans)
    return Layout(rows, f"columns of {', '.join(map(str, widths))} characters", befores=("",) * len(spans), widths=widths)


def _edges(everything: Sequence[str]) -> list[int]:
    """Where one column ends and the next begins; blank places go to the number behind them, else to the text before."""
    classes = [{_kind(text[at]) for text in everything} for at in range(len(everything[0]))]
    edges: list[int] = []
    for at in range(1, len(classes)):
        here, before = classes[at], classes[at - 1]
        starts_blank = here == {"blank"} and before != {"blank"}
        # A unit right behind the digits of a torque; a number that begins elsewhere in each record stays whole.
        ends_digits = before == {"digit"} and here == {"letter"}
        if starts_blank or ends_digits:
            edges.append(at)
    return [_moved(edge, classes) for edge in edges if any(kinds != {"blank"} for kinds in classes[edge:])]


def _moved(edge: int, classes: Sequence[set[str]]) -> int:
    """An edge before blank places, moved behind them where a text follows."""
    behind = next((at for at in range(edge, len(classes)) if classes[at] != {"blank"}), edge)
    return edge if classes[behind] & {"digit", "mark"} else behind


def _kind(sign: str) -> str:
    if sign in " \t":
        return "blank"
    if sign.isdigit():
        return "digit"
    # A time goes on behind its digits; a unit does not.
    return "mark" if sign in ".,+-:/T" else "letter"


def _named(delimiter: str) -> str:
    return {"\t": "tab", " ": "space"}.get(delimiter, delimiter)
