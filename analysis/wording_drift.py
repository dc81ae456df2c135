"""The sentences about drift: one finding a line, days in words that are the same on every machine. Pure."""

from datetime import date, timedelta
from math import copysign, floor

from analysis.measure_drift import YEAR_DAYS, Crossing, DriftLine
from schemas.check import EPOCH, day_number

LONG_YEARS = 10
"""What lies further ahead is not told as a day: no wrench goes on as it does for so long."""
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def calendar_day(day: float) -> date | None:
    """The day of a count of days since 1970-01-01; None where no calendar reaches it."""
    try:
        return EPOCH + timedelta(days=floor(day))
    except OverflowError:
        return None


def day_text(day: date) -> str:
    """A day in words, `3 May 2026`."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def torque_name(nominal_nm: float) -> str:
    """A check torque, `120 N·m`."""
    return f"{nominal_nm:g} N·m"


def signed(percent: float, places: int = 1) -> str:
    """A percentage with its sign, the typographic minus included."""
    # Rounded first, so that no -0.0 is shown.
    rounded = round(percent, places) + 0.0
    return f"{rounded:+.{places}f} %".replace("-", "−")


def finding(line: DriftLine, limit_percent: float, today: date) -> str:
    """What the checks of a wrench at one torque show, in one sentence without a full stop; `saying` with the wrench in front."""
    return f"{line.wrench} {saying(line, limit_percent, today)}"


def saying(line: DriftLine, limit_percent: float, today: date, *, with_torque: bool = True) -> str:
    """The finding without the wrench, such as `leaves +4 % at 120 N·m between 3 May 2026 and 20 July 2026`.

    Days of leaving a limit are those of the line and its 95 % interval. `today` decides between past and future, and what is
    too far ahead to be told as a day. Where the last check alone lies outside, where a robust slope is known and lies outside
    the 95 % interval of the line's, and where gross checks were left out, it says so at the end.
    """
    at = f" at {torque_name(line.nominal_nm)}" if with_torque else ""
    course = _course(line, limit_percent, today, at)
    return f"{course}{_last(line, limit_percent)}{_bent(line)}{_gross(line)}"


def _course(line: DriftLine, limit_percent: float, today: date, at: str) -> str:
    if line.checks == 0:
        return f"has no check to go by{at}"
    crossing = line.crossing(limit_percent)
    if crossing is None:
        return f"shows {_level(line, limit_percent, at)}: no drift can be told from {_count(line.checks)}"
    towards = copysign(1.0, crossing.edge_percent) * line.error_percent_now
    if towards > limit_percent:
        return f"has been outside {edge_text(crossing.edge_percent)}{at} {_since(crossing, line.first_day, today)}"
    pace = f"{signed(line.slope_percent_per_year or 0.0, 2)} a year"
    if towards < -limit_percent:
        return f"shows {_level(line, limit_percent, at)}, and drifts back by {pace}"
    far = day_number(today) + LONG_YEARS * YEAR_DAYS
    if crossing.from_ > far:
        return f"drifts {pace}{at} and stays inside ±{limit_percent:g} % for more than {LONG_YEARS} years"
    if max(crossing.on, crossing.to) > far:
        return f"leaves {edge_text(crossing.edge_percent)}{at} not before {day_text(_day(crossing.from_))}"
    # Nobody has looked since the last check, where the line was still inside.
    verb, unseen = ("left", ", if it went on as in its checks") if _day(crossing.to) < today else ("leaves", "")
    return f"{verb} {edge_text(crossing.edge_percent)}{at} {_between(crossing)}{unseen}"


def _since(crossing: Crossing, first_day: float, today: date) -> str:
    """Since when a line has been outside that was outside at its last check."""
    if crossing.on < first_day:
        return f"since before its first check on {day_text(_day(first_day))}"
    begins, ends = _day(crossing.from_), _day(crossing.to)
    if begins == ends:
        return f"since {day_text(begins)}"
    sure = _between(crossing) if ends <= today else f"not before {day_text(begins)}"
    return f"since about {day_text(_day(crossing.on))} ({sure})"


def _between(crossing: Crossing) -> str:
    first, last = _day(crossing.from_), _day(crossing.to)
    return f"on {day_text(first)}" if first == last else f"between {day_text(first)} and {day_text(last)}"


def _day(day: float) -> date:
    """The day, or the calendar's first or last where it does not reach it."""
    return calendar_day(day) or (date.min if day < 0 else date.max)


def _last(line: DriftLine, limit_percent: float) -> str:
    """The last check, where it lies outside the limit and the line does not."""
    if not line.checks or not line.is_outside(limit_percent) or abs(line.error_percent_now) > limit_percent:
        return ""
    return f"; its last check shows {signed(line.newest_error_percent)}, outside ±{limit_percent:g} %"


def _bent(line: DriftLine) -> str:
    robust, slope = line.theil_sen_percent_per_year, line.slope_percent_per_year
    if robust is None or slope is None or line.slope_high is None or not line.is_drifting:
        return ""
    # Lines that are exact have an interval without width, and a robust slope beside it by nothing but rounding.
    if abs(robust - slope) <= (line.slope_high - slope) * (1 + 1e-9) or round(robust, 2) == round(slope, 2):
        return ""
    return f"; single checks bend this line: most go {signed(robust, 2)} a year (Theil–Sen)"


def _gross(line: DriftLine) -> str:
    if not line.gross:
        return ""
    off = "off" if line.worst_gross_percent is None else f"{line.worst_gross_percent:.0f} % off"
    if line.gross == 1:
        return f"; 1 check is {off} and not in the line"
    return f"; {_count(line.gross)} are {off if line.worst_gross_percent is None else f'up to {off}'} and not in the line"


def _count(checks: int) -> str:
    return f"{checks} check" if checks == 1 else f"{checks} checks"


def _level(line: DriftLine, limit_percent: float, at: str) -> str:
    error = line.error_percent_now
    return f"{signed(error)}{at}" + (f", outside ±{limit_percent:g} %" if abs(error) > limit_percent else "")


def edge_text(edge_percent: float) -> str:
    """A limit with its sign, `+4 %`."""
    return f"{'+' if edge_percent > 0 else '−'}{abs(edge_percent):g} %"
