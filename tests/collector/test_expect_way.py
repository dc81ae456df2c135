"""Which place comes next: by the plan's order first, by the other ways that people go, and by how they went so far."""

from dataclasses import replace

import pytest

from collector.expect.habits import USUAL
from collector.expect.places import NOWHERE, places_of
from collector.expect.way import WAYS, Way
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

MIXED = (70, 95, 40, 120, 60, 85, 50, 110, 65, 90)
"""No two of one torque, neither rising nor falling through the plan."""


class Known(Way):
    """The ways through a plan, with the numbers of all its places."""

    def __init__(self, places, habits):
        super().__init__(places, habits)
        self.all = range(len(places))

    def odds(self, here, begun, last=None, order=None):
        """The odds of each place that is not begun; of somebody unknown where no order is given."""
        return dict(self.next(order or self.usual, here, here if last is None else last, begun))

    def of(self, name, here, begun):
        """The same for one habit of order."""
        return {place: self.by_way(here, begun, place)[name] for place in self.all if not begun >> place & 1}


def way(*joints, habits=USUAL):
    """The ways through joints that are given as id, torque and further fields."""
    rows = [f"  - {{id: {name}, name: Joint, fasteners: 2, torque: {torque}{more}}}\n" for name, torque, more in joints]
    return Known(places_of(load_plan((HEAD + "".join(rows)).encode(), "axle.yaml")), habits)


def line(count, habits=USUAL):
    """Joints in a row, no two of one torque, so that none of them is on a side."""
    return way(*((f"j{n}", 100 + n, "") for n in range(count)), habits=habits)


def mixed(habits=USUAL):
    """Joints in a row whose torques go up and down."""
    return way(*((f"j{n}", torque, "") for n, torque in enumerate(MIXED)), habits=habits)


def bits(*places):
    return sum(1 << place for place in places)


def only(name, here, begun, found):
    """Where one habit of order leads."""
    odds = found.of(name, here, begun)
    return max(odds, key=odds.__getitem__)


def after(found, *steps, wrenches=1):
    """The order after these places, the places begun, where the next wrench is and where the last one was.

    The wrenches take turns.
    """
    order, begun, last, where = found.usual, 0, NOWHERE, [NOWHERE] * wrenches
    for rank, place in enumerate(steps):
        wrench = rank % wrenches
        order = found.followed(order, where[wrench], last, begun, place)
        begun, last, where[wrench] = begun | bits(place), place, place
    return order, begun, where[len(steps) % wrenches], last


def likeliest(found, *steps, wrenches=1):
    """The next place after these, with its odds."""
    order, begun, here, last = after(found, *steps, wrenches=wrenches)
    return next(iter(found.next(order, here, last, begun)))


# Somebody unknown.


@pytest.mark.parametrize("here", [0, 2, 4])
def test_the_odds_of_what_comes_next_sum_to_about_one_and_none_is_nought(here):
    odds = line(6).odds(here, bits(0, 2))

    assert set(odds) == {1, 3, 4, 5}
    # Going near by counts the less, the fewer joints are near, and those on both sides.
    assert 1.0 - USUAL.way_near < sum(odds.values()) <= 1.0 + USUAL.way_near / 2
    assert min(odds.values()) > 0.0


def test_where_somebody_begins_near_is_anywhere_and_the_odds_sum_to_one():
    found = line(6)

    assert found.of("way_near", NOWHERE, bits(0, 2)) == {place: pytest.approx(0.25) for place in (1, 3, 4, 5)}
    assert sum(found.odds(NOWHERE, bits(0, 2)).values()) == pytest.approx(1.0, abs=1e-12)


def test_each_other_habit_of_order_leads_somewhere_for_certain():
    sums = {name: sum(line(6).of(name, 2, bits(0, 2)).values()) for name in WAYS}

    assert [one for name, one in sums.items() if name != "way_near"] == pytest.approx([1.0] * (len(WAYS) - 1))


