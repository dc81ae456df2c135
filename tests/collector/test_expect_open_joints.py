"""Which joints are open, and where each habit of order leads: worked out by bits, checked against a plain look at the plan."""

import random
from itertools import pairwise

import pytest

from collector.expect.habits import USUAL
from collector.expect.open_joints import Leads, bits_of
from collector.expect.places import NOWHERE, places_of
from collector.expect.way import Way
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: u-left, name: U-bolts, fasteners: 4, torque: 95, stages: [50, 100]}
  - {id: u-right, name: U-bolts, fasteners: 4, torque: 95, stages: [50, 100]}
  - {id: pin, name: Pin, fasteners: 1, torque: 60}
  - {id: hub, name: Hub, fasteners: 4, torque: 120, stages: [30, 60, 100]}
  - {id: clamp, name: Clamp, fasteners: 2, torque: 60}
  - {id: stay, name: Stay, fasteners: 2, torque: 40}
"""
PLACES = places_of(load_plan(PLAN.encode(), "axle.yaml"))
JOINTS = ((0, 1), (2, 3), (4,), (5, 6, 7), (8,), (9,))
"""The places of each joint."""
TARGETS = (47.5, 95.0, 47.5, 95.0, 60.0, 36.0, 72.0, 120.0, 60.0, 40.0)
SIDES = ("left", "right", None, None, None, None)
LOOKS = ("u", "u", "pin", "hub", "clamp", "stay")


def plainly_led(here, begun):
    """Where each habit leads, looked up joint by joint."""
    first = {n: next(one for one in group if not begun >> one & 1) for n, group in enumerate(JOINTS) if any(
        not begun >> one & 1 for one in group)}  # fmt: skip
    torque = {n: TARGETS[place] for n, place in first.items()}
    joint = next((n for n, group in enumerate(JOINTS) if here in group), NOWHERE)
    same = TARGETS[here] if here != NOWHERE else None
    turn = sorted(first, key=lambda n: (n < joint, n))
    behind = [n for n in first if n < joint]
    opposite = {"left": "right", "right": "left"}.get(SIDES[joint] if joint != NOWHERE else None, "none")
    beside = [n for n in turn if joint != NOWHERE and n != joint and SIDES[n] != opposite]
    advanced = {n: sum(begun >> one & 1 for one in JOINTS[n]) for n in first}
    rounds = plainly_round_on(joint, first, advanced) if first else None
    rounds = turn[0] if rounds is None else rounds
    return {
        "way_ahead": turn[0],
        "way_back": max(behind or first),
        "way_first": min(first),
        "way_torque": next((n for n in turn if torque[n] == same), rounds),
        "way_rising": min(first, key=lambda n: (same is not None and torque[n] < same, torque[n], n)),
        "way_falling": min(first, key=lambda n: (same is not None and torque[n] > same, -torque[n], n)),
        "way_side": (beside or turn)[0],
        "way_corner": plainly_at_corner(joint, first, turn, beside),
        "way_begun": rounds,
    }


def plainly_round_on(joint, first, advanced):
    """The least advanced joint under way, or the next to take up: as many rounds if only one is under way, else a look-alike."""
    under_way = [n for n in first if advanced[n]]
    takes_up = []
    if joint != NOWHERE and len(JOINTS[joint]) > 1:
        is_alone = set(under_way) <= {joint}
        fits = [n for n in first if n >= joint and not advanced[n] and len(JOINTS[n]) == len(JOINTS[joint])]
        takes_up = (fits if is_alone else [n for n in fits if LOOKS[n] == LOOKS[joint]])[:1]
    return min([*under_way, *takes_up], key=lambda n: (advanced[n], n), default=None)


def plainly_at_corner(joint, first, turn, beside):
    """One or two on, not at the other side, unless a joint like it is still open before it; else the first that is left."""
    if joint == NOWHERE or joint in first:
        return turn[0]
    near = [n for n in beside if n > joint][:1]
    is_good = near and near[0] - joint <= 2 and not any(n < near[0] and LOOKS[n] == LOOKS[near[0]] for n in first)
    return near[0] if is_good else min(first)


@pytest.mark.parametrize("here", [NOWHERE, *range(10)])
def test_each_habit_leads_where_a_plain_look_at_the_plan_leads(here):
    leads, rng = Leads(PLACES), random.Random(f"led {here}")
    for _ in range(200):
        begun = rng.getrandbits(10)
        if begun != 0b11_1111_1111:
            assert leads.led(here, leads.open(begun)) == plainly_led(here, begun)


def test_what_is_open_does_not_depend_on_what_was_asked_before():
    asked, rng = Leads(PLACES), random.Random("open")
    for _ in range(300):
        begun = rng.getrandbits(10)
        assert _shown(asked.open(begun)) == _shown(Leads(PLACES).open(begun))


WHEELS = places_of(
    load_plan(
        (
            PLAN[: PLAN.index("  - {")]
            + "".join(
                f"  - {{id: {name}, name: Joint, fasteners: 2, torque: {torque}}}\n"
                for name, torque in (
                    ("eye-1-left", 60), ("eye-1-right", 60), ("damper-1-left", 70), ("damper-1-right", 70), ("eye-2-left", 60),
                    ("eye-2-right", 60), ("damper-2-left", 70), ("damper-2-right", 70), ("bar", 90), ("wheel-1-left", 110),
                    ("wheel-1-right", 110), ("wheel-2-left", 110), ("wheel-2-right", 110),
                )
            )
        ).encode(),
        "wheels.yaml",
    )
)  # fmt: skip
CORNERS = (0, 2, 1, 3, 4, 6)
"""All of a wheel's joints, then those of the next wheel, and so on to the next axle."""


