"""The table of results, as text for a terminal and for a file."""

import os
import platform
import sqlite3
from dataclasses import dataclass

HEADINGS = ("what", "baseline", "measured", "ratio", "wanted", "reached")


@dataclass(frozen=True, slots=True)
class Row:
    """One number. `reached` is None where nothing is wanted of it, or where it could not be measured."""

    what: str
    baseline: str
    measured: str
    ratio: str
    wanted: str
    reached: bool | None

    @property
    def cells(self) -> tuple[str, ...]:
        """The texts of the row under `HEADINGS`."""
        word = {True: "yes", False: "NO", None: "–"}[self.reached]
        return (self.what, self.baseline, self.measured, self.ratio, self.wanted, word)


def machine() -> str:
    """What it was measured on, in general words."""
    return (
        f"{os.cpu_count()} cores ({platform.machine()}), {platform.system()}, Python {platform.python_version()}, "
        f"SQLite {sqlite3.sqlite_version}"
    )


def as_markdown(rows: list[Row]) -> str:
    """The table in Markdown, with columns in line so that it reads well as plain text too."""
    lines = [HEADINGS, *(row.cells for row in rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(HEADINGS))]
    padded = ([cell.ljust(width) for cell, width in zip(line, widths, strict=True)] for line in lines)
    head, *body = [f"| {' | '.join(cells)} |" for cells in padded]
    rule = "|" + "|".join("-" * (width + 2) for width in widths) + "|"
    return "\n".join((head, rule, *body)) + "\n"
