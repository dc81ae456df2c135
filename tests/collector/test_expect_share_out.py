"""The readings of several jobs in one log, shared out to their plans."""

import pytest

from collector.expect.click import Click
from collector.expect.habits import USUAL
from collector.expect.share_out import share_out
from schemas.plan.load import load_plan

PLAN = """\
plan: {plan}
title: A made-up job
revision: "1"
source: Made up
unit: N·m
tolerance: 10 %
joints:
  - {{id: hub, name: Hub nuts, fasteners: 4, torque: {hub}}}
  - {{id: plate, name: Plate bolts, fasteners: 3, torque: {plate}}}
"""


def route(plan, hub, plate):
    return load_plan(PLAN.format(plan=plan, hub=hub, plate=plate).encode(), f"{plan}.yaml")


TRAILER, CART = route("trailer", 100, 30), route("cart", 65, 18)


def clicks(*torques, wrench="W-1", pause_s=8.0):
    return [Click(n, torque, wrench, pause_s * n) for n, torque in enumerate(torques, 1)]


def test_each_reading_goes_to_the_plan_that_has_its_torque_though_both_have_joints_of_one_id():
    torques = (100.0,) * 4 + (65.0,) * 4 + (30.0,) * 3 + (18.0,) * 3

    assert share_out([TRAILER, CART], clicks(*torques), USUAL) == [0] * 4 + [1] * 4 + [0] * 3 + [1] * 3


def test_the_order_of_the_plans_is_only_their_number():
    torques = (100.0,) * 4 + (65.0,) * 4

    assert share_out([CART, TRAILER], clicks(*torques), USUAL) == [1] * 4 + [0] * 4


def test_a_reading_of_neither_plan_belongs_to_none():
    found = share_out([TRAILER, CART], clicks(*(100.0,) * 4, 7.0, *(65.0,) * 4), USUAL)

    assert found == [0] * 4 + [None] + [1] * 4


def test_jobs_of_two_wrenches_that_lie_one_among_the_other_are_told_apart():
    one, other = clicks(*(100.0,) * 4), clicks(*(65.0,) * 4, wrench="W-2")
    rows = [click for pair in zip(one, other, strict=True) for click in pair]

    assert share_out([TRAILER, CART], rows, USUAL) == [0, 1] * 4


@pytest.mark.parametrize("torque", [None, -50.0, 0.0], ids=["above-the-range", "to-the-left", "nothing"])
def test_an_odd_value_is_shared_out_to_one_plan_or_to_none(torque):
    (found,) = share_out([TRAILER, CART], [Click(1, torque)], USUAL)

    assert found in (0, 1, None)


def test_without_a_reading_there_is_nothing_to_share():
    assert share_out([TRAILER, CART], [], USUAL) == []


@pytest.mark.parametrize("first", [0, 1], ids=["the-first-plan-first", "the-second-plan-first"])
def test_of_two_plans_with_a_torque_in_common_the_one_that_is_being_worked_has_the_reading(first):
    plans = [TRAILER, route("cart", 65, 30)]
    torques = {0: (100.0,) * 4 + (30.0,) * 3, 1: (65.0,) * 4 + (30.0,) * 3}

    assert share_out(plans, clicks(*torques[first], *torques[1 - first]), USUAL) == [first] * 7 + [1 - first] * 7