def test_the_next_of_the_plan_is_likeliest_and_at_its_end_the_first_that_was_left():
    found = line(6)

    def first(here, *begun):
        return next(iter(found.next(found.usual, here, here, bits(*begun))))[0]

    assert (first(1, 0, 1), first(5, 0, 2, 3, 4, 5), first(NOWHERE)) == (2, 1, 0)


def test_when_all_is_begun_nothing_comes_next():
    found = line(3)

    assert list(found.next(found.usual, 1, 1, bits(0, 1, 2))) == []


def test_every_place_that_nobody_has_begun_is_told_once_and_none_that_is_begun():
    found = way(("a", 100, ", stages: [50, 100]"), ("b", 60, ", stages: [50, 100]"), ("c", 70, ""))

    assert sorted(place for place, _ in found.next(found.usual, 0, 0, bits(0, 2))) == [1, 3, 4]
    assert sorted(place for place, _ in found.next(found.usual, NOWHERE, NOWHERE, 0)) == [0, 1, 2, 3, 4]


def test_the_likeliest_comes_first():
    found = line(8)

    odds = [share for _, share in found.next(found.usual, 3, 3, bits(3, 4))]

    assert odds == sorted(odds, reverse=True)


# Each habit.


@pytest.mark.parametrize(
    ("name", "here", "begun", "expected"),
    [
        pytest.param("way_ahead", 2, (2,), 3, id="ahead"),
        pytest.param("way_ahead", 5, (5,), 0, id="ahead-of-the-last-one"),
        pytest.param("way_back", 3, (3,), 2, id="back"),
        pytest.param("way_back", 0, (0,), 5, id="back-from-the-first"),
        pytest.param("way_first", 4, (0, 4), 1, id="first"),
        pytest.param("way_near", 3, (3,), 4, id="near"),
        pytest.param("way_near", 5, (4, 5), 3, id="near-behind"),
        pytest.param("way_torque", 2, (2,), 3, id="no-torque-alike-goes-ahead"),
        pytest.param("way_begun", 2, (2,), 3, id="none-begun-goes-ahead"),
    ],
)
def test_each_habit_of_order_leads_to_its_own_place(name, here, begun, expected):
    assert only(name, here, bits(*begun), line(6)) == expected


def test_the_wrench_stays_as_it_is_set():
    found = way(("a", 100, ""), ("b", 60, ""), ("c", 100, ""), ("d", 60, ""))

    assert only("way_torque", 0, bits(0), found) == 2
    assert only("way_torque", 1, bits(0, 1), found) == 3


@pytest.mark.parametrize(
    ("name", "here", "begun", "expected"),
    [
        pytest.param("way_rising", 4, (4,), 8, id="up"),
        pytest.param("way_rising", 4, (4, 8, 0), 5, id="up-past-what-is-begun"),
        pytest.param("way_rising", 3, (3,), 2, id="from-the-top-to-the-lowest"),
        pytest.param("way_rising", NOWHERE, (), 2, id="begins-with-the-lowest"),
        pytest.param("way_falling", 4, (4,), 6, id="down"),
        pytest.param("way_falling", 4, (4, 6), 2, id="down-past-what-is-begun"),
        pytest.param("way_falling", 2, (2,), 3, id="from-the-lowest-to-the-top"),
        pytest.param("way_falling", NOWHERE, (), 3, id="begins-with-the-highest"),
    ],
)
def test_the_wrench_is_set_once_for_each_torque_up_or_down(name, here, begun, expected):
    assert only(name, here, bits(*begun), mixed()) == expected


@pytest.mark.parametrize("name", ["way_rising", "way_falling"])
def test_before_the_wrench_is_set_anew_all_of_one_torque_are_done(name):
    found = way(("a", 60, ""), ("b", 100, ""), ("c", 80, ""), ("d", 100, ""), ("e", 120, ""))

    assert only(name, 1, bits(1), found) == 3


def test_a_joint_rises_by_the_stage_that_is_next():
    found = way(("a", 100, ", stages: [50, 100]"), ("b", 60, ""), ("c", 70, ""))

    assert only("way_rising", NOWHERE, 0, found) == 0
    assert only("way_rising", 0, bits(0), found) == 2, "the later stage is above both"
    assert only("way_falling", 0, bits(0), found) == 1


