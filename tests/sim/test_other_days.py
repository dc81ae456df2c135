"""Days of the second maker hang together: they repeat, their truth replays, and the real loader reads their plans."""

from pathlib import Path

import pytest

from schemas.plan.load import load_plan
from schemas.words import Kind
from sim.shop.truth import ShopDay

SHOPS = ("tidy", "usual", "rough")


@pytest.fixture(name="live_day")
def _live_day(monkeypatch):
    # The benchmarks are not part of the installed package.
    monkeypatch.syspath_prepend(Path(__file__).parents[2])
    from benchmarks.other_days import live_day

    return live_day


def replayed(day: ShopDay) -> list[tuple[str, int, int]]:
    """What stays undone when the touches are crossed off the real plan one after the other."""
    route = load_plan(day.plan.encode(), "plan.yaml")
    open_ones = {
        (joint.id, stage.number, position): None
        for joint in route.joints
        for stage in joint.stages
        for position in range(1, joint.fasteners + 1)
    }
    every = set(open_ones)
    for touch in day.truth:
        assert (touch.joint is None) == (touch.kind is Kind.STRAY)
        if touch.joint is not None:
            assert (touch.joint, touch.stage, touch.position) in every
        if touch.kind is Kind.TIGHTENING:
            open_ones.pop((touch.joint, touch.stage, touch.position), None)
    return list(open_ones)


@pytest.mark.parametrize("shop", SHOPS)
def test_the_same_seed_gives_the_same_day_and_another_seed_another(live_day, shop):
    first = live_day(shop, 11, angle=True, times=True)

    assert live_day(shop, 11, angle=True, times=True) == first
    assert live_day(shop, 12, angle=True, times=True).readings != first.readings


@pytest.mark.parametrize("shop", SHOPS)
def test_replaying_the_touches_leaves_exactly_what_was_missed(live_day, shop):
    days = [live_day(shop, seed, angle=False, times=True) for seed in range(20)]

    assert all(len(day.truth) == len(day.readings) for day in days)
    assert [replayed(day) for day in days] == [list(day.missed) for day in days]
    assert any(day.missed for day in days)


def test_a_click_below_its_band_that_was_continued_is_never_shown_in_band(live_day):
    for seed in range(20):
        day = live_day("rough", seed, angle=False, times=True)
        route = load_plan(day.plan.encode(), "plan.yaml")
        for reading, touch in zip(day.readings, day.truth, strict=True):
            if touch.kind is Kind.SHORT_PULL:
                assert float(reading.torque) < route.joint(touch.joint).stages[touch.stage - 1].band.low_nm


def test_without_times_and_angle_it_is_the_same_day_with_two_columns_less(live_day):
    full = live_day("usual", 5, angle=True, times=True)

    bare = live_day("usual", 5, angle=False, times=False)

    assert (bare.truth, bare.missed) == (full.truth, full.missed)
    assert [reading.torque for reading in bare.readings] == [reading.torque for reading in full.readings]
    assert all(reading.at_s is None and reading.angle is None for reading in bare.readings)
    assert all(reading.at_s is not None for reading in full.readings)


def test_plans_keep_to_their_sizes(live_day):
    routes = [load_plan(live_day("tidy", seed, angle=False, times=False).plan.encode(), "plan.yaml") for seed in range(30)]

    assert all(8 <= len(route.joints) <= 25 for route in routes)
    assert all(30 <= sum(joint.fasteners for joint in route.joints) <= 120 for route in routes)
    assert {len(joint.stages) for route in routes for joint in route.joints} == {1, 2, 3}
