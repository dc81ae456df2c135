"""The places of a plan: every measured stage of every joint, as the plan works them, as a wrench shows them."""

import pytest

from collector.expect.places import places_of
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, stages: [snug, 50, 100], order: cross}
  - {id: pin, name: Pin, fasteners: 1, torque: not stated}
  - {id: head, name: Head bolts, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10}
  - {id: arm, name: Arm bolt, fasteners: 1, torque: 10, unit: kgf·m, tolerance: 5 %}
steps:
  - torque: [arm, head, pin]
  - torque: hub
  - recheck: arm
  - open: hub
  - torque: hub
"""


def places(text=PLAN, answered=None):
    return places_of(load_plan(text.encode(), "axle.yaml"), answered)


def eye(adapter):
    (place,) = places(HEAD + f"  - {{id: eye, name: Eye, fasteners: 2, torque: 100, adapter: {adapter}}}\n")
    return place


def test_places_come_in_the_order_of_the_steps_stage_by_stage_and_a_joint_opened_on_purpose_again():
    found = [(place.joint.id, place.stage.number, place.begins) for place in places()]

    assert found == [
        ("arm", 1, True), ("head", 1, True), ("head", 2, False), ("hub", 1, True), ("hub", 2, False), ("arm", 2, True),
        ("hub", 1, True), ("hub", 2, False),
    ]  # fmt: skip
    assert [place.index for place in places()] == list(range(8))


def test_a_place_knows_its_band_in_newton_metres_its_order_and_what_a_pull_there_does():
    arm, _, angle, _, hub, check, *_ = places()

    # One kgf·m is 9.80665 N·m (standard gravity, by definition).
    assert (arm.low_nm, arm.target_nm, arm.high_nm) == pytest.approx((93.163175, 98.0665, 102.969825))
    assert (hub.order, hub.fasteners) == ((1, 3, 2, 4), 4)
    assert [(place.turns, place.by_angle) for place in (hub, angle, check)] == [(True, False), (True, True), (False, False)]


def test_for_what_a_person_answers_no_pull_is_waited_for():
    found = places(answered={"hub": frozenset({1, 4}), "arm": frozenset({1}), "head": frozenset()})

    assert [(place.joint.id, place.order) for place in found] == [
        ("head", (1, 2)), ("head", (1, 2)), ("hub", (3, 2)), ("hub", (3, 2)), ("hub", (3, 2)), ("hub", (3, 2)),
    ]  # fmt: skip


def test_a_plan_without_a_stated_torque_has_no_place():
    assert places(HEAD + "  - {id: pin, name: Pin, fasteners: 1, torque: not stated}\n") == ()


@pytest.mark.parametrize(
    ("adapter", "length_mm", "shown_nm"),
    [
        # setting = T L / (L + E cos a), FAA AC 43.13-1B 7-40.
        pytest.param("{length: 100 mm, angle: 0}", 400.0, 80.0, id="straight-ahead"),
        pytest.param("{length: 100 mm, angle: 90}", 400.0, 100.0, id="at-a-right-angle"),
        pytest.param("{length: 100 mm, angle: 180}", 400.0, 133.33, id="back-to-the-hand"),
        pytest.param("{length: 100 mm, angle: 180}", 90.0, 100.0, id="no-lever-left"),
        pytest.param("{length: 100 mm, angle: 0}", None, 100.0, id="length-not-known"),
        pytest.param("{length: 100 mm, angle: 0, corrected_by: wrench}", 400.0, 100.0, id="the-wrench-works-it-out"),
    ],
)
def test_through_an_adapter_a_wrench_shows_another_torque(adapter, length_mm, shown_nm):
    low, target, high = eye(adapter).shown_band(length_mm)

    assert target == pytest.approx(shown_nm, abs=0.01)
    assert (low, high) == pytest.approx((0.9 * target, 1.1 * target), abs=0.01)


def test_without_an_adapter_the_length_of_a_wrench_changes_nothing():
    hub = places()[4]

    assert hub.shown_band(400.0) == hub.shown_band(None) == (90.0, 100.0, 110.0)
    assert hub.shown_share(400.0) == 1.0