def test_each_joint_further_on_is_half_as_often_near_and_far_is_never():
    odds = line(12).of("way_near", 1, bits(1))

    assert odds[2] == 2 * odds[3] == 4 * odds[4]
    assert odds[0] < odds[2]
    assert odds[11] == 0.0


def test_any_joint_is_as_likely_as_any_other():
    assert line(4).of("way_any", 0, bits(0)) == {place: pytest.approx(1 / 3) for place in (1, 2, 3)}


def test_a_joint_is_taken_up_at_its_first_open_stage_and_seldom_at_a_later_one():
    found = way(("a", 100, ", stages: [50, 100]"), ("b", 60, ", stages: [50, 100]"))
    a_half, a_full, b_half, b_full = range(4)
    first, then = found.odds(NOWHERE, 0), found.odds(a_half, bits(a_half))

    assert 0.0 < first[b_full] < 0.01 * first[b_half]
    assert 0.0 < first[a_full] < 0.01 * first[a_half]
    assert max(then, key=then.__getitem__) == a_full
    assert only("way_begun", b_half, bits(a_half, b_half), found) == a_full


def test_who_keeps_to_a_side_goes_on_with_the_next_one_there():
    found = way(("u-left", 100, ""), ("u-right", 101, ""), ("v-left", 102, ""), ("v-right", 103, ""))

    assert only("way_side", 0, bits(0), found) == 2
    assert only("way_side", 1, bits(0, 1), found) == 3


def test_one_without_a_side_is_on_either():
    found = way(("a", 100, ""), ("b", 100, ""), ("c", 60, ""), ("d", 50, ""), ("e", 50, ""))

    assert only("way_side", 0, bits(0), found) == 2
    assert only("way_side", 0, bits(0, 2), found) == 3
    assert only("way_side", 1, bits(0, 1, 2), found) == 4


def test_before_the_first_place_no_side_counts():
    found = way(("u-right", 100, ""), ("u-left", 90, ""))

    assert only("way_side", NOWHERE, 0, found) == 0


# The habit that is followed just now.


def test_the_order_of_somebody_unknown_is_what_is_usual_half_from_the_own_place_and_half_from_the_last():
    shares = [getattr(USUAL, name) for name in WAYS]
    usual = [share / sum(shares) for share in shares]

    assert line(4).usual == pytest.approx([0.5 * share for share in usual] * 2)
    assert line(4, replace(USUAL, own_way=0.8)).usual == pytest.approx([s * one for s in (0.8, 0.2) for one in usual])


@pytest.mark.parametrize(
    ("here", "last", "begun", "place"),
    [
        pytest.param(5, 5, (5,), 4, id="one-wrench-back"),
        pytest.param(5, 5, (5,), 6, id="one-wrench-ahead"),
        pytest.param(0, 5, (0, 5), 1, id="on-from-the-own-place"),
        pytest.param(0, 5, (0, 5), 6, id="on-from-the-last-one"),
        pytest.param(NOWHERE, 5, (5,), 6, id="a-second-wrench-begins"),
        pytest.param(0, NOWHERE, (0,), 9, id="last-unknown"),
    ],
)
def test_a_step_makes_the_habits_that_lead_there_likelier_by_the_rule_of_bayes(here, last, begun, place):
    found = mixed()
    before, *_ = after(found, 3, 2)
    begun = bits(*begun)

    order = found.followed(before, here, last, begun, place)

    odds = [found.by_way(start, begun, place)[name] for start in (here, here if last == NOWHERE else last) for name in WAYS]
    evidence = sum(share * one for share, one in zip(before, odds, strict=True))
    kept = [share * one / evidence for share, one in zip(before, odds, strict=True)]
    assert evidence == pytest.approx(dict(found.next(before, here, last, begun))[place])
    assert order == pytest.approx(
        [USUAL.keeps_order * one + (1.0 - USUAL.keeps_order) * new for one, new in zip(kept, found.usual, strict=True)]
    )
    assert sum(order) == pytest.approx(1.0, abs=1e-12)


