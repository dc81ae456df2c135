"""The page of a drift chart: its title, the headings and places of its panels, their scales' numbers, and the key."""

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor
from typing import TYPE_CHECKING, Any

import numpy as np

from analysis.plot_marks import ARROW_LOOK, DAY_MARKS, arrow, is_crossing_marked
from analysis.plot_panel import EDGE_PT, NAME_PT, ROW_PT, Pane
from analysis.plot_scale import DriftView, Panel, Scale
from analysis.plot_style import BAND, BLUE, DASHES, GREY, INK, PT_PER_MM, TITLE_PT, VERMILLION, drawable, text_width_pt, wrapped
from analysis.wording_drift import day_text, saying, torque_name
from schemas.check import EPOCH

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure

WIDTH_PT = 180 * PT_PER_MM
# Some letters come out a little wider on coarse screens.
_ROOM_PT = 0.98 * WIDTH_PT - 4
_LEFT_PT = 41.0
_RIGHT_PT = NAME_PT + 6
_INNER_PT = WIDTH_PT - _LEFT_PT - _RIGHT_PT
_TITLE_LINE_PT = 13.0
_LINE_PT = 10.0
_STRIP_PT = 13.0
_GAP_PT = 9.0
_TICKS_PT = 28.0
_KEY_COLUMNS = 3
_KEY_LINE_PT = 11.0
_PAD_PT = 5.0
_APART_PT = 12.0
_LEAST_INNER_PT = 26.0
# The fewer panels, the taller: two charts of up to three panels stand on a page, and one of eight.
_HEIGHTS_PT = {1: 112.0, 2: 86.0}
_MANY_HEIGHT_PT = 68.0


@dataclass(frozen=True, slots=True)
class Page:
    """What stands on a drift chart and where: texts cut for their places, lengths in points, `tops_pt` from the top down.

    `headings` has for each panel its torque, and its finding in lines; without checks there is one, and it is empty.
    """

    title: list[str]
    under: list[str]
    headings: list[tuple[str, list[str]]]
    tops_pt: list[float]
    panel_pt: float
    height_pt: float
    scale: Scale
    limit_percent: float
    simulated: bool
    key: list[tuple["Artist", str]]


