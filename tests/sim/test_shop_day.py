"""Made-up days of whole shops: the same seed gives the same day, the truth holds together, and every habit comes up."""

import csv
import json
from collections import Counter
from datetime import datetime
from itertools import groupby, pairwise

import pytest

from schemas.plan.load import load_plan
from schemas.words import Kind
from sim.shop.day import SHOPS, live_day
from sim.shop.fitters import FITTERS, HELD_OUT
from sim.shop.write import write_day


@pytest.fixture(name="days", scope="module")
def _days():
    """Some days of each shop, with all that a log can tell."""
    return {shop: [live_day(shop, seed, angle=True, times=True) for seed in range(80)] for shop in SHOPS}


def routes(days, few=8):
    for day in days["tidy"][:few] + days["usual"][:few] + days["rough"][:few]:
        yield day, load_plan(day.plan.encode(), "made-up.yaml")


def touched(day, kind):
    return [(touch.joint, touch.stage, touch.position) for touch in day.truth if touch.kind is kind]


@pytest.mark.parametrize("shop", SHOPS)
def test_the_same_seed_gives_the_same_day_and_another_seed_another(shop):
    day = live_day(shop, 5, angle=True, times=True)

    assert live_day(shop, 5, angle=True, times=True) == day
    assert live_day(shop, 6, angle=True, times=True) != day


def test_what_the_log_does_not_tell_does_not_change_the_work():
    told, untold = (live_day("rough", 9, angle=tells, times=tells) for tells in (True, False))

    assert (told.truth, told.missed, told.plan) == (untold.truth, untold.missed, untold.plan)
    assert {(row.at_s, row.angle) for row in untold.readings} == {(None, None)}
    assert all(row.at_s is not None and row.angle is not None for row in told.readings)
    assert [row.torque for row in told.readings] == [row.torque for row in untold.readings]


def test_every_plan_loads_and_has_the_places_that_the_day_was_worked_at(days):
    for day, route in routes(days):
        wanted = {(joint.id, stage.number): joint.order for joint in route.joints for stage in joint.stages}
        assert {key: place.slots for key, place in day.secret.places.items()} == wanted
        for joint in route.joints:
            for stage in joint.stages:
                place = day.secret.places[joint.id, stage.number]
                assert (place.low_nm, place.high_nm) == pytest.approx((float(stage.band.low), float(stage.band.high)))


def test_replaying_the_touches_leaves_exactly_what_was_missed(days):
    for day in (day for shop in SHOPS for day in days[shop]):
        left = {(*key, position) for key, place in day.secret.places.items() for position in place.slots}
        assert all(touch.joint is None or (touch.joint, touch.stage, touch.position) in left for touch in day.truth)
        left.difference_update(touched(day, Kind.TIGHTENING))
        assert set(day.missed) == left
        assert len(day.missed) == len(left)


def test_a_fastener_that_was_only_pulled_short_when_the_log_stopped_is_missed():
    days = (live_day("rough", seed, angle=False, times=False) for seed in range(1000))
    day = next(day for day in days if day.truth[-1].kind is Kind.SHORT_PULL)

    assert (day.truth[-1].joint, day.truth[-1].stage, day.truth[-1].position) in day.missed


def test_a_small_wrench_is_used_for_small_torques_and_never_for_large_ones(days):
    of_size = {"small": [], "large": []}
    for day in days["usual"]:
        for row, touch in zip(day.readings, day.truth, strict=True):
            if touch.kind is Kind.TIGHTENING:
                of_size["small" if row.wrench in ("W-25", "W-26") else "large"].append(float(row.torque))

    assert max(of_size["small"]) < 60
    assert min(of_size["large"]) > 10
    assert max(of_size["large"]) > 100


