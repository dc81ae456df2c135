"""The side of the vehicle that a joint is on: by the plan, by the words of its id or name, or as one of two alike."""

import pytest

from collector.expect.places import places_of
from collector.expect.sides import looks_of, opposites_of, sides_of
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD


def joints(*rows):
    """Joints by their places, each given as its id, name and what else the plan says of it."""
    rows = [(name, text, more if "fasteners" in more else f", fasteners: 2{more}") for name, text, more in rows]
    lines = [f"  - {{id: {name}, name: {text}{more}}}\n" for name, text, more in rows]
    places = places_of(load_plan((HEAD + "".join(lines)).encode(), "axle.yaml"))
    found = {}
    for place in places:
        found.setdefault(place.joint.id, []).append(place)
    return list(found.values())


def sides(*rows):
    """The sides of such joints."""
    return sides_of(joints(*rows))


def by_id(*ids):
    return sides(*((one, "Joint", f", torque: {100 + n}") for n, one in enumerate(ids)))


def by_name(*names):
    return sides(*((f"j{n}", one, f", torque: {100 + n}") for n, one in enumerate(names)))


@pytest.mark.parametrize(
    "ids",
    [
        pytest.param(("u-left", "u-right"), id="left-and-right"),
        pytest.param(("u-l", "u-r"), id="one-letter-at-the-end"),
        pytest.param(("u_LH", "u_RH"), id="two-letters"),
        pytest.param(("left-u", "right-u"), id="in-front"),
        pytest.param(("hub-left-2", "hub-right-2"), id="in-the-middle"),
    ],
)
def test_the_side_of_a_joint_is_told_by_its_id(ids):
    assert by_id(*ids) == ["left", "right"]


@pytest.mark.parametrize(
    "names",
    [
        pytest.param(("Hub nuts left", "Hub nuts right"), id="at-the-end"),
        pytest.param(("Left hub", "Right hub"), id="in-front"),
        pytest.param(("Hub (left)", "Hub (right)"), id="in-brackets"),
    ],
)
def test_the_side_of_a_joint_is_told_by_the_words_of_its_name(names):
    assert by_name(*names) == ["left", "right"]


def test_a_part_of_a_word_and_one_letter_elsewhere_are_no_side():
    assert by_name("Cleft pin", "Bright ring", "Bolt R", "Left hub") == [None, None, None, "left"]
    assert by_id("l-hub", "r-hub", "u-left") == [None, None, "left"]


def test_what_tells_of_both_sides_is_on_neither():
    assert by_name("From left to right", "Hub right") == [None, "right"]
    assert sides(("hub-left", "Right hub", ", torque: 100"), ("u-l", "U", ", torque: 90")) == [None, "left"]


def test_what_the_plan_says_counts_before_what_names_tell():
    assert sides(("right-arm", "Right arm", ", torque: 60, mirror: left/right")) == ["left", "right"]


def test_without_names_two_alike_that_stand_together_are_left_and_right():
    rows = [("a", "A", ", torque: 100"), ("b", "B", ", torque: 100"), ("c", "C", ", torque: 60"), ("d", "D", ", torque: 100")]

    assert sides(*rows) == ["left", "right", None, None]
    assert sides(*rows, ("e-left", "E", ", torque: 50")) == [None, None, None, None, "left"], "names tell where there are any"


def test_three_alike_in_a_row_are_one_pair_and_one():
    assert sides(*((name, "J", ", torque: 100") for name in "abc")) == ["left", "right", None]


def test_joints_are_alike_by_all_their_stages():
    staged, plain = ", torque: 100, stages: [50, 100]", ", torque: 100"

    assert sides(("a", "A", staged), ("b", "B", plain), ("c", "C", plain)) == [None, "left", "right"]
    assert sides(("a", "A", staged), ("b", "B", staged)) == ["left", "right"]


@pytest.mark.parametrize(
    ("more", "is_alike"),
    [
        pytest.param(", torque: 100", True, id="as-much"),
        pytest.param(", torque: 100, stages: [100]", True, id="said-in-other-words"),
        pytest.param(", torque: 100, tolerance: 5 %", False, id="another-band"),
        pytest.param(", torque: 100, fasteners: 3", False, id="more-fasteners"),
        pytest.param(", torque: 101", False, id="another-torque"),
        pytest.param(", torque: 100, stages: [50, 100]", False, id="another-stage"),
        pytest.param(", torque: 100, hand: left", False, id="another-thread"),
        pytest.param(", torque: 100, wrench: [W-9]", False, id="another-wrench"),
    ],
)
def test_joints_look_alike_by_all_that_a_reading_can_show(more, is_alike):
    one, other = joints(("a", "A", ", torque: 100"), ("b", "B", more))

    assert (looks_of(one) == looks_of(other)) is is_alike


def test_a_plan_without_joints_to_measure_has_no_sides():
    assert sides_of([]) == []


def test_a_left_hand_thread_is_on_no_side():
    assert by_name("Left-hand nut", "Hub nut") == [None, None]


def opposites(*rows):
    """Each joint's opposite, by id."""
    groups = joints(*((name, "Joint", f", torque: {torque}") for name, torque in rows))
    ids = [group[0].joint.id for group in groups]
    return {ids[number]: ids[other] for number, other in opposites_of(groups, sides_of(groups)).items()}


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        pytest.param(
            (("u-left", 60), ("u-right", 60), ("u2-left", 60), ("u2-right", 60)), {"u-left": "u-right", "u2-left": "u2-right"},
            id="in-turn",
        ),
        pytest.param(
            (("u-left", 60), ("u2-left", 60), ("u-right", 60), ("u2-right", 60)), {"u-left": "u-right", "u2-left": "u2-right"},
            id="one-side-first",
        ),
        pytest.param((("u-right", 60), ("u-left", 60)), {"u-left": "u-right"}, id="the-right-one-first"),
        pytest.param((("u-left", 60), ("u-right", 70)), {}, id="of-another-torque"),
        pytest.param((("u-left", 60), ("u2-left", 60), ("u-right", 60)), {"u-left": "u-right"}, id="one-more-on-a-side"),
        pytest.param((("u-left", 60), ("bar", 60)), {}, id="on-no-side"),
    ],
)
def test_each_left_joint_has_the_right_one_like_it_opposite(rows, expected):
    assert opposites(*rows) == expected | {right: left for left, right in expected.items()}
