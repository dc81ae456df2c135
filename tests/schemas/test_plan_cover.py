"""A torque that no registered wrench covers is named by joint and stage."""

from decimal import Decimal

import pytest

from schemas.plan.cover import covering, uncovered
from schemas.plan.load import load_plan
from schemas.wrench import Wrench

PLAN = """
plan: axle
title: Axle
revision: A
source: Made up
unit: N·m
tolerance: 8 %
joints:
  - {{id: u-bolts, name: U-bolts, fasteners: 4, torque: 100, stages: [snug, 20, 100]{more}}}
"""


def wrench(name: str, low: object, high: object, length_mm: int | None = None) -> Wrench:
    length = None if length_mm is None else Decimal(length_mm)
    low_nm, high_nm = Decimal(str(low)), Decimal(str(high))
    return Wrench(name, "SN", "indicating", low_nm, high_nm, "N·m", "highest", Decimal(4), length_mm=length)


def found(wrenches: list[tuple[object, ...]], more: str = "") -> list[str]:
    route = load_plan(PLAN.format(more=more).encode(), "axle.yaml")
    return [str(entry) for entry in uncovered(route, [wrench(*each) for each in wrenches])]


def test_nothing_is_looked_at_while_no_wrench_is_registered() -> None:
    assert found([], more=", wrench: [W-1]") == []


@pytest.mark.parametrize(("low", "high"), [pytest.param(20, 100, id="on-both-ends"), pytest.param(1, 300, id="wide")])
def test_one_wrench_that_reaches_every_stage_covers_the_joint(low: int, high: int) -> None:
    assert found([("W-0", 1, 2), ("W-1", low, high)]) == []


def test_each_stage_out_of_every_range_is_named() -> None:
    assert found([("W-1", 21, 99)]) == [
        "`joints.u-bolts`: no registered wrench covers 20 N·m of stage 1; register one that does, or name another",
        "`joints.u-bolts`: no registered wrench covers 100 N·m of stage 2; register one that does, or name another",
    ]


def test_two_wrenches_cover_a_joint_only_when_the_plan_names_both() -> None:
    pair = [("W-1", 10, 50), ("W-2", 40, 200)]

    assert found(pair) == [
        "`joints.u-bolts`: no one registered wrench covers every stage; name the wrenches to use in `wrench`,"
        " or register one that does"
    ]
    assert found(pair, more=", wrench: [W-1, W-2]") == []


def test_a_wrench_that_the_joint_does_not_name_does_not_help() -> None:
    assert found([("W-1", 10, 50), ("W-2", 1, 200)], more=", wrench: [W-1]") == [
        "`joints.u-bolts`: none of its wrenches W-1 covers 100 N·m of stage 2; register one that does, or name another"
    ]


def test_a_joint_without_a_stated_torque_needs_no_range() -> None:
    text = PLAN.format(more="").replace("torque: 100, stages: [snug, 20, 100]", "torque: not stated")

    assert uncovered(load_plan(text.encode(), "axle.yaml"), [wrench("W-1", 1, 2)]) == ()
    named = text.replace("torque: not stated", "torque: not stated, wrench: [W-9]")
    assert uncovered(load_plan(named.encode(), "axle.yaml"), [wrench("W-1", 1, 2)]) == ()


def test_a_joint_whose_wrenches_are_all_unknown_says_so_once() -> None:
    assert found([("W-1", 1, 300)], more=", wrench: [W-8, W-9]") == [
        "`joints.u-bolts`: none of its wrenches W-8, W-9 is in the register; register one, or name another"
    ]


# 20 and 100 N·m through 4 units of adapter on 12 of lever, straight ahead: three quarters are set, as 30 for 40 in
# TM 9-2350-261-20-1 (read); pointing back it is 3/2.
AHEAD = ", adapter: {length: 100 mm, angle: 0}"
BACK = ", adapter: {length: 100 mm, angle: 180}"


@pytest.mark.parametrize(
    ("adapter", "wrenches", "covered"),
    [
        pytest.param(AHEAD, [("W-1", 15, 75, 300)], True, id="ahead-the-set-value-lies-on-both-ends"),
        pytest.param(AHEAD, [("W-1", 15, "74.9", 300)], False, id="ahead-the-set-value-is-above-the-range"),
        pytest.param(AHEAD, [("W-1", 20, 100, 300)], False, id="ahead-the-torque-itself-does-not-count"),
        pytest.param(AHEAD, [("W-1", 15, 75), ("W-2", 15, 75, 300)], True, id="one-wrench-with-a-length-is-enough"),
        pytest.param(BACK, [("W-1", 30, 150, 300)], True, id="back"),
        pytest.param(BACK, [("W-1", 1, 900, 100)], False, id="back-to-the-hand"),
        pytest.param(", adapter: {length: 100 mm, angle: 90}", [("W-1", 20, 100)], True, id="right-angle-needs-no-length"),
        pytest.param(
            ", adapter: {length: 100 mm, angle: 0, corrected_by: wrench}", [("W-1", 20, 100)], True, id="the-wrench-is-told"
        ),
    ],
)
def test_through_an_adapter_the_value_to_set_has_to_lie_in_the_range(
    adapter: str, wrenches: list[tuple[object, ...]], covered: bool
) -> None:
    assert (found(wrenches, adapter) == []) is covered


def test_what_cannot_be_set_through_an_adapter_is_named_with_its_stage() -> None:
    assert found([("W-1", 1, 74, 300)], AHEAD) == [
        "`joints.u-bolts`: no registered wrench covers 100 N·m of stage 2, set through the adapter; register one that does,"
        " or name another"
    ]


@pytest.mark.parametrize(
    ("more", "which"),
    [
        pytest.param("", "no registered wrench", id="any"),
        pytest.param(", wrench: [W-1]", "none of its wrenches W-1", id="named"),
    ],
)
def test_an_adapter_without_the_length_of_any_wrench_is_an_error_of_its_own(more: str, which: str) -> None:
    route = load_plan(PLAN.format(more=more + AHEAD).encode(), "axle.yaml")

    [gap] = uncovered(route, [wrench("W-1", 1, 300)])

    assert (gap.id, gap.stage) == ("adapter-length-unknown", None)
    assert gap.what.startswith(f"{which} has a length in the register")


def test_the_turn_by_an_angle_asks_for_no_range_and_a_recheck_does() -> None:
    route = load_plan(PLAN.format(more=", then_angle: 90, angle_tolerance: 10").encode(), "axle.yaml")
    again = PLAN.format(more="") + "steps:\n  - torque: u-bolts\n  - recheck: u-bolts\n"

    assert [gap.stage for gap in uncovered(route, [wrench("W-1", 20, 99)])] == [2]
    gaps = uncovered(load_plan(again.encode(), "axle.yaml"), [wrench("W-1", 20, 99)])
    assert [gap.stage for gap in gaps] == [2, 3]


def test_the_wrenches_that_cover_a_stage_are_those_that_the_joint_may_use() -> None:
    [joint] = load_plan(PLAN.format(more=", wrench: [W-1, W-2]").encode(), "axle.yaml").joints

    covers = covering(joint, joint.final, [wrench("W-0", 1, 300), wrench("W-1", 1, 50), wrench("W-2", 50, 300)])

    assert [each.id for each in covers] == ["W-2"]
