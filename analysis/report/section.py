"""A list of the report, the same for PDF and HTML: lines, and a table of plain texts."""

from dataclasses import dataclass, field
from typing import Any

from analysis.report.printable import Fitted, is_long

# Half a page less the gap, in units of the size of type that the tables have, and what a cell keeps free at its sides.
_COLUMN_EM = 39.0
_PADDING_EM = 0.7

Cell = str | list[str]
"""A text; of a list, the first text is the cell's own and the others stand small beneath it."""


@dataclass(frozen=True, slots=True)
class Section:
    """A list of the report: `lines` above a table of `rows`, `none` where it has neither; `day` is what all its times share.

    `widths` are shares; `mono` is the column of raw bytes, None where there is none.
    """

    title: str
    heads: tuple[str, ...] = ()
    widths: tuple[float, ...] = ()
    rows: list[list[Cell]] = field(default_factory=list)
    lines: tuple[str, ...] = ()
    none: str = "None."
    day: str = ""
    mono: int | None = None

    def content(self) -> dict[str, Any]:
        """As the template of the PDF takes it, its cells fitted to their columns."""
        # Times with their day need more room than a clock alone.
        widths = (*self.widths[:-1], self.widths[-1] + 1.2) if self.heads[-1:] == ("Time",) and not self.day else self.widths
        rooms = [_COLUMN_EM * width / sum(widths) - _PADDING_EM for width in widths]
        rows = [_row([_fitted(cell, room) for cell, room in zip(row, rooms, strict=True)]) for row in self.rows]
        lines = self.lines if rows or self.lines else (self.none,)
        table = {"heads": self.heads, "widths": widths, "rows": rows, "mono": self.mono}
        return {"title": self.title, "day": self.day, "lines": list(lines), **table}


def _row(cells: list[list[str]]) -> dict[str, Any]:
    return {"cells": cells, "long": is_long(text for cell in cells for text in cell)}


def _fitted(cell: Cell, room_em: float) -> list[str]:
    return [Fitted(text, room_em) for text in ([cell] if isinstance(cell, str) else cell)]
