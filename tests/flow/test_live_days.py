"""Made-up days lived live with a truthful press a joint: no day on which a fastener was missed is ever complete."""

import pytest

from benchmarks.live_days import LiveDay
from sim.shop.day import live_day

DAYS = [live_day("usual", seed, angle=seed % 2 == 0, times=True) for seed in range(12)]


@pytest.fixture(name="lived", scope="module")
def _lived():
    return [LiveDay(day).live() for day in DAYS]


def test_there_are_days_with_and_without_a_missed_fastener():
    assert {bool(day.missed) for day in DAYS} == {True, False}


def test_no_day_with_a_missed_fastener_is_complete(lived):
    assert not [day.missed for day, one in zip(DAYS, lived, strict=True) if one.is_complete and day.missed]


def test_most_readings_are_placed_right_in_joint_and_stage(lived):
    right = sum(one.right for one in lived)

    assert right > 0.85 * sum(len(day.readings) for day in DAYS)


def test_the_fitter_is_asked_about_as_many_joints_as_were_worked(lived):
    assert all(one.asked > 0 for one in lived)
