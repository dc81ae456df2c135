"""How likely a reading is at a place, by its torque, its pause, its turn, its wrench; and where that is worked out at all."""

from dataclasses import FrozenInstanceError, fields, replace
from math import exp, log

import pytest

from collector.expect.click import Click
from collector.expect.habits import USUAL
from collector.expect.odds import Gaps, Seen, odds_at, torque_at
from collector.expect.own import Own
from collector.expect.places import places_of
from collector.expect.reading_odds import Looks, ReadingOdds, odds_of
from collector.expect.strays import stray_odds
from collector.expect.turning import Turning, still_odds, turned_odds, turning_at
from collector.expect.way import WAYS
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, stages: [50, 100]}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 100}
  - {id: cover, name: Cover bolts, fasteners: 2, torque: 100}
  - {id: arm, name: Arm bolts, fasteners: 2, torque: 100, wrench: [W-1]}
  - {id: eye, name: Eye, fasteners: 2, torque: 100, adapter: {length: 100 mm, angle: 0}}
  - {id: eye-2, name: Eye 2, fasteners: 2, torque: 100, adapter: {length: 100 mm, angle: 0}}
  - {id: head, name: Head bolts, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10}
"""
LEFT = HEAD + """\
  - {id: left, name: Left-hand nut, fasteners: 2, torque: 100, hand: left}
  - {id: right, name: Right-hand nut, fasteners: 2, torque: 100}