def page_of(view: DriftView, panels: tuple[Panel, ...], scale: Scale, title: str) -> Page:
    """Lay out the page of a chart; one with an empty title has its first line under it."""
    under = f"Wrench {view.wrench}, serial {view.serial}: error of each check, (shown − reference) / reference"
    title_lines = wrapped(drawable(title), _ROOM_PT, TITLE_PT, bold=True) if title else []
    under_lines = wrapped(drawable(under), _ROOM_PT - (76 if view.simulated else 0))
    headings = [_heading(panel, view) for panel in panels] or [("", [""])]
    # Without a title it stands on a page of other things.
    roomy_pt = _HEIGHTS_PT.get(len(headings), _MANY_HEIGHT_PT) * (1.0 if title else 0.75)
    panel_pt = max(roomy_pt, _LEAST_INNER_PT + _rows_pt(scale.rows_above) + _rows_pt(scale.rows_below))
    top, tops_pt = 10 + len(title_lines) * _TITLE_LINE_PT + len(under_lines) * _LINE_PT + _STRIP_PT, []
    for _, lines in headings:
        top += _LINE_PT * len(lines) + 3
        tops_pt.append(top)
        top += panel_pt + _GAP_PT
    key = key_entries(view, panels, scale)
    height_pt = tops_pt[-1] + panel_pt + _TICKS_PT - (-len(key) // _KEY_COLUMNS) * _KEY_LINE_PT + 4
    return Page(
        title_lines, under_lines, headings, tops_pt, panel_pt, height_pt, scale, view.limit_percent, view.simulated, key
    )  # fmt: skip


def draw_page(page: Page) -> "Figure":
    """A figure with the title, what stands under it, and the mark of a simulation."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH_PT / 72, page.height_pt / 72), facecolor="white")
    down = 2.0
    for line in page.title:
        down += _TITLE_LINE_PT
        _text(figure, 2, down, line, fontsize=TITLE_PT, weight="bold")
    for line in page.under:
        down += _LINE_PT
        _text(figure, 2, down + 1, line, color=GREY)
    if page.simulated:
        box = {"facecolor": INK, "edgecolor": "none", "pad": 2.5}
        _text(figure, WIDTH_PT - 5, down + 1, "SIMULATED", weight="bold", color="white", ha="right", fontsize=8.5, bbox=box)
    return figure


def place_panels(figure: "Figure", page: Page) -> list[Pane]:
    """Empty axes for each panel, with their headings and numbers; one without heading where there is no check torque."""
    panes: list[Pane] = []
    for (torque, lines), top in zip(page.headings, page.tops_pt, strict=True):
        down = top - 4 - _LINE_PT * (len(lines) - 1) - (_STRIP_PT if not panes else 0)
        _text(figure, 2, down, torque, weight="bold")
        for number, line in enumerate(lines):
            _text(figure, 2 + _indent_pt(torque), down + number * _LINE_PT, line)
        place = (_LEFT_PT, page.height_pt - top - page.panel_pt, _INNER_PT, page.panel_pt)
        axes = figure.add_axes(tuple(np.array(place) / [WIDTH_PT, page.height_pt, WIDTH_PT, page.height_pt]))
        pane = Pane(axes, page.scale, _INNER_PT, page.panel_pt, page.limit_percent)
        _scales(pane)
        panes.append(pane)
    _draw_days(panes[-1])
    return panes


def draw_key(figure: "Figure", page: Page) -> None:
    """What the signs of the chart mean, at its foot; only those that occur."""
    figure.legend(
        [sign for sign, _ in page.key], [words for _, words in page.key], loc="lower left", ncols=_KEY_COLUMNS, frameon=False,
        borderpad=0.3, borderaxespad=0, handlelength=2.6, labelspacing=0.35, columnspacing=1.6,
    )  # fmt: skip


def key_entries(view: DriftView, panels: tuple[Panel, ...], scale: Scale) -> list[tuple["Artist", str]]:
    """The signs of the key with their words."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    def line_of(**look: Any) -> "Artist":  # noqa: ANN401  # what Line2D takes
        return Line2D([], [], **{"ls": "none", "color": BLUE, **look})

    lines = [panel.line for panel in panels]
    labels = {label for day, label in view.calibrations if scale.start <= day <= scale.end}
    drifts, crosses = any(line.is_drifting for line in lines), any(is_crossing_marked(panel, scale) for panel in panels)
    known = (
        (any(line.checks for line in lines), line_of(marker="o", ms=3.5), "a check"),
        (any(line.slope_percent_per_year is not None for line in lines), line_of(lw=1.6, ls="-"), "line through the checks"),
        (any(line.residual_sd is not None for line in lines), Patch(fc=BAND), "95 % of single checks lie here"),
        (drifts, line_of(lw=1.6, ls=DASHES), "line to come, if it goes on so"),
        (drifts, Patch(fc="none", ec=GREY, hatch="//////", lw=0.5), "95 % of single checks to come"),
        (crosses, line_of(lw=2.6, ls="-", marker="D", ms=5, color=INK, mfc=VERMILLION), "line reaches the limit, 95 % interval"),
        (any(line.gross for line in lines), line_of(marker=arrow(1), **ARROW_LOOK), "off the scale, not in the line"),
        *((label in labels, line_of(**look), label) for label, look in DAY_MARKS.items()),
    )
    return [(sign, words) for occurs, sign, words in known if occurs]


def _heading(panel: Panel, view: DriftView) -> tuple[str, list[str]]:
    torque = torque_name(panel.line.nominal_nm)
    said = saying(panel.line, view.limit_percent, view.today, with_torque=False)
    return torque, wrapped(drawable(said), _ROOM_PT - _indent_pt(torque))


def _indent_pt(torque: str) -> float:
    return text_width_pt(torque, bold=True) + 8 if torque else 0.0


def _text(figure: "Figure", x_pt: float, down_pt: float, text: str, **look: Any) -> None:  # noqa: ANN401  # what a Text takes
    figure.text(x_pt / WIDTH_PT, 1 - down_pt / (figure.get_figheight() * 72), text, va="baseline", **look)


def _rows_pt(rows: int) -> float:
    return _PAD_PT + ROW_PT * rows + (EDGE_PT if rows else 0)


def _scales(pane: Pane) -> None:
    axes, scale = pane.axes, pane.scale
    above, below = _rows_pt(scale.rows_above), _rows_pt(scale.rows_below)
    per_pt = (scale.high - scale.low) / (pane.height_pt - above - below)
    axes.set_xlim(scale.start, scale.end)
    axes.set_ylim(scale.low - below * per_pt, scale.high + above * per_pt)
    step = pane.limit_percent / 2
    while step / per_pt < _APART_PT:
        step *= 2
    values = [step * n for n in range(ceil(scale.low / step), floor(scale.high / step) + 1)]
    axes.set_yticks(values, [f"{value:+.4g} %".replace("-", "−") if value else "0" for value in values])
    axes.set_xticks([])
    axes.tick_params(length=2.5, width=0.6, pad=2)


def _draw_days(pane: Pane) -> None:
    """The scale of time, which the lowest panel has for all."""
    from matplotlib.dates import AutoDateLocator, num2date

    scale = pane.scale
    span = num2date([scale.start, scale.end])  # type: ignore[no-untyped-call]  # matplotlib's dates have no types
    found = AutoDateLocator(minticks=5, maxticks=12).tick_values(*span)  # type: ignore[no-untyped-call]  # as above
    days = [day for day in found if scale.start <= day <= scale.end]
    pane.axes.set_xticks(days, _day_labels([EPOCH + timedelta(days=round(day)) for day in days]))


def _day_labels(days: list[date]) -> list[str]:
    """What stands below each tick of time: as little as tells them apart, and the year where it changes."""
    if all((day.month, day.day) == (1, 1) for day in days):
        return [str(day.year) for day in days]
    labels, year = [], 0
    for day in days:
        number, month, _ = day_text(day).split()
        name = month[:3] if all(one.day == 1 for one in days) else f"{number} {month[:3]}"
        labels.append(name if day.year == year else f"{name}\n{day.year}")
        year = day.year
    return labels
