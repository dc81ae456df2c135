"""The drift of a wrench as the answer of `wrench drift --json`; the shape is a contract that other programs read."""

from datetime import date
from typing import Any

from analysis.measure_drift import DriftLine
from analysis.measure_wrench import WrenchDrift
from analysis.wording_drift import calendar_day, finding

ANSWER_FORMAT = 1


def drift_json(drift: WrenchDrift, today: date) -> dict[str, Any]:
    """The answer, ready for JSON: numbers are numbers, days ISO texts, null where it cannot be told.

    `error_percent_now` is the line at the last check. `crosses_on` is the day on which the line reaches the limit on the side
    that it goes to, `crosses_from` to `crosses_to` its 95 % interval, `recalibrate_before` the first day on which one check in
    forty may lie outside that limit; all four are null unless a drift can be told, and where no calendar reaches the day.
    """
    limit = float(drift.wrench.limit_percent)
    is_simulated = drift.wrench.simulated or bool(drift.checks["simulated"].any())
    return {
        "format": ANSWER_FORMAT,
        "wrench": drift.wrench.id,
        "limit_percent": limit,
        "points": [_point(line, limit, today) for line in drift.lines],
        **({"simulated": 1} if is_simulated else {}),
    }


def _point(line: DriftLine, limit: float, today: date) -> dict[str, Any]:
    crossing = line.crossing(limit)
    return {
        "nominal_nm": line.nominal_nm,
        "checks": line.checks,
        "gross": line.gross,
        "first_check": _iso(line.first_day),
        "last_check": _iso(line.newest_day),
        "last_error_percent": line.newest_error_percent,
        "outside": line.is_outside(limit),
        "slope_percent_per_year": line.slope_percent_per_year,
        "slope_low": line.slope_low,
        "slope_high": line.slope_high,
        "theil_sen_percent_per_year": line.theil_sen_percent_per_year,
        "error_percent_now": line.error_percent_now,
        "limit_percent": limit,
        "crosses_on": _iso(crossing.on) if crossing else None,
        "crosses_from": _iso(crossing.from_) if crossing else None,
        "crosses_to": _iso(crossing.to) if crossing else None,
        "recalibrate_before": _iso(line.recalibrate_before(limit)),
        "finding": finding(line, limit, today),
    }


def _iso(day: float | None) -> str | None:
    found = None if day is None else calendar_day(day)
    return None if found is None else str(found)
