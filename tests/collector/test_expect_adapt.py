"""What one log shows of its own fitter and wrenches: robust, drawn towards what is usual, and never more than it has seen."""

from dataclasses import fields, replace
from random import Random

import pytest

from collector.expect.adapt import adapt
from collector.expect.adapt_way import own_ways
from collector.expect.click import Click
from collector.expect.gaps import see
from collector.expect.habits import USUAL, Habits
from collector.expect.own import Own
from collector.expect.places import places_of
from collector.expect.settle import AtPlace, Settled, settle
from collector.expect.smooth import ROUGH, run_beam
from collector.expect.way import WAYS
from collector.expect.within import CRAMPED, Did, state_of
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD


def plan(*rows):
    return places_of(load_plan((HEAD + "".join(f"  - {{id: {row}}}\n" for row in rows)).encode(), "axle.yaml"))


SIX = plan(*(f"j{n}, name: J, fasteners: 4, torque: {60 + 15 * n}" for n in range(6)))
ROUNDS = plan(*(f"j{n}, name: J, fasteners: 4, torque: {100 + 40 * n}, stages: [50, 100]" for n in range(3)))


class Fitter:
    """Pulls joint after joint, a reading each; pauses and errors are drawn around those that are given."""

    def __init__(self, *, next_s=8.0, joint_s=60.0, off=0.0, spread=0.01, wrench="W-1", turn_deg=None, seed=1):
        self.next_s, self.joint_s, self.off, self.spread, self.turn_deg = next_s, joint_s, off, spread, turn_deg
        self.random, self.wrench, self.at_s, self.clicks = Random(seed), wrench, 0.0, []

    def click(self, torque_nm, pause_s, angle_deg=None, exact=False):
        self.at_s += pause_s * (1.0 if exact else self.random.uniform(0.85, 1.15))
        torque_nm *= 1.0 + self.off + self.random.gauss(0.0, self.spread)
        self.clicks.append(Click(len(self.clicks) + 1, torque_nm, self.wrench, self.at_s, angle_deg))

    def do(self, place, first_s=None):
        for n in range(place.fasteners):
            angle = None if self.turn_deg is None else self.turn_deg * self.random.uniform(0.9, 1.1)
            self.click(place.target_nm, (first_s or self.joint_s) if n == 0 else self.next_s, angle)

    def work(self, places, order=None):
        for number in order or range(len(places)):
            self.do(places[number])
        return self.clicks


def shown(places, clicks, habits=USUAL):
    """What a log shows."""
    seen, own = see(clicks), Own(habits)
    return adapt(places, own, seen, settle(places, own, seen, run_beam(places, own, seen, ROUGH)))


def test_a_fitter_twice_as_fast_is_found():
    fast, slow = (shown(SIX, Fitter(next_s=pause).work(SIX)).habits.next_s for pause in (4.0, 16.0))

    assert 4.0 < fast < 6.0 < USUAL.next_s < 12.0 < slow < 16.0


def test_one_odd_pause_changes_next_to_nothing():
    def worked(odd_s):
        fitter = Fitter(next_s=6.0)
        fitter.do(SIX[0])
        for n, place in enumerate(SIX[1:]):
            fitter.do(place)
            if n == 2:
                fitter.clicks[-1] = replace(fitter.clicks[-1], at_s=fitter.clicks[-2].at_s + odd_s)
                fitter.at_s = fitter.clicks[-1].at_s
        return shown(SIX, fitter.clicks).habits

    usual, odd = worked(6.0), worked(2000.0)

    assert odd.next_s == pytest.approx(usual.next_s, rel=0.05)
    assert odd.next_sd == pytest.approx(usual.next_sd, rel=0.15)


def test_a_steady_hand_is_known_by_its_pauses_and_never_taken_for_a_machine():
    steady = shown(SIX, Fitter().work(SIX)).habits

    assert 0.25 < steady.next_sd < USUAL.next_sd


def test_pauses_between_joints_and_between_rounds_are_told_apart():
    fitter = Fitter(joint_s=200.0)
    for n in (0, 2, 4):
        fitter.do(ROUNDS[n])
        fitter.do(ROUNDS[n + 1], first_s=5.0)

    found = shown(ROUNDS, fitter.clicks).habits

    assert found.joint_s > 1.2 * USUAL.joint_s
    assert found.round_s < 0.9 * USUAL.round_s


