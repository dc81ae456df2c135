"""A mirrored joint is two joints, and whoever names the pair names both; everything keeps its place in the file."""

import pytest

from schemas.plan.expand import expanded
from schemas.plan.load import LoadedPlan, content_sha256, load_plan, load_whole
from schemas.plan.model import PlanModel
from schemas.plan.text import read_tree

PLAN = """\
plan: axle
title: Axle
revision: A
source: Made up
unit: N·m
tolerance: 8 %
accepted:
  - {finding: unlike-torque, joints: [eye, hubs], reason: Sheet 12}
joints:
  - {id: eye, name: Towing eye, fasteners: 2, torque: 80}
  - {id: hubs, name: Hub nuts, fasteners: 4, torque: 60, order: cross, mirror: left/right, seen_from: outside}
  - {id: guard, name: Guard, fasteners: 1, torque: 20}
steps:
  - {fit: hubs, positions: [1, 3]}
  - {fit: [hubs-left, hubs-right], positions: [2, 4]}
  - loose: hubs
  - {torque: [eye, hubs, guard], covers: hubs}
  - {open: hubs-right}
  - {torque: hubs-right, after: [hubs-left]}
  - {recheck: [hubs, guard], after: hubs}
  - {retorque: hubs, from: 40 km}
"""


@pytest.fixture(name="loaded")
def _loaded() -> LoadedPlan:
    return load_whole(PLAN.encode(), "axle.yaml")


def test_a_mirrored_joint_is_two_alike_but_for_id_name_and_side(loaded: LoadedPlan) -> None:
    left, right = loaded.route.joint("hubs-left"), loaded.route.joint("hubs-right")

    assert list(loaded.route.by_id()) == ["eye", "hubs-left", "hubs-right", "guard"]
    assert (left.name, right.name) == ("Hub nuts, left", "Hub nuts, right")
    assert [joint.side for joint in loaded.route.joints] == [None, "left", "right", None]
    assert left.order == right.order == (1, 3, 2, 4), "the picture is mirrored, so the numbers stay"
    assert (left.stages, left.seen_from, left.pattern) == (right.stages, "outside", "circle")


def test_steps_that_name_the_pair_name_both_and_one_side_stays_alone(loaded: LoadedPlan) -> None:
    assert [step.joints for step in loaded.route.steps] == [
        ("hubs-left", "hubs-right"),
        ("hubs-left", "hubs-right"),
        ("hubs-left", "hubs-right"),
        ("eye", "hubs-left", "hubs-right", "guard"),
        ("hubs-right",),
        ("hubs-right",),
        ("hubs-left", "hubs-right", "guard"),
        ("hubs-left", "hubs-right"),
    ]
    assert loaded.route.steps[3].covers == ("hubs-left", "hubs-right")
    assert [step.after for step in loaded.route.steps[5:7]] == [("hubs-left",), ("hubs-left", "hubs-right")]


def test_an_accepted_finding_of_the_pair_is_one_of_both(loaded: LoadedPlan) -> None:
    assert loaded.plan.accepted is not None
    assert loaded.plan.accepted[0].joints == ["eye", "hubs-left", "hubs-right"]


def test_what_was_written_stays_as_it_was(loaded: LoadedPlan) -> None:
    assert [joint.id for joint in loaded.written.joints] == ["eye", "hubs", "guard"]
    assert loaded.written.steps is not None
    assert loaded.written.steps[2].model_dump() == {"loose": ["hubs"]}
    assert loaded.route.content_sha256 == content_sha256(loaded.written) != content_sha256(loaded.plan)


@pytest.mark.parametrize(
    ("path", "place", "line"),
    [
        pytest.param(("joints", 0), ("joints", 0), 10, id="joint-before"),
        pytest.param(("joints", 1, "torque"), ("joints", 1, "torque"), 11, id="left"),
        pytest.param(("joints", 2, "torque"), ("joints", 1, "torque"), 11, id="right"),
        pytest.param(("joints", 3), ("joints", 2), 12, id="joint-behind"),
        pytest.param(("joints",), ("joints",), 9, id="all-joints"),
        pytest.param(("steps", 3, "torque", 0), ("steps", 3, "torque", 0), 17, id="name-before"),
        pytest.param(("steps", 3, "torque", 2), ("steps", 3, "torque", 1), 17, id="right-of-the-pair"),
        pytest.param(("steps", 3, "torque", 3), ("steps", 3, "torque", 2), 17, id="name-behind"),
        pytest.param(("steps", 3, "covers", 1), ("steps", 3, "covers", 0), 17, id="text-in-place-of-a-list"),
        pytest.param(("accepted", 0, "joints", 2), ("accepted", 0, "joints", 1), 8, id="accepted"),
        pytest.param(("unit",), ("unit",), 5, id="head"),
    ],
)
def test_every_place_is_found_in_the_file(
    loaded: LoadedPlan, path: tuple[str | int, ...], place: tuple[str | int, ...], line: int
) -> None:
    assert loaded.origin(path) == place
    assert loaded.tree.line(loaded.origin(path)) == line


def test_a_plan_without_a_mirror_stays_equal() -> None:
    text = PLAN.replace(", mirror: left/right", "").replace("-left", "").replace("-right", "")
    plan = PlanModel.model_validate(read_tree(text.encode(), "axle.yaml").root)

    whole = expanded(plan)

    assert whole.plan == plan
    assert whole.sides == (None, None, None)
    assert whole.ids == (("eye",), ("hubs",), ("guard",))


def test_a_plan_without_steps_torques_each_side() -> None:
    text = PLAN[: PLAN.index("steps:")]

    assert [step.joints for step in load_plan(text.encode(), "axle.yaml").steps] == [
        *[("eye",), ("hubs-left",), ("hubs-right",), ("guard",)],
    ]
