"""Which joints are open, and where each habit of order leads: worked out by bits, checked against a plain look at the plan."""

import random

import pytest

from collector.expect.habits import USUAL
from collector.expect.open_joints import Leads, bits_of
from collector.expect.places import NOWHERE, places_of
from collector.expect.way import Way
from schemas.plan.load import load_plan

PLAN = """\
plan: axle
title: Axle
revision: "1"
source: Made up
unit: N·m
tolerance: 10 %
joints:
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
    return {
        "way_ahead": turn[0],
        "way_back": max(behind or first),
        "way_first": min(first),
        "way_torque": next((n for n in turn if torque[n] == same), turn[0]),
        "way_rising": min(first, key=lambda n: (same is not None and torque[n] < same, torque[n], n)),
        "way_falling": min(first, key=lambda n: (same is not None and torque[n] > same, -torque[n], n)),
        "way_side": (beside or turn)[0],
        "way_begun": min((n for n in first if advanced[n]), key=lambda n: (advanced[n], n), default=turn[0]),
    }


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