"""
PLACES = places_of(load_plan(PLAN.encode(), "axle.yaml"))
HUB_HALF, HUB, PLATE, COVER, ARM, EYE, EYE_2, HEAD_TORQUE, HEAD_ANGLE = PLACES
LEFT_HAND, RIGHT_HAND = places_of(load_plan(LEFT.encode(), "left.yaml"))
OWN = Own(USUAL)


def seen(torque=100.0, gap_s=None, before=None, angle=None, wrench="W-1", length=None, before_angle=None):
    return Seen(Click(1, torque, wrench, None, angle, length), gap_s, before, wrench, gap_s, before_angle)


def at(place=PLATE, own=OWN, **what):
    return odds_of(seen(**what), place, own)


def torque(value, place=PLATE, own=OWN, **what):
    return torque_at(seen(value, **what), place, own)


# The numbers of the habits.


@pytest.mark.parametrize("name", [one.name for one in fields(USUAL)])
def test_a_habit_is_a_positive_number_and_a_share_unless_it_has_a_unit(name):
    value = getattr(USUAL, name)

    assert value > 0.0
    assert name.endswith(("_s", "_deg", "_sd")) or value < 1.0


def test_the_habits_of_order_are_shares_of_one():
    assert sum(getattr(USUAL, name) for name in WAYS) == pytest.approx(1.0, abs=1e-9)


def test_a_click_is_what_was_read_and_stays_so():
    click = Click(3, -40.0)

    assert (click.wrench, click.at_s, click.angle_deg, click.length_mm) == (None, None, None, None)
    with pytest.raises(FrozenInstanceError):
        click.torque_nm = 40.0


def test_a_wrench_that_is_not_known_yet_spreads_wider_than_a_usual_one_and_a_known_one_as_it_does():
    own = Own(USUAL, spread={"W-1": 0.011})

    assert own.spread_of("W-1") == 0.011
    assert own.spread_of("W-2") > USUAL.spread


# Torque.


def test_a_torque_at_target_is_a_finished_pull_and_no_short_one():
    on, short = torque(100.0), torque(80.0)

    assert (on.is_low, on.short) == (False, 0.0)
    assert short.is_low
    assert short.short > short.good
    assert on.good > 20 * short.good


@pytest.mark.parametrize(
    ("value", "is_low"),
    [
        pytest.param(90.0, False, id="on-low-edge"),
        pytest.param(89.99, True, id="just-below-low-edge"),
        pytest.param(110.0, False, id="on-high-edge"),
        pytest.param(200.0, False, id="far-over"),
        pytest.param(0.0, True, id="nothing"),
        pytest.param(-100.0, True, id="to-the-left"),
    ],
)
def test_below_the_band_a_pull_is_low(value, is_low):
    assert torque(value).is_low is is_low


def test_a_finished_pull_is_the_likelier_the_nearer_it_is_to_its_target():
    ways = [[torque(100.0 + sign * off).good for off in (0, 1, 2, 4, 8)] for sign in (1, -1)]

    assert all(way == sorted(way, reverse=True) for way in ways)
    assert ways[0] == pytest.approx(ways[1])


def test_an_over_pull_is_likelier_than_the_tail_of_good_ones():
    assert torque(115.0).good > torque(85.0).good
    assert torque(140.0).good > 2 * torque(60.0).good


def over(value, place=PLATE):
    """The density of an over-pull alone: what is left without the tail of the good ones."""
    never = Own(replace(USUAL, over=1e-300))
    tail = torque(value, place, never).good * (1.0 - USUAL.over - USUAL.anywhere) / (1.0 - USUAL.anywhere)
    return torque(value, place).good - tail


def over_by(*shares, place):
    """The densities of over-pulls that end so far beyond the band, as shares of the target."""
    return [over(place.high_nm + share * place.target_nm, place) for share in shares]


@pytest.mark.parametrize("place", [PLATE, HUB_HALF, HEAD_TORQUE], ids=["100", "50", "80"])
def test_an_over_pull_ends_anywhere_up_to_twice_its_target_beyond_the_band_and_then_hardly(place):
    near, far = over_by(0.01, 0.3, 1.0, 1.99, place=place), over_by(2.0, 2.1, 2.3, 3.0, place=place)

    assert near == pytest.approx([near[0]] * 4)
    assert far == sorted(far, reverse=True)
    assert far[0] == pytest.approx(near[0])
    assert far[2] < 0.1 * near[0]
    assert far[3] < 1e-4 * near[0]


def test_rather_is_a_stray_held_against_a_fastener_than_an_over_pull_lost():
    step = 0.001
    total = sum(over_by(*(step * (n + 0.5) for n in range(10_000)), place=PLATE)) * step * PLATE.target_nm

    # More than as often as one is pulled, but an end it has.
    assert USUAL.over < total < 5 * USUAL.over


def test_how_far_an_over_pull_ends_beyond_its_band_goes_by_the_target():
    half, whole = over(HUB_HALF.high_nm + 10.0, HUB_HALF), over(PLATE.high_nm + 20.0)

    assert half * HUB_HALF.target_nm == pytest.approx(whole * PLATE.target_nm)


def test_at_ten_times_the_torque_a_click_is_a_stray_and_a_little_beyond_the_band_an_over_pull():
    near, far = at(torque=115.0).new, at(torque=1000.0).new

    # The odds are to those of a stray, which comes as often as the habits say.
    assert near > 10 * USUAL.stray
    assert 0.0 < far < 0.01 * USUAL.stray


def test_hardly_a_pull_is_less_likely_a_short_one_than_one_near_the_band():
    assert torque(10.0).short < 0.1 * torque(60.0).short


def test_a_pull_that_was_taken_for_done_ends_hardly_far_below_its_band():
    near, off, far = (torque(value) for value in (89.0, 80.0, 60.0))

    assert near.under > 10 * off.under > 100 * far.under > 0.0
    # It ends where a finished one does; far below that is seldom, for a tired arm is tired a little.
    assert near.under > 0.1 * near.good
    assert far.under < 0.01 * far.good
    assert torque(92.0).under == torque(None).under == torque(-80.0).under == torque(50.0, HEAD_ANGLE).under == 0.0


def test_a_pull_that_was_taken_for_done_has_the_pause_and_the_turn_of_the_next_fastener():
    plain, what = at(torque=89.0), {"torque": 89.0, "gap_s": 8.0, "angle": 30.0, "before_angle": 28.0}
    gaps, turn = Gaps(OWN, 8.0), turning(30.0, before_angle=28.0)
    alone = stray_odds(seen(89.0), OWN, Gaps(OWN, None)) / stray_odds(seen(89.0, 8.0, angle=30.0), OWN, gaps)

    found = at(**what)

    assert plain.under == plain.enter_under > 0.0
    assert found.under == pytest.approx(plain.under * alone * gaps.next * turn.following)
    assert found.enter_under == pytest.approx(plain.under * alone * turn.new)


def test_a_wrench_that_shows_too_much_is_likeliest_where_it_shows():
    own = Own(USUAL, bias={"W-1": 0.03}, spread={"W-1": 0.01})

    assert torque(103.0, own=own).good > torque(100.0, own=own).good
    assert torque(100.0, own=own, wrench="W-2").good > torque(103.0, own=own, wrench="W-2").good


def test_over_range_fits_every_place_alike_and_is_a_finished_pull():
    found = {torque(None, place)[:5] for place in PLACES}

    assert len(found) == 1
    assert found.pop() == (False, False, USUAL.over, 0.0, USUAL.over)
    assert stray_odds(seen(None), OWN, Gaps(OWN, None)) == USUAL.over


def test_after_a_pull_above_the_band_it_may_be_opened_and_done_again():
    over, good, beyond = (torque(100.0, before=before).is_after_over for before in (120.0, 100.0, 200.0))

    assert (over, good, beyond) == (True, False, False)
    assert at(before=120.0).redo > 50 * at(before=100.0).redo
    assert at(before=120.0).enter_redo == at(before=100.0).enter_redo


def test_a_stroke_rises_from_where_the_last_one_ended():
    rising = [torque(60.0, before=before).rising for before in (50.0, 65.0, 85.0)]

    assert rising == sorted(rising, reverse=True)
    assert torque(100.0, before=60.0).rising == torque(100.0, before=60.0).good


def test_a_right_hand_thread_is_loosened_to_the_left_and_a_left_hand_thread_is_tightened():
    assert at(RIGHT_HAND, torque=-100.0) is None
    assert at(LEFT_HAND, torque=-100.0) == at(LEFT_HAND, torque=100.0)
    assert at(RIGHT_HAND, torque=100.0)[1:] == pytest.approx(at(PLATE, torque=100.0)[1:])


def test_an_adapter_that_lengthens_the_wrench_lowers_what_it_shows():
    assert torque(80.0, EYE, length=400.0).good == pytest.approx(torque(80.0, HEAD_TORQUE).good, rel=1e-9)
    assert torque(80.0, EYE, length=400.0).is_low is False
    assert torque(80.0, EYE).is_low, "without a length nothing is worked out"


def test_the_torque_of_an_angle_stage_says_little():
    assert torque(90.0, HEAD_ANGLE).good == torque(200.0, HEAD_ANGLE).good > 0.0
    assert torque(250.0, HEAD_ANGLE).good == 0.0
    low = torque(50.0, HEAD_ANGLE)
    assert (low.is_low, low.good) == (True, 0.0)
    assert low.short > 0.0


@pytest.mark.parametrize("wrench", ["W-2", None])
def test_a_wrench_that_the_plan_does_not_name_is_seldom_used(wrench):
    named, other, any_ = at(ARM), at(ARM, wrench=wrench), at(PLATE, wrench=wrench)

    assert other.new == pytest.approx(named.new * USUAL.other_wrench)
    assert any_.new == pytest.approx(named.new)


# Pauses.


def test_a_second_click_comes_at_once_and_the_next_fastener_later():
    quick, usual = at(gap_s=1.5), at(gap_s=8.0)

    assert quick.again > quick.check
    assert usual.again < usual.check
    assert quick.again / quick.new > 10 * usual.again / usual.new


@pytest.mark.parametrize(
    ("gap_s", "likeliest"),
    [
        pytest.param(1.0, "again", id="at-once"),
        pytest.param(9.0, "next", id="the-next-fastener"),
        pytest.param(25.0, "round", id="a-round"),
        pytest.param(120.0, "joint", id="another-joint"),
    ],
)
def test_a_pause_says_what_went_on(gap_s, likeliest):
    gaps = Gaps(OWN, gap_s)

    assert max(("again", "next", "round", "joint"), key=lambda name: getattr(gaps, name)) == likeliest


@pytest.mark.parametrize("name", ["next", "again", "stroke", "round", "joint", "stray"])
def test_the_density_of_each_pause_sums_to_one_over_its_logarithm(name):
    steps = [log(0.4) + 0.01 * n for n in range(1700)]

    total = sum(0.01 * getattr(Gaps(OWN, exp(step)), name) for step in steps)

    # Two in a hundred are of another kind, on top; the tail below 0.4 s is cut off.
    assert total == pytest.approx(1.0, abs=0.04)


def test_an_unknown_pause_says_nothing_and_none_at_all_is_a_short_one():
    unknown = Gaps(OWN, None)

    assert {getattr(unknown, name) for name in Gaps.__slots__} == {1.0}
    assert Gaps(OWN, 0.0).again == Gaps(OWN, 0.4).again > 0.0


def test_after_a_stray_click_a_second_click_is_unlikely_and_the_pause_is_that_of_coming_back():
    gaps = Gaps(OWN, 1.5)
    back = gaps.away()

    assert back.again < gaps.again
    assert back.next == back.stroke == back.round == back.stray == gaps.stray
    assert back.joint == gaps.joint


def test_to_open_a_fastener_and_do_it_again_takes_as_long_as_a_round_or_another_joint():
    gaps, unit = Gaps(OWN, 5.0), at().redo

    assert at(gap_s=5.0).redo * gaps.stray == pytest.approx(unit * 0.5 * (gaps.round + gaps.joint))
    likeliest = {gap_s: at(gap_s=gap_s).redo / at(gap_s=gap_s).new for gap_s in (3.0, 8.0, 60.0)}
    assert likeliest[60.0] > 5 * likeliest[8.0]
    assert likeliest[3.0] < at().redo / at().new


# Turns.


def test_two_degrees_say_tight_and_sixty_say_tightened():
    tight, turned = at(angle=2.0), at(angle=60.0)

    assert tight.check > 10 * tight.new
    assert turned.new > 10 * turned.check
    assert at().new == at().check


def test_a_check_of_tight_ones_turns_nothing():
    plan = HEAD + "  - {id: a, name: A, fasteners: 2, torque: 100}\nsteps: [{torque: a}, {recheck: a}]\n"
    first, check = places_of(load_plan(plan.encode(), "a.yaml"))

    assert (first.turns, check.turns) == (True, False)
    assert at(check, angle=2.0).new > 10 * at(check, angle=60.0).new


def test_far_less_than_usual_is_hardly_a_tightening_and_far_more_may_be_one():
    # By the logarithm both are as far off.
    less, more = (
        angle * at(angle=angle).new * stray_odds(seen(angle=angle), OWN, Gaps(OWN, None))
        for angle in (USUAL.turn_deg / 12.0, USUAL.turn_deg * 12.0)
    )

    assert less < 0.7 * more


def test_a_later_stage_turns_less_than_the_first_one():
    first, later = at(HUB_HALF, torque=50.0, angle=60.0), at(HUB, angle=60.0)

    assert first.new / first.check > later.new / later.check


def test_a_stroke_turns_less_than_a_whole_tightening():
    short, whole = (at(torque=60.0, before=40.0, angle=angle).on for angle in (12.0, 60.0))

    assert short > whole


def turning(angle, place=PLATE, **what):
    return turning_at(seen(angle=angle, **what), place, OWN)


def test_without_an_angle_a_turn_tells_nothing():
    assert turning(None, before_angle=40.0) == Turning(1.0, 1.0, 1.0, 1.0, 1.0)


@pytest.mark.parametrize(
    ("before", "left"), [pytest.param(60.0, 0.4, id="a-good-half"), pytest.param(40.0, 0.6, id="less-than-half")]
)
def test_a_stroke_that_goes_on_turns_about_what_the_torque_says_is_left(before, left):
    rest, whole = left * USUAL.turn_deg, 2.0 * USUAL.turn_deg
    told, untold = (turning(rest, before=one) for one in (before, 99.0))

    assert told.on > 1.2 * untold.on
    # What turns much further than is left was another fastener.
    far = turning(whole, before=before)
    assert far.on / far.new < 0.8 * told.on / told.new


def test_what_is_left_is_never_nothing_and_a_reading_without_torque_says_nothing_of_it():
    assert turning(4.0, before=99.9).on == turning(4.0, before=120.0).on > 0.0
    assert turning(4.0, torque=None).on == turning(4.0, torque=0.0).on > 0.0


def test_the_fasteners_of_a_joint_turn_alike_mostly():
    alike, other, first = turning(20.0, before_angle=20.0), turning(20.0, before_angle=90.0), turning(20.0)

    assert first.following == first.new == alike.new == other.new
    assert alike.following > first.following > other.following > 0.0
    # One of them was snugged further.
    assert other.following > 0.3 * first.following


def test_the_more_alike_fasteners_turn_the_more_the_one_before_tells():
    def told(angle, next_sd):
        own = Own(replace(USUAL, turn_next_sd=next_sd))
        return turning_at(seen(angle=angle, before_angle=30.0), PLATE, own).following / turning(angle).new

    # Beside what it says where nothing was turned before.
    alike, odd = ([told(angle, next_sd) for next_sd in (0.25, 0.5, 1.0)] for angle in (30.0, 90.0))

    assert alike == sorted(alike, reverse=True)
    assert odd == sorted(odd)
    assert alike[0] > 2.0


@pytest.mark.parametrize(
    ("place", "before"),
    [pytest.param(PLATE, None, id="none-before"), pytest.param(PLATE, 2.0, id="a-tight-one-before")],
)
def test_what_did_not_turn_before_tells_nothing_of_the_next(place, before):
    assert turning(20.0, place, before_angle=before) == turning(20.0, place)


def test_of_a_place_counts_only_whether_its_fasteners_turn_and_whether_they_begin():
    plan = HEAD + "  - {id: a, name: A, fasteners: 2, torque: 100}\nsteps: [{torque: a}, {recheck: a}]\n"
    _, check = places_of(load_plan(plan.encode(), "a.yaml"))

    begins = {turning(30.0, place, before_angle=25.0) for place in (HUB_HALF, PLATE, HEAD_TORQUE)}
    later = {turning(30.0, place, before_angle=25.0) for place in (HUB, HEAD_ANGLE)}
    tight = turning(30.0, check, before_angle=25.0)

    assert (len(begins), len(later)) == (1, 1)
    assert begins != later
    assert tight.new == tight.following == tight.still == still_odds(30.0, OWN)
    assert begins.pop().new == turned_odds(30.0, USUAL.turn_deg, USUAL.turn_sd)


# Every place at once.


def reading(places=PLACES, **what):
    return ReadingOdds(Looks(places), OWN, seen(**what))


def test_only_places_whose_torque_fits_are_looked_at_and_others_only_when_asked():
    odds = reading(torque=250.0)

    # Nobody pulls five times the half of it.
    assert set(odds.plausible) == {place.index for place in PLACES} - {HUB_HALF.index, HEAD_ANGLE.index}
    assert odds.at(HEAD_ANGLE.index).new == 0.0
    assert odds.at(HEAD_ANGLE.index) is odds.at(HEAD_ANGLE.index)


def test_what_is_found_for_all_places_is_what_is_found_for_each():
    what = {"torque": 85.0, "gap_s": 3.0, "before": 60.0, "angle": 20.0, "length": 400.0}
    odds = reading(**what)

    assert len(odds.plausible) > 5
    for place, one in odds.plausible.items():
        assert tuple(one) == pytest.approx(tuple(odds_of(seen(**what), PLACES[place], OWN)), rel=1e-12)


LIGHT = Own(USUAL, bias={"W-1": -0.12}, spread={"W-1": 0.01})
"""A wrench that shows far too little."""


@pytest.mark.parametrize(
    ("own", "value", "is_under"),
    [pytest.param(OWN, 92.0, False, id="in-band"), pytest.param(LIGHT, 88.0, True, id="below-it-and-taken-for-done")],
)
def test_the_most_of_a_reading_is_never_exceeded_at_a_place(own, value, is_under):
    odds = ReadingOdds(Looks(PLACES), own, seen(torque=value, angle=40.0, gap_s=20.0, before=120.0))
    every = odds.plausible.values()

    assert odds.most_new == max(max(one.enter_new, one.enter_under) for one in every)
    assert (odds.most_new > max(one.enter_new for one in every)) is is_under
    assert odds.most_tight == max(max(one.enter_check, one.enter_redo) for one in every)
    assert odds.most_tried == max(one.tried for one in every)
    ways = [(here, there, away) for here in (None, *PLACES) for there in PLACES for away in (False, True)]
    assert odds.most_pause == max(odds.pause_to(*one) for one in ways)


def test_a_reading_that_fits_nowhere_has_no_place():
    odds = reading((replace(HEAD_ANGLE, index=0),), torque=250.0)

    assert (odds.plausible, odds.most_new, odds.most_tight, odds.most_tried) == ({}, 0.0, 0.0, 0.0)
    assert reading(()).plausible == {}


def test_places_that_look_alike_are_worked_out_once():
    odds = reading()

    assert odds.plausible[PLATE.index] is odds.plausible[COVER.index]
    assert odds.plausible[PLATE.index] is not odds.plausible[HUB.index]


def test_what_a_wrench_shows_at_a_place_makes_its_look():
    number = Looks(PLACES).number

    assert number[PLATE.index] == number[COVER.index]
    assert number[EYE.index] == number[EYE_2.index]
    others = {number[place.index] for place in (HUB_HALF, HUB, PLATE, ARM, EYE, HEAD_TORQUE, HEAD_ANGLE)}
    assert len(others) == 7
    assert len(set(Looks((LEFT_HAND, RIGHT_HAND)).number)) == 2


@pytest.mark.parametrize(
    ("places", "value", "expected"),
    [
        pytest.param(PLACES, -100.0, True, id="right-hand"),
        pytest.param(PLACES, 100.0, False, id="to-the-right"),
        pytest.param(PLACES, None, False, id="over-range"),
        pytest.param((LEFT_HAND, RIGHT_HAND), -100.0, True, id="a-left-hand-thread-in-the-plan"),
    ],
)
def test_a_pull_below_nought_is_one_to_the_left(places, value, expected):
    assert reading(places, torque=value).is_left is expected


def test_a_pull_to_the_left_tightens_nothing_on_a_thread_that_tightens_to_the_right():
    odds = reading((LEFT_HAND, RIGHT_HAND), torque=-100.0)

    assert list(odds.plausible) == [0]
    assert odds.at(1).new == odds.at(1).on == odds.at(1).again == odds.at(1).check == 0.0


def test_back_from_a_stray_click_the_pause_tells_less():
    odds = reading(gap_s=1.5)

    back = odds.back_at(PLATE.index)

    assert back.again < odds.at(PLATE.index).again
    assert back is odds.back_at(PLATE.index)


def test_a_long_pause_leads_to_another_joint_and_a_short_one_to_the_next_round():
    long, short = reading(gap_s=120.0), reading(gap_s=12.0)

    assert long.pause_to(HUB, PLATE) > long.pause_to(HUB_HALF, HUB)
    assert short.pause_to(HUB_HALF, HUB) > short.pause_to(HUB, PLATE)
    assert short.pause_to(None, PLATE) == short.stray


@pytest.mark.parametrize("gap_s", [5.0, 15.0, 120.0])
def test_after_a_click_of_nothing_the_pause_to_the_next_place_is_any(gap_s):
    odds = reading(gap_s=gap_s)

    away = {odds.pause_to(here, there, True) for here in (None, HUB_HALF, PLATE) for there in (HUB, COVER)}

    assert away == {odds.stray} == {Gaps(OWN, gap_s).stray}
    assert odds.stray not in (odds.joint, odds.gaps.round)


def test_where_two_wrenches_take_turns_both_pauses_count():
    both = replace(seen(gap_s=300.0), after="W-2", after_gap_s=5.0)
    alone = replace(both, after="W-1", after_gap_s=300.0)

    found, usual = (ReadingOdds(Looks(PLACES), OWN, one) for one in (both, alone))

    assert found.gaps.joint == usual.gaps.joint
    assert found.joint < usual.joint
    assert found.stray == Gaps(OWN, 5.0).stray


def test_odds_are_to_those_of_a_stray_click():
    gaps = Gaps(OWN, 8.0)
    one = seen(gap_s=8.0)

    twice, once = (
        odds_at(one, PLATE, OWN, gaps, stray, torque_at(one, PLATE, OWN), turning_at(one, PLATE, OWN)) for stray in (2.0, 1.0)
    )

    assert tuple(twice)[1:] == pytest.approx([odds / 2 for odds in once[1:]])
