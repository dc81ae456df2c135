"""Says what a spreadsheet did to a cell: made a date of a size, a number of an id, or stored no result of a formula. Pure."""

import re
from collections.abc import Iterator

from schemas.table import MONTHS, Cell, CellKind

_DAY = re.compile(rf"([0-9]{{1,2}})-({'|'.join(MONTHS)})", re.IGNORECASE)
_MONTH = re.compile(rf"({'|'.join(MONTHS)})-([0-9]{{2}})", re.IGNORECASE)
AS_TEXT = "@"
"""The form of cells that a spreadsheet leaves as they are typed."""
# As a spreadsheet writes a number that is too wide: `1.2E+06`. Nobody writes an id so, and `12E5` is one.
_WIDE = re.compile(r"[0-9](?:\.[0-9]+)?E\+[0-9]{2,}")
# Numbered machine screws and whole inches, by size and threads an inch.
_WITH_HYPHEN = {(1, 8), (1, 12), (1, 14), (10, 24), (10, 32), (12, 24), (12, 28), (8, 32), (6, 32), (5, 40), (4, 40), (2, 56)}
_DENOMINATORS = frozenset({2, 4, 8, 16, 32, 64})
_MOST_KEPT = 15  # digits of a number that a spreadsheet keeps


def spoilt(cell: Cell) -> str | None:
    """What is wrong with a cell, whatever its column; None where nothing is."""
    if cell.kind is CellKind.NO_RESULT:
        return "holds a formula without a stored result; open the file in a spreadsheet and save it, or write the value"
    if cell.kind is CellKind.ERROR:
        return f"holds the error {cell.text}; correct it in the spreadsheet"
    if cell.kind is CellKind.TEXT and cell.form == AS_TEXT:
        return None
    if _WIDE.fullmatch(cell.text.strip()):
        return f"{cell.text.strip()} is what a spreadsheet makes of a long number or of an id; write it anew, as a text"
    if (asked := _was_it(cell.text.strip())) or cell.kind is CellKind.DATE:
        what = asked or f"{cell.text} is a day or a time, not a text."
        return f"{what} A spreadsheet turns such a size into a date; write it anew, in a cell that has the form of a text"
    return None


def why_no_text(cell: Cell) -> str | None:
    """Why the digits of a number cannot stand for a text, such as an id; None where they can, and for any other cell."""
    if cell.kind is not CellKind.NUMBER:
        return None
    if "E" in cell.form.upper() and "general" not in cell.form.lower():
        return f"holds the number {cell.text} in the form {cell.form}, and it may have been another text; write it as a text"
    if re.match(r"0{2,}", cell.form):
        return f"holds the number {cell.text} and shows zeros in front of it; write it as a text"
    if len(re.sub(r"\D", "", cell.stored or cell.text)) > _MOST_KEPT:
        return f"holds a number of which a spreadsheet keeps {_MOST_KEPT} digits; write it as a text"
    return None


def _was_it(text: str) -> str | None:
    """The question whether a day was a size, None for any other text."""
    if found := _DAY.fullmatch(text):
        sizes = list(_of_day(MONTHS.index(found[2].capitalize()) + 1, int(found[1])))
    elif found := _MONTH.fullmatch(text):
        sizes = [f"{MONTHS.index(found[1].capitalize()) + 1}-{int(found[2])}"]
    else:
        return None
    return f"{text}: was it {' or '.join(sizes)}?"


def _of_day(month: int, day: int) -> Iterator[str]:
    """The sizes that a day can have been, where the month stands first and where the day does."""
    pairs = [(month, day), (day, month)]
    found = [f"{above}/{below}" for above, below in pairs if above < below and above % 2 and below in _DENOMINATORS]
    found += [f"{size}-{threads}" for size, threads in pairs if (size, threads) in _WITH_HYPHEN]
    yield from found or [f"{month}/{day}"]