@pytest.mark.parametrize("off", [0.03, -0.03])
def test_a_wrench_that_is_off_is_found_and_a_good_one_beside_it_is_not(off):
    wrong, good = Fitter(off=off), Fitter(wrench="W-2", seed=2)
    wrong.work(SIX, range(3))
    good.at_s = wrong.at_s
    good.work(SIX, range(3, 6))

    found = shown(SIX, wrong.clicks + good.clicks)

    assert found.bias["W-1"] == pytest.approx(off, abs=0.01)
    assert abs(found.bias["W-2"]) < 0.01
    assert USUAL.spread_floor <= found.spread["W-1"] < USUAL.spread


def test_few_readings_say_less_than_many():
    few, many = (shown(SIX, Fitter(off=0.03, spread=0.0).work(SIX[:count])).bias["W-1"] for count in (1, 6))

    assert 0.0 < few < many < 0.03


def test_equal_readings_are_no_proof_of_a_steady_hand():
    many = plan(*(f"j{n}, name: J, fasteners: 15, torque: {60 + 15 * n}" for n in range(6)))

    assert USUAL.spread_floor < shown(SIX, Fitter(spread=0.0).work(SIX)).spread["W-1"] < USUAL.spread
    assert shown(many, Fitter(spread=0.0).work(many)).spread["W-1"] == USUAL.spread_floor


def test_through_an_adapter_a_wrench_is_judged_by_what_it_has_to_show():
    places = plan(
        "a, name: A, fasteners: 6, torque: 100, adapter: {length: 100 mm, angle: 0}", "b, name: B, fasteners: 6, torque: 100"
    )
    fitter = Fitter()
    for place in places:
        fitter.do(replace(place, target_nm=place.shown_band(400.0)[1]))

    found = shown(places, [replace(click, length_mm=400.0) for click in fitter.clicks])

    assert abs(found.bias["W-1"]) < 0.01
    assert found.spread["W-1"] < USUAL.spread


def test_how_far_fasteners_turn_is_learned_for_the_first_stage_and_the_later_ones():
    fitter = Fitter(turn_deg=90.0)
    for half, full in zip(ROUNDS[::2], ROUNDS[1::2], strict=True):
        fitter.turn_deg = 90.0
        fitter.do(half)
        fitter.turn_deg = 30.0
        fitter.do(full, first_s=15.0)

    found = shown(ROUNDS, fitter.clicks).habits

    assert USUAL.turn_deg < 55.0 < found.turn_deg < 90.0
    assert USUAL.turn_later_deg < found.turn_later_deg < 30.0
    assert found.turn_sd < USUAL.turn_sd


def turned_by(*shares, again_deg=None):
    """Joints whose fasteners turn these shares of 40 degrees, over and over; each last one clicked again as it is said."""
    fitter = Fitter()
    for rank, place in enumerate(SIX):
        for n in range(place.fasteners):
            fitter.click(place.target_nm, 8.0 if n else 60.0, 40.0 * shares[(4 * rank + n) % len(shares)])
        if again_deg is not None:
            fitter.click(place.target_nm, 0.7, again_deg, exact=True)
    return fitter.clicks


def test_how_alike_the_fasteners_of_a_joint_turn_is_learned():
    random = Random(3)
    drawn = [random.lognormvariate(0.0, 0.9) for _ in range(24)]
    alike, unlike = (shown(SIX, turned_by(*shares)).habits.turn_next_sd for shares in ((1.0, 1.05), drawn))

    assert 0.0 < alike < USUAL.turn_next_sd < unlike


def test_that_fasteners_turn_alike_is_never_taken_for_certain():
    many = plan(*(f"j{n}, name: J, fasteners: 15, torque: {60 + 15 * n}" for n in range(6)))
    fitter = Fitter()
    for place in many:
        for n in range(place.fasteners):
            fitter.click(place.target_nm, 8.0 if n else 60.0, 40.0)

    assert shown(many, fitter.clicks, replace(USUAL, turn_next_sd=0.3)).habits.turn_next_sd > 0.2


def test_fasteners_that_each_turn_further_than_the_one_before_are_not_alike():
    rising, to_and_fro, alike = (
        shown(SIX, turned_by(*shares)).habits.turn_next_sd for shares in ((0.5, 0.75, 1.1, 1.7), (0.5, 0.75), (1.0, 1.05))
    )

    assert rising == pytest.approx(to_and_fro, rel=0.1)
    assert rising > 1.3 * alike


