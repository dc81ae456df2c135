"""What is written inside a panel of a drift chart: checks that are off its scale, and the day on which a limit is reached."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from analysis.measure_drift import Crossing, DriftLine
from analysis.measure_lines import Floats
from analysis.plot_panel import GAP_PT, Pane
from analysis.plot_scale import Panel, Scale
from analysis.plot_style import GREY, INK, VERMILLION, text_width_pt
from analysis.wording_drift import calendar_day, day_text, edge_text

if TYPE_CHECKING:
    from matplotlib.path import Path

DAY_MARKS: Mapping[str, Mapping[str, Any]] = {
    "calibrated": {"marker": "v", "ms": 4.5, "mfc": "white", "mec": INK, "mew": 0.8},
    "adjusted": {"marker": "v", "ms": 4.5, "mfc": INK, "mec": INK, "mew": 0.8},
}
"""The signs of days that a chart tells apart."""

_DAY_LINES: Mapping[str, Mapping[str, Any]] = {
    "calibrated": {"color": GREY, "lw": 0.7, "ls": (0, (1, 2))},
    "adjusted": {"color": INK, "lw": 0.8, "ls": (0, (5, 2))},
}

# How far above the first panel the signs of days stand.
_SIGN_PT = 6.0
# How far right of it their words may reach.
_MARGIN_PT = 38.0
_ARROW_PT = 8.0
ARROW_LOOK: Mapping[str, Any] = {"ms": _ARROW_PT, "color": VERMILLION, "mec": INK, "mew": 0.4}
"""How the marker of a check off the scale looks; `arrow` is its shape."""

# A shaft with a head, drawn from its foot up.
_ARROW = ((-0.12, -1), (-0.12, 0.1), (-0.5, 0.1), (0, 1), (0.5, 0.1), (0.12, 0.1), (0.12, -1), (-0.12, -1))


def draw_marks(pane: Pane, panel: Panel) -> None:
    """Draw the grossly wrong checks at the panel's edges and the crossing on its limit, each with its words."""
    for sign in (1, -1):
        chosen = sign * panel.gross_errors > 0
        if chosen.any():
            _gross(pane, panel.gross_days[chosen], panel.gross_errors[chosen], sign)
    if panel.crossing is not None:
        _crossing(pane, panel, panel.crossing)


def is_crossing_marked(panel: Panel, scale: Scale) -> bool:
    """Whether the panel's crossing lies between its first check and the end of the scale."""
    return panel.crossing is not None and panel.line.first_day <= panel.crossing.on <= scale.end


def arrow(sign: float) -> "Path":
    """The marker of a check that is off the scale, pointing up (sign > 0) or down."""
    from matplotlib.path import Path

    return Path(np.array(_ARROW) * (1, sign))


def draw_days(panes: list[Pane], days: Iterable[tuple[float, str]]) -> None:
    """Draw a line through all panels on each day in sight, with its sign above the first panel, and its words where they fit.

    Args:
        panes: from the top down.
        days: with their words, those first that must not lack them; what is not in DAY_MARKS has words and no sign.
    """
    first, written_pt = panes[0], list[tuple[float, float]]()
    seen = [(day, words) for day, words in days if first.scale.start <= day <= first.scale.end]
    for day, words in seen:
        look = _DAY_LINES.get(words, {"color": INK, "lw": 0.8})
        for pane in panes:
            pane.axes.axvline(day, zorder=1.5, **look)
        if words in DAY_MARKS:
            up = [1 + _SIGN_PT / first.height_pt]
            first.axes.plot([day], up, transform=first.axes.get_xaxis_transform(), clip_on=False, **DAY_MARKS[words])
    places = {first.x_pt(day) for day, _ in seen}
    for day, words in seen:
        x = first.x_pt(day)
        taken_pt = [*written_pt, *((place - GAP_PT, place + GAP_PT) for place in places - {x})]
        for text, left in _ways(x, words):
            span = left, left + text_width_pt(text)
            if left >= 0 and span[1] <= first.width_pt + _MARGIN_PT and not any(_meet(span, other) for other in taken_pt):
                first.write(left, 1 + _SIGN_PT / first.height_pt, text, "white")
                written_pt.append(span)
                break


def _ways(x_pt: float, words: str) -> list[tuple[str, float]]:
    """Where the words of a day may begin, best first: right or left of it, in full or without what follows a comma."""
    texts = dict.fromkeys((words, words.partition(",")[0]))
    return [(text, left) for text in texts for left in (x_pt + GAP_PT, x_pt - GAP_PT - text_width_pt(text))]


