"""A torque that no registered wrench covers is named by joint and stage."""

from decimal import Decimal

import pytest

from schemas.plan.cover import uncovered
from schemas.plan.load import load_plan

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


def found(wrenches: list[tuple[str, int, int]], more: str = "") -> list[str]:
    route = load_plan(PLAN.format(more=more).encode(), "axle.yaml")
    return [str(entry) for entry in uncovered(route, [(name, Decimal(a), Decimal(b)) for name, a, b in wrenches])]


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

    assert uncovered(load_plan(text.encode(), "axle.yaml"), [("W-1", Decimal(1), Decimal(2))]) == ()