def test_how_far_another_joint_turned_tells_nothing_of_how_alike_those_of_one_are():
    ones = plan(*(f"j{n}, name: J, fasteners: {1 if n < 5 else 2}, torque: {60 + 15 * n}" for n in range(6)))

    def alike(*turns):
        fitter = Fitter()
        for place, angle_deg in zip((*ones, ones[-1]), turns, strict=True):
            fitter.click(place.target_nm, 8.0 if angle_deg == 41.0 else 60.0, angle_deg)
        return shown(ones, fitter.clicks).habits.turn_next_sd

    assert alike(12.0, 90.0, 12.0, 90.0, 12.0, 40.0, 41.0) == pytest.approx(alike(*[40.0] * 6, 41.0))


def test_a_second_click_in_between_tells_nothing_of_how_alike_fasteners_turn():
    fitter = Fitter()
    for place in SIX:
        for n in range(place.fasteners):
            fitter.click(place.target_nm, 8.0 if n else 60.0, 40.0)
            fitter.click(place.target_nm, 0.7, 1.0, exact=True)

    assert shown(SIX, fitter.clicks).habits.turn_next_sd == USUAL.turn_next_sd


def test_what_a_tight_fastener_seems_to_turn_is_learned_from_second_clicks():
    stiff, usual, soft = (shown(SIX, turned_by(1.0, again_deg=angle)).habits.still_deg for angle in (0.2, None, 5.0))

    assert 0.0 < stiff < usual == USUAL.still_deg < soft < 5.0


def test_one_tight_fastener_shows_less_than_many_and_its_sign_nothing():
    one = turned_by(1.0, again_deg=5.0)[:5]
    many, left = (shown(SIX, turned_by(1.0, again_deg=angle)).habits.still_deg for angle in (5.0, -5.0))

    assert 1.1 * USUAL.still_deg < 1.1 * shown(SIX, one).habits.still_deg < many == pytest.approx(left)


def test_what_a_tight_fastener_seems_to_turn_is_learned_from_rounds_over_them_too():
    fitter = Fitter(turn_deg=50.0)
    for place in SIX:
        fitter.turn_deg = 50.0
        fitter.do(place)
        fitter.turn_deg = 5.0
        fitter.do(place, first_s=15.0)

    assert USUAL.still_deg < shown(SIX, fitter.clicks).habits.still_deg < 5.5


def test_second_clicks_without_an_angle_say_nothing_of_what_a_tight_one_turns():
    assert shown(SIX, again_each()).habits.still_deg == USUAL.still_deg


def test_over_range_and_no_times_teach_nothing_of_spread_and_pauses():
    clicks = [Click(n + 1, None, "W-1") for n in range(4)]

    found = shown(SIX, clicks)

    assert (found.bias, found.spread) == ({}, {})
    assert found.habits.turn_deg == USUAL.turn_deg
    assert (found.habits.next_s, found.habits.next_sd) == (USUAL.next_s, USUAL.next_sd)
    assert (found.habits.joint_s, found.habits.round_s) == (USUAL.joint_s, USUAL.round_s)


def test_an_empty_log_leaves_all_as_usual():
    found = shown(SIX, [])

    assert [getattr(found.habits, one.name) for one in fields(Habits)] == pytest.approx(
        [getattr(USUAL, one.name) for one in fields(Habits)]
    )


# How often what happens.


def rate(name, clicks, places=SIX):
    return getattr(shown(places, clicks).habits, name)


def again_each():
    fitter = Fitter()
    for place in SIX:
        fitter.do(place)
        fitter.click(place.target_nm, 0.7, exact=True)
    return fitter.clicks


def strokes(places=SIX):
    fitter = Fitter()
    for place in places:
        for n in range(place.fasteners):
            fitter.click(0.6 * place.target_nm, 8.0 if n else 60.0)
            fitter.click(place.target_nm, 2.0)
    return fitter.clicks


def short_now_and_then():
    fitter = Fitter()
    for place in SIX:
        for n in range(place.fasteners):
            if n == 2:
                fitter.click(0.6 * place.target_nm, 8.0)
            fitter.click(place.target_nm, 60.0 if not n else 2.0 if n == 2 else 8.0)
    return fitter.clicks


