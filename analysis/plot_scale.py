"""What a drift chart shows and how far it reaches: its panels, and the time and error scale that they share."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from analysis.measure_drift import GROSS_PERCENT, YEAR_DAYS, Crossing, DriftLine, nominals
from analysis.measure_lines import Floats
from analysis.wording_drift import LONG_YEARS
from schemas.check import day_number

if TYPE_CHECKING:
    import pandas as pd

_SHORTEST_DAYS = 30.0
_FORECAST_LEAST_DAYS = 90.0
_FORECAST_MOST_DAYS = 730.0
_EDGE = 0.02
# Scales of time need some days more than they show, and no calendar has any before the year 1 and after 9999.
_EDGE_DAYS = 400.0


@dataclass(frozen=True, slots=True)
class DriftView:
    """One wrench as its drift chart shows it.

    `checks` has the columns of `load_checks`; `lines` are those of `measure_drift` over the same checks; `calibrations` are
    days since 1970-01-01, each with its label, `adjusted` where the wrench was set anew.
    """

    wrench: str
    serial: str
    limit_percent: float
    checks: "pd.DataFrame"
    lines: tuple[DriftLine, ...]
    calibrations: tuple[tuple[float, str], ...]
    today: date
    simulated: bool


@dataclass(frozen=True, slots=True)
class Panel:
    """The checks at one check torque, the grossly wrong ones apart; days since 1970-01-01, errors in percent.

    `crossing` is None where the line is not drifting, or stays inside the limit for so long that nobody can tell.
    """

    line: DriftLine
    days: Floats
    errors: Floats
    gross_days: Floats
    gross_errors: Floats
    crossing: Crossing | None


@dataclass(frozen=True, slots=True)
class Scale:
    """The part of time (days since 1970-01-01) and of error (percent) that all panels show; today may lie outside.

    From `low` to `high` lie the checks and both limits. Beyond them is room for `rows_above` and `rows_below` rows of text:
    the first from the edge of the panel has the gross checks, the last has the crossing; it can be the same.
    """

    start: float
    end: float
    today: float
    low: float
    high: float
    rows_above: int
    rows_below: int


def panels_of(view: DriftView) -> tuple[Panel, ...]:
    """A panel for each line of the view, from the smallest check torque to the largest."""
    if not view.lines:
        return ()
    days, errors = view.checks["day"].to_numpy(float), view.checks["error_percent"].to_numpy(float)
    soon = day_number(view.today) + LONG_YEARS * YEAR_DAYS
    torques, is_gross = nominals(view.checks), np.abs(errors) > GROSS_PERCENT
    found = []
    for line in sorted(view.lines, key=lambda line: line.nominal_nm):
        here = torques == line.nominal_nm
        near, far = here & ~is_gross, here & is_gross
        crossing = line.crossing(view.limit_percent)
        if crossing is not None and crossing.on > soon:
            crossing = None
        found.append(Panel(line, days[near], errors[near], days[far], errors[far], crossing))
    return tuple(found)


def scale_of(view: DriftView, panels: tuple[Panel, ...]) -> Scale:
    """The scale that holds every check but the gross ones, both limits, and as much of the future as can be told."""
    start, end = _time(view, panels)
    errors = np.concatenate([np.array([-view.limit_percent, view.limit_percent]), *(panel.errors for panel in panels)])
    low, high = float(errors.min()), float(errors.max())
    return Scale(start, end, day_number(view.today), low, high, _rows(panels, 1), _rows(panels, -1))


def _time(view: DriftView, panels: tuple[Panel, ...]) -> tuple[float, float]:
    today = day_number(view.today)
    days = view.checks["day"].to_numpy(float)
    first, last = (float(days.min()), float(days.max())) if days.size else (today - 2 * _FORECAST_LEAST_DAYS, today)
    # A line through a short time says little of a long one, so it is drawn at most as far again as it was measured.
    reach = min(max(last - first, _FORECAST_LEAST_DAYS), _FORECAST_MOST_DAYS)
    end = max(last, min(today, last + reach), *_ends(panels, last, reach, today))
    lead = max(_SHORTEST_DAYS, 0.1 * (end - first))
    start = min([first, *(day for day, _ in view.calibrations if first - lead <= day)])
    edge = max(_EDGE * (end - start), (_SHORTEST_DAYS - (end - start)) / 2)
    return max(start - edge, day_number(date.min) + _EDGE_DAYS), min(end + edge, day_number(date.max) - _EDGE_DAYS)


def _ends(panels: Iterable[Panel], last: float, reach: float, today: float) -> list[float]:
    """Where each panel's forecast would end: with its interval of crossing, or halfway where that is out of reach.

    An interval that is over by today is told as the finding, so it is in the picture in any case.
    """
    crossings = [panel.crossing for panel in panels if panel.crossing is not None]
    told = [one.to for one in crossings if one.to <= today]
    return [last, *told, *(min(one.to, last + reach) if one.on <= last + reach else last + reach / 2 for one in crossings)]


def _rows(panels: Iterable[Panel], sign: int) -> int:
    """How many rows of text the panel that has most of them needs on one side."""
    return max((_has_gross(panel, sign) + _has_crossing(panel, sign) for panel in panels), default=0)


def _has_gross(panel: Panel, sign: int) -> bool:
    return bool((sign * panel.gross_errors > 0).any())


def _has_crossing(panel: Panel, sign: int) -> bool:
    return panel.crossing is not None and sign * panel.crossing.edge_percent > 0
