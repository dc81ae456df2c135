"""The picture of an order stands in the report where there is one to keep to, and joints that are alike share it on paper."""

from dataclasses import replace

import pytest

from analysis.report.orders import order_pictures, pictures_of
from schemas.plan.load import load_plan

PLAN = """\
plan: flange
title: Flange
revision: "1"
source: Shop procedure 7
unit: N·m
tolerance: 10 %
joints:
  - {id: a, name: A, fasteners: FASTENERS, torque: 100, order: ORDER, stages: [50, 100]MORE}
"""


def joint(fasteners: int = 6, order: str = "cross", more: str = ""):
    text = PLAN.replace("FASTENERS", str(fasteners)).replace("ORDER", order).replace("MORE", more)
    return load_plan(text.encode(), "p.yaml").joints[0]


@pytest.mark.parametrize(
    ("fasteners", "order", "drawn"),
    [
        pytest.param(3, "cross", 1, id="fewest"),
        pytest.param(2, "cross", 0, id="two"),
        pytest.param(24, "in line", 1, id="most"),
        pytest.param(25, "in line", 0, id="too-many"),
        pytest.param(4, "[2, 1, 4, 3]", 1, id="listed"),
        pytest.param(6, "any", 0, id="any-order"),
    ],
)
def test_an_order_is_drawn_where_there_is_one_to_keep_to_and_it_can_be_read(fasteners, order, drawn) -> None:
    assert len(pictures_of(joint(fasteners, order))) == drawn


def test_stages_that_begin_elsewhere_have_a_picture_each() -> None:
    first, second = pictures_of(joint(more=", start: [1, 4]"))

    assert (first.caption, second.caption) == ("stage 1; order 1, 4, 2, 5, 3, 6", "stage 2; order 4, 1, 5, 2, 6, 3")
    assert first.svg != second.svg


def test_a_picture_says_from_where_it_is_seen_and_on_which_side_it_is() -> None:
    (picture,) = pictures_of(replace(joint(4), seen_from="outside", side="right"))

    assert picture.caption == "order 1, 3, 2, 4; seen from outside; right side, facing forward"
    assert "counter-clockwise" in picture.words


def test_joints_that_are_gone_round_alike_share_a_picture_on_paper() -> None:
    plan = load_plan(PLAN.replace("FASTENERS", "6").replace("ORDER", "cross").replace("MORE", "").encode(), "p.yaml")
    one = plan.joints[0]
    others = (replace(one, id="b", name="B"), replace(one, id="c", name="C", side="right"), replace(one, id="d", name="D"))

    shared, mirrored = order_pictures(replace(plan, joints=(one, *others)))

    assert (shared["name"], mirrored["name"]) == ("A and 2 more", "C")
    assert shared["alt"].startswith("A; B; D: order 1, 4, 2, 5, 3, 6 of 6")
    assert (shared["ring"], shared["height"]) == (True, mirrored["height"])


def test_a_joint_without_a_stated_torque_is_drawn_by_its_own_order() -> None:
    (picture,) = pictures_of(replace(joint(4), stages=()))

    assert picture.caption == "order 1, 3, 2, 4"