def gone_round():
    fitter = Fitter()
    for place in SIX:
        fitter.do(place)
        fitter.do(place, first_s=15.0)
    return fitter.clicks


def left_unfinished():
    fitter = Fitter()
    for first, second in zip(SIX[::2], SIX[1::2], strict=True):
        for place, count in ((first, 2), (second, 4), (first, 2)):
            for n in range(count):
                fitter.click(place.target_nm, 8.0 if n else 90.0)
    return fitter.clicks


def with_strays():
    fitter = Fitter()
    for place in SIX:
        fitter.do(place)
        fitter.click(20.0, 60.0)
    return fitter.clicks


def in_turn():
    fitter = Fitter()
    for first, second in zip(SIX[::2], SIX[1::2], strict=True):
        for n in range(4):
            fitter.click(first.target_nm, 8.0 if n else 60.0)
            fitter.click(second.target_nm, 8.0)
    return fitter.clicks


@pytest.mark.parametrize(
    ("name", "clicks"),
    [
        pytest.param("again", again_each, id="clicked-again"),
        pytest.param("low_more", strokes, id="no-room-to-swing"),
        pytest.param("low", short_now_and_then, id="a-short-one-now-and-then"),
        pytest.param("check", gone_round, id="gone-round-again"),
        pytest.param("early", left_unfinished, id="left-unfinished"),
        pytest.param("stray", with_strays, id="strays"),
        pytest.param("turns", in_turn, id="in-turn"),
    ],
)
def test_what_a_fitter_does_often_is_expected_more_and_of_another_less(name, clicks):
    usual = getattr(USUAL, name)

    often, never = rate(name, clicks()), rate(name, Fitter().work(SIX))

    assert never <= usual < often < 1.0


def test_strokes_at_a_later_stage_are_of_the_same_joint_without_room_and_no_short_pulls_anywhere():
    found, first_stages = shown(ROUNDS, strokes(ROUNDS)).habits, sum(place.begins for place in ROUNDS)

    assert found.low_more > USUAL.low_more
    # Of each joint only its first pull of all is one that nobody expected.
    assert found.low < (first_stages + 60 * USUAL.low) / 60


def test_a_pull_after_strokes_that_were_given_up_says_nothing_of_the_room():
    path = (
        state_of(1, Did.NEW_LOW), state_of(1, Did.ON_LOW) | CRAMPED, state_of(2, Did.NEW_LOW), state_of(2, Did.ON_LOW) | CRAMPED,
        state_of(3, Did.NEW_LOW), state_of(3, Did.ON_LOW) | CRAMPED,
    )  # fmt: skip
    seen = see([Click(n + 1, 40.0, "W-1", 4.0 * n) for n in range(6)])
    at = AtPlace(SIX[0], tuple(range(6)), (True, *[False] * 5), (False,) * 6, path)

    found = adapt(SIX, Own(USUAL), seen, Settled((0,) * 6, [{0: 1.0}] * 6, {0: at})).habits

    assert found.low_more == USUAL.low_more
    assert found.low > USUAL.low


def test_joints_taken_in_turn_are_not_left_half_done_and_one_left_half_done_is_not_taken_in_turn():
    assert rate("early", in_turn()) < USUAL.early
    assert rate("turns", left_unfinished()) < USUAL.turns


def test_one_pair_taken_in_turn_shows_less_than_three():
    one, three = rate("turns", in_turn()[:8]), rate("turns", in_turn())

    assert USUAL.turns < one < three < 1.0


# The order.


def test_who_works_the_plan_as_it_is_written_is_expected_to_go_on_so():
    found = shown(SIX, Fitter().work(SIX)).habits

    assert found.way_ahead > USUAL.way_ahead
    assert sum(getattr(found, name) for name in WAYS) == pytest.approx(1.0)


def test_who_works_from_the_rear_is_expected_to_go_on_back():
    clicks = Fitter().work(SIX, range(5, -1, -1))

    assert rate("way_back", clicks) > 1.5 * USUAL.way_back
    assert rate("way_ahead", clicks) < USUAL.way_ahead


def settled(chosen, places):
    """A story in which each reading is where it is said; nothing is told of what it was there."""
    return Settled(tuple(chosen), [{place: 1.0} for place in chosen], {})


