"""The checks of the made-up workshop: three years, weekly, one wrench drifting and one not."""

from datetime import date, timedelta
from itertools import groupby, pairwise

import pytest
from scipy import stats

from sim.checks import weekly_checks
from sim.workshop import facts


def by_point(wrench):
    """Rows by the whole tens of their reference, each with its day and its error in percent."""
    rows = sorted((round(float(row["reference"]) / 10), row["time"], row) for row in weekly_checks(wrench))
    for point, group in groupby(rows, key=lambda row: row[0]):
        yield point * 10, [
            (date.fromisoformat(day), (float(row["shown"]) / float(row["reference"]) - 1) * 100) for _, day, row in group
        ]


@pytest.mark.parametrize("wrench", [wrench.id for wrench in facts.WRENCHES])
def test_each_wrench_is_checked_weekly_for_three_years_at_three_torques_up_to_the_made_up_day(wrench):
    points = dict(by_point(wrench))

    assert list(points) == [point.torque for point in facts.CHECKS[wrench]]
    for checks in points.values():
        days = [day for day, _ in checks]
        assert (days[0], days[-1]) == (facts.CHECKED_WEEKLY_FROM, facts.START_AT.date())
        assert 140 <= len(days) == len(set(days)) <= 157
        assert all((later - earlier) % timedelta(weeks=1) == timedelta(0) for earlier, later in pairwise(days))


def test_the_same_checks_are_made_at_each_call():
    assert list(weekly_checks("W-140")) == list(weekly_checks("W-140"))


@pytest.mark.parametrize(("wrench", "drifts"), [("W-140", True), ("W-025", False)])
def test_one_wrench_drifts_and_the_other_does_not(wrench, drifts):
    for _, checks in by_point(wrench):
        # scipy.stats.linregress, an independent least-squares line.
        line = stats.linregress([day.toordinal() for day, _ in checks], [error for _, error in checks])

        assert bool(line.pvalue < 0.001) is drifts
        assert max(abs(error) for _, error in checks) < 4


def test_nobody_checks_around_new_year():
    days = {date.fromisoformat(row["time"]) for row in weekly_checks("W-140")}

    assert not [day for day in days if (day.month == 12 and day.day >= 22) or (day.month == 1 and day.day <= 4)]
