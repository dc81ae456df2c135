"""Three years of weekly checks of the made-up workshop's wrenches: what a lead would write down at the bench."""

import random
from collections.abc import Iterator
from datetime import date, timedelta

from sim.workshop.facts import CHECKED_WEEKLY_FROM, CHECKS, START_AT

YEAR_DAYS = 365.25
_SCATTER_PERCENT = 0.3
_AIM_PERCENT = 0.3
"""How near a hand comes to the torque that it aims at."""


def weekly_checks(wrench: str) -> Iterator[dict[str, str]]:
    """The checks of one wrench, oldest first, as rows of a file of checks: one a week and check torque, up to the made-up day.

    The same rows at each call. No check is made in the weeks around New Year.
    """
    dice = random.Random(f"checks of {wrench}")
    day = CHECKED_WEEKLY_FROM
    while day <= START_AT.date():
        if not _is_closed(day):
            for point in CHECKS[wrench]:
                years = (day - CHECKED_WEEKLY_FROM).days / YEAR_DAYS
                error = point.error_percent + point.percent_per_year * years + dice.gauss(0, _SCATTER_PERCENT)
                aimed = point.torque * (1 + dice.uniform(-_AIM_PERCENT, _AIM_PERCENT) / 100)
                reference, shown = f"{aimed:.2f}", f"{aimed * (1 + error / 100):.2f}"
                yield {"time": str(day), "wrench": wrench, "reference": reference, "shown": shown, "unit": "N·m"}
        day += timedelta(weeks=1)


def _is_closed(day: date) -> bool:
    return (day.month, day.day) >= (12, 22) or (day.month, day.day) <= (1, 4)