def test_who_works_corner_by_corner_is_led_from_wheel_to_wheel():
    leads, begun = Leads(WHEELS), 1
    for here, then in pairwise(CORNERS):
        assert leads.led(here, leads.open(begun))["way_corner"] == then
        begun |= 1 << then


def test_after_one_corner_the_next_one_is_expected_more_than_of_somebody_unknown():
    way, begun, order = Way(WHEELS, USUAL), 1, Way(WHEELS, USUAL).usual
    for here, then in pairwise(CORNERS[:5]):
        order = way.followed(order, here, here, begun, then)
        begun |= 1 << then

    assert dict(way.next(order, 4, 4, begun))[6] > 1.5 * dict(way.next(way.usual, 4, 4, begun))[6]


def test_one_of_two_people_may_begin_at_the_other_side():
    leads = Leads(WHEELS)
    odds = leads.on_either_side({0: 0.8, 8: 0.2}, leads.open(0))

    assert sum(odds.values()) == pytest.approx(1.0)
    assert odds == pytest.approx({0: 0.6, 1: 0.2, 8: 0.2})


def test_a_side_that_was_begun_takes_nothing():
    leads = Leads(WHEELS)

    assert leads.on_either_side({0: 1.0}, leads.open(0b10)) == {0: 1.0}


def test_who_does_not_begin_at_the_plans_first_joint_mostly_takes_the_other_side_of_the_same_axle():
    leads = Leads(WHEELS)

    assert leads.on_either_side({2: 1.0}, leads.open(0)) == pytest.approx({2: 0.25, 3: 0.75})
    assert leads.on_either_side({3: 1.0}, leads.open(0)) == pytest.approx({2: 0.25, 3: 0.75})


MIRRORED = {joint: joint ^ 1 for joint in range(8)} | {8: 8, 9: 10, 10: 9, 11: 12, 12: 11, NOWHERE: NOWHERE}
"""The joint opposite each of `WHEELS`; the bar has none."""


@pytest.mark.parametrize("here", [0, 3, 6, 10])
def test_what_is_at_hand_for_one_of_two_people_does_not_depend_on_the_side_that_he_took(here):
    """At his own side he is led as he would be at the other one, whatever the other person has done there."""
    leads, rng = Leads(WHEELS, is_shared=True), random.Random(f"sides {here}")
    for _ in range(200):
        begun = rng.getrandbits(13) & ~(1 << 8)
        opposite = sum(1 << MIRRORED[joint] for joint in bits_of(begun))
        one, other = leads.open(begun).copy(), leads.open(opposite).copy()

        near = {MIRRORED[joint]: share for joint, share in leads.near(here, one).items()}
        assert near == pytest.approx(leads.near(MIRRORED[here], other))
        found, opposite_found = leads.led(here, one), leads.led(MIRRORED[here], other)
        for habit in ("way_side", "way_corner", "way_rising", "way_falling"):
            assert MIRRORED[found[habit]] == opposite_found[habit], habit


def _shown(joints):
    at_torque = {target_nm: bits for target_nm, bits in joints.of_target.items() if bits}
    return joints.left, joints.under_way, joints.first, joints.count, at_torque


@pytest.mark.parametrize("bits", [0, 1, 0b1010, 1 << 700 | 1 << 3])
def test_the_bits_are_told_from_the_lowest_on(bits):
    assert list(bits_of(bits)) == [n for n in range(bits.bit_length()) if bits >> n & 1]


def test_the_likeliest_places_come_first_a_stage_passed_over_among_them():
    way, rng = Way(PLACES, USUAL), random.Random("ahead")
    for _ in range(300):
        begun, here, last = rng.getrandbits(10), rng.randrange(-1, 10), rng.randrange(-1, 10)
        ahead = list(way.next(way.usual, here, last, begun))
        assert sorted(place for place, _ in ahead) == [place for place in range(10) if not begun >> place & 1]
        assert [share for _, share in ahead] == sorted((share for _, share in ahead), reverse=True)