def test_plans_have_the_sizes_of_real_ones_and_half_of_them_name_their_joints_by_numbers(days):
    sizes = [(len(route.joints), sum(joint.fasteners for joint in route.joints)) for _, route in routes(days)]

    assert all(8 <= joints <= 30 and 30 <= fasteners <= 150 for joints, fasteners in sizes)
    numbered = sum("id: J01," in day.plan for shop in SHOPS for day in days[shop])
    assert 0.4 < numbered / 240 < 0.6
    assert any("-left," in day.plan and "-right," in day.plan for day in days["usual"])


def test_a_touch_counts_once_and_repeats_and_rechecks_only_follow_a_tightening(days):
    for shop in SHOPS:
        for day in days[shop]:
            done = set()
            for touch in day.truth:
                place = (touch.joint, touch.stage, touch.position)
                assert (touch.joint is None) == (touch.kind is Kind.STRAY)
                assert touch.kind not in (Kind.REPEAT, Kind.RECHECK) or place in done
                assert touch.kind is not Kind.SHORT_PULL or place not in done
                if touch.kind is Kind.TIGHTENING:
                    done.add(place)


def test_a_short_pull_stays_below_the_band_and_the_next_touch_of_its_fastener_goes_on_with_it(days):
    for day, route in routes(days):
        low = {(joint.id, stage.number): float(stage.band.low) for joint in route.joints for stage in joint.stages}
        own = {}
        for row, touch in zip(day.readings, day.truth, strict=True):
            if touch.kind is Kind.SHORT_PULL:
                assert float(row.torque) < low[touch.joint, touch.stage]
            own.setdefault((touch.joint, touch.stage), []).append(touch)
        for touches in own.values():
            for first, second in pairwise(touches):
                assert first.kind is not Kind.SHORT_PULL or first.position == second.position


def test_times_never_run_backwards_and_are_whole_seconds_on_about_half_of_the_days(days):
    whole = 0
    for day in (day for shop in SHOPS for day in days[shop]):
        assert all(first.at_s <= second.at_s for first, second in pairwise(day.readings))
        whole += all(row.at_s == int(row.at_s) for row in day.readings)

    assert 90 < whole < 150


def test_a_tight_fastener_hardly_turns_and_sequence_numbers_have_no_gap(days):
    for day in days["rough"]:
        numbers = {}
        for row, touch in zip(day.readings, day.truth, strict=True):
            assert touch.kind not in (Kind.REPEAT, Kind.RECHECK) or float(row.angle) <= 5
            if row.seq is not None:
                assert row.seq == numbers.get(row.wrench, row.seq - 1) + 1
                numbers[row.wrench] = row.seq


@pytest.mark.parametrize(
    ("shop", "fewest", "most"),
    [
        pytest.param("tidy", 0.03, 0.2, id="tidy"),
        pytest.param("usual", 0.18, 0.42, id="usual"),
        pytest.param("rough", 0.48, 0.74, id="rough"),
    ],
)
def test_a_share_of_the_days_of_each_shop_has_a_miss(days, shop, fewest, most):
    assert fewest <= sum(bool(day.missed) for day in days[shop]) / len(days[shop]) <= most


def test_a_tidy_shop_forgets_one_fastener_at_most_and_its_joint_shows_nothing_else(days):
    for day in days["tidy"]:
        assert len(day.missed) <= 1
        for joint, stage, _ in day.missed:
            kinds = {touch.kind for touch in day.truth if (touch.joint, touch.stage) == (joint, stage)}
            assert kinds == {Kind.TIGHTENING}


