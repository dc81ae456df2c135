"""The drift chart of one wrench: a panel for each check torque, one below the other, under the finding that presses most."""

from dataclasses import replace
from typing import TYPE_CHECKING

from analysis.measure_drift import DriftLine, nominals
from analysis.plot_marks import draw_days, draw_marks
from analysis.plot_page import draw_key, draw_page, page_of, place_panels
from analysis.plot_panel import ROW_PT, draw_limits, draw_panel
from analysis.plot_scale import DriftView, panels_of, scale_of
from analysis.plot_style import Form, drawing_style, figure_bytes
from analysis.wording_drift import calendar_day, day_text, finding, torque_name

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["DriftView", "alt_text", "draw_drift", "most_pressing", "plot_drift", "title_of"]


def plot_drift(view: DriftView, form: Form, *, titled: bool = True) -> bytes:
    """The drift chart as a picture 180 mm wide; the same view gives the same bytes.

    Args:
        view: one wrench; without lines the chart says that there are no checks.
        form: `png` has 200 dots an inch; `svg` has all letters as outlines, and needs no font.
        titled: False where the finding stands beside the picture as text.
    """
    return figure_bytes(draw_drift(view, titled=titled), form, alt_text(view))


@drawing_style()
def draw_drift(view: DriftView, *, titled: bool = True) -> "Figure":
    """The drift chart as a figure that nothing has drawn yet."""
    panels = panels_of(view)
    scale = scale_of(view, panels)
    page = page_of(view, panels, scale, title_of(view) if titled else "")
    figure = draw_page(page)
    panes = place_panels(figure, page)
    for pane, panel in zip(panes, panels or (None,), strict=True):
        draw_limits(pane)
        if panel is None:
            pane.write(pane.width_pt / 2, 0.5 + ROW_PT / pane.height_pt, "no checks yet", "white")
        else:
            draw_panel(pane, panel)
            draw_marks(pane, panel)
    draw_days(panes, ((scale.today, f"today, {day_text(view.today)}"), *view.calibrations))
    draw_key(figure, page)
    return figure


def title_of(view: DriftView) -> str:
    """The finding of the check torque that presses most, or that there are no checks."""
    if not view.lines:
        return f"{view.wrench} has no checks yet, so nothing can be told of its drift"
    return finding(_first(view), view.limit_percent, view.today)


def most_pressing(view: DriftView) -> DriftView:
    """The same wrench with the one check torque that presses most, for a page with little room; it has lines."""
    line = _first(view)
    return replace(view, lines=(line,), checks=view.checks[nominals(view.checks) == line.nominal_nm])


def _first(view: DriftView) -> DriftLine:
    return min(view.lines, key=lambda line: _urgency(line, view.limit_percent))


def alt_text(view: DriftView) -> str:
    """What the chart shows, in two or three sentences for who cannot see it; the first is its title."""
    mark = "SIMULATED. " if view.simulated else ""
    of = f"Drift chart of wrench {view.wrench}, serial {view.serial}"
    if not view.lines:
        return f"{mark}{title_of(view)}. {of}, without checks."
    days = {calendar_day(day) for day in (view.checks["day"].min(), view.checks["day"].max())}
    between = " to ".join(day_text(day) for day in sorted(day for day in days if day))
    torques = ", ".join(torque_name(line.nominal_nm) for line in sorted(view.lines, key=lambda line: line.nominal_nm))
    number = f"{len(view.checks)} {'check' if len(view.checks) == 1 else 'checks'}"
    return f"{mark}{title_of(view)}. {of}: {number}, {between}, at {torques}, permissible ±{view.limit_percent:g} %."


def _urgency(line: DriftLine, limit_percent: float) -> tuple[int, float]:
    """Smallest for what presses most: outside the limit, no check to go by, the next crossing, gross checks, a large error."""
    error = max(abs(line.error_percent_now), abs(line.newest_error_percent))
    if line.is_outside(limit_percent):
        return 0, -error
    if line.checks == 0:
        return 1, 0.0
    crossing = line.crossing(limit_percent)
    return (2, crossing.from_) if crossing is not None else (3 if line.gross else 4, -error)