def test_a_stage_that_is_passed_over_tells_no_less_of_the_order():
    found = way(("a", 100, ""), ("b", 60, ", stages: [50, 100]"))

    first, later = (found.followed(found.usual, 0, 0, bits(0), place) for place in (1, 2))

    assert first == pytest.approx(later)
    assert sum(later) == pytest.approx(1.0)


def test_who_goes_backwards_is_followed_after_two_steps():
    found = mixed()

    assert likeliest(found, 5)[0] == 6
    place, odds = likeliest(found, 9, 8, 7)
    assert place == 6
    assert odds > 0.5


def test_who_begins_in_the_middle_and_goes_backwards_is_followed_after_three_steps():
    assert likeliest(mixed(), 8, 7, 6, 5)[0] == 4


@pytest.mark.parametrize(
    ("name", "steps", "then"),
    [
        pytest.param("way_rising", (2, 6, 4), 8, id="up-in-torque"),
        pytest.param("way_falling", (3, 7, 1), 9, id="down-in-torque"),
        pytest.param("way_ahead", (0, 1, 2, 3), 4, id="as-the-plan-is-written"),
    ],
)
def test_who_follows_a_habit_is_expected_to_go_on_with_it(name, steps, then):
    found = mixed()

    order, *_ = after(found, *steps)

    number = WAYS.index(name)
    assert order[number] + order[number + len(WAYS)] > getattr(USUAL, name)
    assert likeliest(found, *steps)[0] == then


def test_the_longer_a_habit_is_followed_the_surer_it_is_and_a_change_stays_possible():
    found = mixed()
    rows = [tuple(range(9, last, -1)) for last in (8, 7, 6, 5, 4)]
    back = [found.odds(row[-1], bits(*row), order=after(found, *row)[0])[row[-1] - 1] for row in rows]

    assert back == sorted(back)
    assert back[-1] < 0.9
    order, begun, here, last = after(found, *range(9, 4, -1))
    assert found.odds(here, begun, last, order)[0] > 0.3 * USUAL.way_first


def test_who_changes_the_habit_is_followed_in_the_new_one():
    found = mixed()

    assert likeliest(found, 9, 8, 7, 6)[0] == 5
    assert likeliest(found, 9, 8, 7, 6, 0, 1, 2)[0] == 3


def test_nobody_keeps_to_an_order_where_habits_change_at_each_step():
    found = mixed(replace(USUAL, keeps_order=1e-12))

    assert after(found, 9, 8, 7, 6)[0] == pytest.approx(found.usual, abs=1e-9)


def test_a_wrench_goes_on_from_its_own_place_or_from_the_last_one():
    begun = bits(0, 5)
    found = line(10)
    own, last, both = (found.odds(*where) for where in ((0, begun, 0), (5, begun, 5), (0, begun, 5)))

    assert both == {place: pytest.approx(0.5 * own[place] + 0.5 * last[place]) for place in own}
    assert found.odds(0, begun, NOWHERE) == own
    assert line(10, replace(USUAL, own_way=0.9)).odds(0, begun, 5)[1] > both[1]


def test_a_wrench_that_begins_does_so_anywhere_or_goes_on_from_the_last_one():
    found, begun = line(10), bits(5)
    begins, last, both = (found.odds(*where) for where in ((NOWHERE, begun), (5, begun), (NOWHERE, begun, 5)))

    assert both == {place: pytest.approx(0.5 * begins[place] + 0.5 * last[place]) for place in last}


def test_two_people_at_two_ends_are_each_expected_where_they_are_themselves():
    found = line(12)
    steps = (0, 6, 1, 7, 2, 8)

    order, *_ = after(found, *steps, wrenches=2)

    assert sum(order[: len(WAYS)]) > 0.6 > 0.5
    assert likeliest(found, *steps, wrenches=2)[0] == 3