def habits_of(day):
    """The names of the habits that a day shows."""
    found = {str(touch.kind) for touch in day.truth}
    joints = [touch.joint for touch in day.truth if touch.joint is not None]
    places = [key for key, _ in groupby((touch.joint, touch.stage) for touch in day.truth if touch.joint is not None)]
    planned = [line.split("id: ")[1].split(",")[0] for line in day.plan.splitlines() if "id: " in line]
    order = list(dict.fromkeys(joints))
    done = Counter(touched(day, Kind.TIGHTENING))
    pulls = Counter(key for key in ((touch.joint, touch.stage) for touch in day.truth) if key[0] is not None)
    sizes = {key: len(place.slots) for key, place in day.secret.places.items()}
    missed = Counter((joint, stage) for joint, stage, _ in day.missed)
    gaps = [second.at_s - first.at_s for first, second in pairwise(day.readings)]
    found |= {"joint forgotten"} if missed and set(planned) - set(order) else set()
    found |= {"another order"} if order != [joint for joint in planned if joint in order] else set()
    found |= {"interrupted or rechecked later"} if max(Counter(places).values(), default=0) > 1 else set()
    found |= {"rounds interleaved"} if " and " not in day.fitter and any(
        first[0] != second[0] and first[1] == second[1] == 1 and (third, fourth) == ((first[0], 2), (second[0], 2))
        for first, second, third, fourth in zip(places, places[1:], places[2:], places[3:], strict=False)
    ) else set()  # fmt: skip
    strays = [row for row, touch in zip(day.readings, day.truth, strict=True) if touch.kind is Kind.STRAY]
    found |= {"trial click"} if any(float(row.angle) <= 5 for row in strays) else set()
    found |= {"another vehicle"} if sum(float(row.angle) > 10 for row in strays) > 2 else set()
    found |= {"done again"} if max(done.values(), default=0) > 1 else set()
    found |= {"right count with a miss"} if any(pulls[key] == sizes[key] for key in missed) else set()
    found |= {"two fitters"} if " and " in day.fitter else set()
    found |= {"lump"} if any(len(list(run)) > 4 and gap == 0 for gap, run in groupby(gaps)) else set()
    found |= {"log stops"} if len(missed) > 1 and {key[0] for key in missed} - set(order) else set()
    return found


def test_every_habit_comes_up(days):
    found = set().union(*(habits_of(day) for shop in SHOPS for day in days[shop]))

    assert found == {
        "tightening", "short pull", "repeat", "recheck", "stray", "trial click", "another vehicle", "joint forgotten",
        "another order", "done again", "interrupted or rechecked later", "rounds interleaved", "right count with a miss",
        "two fitters", "lump", "log stops",
    }  # fmt: skip


def test_fitters_can_be_chosen_and_two_are_held_out():
    assert len(HELD_OUT) >= 2
    assert set(HELD_OUT) < set(FITTERS)

    names = {live_day("rough", seed, angle=False, times=False, fitters=HELD_OUT).fitter for seed in range(30)}

    assert set(HELD_OUT) <= names
    assert all(name in HELD_OUT for both in names for name in both.split(" and "))


@pytest.mark.parametrize("tells", [pytest.param(True, id="with-times-and-angles"), pytest.param(False, id="without")])
def test_a_written_day_reads_back_as_it_was(tmp_path, tells):
    day = live_day("rough", 11, angle=tells, times=tells)

    write_day(day, tmp_path, "eleven")

    with (tmp_path / "eleven.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["wrench"], row["torque"], row.get("angle")) for row in rows] == [
        (row.wrench, row.torque, row.angle) for row in day.readings
    ]  # fmt: skip
    assert ("time" in rows[0]) == ("angle" in rows[0]) == tells
    if tells:
        times = [datetime.fromisoformat(row["time"]) for row in rows]
        begun = day.readings[0].at_s
        assert [(time - times[0]).total_seconds() for time in times] == pytest.approx([row.at_s - begun for row in day.readings])
    truth = json.loads((tmp_path / "eleven.truth.json").read_text(encoding="utf-8"))
    assert [(row["joint"], row["stage"], row["position"], row["kind"]) for row in truth["readings"]] == [
        (touch.joint, touch.stage, touch.position, touch.kind) for touch in day.truth
    ]  # fmt: skip
    assert [tuple(row.values()) for row in truth["missed"]] == list(day.missed)
    assert (truth["shop"], truth["fitter"], truth["simulated"]) == (day.shop, day.fitter, 1)
    assert (tmp_path / "eleven.yaml").read_text(encoding="utf-8") == day.plan
