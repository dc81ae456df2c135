"""Where to part a list so that its halves stand side by side at about the same height. Pure; estimates, never exact."""

from collections.abc import Sequence
from itertools import accumulate
from math import ceil
from typing import Any

# What fits in one line of a column at the size of its type, and in one page of two columns.
_LINE_CHARS = 68
_PAGE_LINES = 190
_SECTION_HEAD_LINES = 3


def side_by_side(joints: Sequence[dict[str, Any]], sections: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Two columns with `joints` and `sections`; those have no joints where these are too many: they flow over pages instead."""
    lines = [_joint_lines(joint) for joint in joints]
    fits = sum(lines) <= _PAGE_LINES
    cut = _cut(lines) if fits else 0
    beside = (joints[:cut], joints[cut:]) if fits else ((), ())
    above = (sum(lines[:cut]), sum(lines[cut:])) if fits else (0, 0)
    low = _cut([_section_lines(section) for section in sections], above)
    return [{"joints": beside[0], "sections": sections[:low]}, {"joints": beside[1], "sections": sections[low:]}]


def _cut(lines: Sequence[int], above: tuple[int, int] = (0, 0)) -> int:
    """After how many of them the second column begins; `above` is what already stands in each column."""
    sums = list(accumulate(lines, initial=0))
    # Of two places that are as good the later one, so that a single joint stands in the first column.
    places = reversed(range(len(sums)))
    return min(places, key=lambda place: max(above[0] + sums[place], above[1] + sums[-1] - sums[place]))


def _joint_lines(joint: dict[str, Any]) -> int:
    table = joint["table"]
    head = ceil(sum(len(text) for text in (joint["name"], table["id"], table["bands"], table["facts"])) / _LINE_CHARS)
    rows = sum(2 if row["shown"] else 1 for row in table["rows"])
    return head + rows + sum(ceil(len(why) / _LINE_CHARS) for why in table["whys"])


def _section_lines(section: dict[str, Any]) -> int:
    if not section["rows"]:
        return sum(ceil((len(section["title"]) + len(line)) / _LINE_CHARS) for line in section["lines"]) + 1
    rows = sum(_row_lines(row["cells"], section["widths"]) for row in section["rows"])
    return _SECTION_HEAD_LINES + len(section["lines"]) + rows


def _row_lines(row: Sequence[list[str]], widths: Sequence[float]) -> int:
    share = [max(1, _LINE_CHARS * width / sum(widths)) for width in widths]
    return max(sum(ceil(len(text) / chars) or 1 for text in cell) for cell, chars in zip(row, share, strict=True))