def test_one_with_two_wrenches_is_expected_where_the_last_one_was():
    found = line(12)
    steps = (0, 1, 2, 3, 4, 5)

    order, *_ = after(found, *steps, wrenches=2)

    assert sum(order[: len(WAYS)]) < 0.5
    assert likeliest(found, *steps, wrenches=2)[0] == 6


def test_answers_stay_the_same_however_many_were_asked_before():
    found = line(10)
    first = found.odds(2, bits(2, 4), 4)
    for begun in range(1 << 10):
        found.odds(2, begun, 4)

    assert found.odds(2, bits(2, 4), 4) == first
    assert max(len(found._kept), len(found._ahead)) < 100


def test_an_answer_is_kept_by_all_that_it_was_asked_with():
    found, again = mixed(), mixed()
    order, *_ = after(found, 3, 2)
    five = bits(5)
    asked = [(order, 5, 5, five), (found.usual, 5, 5, five), (order, 5, 7, five), (order, 4, 5, five), (order, 5, 5, 0)]

    first = [list(found.next(*one)) for one in asked]

    assert [list(found.next(*one)) for one in asked] == first
    assert [list(again.next(*one)) for one in reversed(asked)] == first[::-1]
    assert len({tuple(one) for one in first}) == len(asked)


# Joints that look alike.


def alike():
    """A joint, then three of one look with another one among them."""
    return way(("a", 60, ""), ("b", 100, ""), ("c", 100, ""), ("d", 80, ""), ("e", 100, ""))


def test_of_joints_that_look_alike_the_earlier_one_takes_most_of_what_is_near():
    b, c, d, e = (alike().of("way_near", 0, bits(0))[place] for place in (1, 2, 3, 4))
    plain = line(5).of("way_near", 0, bits(0))

    assert b + c + d + e == pytest.approx(sum(plain.values()))
    assert (d, b - plain[1]) == (plain[3], pytest.approx(plain[2] - c + plain[4] - e))
    assert c < 0.5 * plain[2]
    assert c / plain[2] == pytest.approx(e / plain[4])
    assert e > 0.0


def test_the_earlier_one_is_taken_first_from_behind_too():
    odds = alike().of("way_near", 3, bits(3))

    assert odds[1] > 3 * max(odds[2], odds[4])
    assert min(odds[2], odds[4]) > 0.0


def test_once_the_first_of_them_is_begun_the_second_one_is_the_earlier():
    odds = alike().of("way_near", 1, bits(0, 1))

    assert odds[2] > 3 * odds[4] > 0.0


def test_joints_of_one_look_are_told_apart_by_how_far_they_are_open():
    staged = way(*((name, 100, ", stages: [50, 100]") for name in "abc"))
    a_half, _, b_half, _, c_half, _ = range(6)

    equal, other = (staged.of("way_near", NOWHERE, begun) for begun in (0, bits(a_half)))

    assert equal[a_half] > equal[b_half] == equal[c_half]
    # The first one waits for its second round, and is not what the others are mistaken for.
    assert other[b_half] > other[c_half]
    assert other[a_half + 1] == pytest.approx(1 / 3)


def test_joints_of_another_look_take_nothing_from_one_another():
    other = way(("a", 60, ""), ("b", 100, ""), ("c", 100, ", stages: [50, 100]"))

    assert other.of("way_near", 0, bits(0))[2] == 2 ** -2
    assert other.of("way_near", NOWHERE, 0)[1] == pytest.approx(1 / 3)


def test_a_left_joint_comes_before_its_right_one():
    found = way(("x", 60, ""), ("u-left", 100, ""), ("u-right", 100, ""))

    odds = found.odds(0, bits(0))

    assert odds[1] > 3 * odds[2]


@pytest.mark.parametrize("place", [pytest.param(0, id="at-the-first"), pytest.param(7, id="in-the-middle")])
def test_where_somebody_begins_says_nothing_of_how_he_goes_on(place):
    found = mixed()

    assert found.followed(found.usual, NOWHERE, NOWHERE, 0, place) == found.usual
