"""Which place comes next: by the plan's order first, and by the other ways that people go."""

from dataclasses import replace

import pytest

from collector.expect.habits import USUAL
from collector.expect.places import NOWHERE, places_of
from collector.expect.way import WAYS, Way
from schemas.plan.load import load_plan

HEAD = """\
plan: axle
title: Axle
revision: "1"
source: Made up
unit: N·m
tolerance: 10 %
joints:
"""


def way(*joints, habits=USUAL):
    """The ways through joints that are given as id, torque and further fields."""
    rows = [f"  - {{id: {name}, name: Joint, fasteners: 2, torque: {torque}{more}}}\n" for name, torque, more in joints]
    return Way(places_of(load_plan((HEAD + "".join(rows)).encode(), "axle.yaml")), habits)


def line(count, habits=USUAL):
    """Joints in a row, no two of one torque, so that none of them is on a side."""
    return way(*((f"j{n}", 100 + n, "") for n in range(count)), habits=habits)


def bits(*places):
    return sum(1 << place for place in places)


def only(name, here, begun, found):
    """Where one habit of order leads."""
    odds = found.by_way(here, begun)[name]
    return max(odds, key=odds.__getitem__)


@pytest.mark.parametrize("here", [NOWHERE, 0, 2, 4])
def test_the_odds_of_what_comes_next_sum_to_about_one_and_none_is_nought(here):
    found = line(6)

    odds = found.next(here, bits(0, 2))

    assert set(odds) == {1, 3, 4, 5}
    # Going near by counts the less, the fewer joints are near, and those on both sides.
    assert 1.0 - USUAL.way_near < sum(odds.values()) <= 1.0 + USUAL.way_near / 2
    assert min(odds.values()) > 0.0


def test_each_other_habit_of_order_leads_somewhere_for_certain():
    sums = {name: sum(odds.values()) for name, odds in line(6).by_way(2, bits(0, 2)).items()}

    assert set(sums) == set(WAYS)
    assert [one for name, one in sums.items() if name != "way_near"] == pytest.approx([1.0] * (len(WAYS) - 1))


def test_the_next_of_the_plan_is_likeliest_and_at_its_end_the_first_that_was_left():
    found = line(6)

    assert found.ranked(1, 1, bits(0, 1))[0][0] == 2
    assert found.ranked(5, 5, bits(0, 2, 3, 4, 5))[0][0] == 1
    assert found.ranked(NOWHERE, NOWHERE, 0)[0][0] == 0


def test_when_all_is_begun_nothing_comes_next():
    found = line(3)

    assert (found.next(1, bits(0, 1, 2)), found.ranked(1, 1, bits(0, 1, 2)), found.by_way(1, bits(0, 1, 2))) == ({}, [], {})


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


def test_each_joint_further_on_is_half_as_often_near_and_far_is_never():
    odds = line(12).by_way(1, bits(1))["way_near"]

    assert odds[2] == 2 * odds[3] == 4 * odds[4]
    assert odds[0] < odds[2]
    assert 11 not in odds


def test_any_joint_is_as_likely_as_any_other():
    assert line(4).by_way(0, bits(0))["way_any"] == {place: pytest.approx(1 / 3) for place in (1, 2, 3)}


def test_a_joint_is_taken_up_at_its_first_open_stage_and_seldom_at_a_later_one():
    found = way(("a", 100, ", stages: [50, 100]"), ("b", 60, ", stages: [50, 100]"))
    a_half, a_full, b_half, b_full = range(4)
    first, then = found.next(NOWHERE, 0), found.next(a_half, bits(a_half))

    assert 0.0 < first[b_full] < 0.01 * first[b_half]
    assert 0.0 < first[a_full] < 0.01 * first[a_half]
    assert max(then, key=then.__getitem__) == a_full
    assert only("way_begun", b_half, bits(a_half, b_half), found) == a_full


@pytest.mark.parametrize(
    "names",
    [
        pytest.param(("u-left", "u-right", "v-left", "v-right"), id="left-and-right"),
        pytest.param(("u-l", "u-r", "v-l", "v-r"), id="one-letter"),
        pytest.param(("u_LH", "u_RH", "v_LH", "v_RH"), id="two-letters"),
    ],
)
def test_the_side_of_a_joint_is_told_by_how_its_name_ends(names):
    found = way(*((name, 100 + n, "") for n, name in enumerate(names)))

    assert only("way_side", 0, bits(0), found) == 2
    assert only("way_side", 1, bits(0, 1), found) == 3


def test_without_names_two_alike_that_stand_together_are_left_and_right():
    found = way(("a", 100, ""), ("b", 100, ""), ("c", 60, ""), ("d", 50, ""), ("e", 50, ""))

    assert only("way_side", 0, bits(0), found) == 2, "one without a side is on either"
    assert only("way_side", 0, bits(0, 2), found) == 3
    assert only("way_side", 1, bits(0, 1, 2), found) == 4


def test_a_mirrored_joint_has_its_sides_from_the_plan():
    found = way(("hub", 100, ", mirror: left/right"), ("arm", 60, ", mirror: left/right"))

    assert only("way_side", 0, bits(0), found) == 2


def test_before_the_first_place_no_side_counts():
    found = way(("u-right", 100, ""), ("u-left", 90, ""))

    assert only("way_side", NOWHERE, 0, found) == 0


def test_two_wrenches_go_on_from_their_own_place_or_from_the_last_one():
    begun = bits(0, 5)
    found = line(10)
    own, last, both = (dict(found.ranked(*where, begun)) for where in ((0, 0), (5, 5), (0, 5)))

    assert both == {place: pytest.approx(0.5 * own[place] + 0.5 * last[place]) for place in own}
    assert dict(found.ranked(NOWHERE, 5, begun)) == last
    assert dict(found.ranked(0, NOWHERE, begun)) == own
    alone = line(10, replace(USUAL, own_way=0.9))
    assert dict(alone.ranked(0, 5, begun))[1] > both[1]


def test_the_likeliest_comes_first():
    odds = [share for _, share in line(8).ranked(3, 3, bits(3, 4))]

    assert odds == sorted(odds, reverse=True)


def test_answers_stay_the_same_however_many_were_asked_before():
    found = line(10)
    first = found.ranked(2, 4, bits(2, 4))
    for begun in range(1 << 10):
        found.ranked(2, 4, begun)

    assert found.ranked(2, 4, bits(2, 4)) == first
    assert len(found._kept) + len(found._ranked) < 1100
