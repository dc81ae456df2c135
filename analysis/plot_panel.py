"""One panel of a drift chart: the checks at one check torque, their line and band, and the limits."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.plot_scale import Panel, Scale
from analysis.plot_style import BAND, BLUE, DASHES, GREY, LIMIT_DASHES, OUTSIDE, TEXT_PT, VERMILLION, text_width_pt
from analysis.wording_drift import edge_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_PT = 10.0
"""Height of a row of text inside a panel."""
EDGE_PT = 2.0
"""Between the edge of a panel and its first row of text."""

# More points than this are one image inside an SVG: as many shapes would make it slow to open.
_MANY = 1500
_STEPS = 60
_SPARSE, _DENSE = 100, 400
GAP_PT = 4.0
NAME_PT = 48.0
"""Room for the name of a limit right of a panel."""


@dataclass(frozen=True, slots=True)
class Pane:
    """A panel's axes with what turns days and rows of text into places on them."""

    axes: "Axes"
    scale: Scale
    width_pt: float
    height_pt: float
    limit_percent: float

    def x_pt(self, day: float) -> float:
        """How far right of the axes' left edge a day lies, in points."""
        return (day - self.scale.start) / (self.scale.end - self.scale.start) * self.width_pt

    def row_y(self, sign: float, *, is_last: bool) -> float:
        """The middle of the first or last row of text above (sign > 0) or below the checks, as a share of the axes' height."""
        place = (self.scale.rows_above if sign > 0 else self.scale.rows_below) - 1 if is_last else 0
        off = (EDGE_PT + (place + 0.5) * ROW_PT) / self.height_pt
        return 1 - off if sign > 0 else off

    def write(self, x_pt: float, y: float, text: str, ground: str = OUTSIDE) -> None:
        """Set a line of text that begins so many points from the left, at a share of the height from below."""
        box = {"facecolor": ground, "edgecolor": "none", "pad": 0.8}
        place = x_pt / self.width_pt, y
        self.axes.text(*place, text, transform=self.axes.transAxes, va="center_baseline", zorder=8, bbox=box)


def draw_panel(pane: Pane, panel: Panel) -> None:
    """Draw the checks of one check torque with their line and band, measured and to come."""
    if panel.line.is_drifting:
        _forecast(pane, panel)
    _measured(pane, panel)
    _points(pane, panel)


def draw_limits(pane: Pane) -> None:
    """Draw the zero line and both limits, each with its name at the right; what lies beyond them is tinted."""
    axes, limit = pane.axes, pane.limit_percent
    bottom, top = axes.get_ylim()
    axes.axhspan(limit, top, color=OUTSIDE, lw=0, zorder=0)
    axes.axhspan(bottom, -limit, color=OUTSIDE, lw=0, zorder=0)
    axes.axhline(0, color=GREY, lw=0.6, zorder=2)
    for edge in (limit, -limit):
        axes.axhline(edge, color=VERMILLION, lw=1.2, ls=LIMIT_DASHES, zorder=3, label=f"limit {edge:+g}")
    names = [(edge, f"limit {edge_text(edge)}") for edge in (limit, -limit)]
    if 2 * limit / (top - bottom) * pane.height_pt < 1.3 * TEXT_PT:
        names = [(0.0, f"limit ±{limit:g} %")]
    for edge, name in names:
        fits = text_width_pt(name) <= NAME_PT
        axes.annotate(
            name if fits else name.removeprefix("limit "), (1, edge), (GAP_PT, 0), xycoords=("axes fraction", "data"),
            textcoords="offset points", va="center_baseline", fontsize=TEXT_PT, color=VERMILLION,
        )  # fmt: skip


def _measured(pane: Pane, panel: Panel) -> None:
    line = panel.line
    if line.slope_percent_per_year is None:
        return
    days = np.linspace(line.first_day, line.last_day, _STEPS)
    ends, width = days[[0, -1]], 1.6 if line.is_drifting else 0.9
    if len(panel.days) > _DENSE:
        # Where points stand thick, a light edge keeps the line in sight.
        pane.axes.plot(ends, line.fit(ends), color="white", lw=width + 1.2, solid_capstyle="butt", zorder=4.5)
    pane.axes.plot(ends, line.fit(ends), color=BLUE, lw=width, solid_capstyle="butt", zorder=5, label="line")
    half = line.prediction_half_width(days)
    if np.isfinite(half).all():
        fit = line.fit(days)
        pane.axes.fill_between(days, fit - half, fit + half, color=BAND, lw=0, zorder=1, label="band")


def _forecast(pane: Pane, panel: Panel) -> None:
    line, end = panel.line, pane.scale.end
    days = np.linspace(line.last_day, end, _STEPS)
    fit, half = line.fit(days), line.prediction_half_width(days)
    pane.axes.fill_between(
        days, fit - half, fit + half, facecolor="none", edgecolor=GREY, hatch="////", lw=0.5, ls=(0, (2, 1.5)), zorder=1,
        label="band to come",
    )  # fmt: skip
    pane.axes.plot(
        days[[0, -1]], fit[[0, -1]], color=BLUE, lw=1.6, ls=DASHES, dash_capstyle="butt", zorder=5, label="line to come"
    )  # fmt: skip


def _points(pane: Pane, panel: Panel) -> None:
    number = len(panel.days)
    dense = number > _DENSE
    pane.axes.scatter(
        panel.days, panel.errors, s=4 if dense else 14 if number < _SPARSE else 9, color=BLUE, edgecolors="white",
        linewidths=0 if dense else 0.35, zorder=4, rasterized=number > _MANY, label="checks",
    )  # fmt: skip