def ways(chosen, wrenches, places=None):
    places = places or plan(*(f"j{n}, name: J, fasteners: 1, torque: {60 + 5 * n}" for n in range(10)))
    clicks = [Click(n + 1, 60.0, wrench) for n, wrench in enumerate(wrenches)]
    return own_ways(places, USUAL, see(clicks), settled(chosen, places))


def test_who_goes_through_all_stages_of_each_fastener_is_expected_to_go_on_so():
    by_fastener, by_round = (ways(chosen, ["W-1"] * 8, ROUNDS) for chosen in ((0, 1) * 4, (0,) * 4 + (1,) * 4))

    assert by_fastener["by_fastener"] > 5 * USUAL.by_fastener > USUAL.by_fastener >= by_round["by_fastener"]


def test_two_people_at_two_ends_go_on_from_their_own_place():
    apart = ways((0, 5, 1, 6, 2, 7, 3, 8), ["W-1", "W-2"] * 4)
    one = ways((0, 5, 6, 7, 8, 9), ["W-1", "W-2"] * 3)

    assert apart["own_way"] > USUAL.own_way > one["own_way"]
    assert apart["way_ahead"] > ways((0, 5, 1, 6, 2, 7, 3, 8), ["W-1"] * 8)["way_ahead"]


def test_of_two_people_nobody_goes_on_from_where_the_other_one_is():
    """One works ahead with every second joint, the other one beside him; times tell that they are two."""
    places = plan(*(f"j{n}, name: J, fasteners: 1, torque: {60 + 5 * n}" for n in range(10)))
    times = [8.0 * (n // 2) + 3.0 * (n % 2) for n in range(8)]
    clicks = [Click(n + 1, 60.0, ("W-1", "W-2")[n % 2], at_s) for n, at_s in enumerate(times)]
    chosen = (0, 5, 1, 6, 2, 7, 3, 8)

    together = own_ways(places, USUAL, see(clicks), settled(chosen, places))

    assert together["own_way"] == USUAL.own_way, "it is about one person's wrenches"
    assert together["way_ahead"] > ways(chosen, ["W-1", "W-2"] * 4)["way_ahead"]


def test_a_second_wrench_begins_from_where_the_last_reading_was():
    assert ways((3, 4), ["W-1", "W-2"])["way_ahead"] > USUAL.way_ahead


def test_strays_and_joints_begun_before_teach_nothing_of_the_order():
    plain, more = ways((0, 1, 2), ["W-1"] * 3), ways((0, -1, 1, 0, 1, 2), ["W-1"] * 6)

    assert {name: more[name] for name in WAYS} == {name: plain[name] for name in WAYS}


def test_readings_of_an_angle_stage_say_nothing_of_the_wrench():
    (_, angle) = plan("a, name: A, fasteners: 4, torque: 80, then_angle: 90, angle_tolerance: 10")
    place = replace(angle, index=0)
    seen = see([Click(n + 1, 150.0, "W-1", 8.0 * n, 90.0) for n in range(4)])
    path = tuple(state_of(n + 1, Did.NEW) for n in range(4))
    at = AtPlace(place, (0, 1, 2, 3), (True, False, False, False), (False,) * 4, path)

    found = adapt((place,), Own(USUAL), seen, Settled((0,) * 4, [{0: 1.0}] * 4, {0: at}))

    assert found.bias == {}
    assert found.habits.turn_later_deg > USUAL.turn_later_deg


def test_a_place_that_no_way_explains_teaches_nothing():
    at = AtPlace(SIX[0], (0, 1), (True, False), (False, False), ())
    seen = see([Click(1, 60.0, "W-1", 0.0), Click(2, 60.0, "W-1", 4.0)])

    found = adapt(SIX, Own(USUAL), seen, Settled((0, 0), [{0: 1.0}] * 2, {0: at}))

    assert (found.bias, found.habits.next_s) == ({}, USUAL.next_s)


@pytest.mark.parametrize("rounds", [3, 7, 20])
def test_a_pair_taken_up_in_turn_again_and_again_is_no_more_than_a_habit(rounds):
    chosen = (0, 1, 0, 1, 2) * rounds
    seen = see([Click(n + 1, 100.0, "W-1", 10.0 * n) for n in range(len(chosen))])

    found = adapt(SIX, Own(USUAL), seen, Settled(chosen, [{number: 1.0} for number in chosen], {}))

    assert USUAL.turns < found.habits.turns < 1.0