def _meet(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _gross(pane: Pane, days: Floats, errors: Floats, sign: int) -> None:
    y = pane.row_y(sign, is_last=False)
    pane.axes.plot(
        days, np.full(len(days), y), transform=pane.axes.get_xaxis_transform(), ls="none", marker=arrow(sign), zorder=6,
        label="gross", **ARROW_LOOK,
    )  # fmt: skip
    groups: list[_Group] = []
    for n in np.argsort(days, kind="stable"):
        groups.append(_Group([pane.x_pt(float(days[n]))], [float(errors[n])], pane.width_pt))
        while len(groups) > 1 and groups[-2].touches(groups[-1]):
            right, left = groups.pop(), groups.pop()
            groups.append(_Group(left.places_pt + right.places_pt, left.errors + right.errors, pane.width_pt))
    for group in groups:
        pane.write(group.text_pt[0], y, group.text)


@dataclass(frozen=True, slots=True)
class _Group:
    """Arrows that share one text, from left to right: their places in points, and their errors in percent."""

    places_pt: list[float]
    errors: list[float]
    room_pt: float

    @property
    def text(self) -> str:
        low, high = (f"{error:+.0f} %".replace("-", "−") for error in (min(self.errors), max(self.errors)))
        return low if len(self.errors) == 1 else f"{len(self.errors)} checks, {low} to {high}"

    @property
    def text_pt(self) -> tuple[float, float]:
        """From where to where the text goes: right of the arrows, or left of them, or over those in the middle."""
        width, off = text_width_pt(self.text), _ARROW_PT / 2 + 1
        ways = self.places_pt[-1] + off, self.places_pt[0] - off - width, (self.room_pt - width) / 2
        start = next((start for start in ways[:2] if start >= 0 and start + width <= self.room_pt), ways[2])
        return start, start + width

    @property
    def reach_pt(self) -> tuple[float, float]:
        start, end = self.text_pt
        return min(start, self.places_pt[0] - _ARROW_PT / 2), max(end, self.places_pt[-1] + _ARROW_PT / 2)

    def touches(self, right: "_Group") -> bool:
        return self.reach_pt[1] + GAP_PT > right.reach_pt[0]


def _crossing(pane: Pane, panel: Panel, crossing: Crossing) -> None:
    edge, words = crossing.edge_percent, _crossing_text(crossing, panel.line, pane.scale)
    if is_crossing_marked(panel, pane.scale):
        interval = np.clip([crossing.from_, crossing.to], pane.scale.start, pane.scale.end)
        pane.axes.plot(interval, [edge, edge], color=INK, lw=2.6, solid_capstyle="butt", zorder=6, label="interval")
        pane.axes.plot(interval, [edge, edge], color=INK, ls="none", marker="|", ms=8, mew=1.2, zorder=6)
        pane.axes.plot([crossing.on], [edge], marker="D", ms=5, color=VERMILLION, mec=INK, mew=0.8, zorder=7, label="crossing")
    # Beyond the limit there is nothing yet to the left of the crossing.
    end = min(pane.x_pt(crossing.on) + 3 * GAP_PT, pane.width_pt - GAP_PT)
    pane.write(max(GAP_PT, end - text_width_pt(words)), pane.row_y(edge, is_last=True), words)


def _crossing_text(crossing: Crossing, line: DriftLine, scale: Scale) -> str:
    """The day of a crossing and its interval in words, or that it is before the first check or after the picture's end."""
    limit, on, end = edge_text(crossing.edge_percent), calendar_day(crossing.on), calendar_day(scale.end)
    if crossing.on < line.first_day:
        return f"← reached {limit} before the first check"
    if end is not None and (on is None or (crossing.on > scale.end and on.year > end.year)):
        return f"reaches {limit} after {end.year} →"
    verb = "reached" if crossing.on <= line.last_day else "may have reached" if crossing.on < scale.today else "reaches"
    return f"{verb} {limit} on {_days(crossing)}"


def _days(crossing: Crossing) -> str:
    on, first, last = (calendar_day(day) for day in (crossing.on, crossing.from_, crossing.to))
    if on is None or first is None or last is None or first == last:
        return day_text(on or date.max)
    if first.year == last.year:
        return f"{day_text(on)} ({day_text(first).removesuffix(f' {first.year}')} to {day_text(last)})"
    return f"{day_text(on)} ({day_text(first)} to {day_text(last)})"
