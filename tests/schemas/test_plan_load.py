"""A plan becomes the route that is walked; what the plan says has one hash, whatever its layout."""

import hashlib
import math
import tracemalloc
from decimal import Decimal
from pathlib import Path

import pytest
import rfc8785

from schemas.errors import PlanError
from schemas.plan.load import content_sha256, load_plan, load_whole
from schemas.plan.model import PlanModel
from schemas.plan.text import MAX_BYTES, read_tree
from schemas.route import Adapter, Route, Step
from schemas.words import Method, Role, StepWord

EXAMPLE = Path(__file__).parent.parent / "data" / "plan-example.yaml"
PLAN = """\
plan: axle
title: Axle
revision: A
source: Made up
unit: N·m
tolerance: 8 %
joints:
  - {id: u-bolts, name: U-bolts, fasteners: 4, torque: 95.20}
  - {id: hubs, name: Hubs, fasteners: 2, torque: 60}
"""


def load(text: str) -> Route:
    return load_plan(text.encode(), "axle.yaml")


@pytest.fixture(name="example")
def _example() -> Route:
    return load_plan(EXAMPLE.read_bytes(), "plan-example.yaml")


def test_the_example_of_the_design_has_its_head_and_joints(example: Route) -> None:
    assert (example.plan, example.title, example.revision, example.source) == (
        "box-trailer-axle",
        "Box trailer, rear axle and hubs",
        "3",
        "Shop procedure 114, section 5, revision C",
    )
    assert list(example.by_id()) == ["u-bolts-left", "shackle-bolts", "wheel-nuts-left"]


def test_the_first_joint_of_the_example_has_every_field(example: Route) -> None:
    joint = example.joint("u-bolts-left")

    assert (joint.name, joint.fasteners, joint.unit) == ("Spring U-bolt nuts, left", 4, "N·m")
    assert (joint.snug, [stage.share_percent for stage in joint.stages]) == (True, [50, 100])
    assert [stage.number for stage in joint.stages] == [1, 2]
    assert (joint.final.band.low_nm, joint.final.band.high_nm) == (Decimal("85.5"), Decimal("104.5"))
    assert joint.stages[0].band.high_nm == joint.final.band.low_nm
    assert not joint.stages[0].band.high_is_in_band
    assert (joint.order, joint.order_word) == ((1, 3, 2, 4), "cross")
    assert (joint.thread, joint.grade, joint.prep, joint.nut) == ("M14x2", "8.8", "dry", "prevailing")
    assert (joint.hardware, joint.counter_hold, joint.socket) == ("new", "bolt head, 22 mm", "22 mm")
    assert (joint.wheel, joint.wrenches, joint.adapter) == (False, ("W-140",), Adapter(Decimal(50), Decimal(0)))


def test_the_other_joints_of_the_example_have_the_defaults(example: Route) -> None:
    shackle, wheel = example.joint("shackle-bolts"), example.joint("wheel-nuts-left")

    assert (shackle.final.band.low, shackle.final.band.high) == (Decimal("110.4"), Decimal("129.6"))
    assert (len(shackle.stages), shackle.snug, shackle.order_word, shackle.wrenches) == (1, False, "any", ())
    assert (shackle.thread, shackle.adapter, shackle.wheel) == (None, None, False)
    assert (wheel.name, wheel.wheel, wheel.order) == ("Wheel nuts, left", True, (1, 3, 5, 2, 4))


def test_the_steps_of_the_example_come_in_order(example: Route) -> None:
    assert example.steps == (
        Step(1, StepWord.CAUTION, text="Trailer on stands, wheels chocked, spring unloaded"),
        Step(2, StepWord.LOOSE, joints=("shackle-bolts",)),
        Step(3, StepWord.TORQUE, joints=("u-bolts-left",)),
        Step(
            4,
            StepWord.HOLD_POINT,
            text="Loaded to ride height, axle centred within 3 mm",
            hold_point="ride-height-set",
            sign=Role.FITTER,
        ),
        Step(5, StepWord.TORQUE, joints=("shackle-bolts",), after=("ride-height-set",)),
        Step(6, StepWord.TORQUE, joints=("wheel-nuts-left",)),
        Step(7, StepWord.RETORQUE, joints=("wheel-nuts-left",), text="40 km to 80 km", method=Method.HOLD, from_km=Decimal(40)),
    )


def test_the_example_is_read_without_a_remark(example: Route) -> None:
    assert example.notes == ()
    assert example.item is None


def test_the_whole_of_a_loaded_plan_is_there_for_a_closer_look() -> None:
    whole = load_whole(EXAMPLE.read_bytes(), "plan-example.yaml")

    assert whole.plan == whole.written
    assert whole.route == load_plan(EXAMPLE.read_bytes(), "plan-example.yaml")
    assert whole.tree.line(whole.origin(("joints", 1, "torque"))) == 24


def test_the_item_may_be_named_by_its_vehicle_identification_number() -> None:
    assert load(PLAN + "item: VIN\n").item == "VIN"


def test_a_joint_is_found_by_its_id_and_an_unknown_id_is_none(example: Route) -> None:
    assert example.joint("wheel-nuts-left") is example.joints[2]
    with pytest.raises(KeyError, match="wheel-nuts-right"):
        example.joint("wheel-nuts-right")


def test_a_plan_without_steps_torques_every_joint_in_the_order_listed() -> None:
    assert load(PLAN).steps == (
        Step(1, StepWord.TORQUE, joints=("u-bolts",)),
        Step(2, StepWord.TORQUE, joints=("hubs",)),
    )


def test_do_steps_every_role_and_an_open_retorque_are_read() -> None:
    points = "".join(f"  - {{hold point: p{n}, ask: Sure, sign: {role}}}\n" for n, role in enumerate(Role))
    route = load(f"{PLAN}steps:\n  - do: Lower it\n{points}  - torque: [u-bolts, hubs]\n  - {{retorque: hubs, from: 1 h}}\n")

    assert route.steps[0] == Step(1, StepWord.DO, text="Lower it")
    assert [step.sign for step in route.steps[1:4]] == list(Role)
    assert route.steps[5].text == "1 h"


def test_a_joint_has_its_own_unit_and_its_spelling_is_remarked_once() -> None:
    text = PLAN.replace("torque: 95.20", "low: 70, high: 80, unit: ft-lb").replace("torque: 60", "torque: 60, unit: ft-lb")

    route = load(text)

    assert [joint.unit for joint in route.joints] == ["lbf·ft", "lbf·ft"]
    assert route.notes == ("`ft-lb` read as lbf·ft: a mass stands in the place of the force",)
    # NIST Special Publication 811 (2008), appendix B: exact product of pound, foot and standard gravity.
    assert route.joints[0].final.band.high_nm == 80 * Decimal("1.3558179483314004")


def test_a_torque_that_is_not_stated_has_no_stage() -> None:
    joint = load(PLAN.replace("95.20", "not stated")).joint("u-bolts")

    assert (joint.stages, joint.snug) == ((), False)


def test_no_tolerance_and_no_unit_are_errors_and_nothing_is_assumed() -> None:
    with pytest.raises(PlanError, match="neither the joint nor the plan has a tolerance, and none is assumed") as caught:
        load(PLAN.replace("tolerance: 8 %\n", ""))
    assert [fault.field for fault in caught.value.faults] == ["joints.u-bolts.tolerance", "joints.hubs.tolerance"]
    with pytest.raises(PlanError, match="neither the joint nor the plan has a unit") as caught:
        load(PLAN.replace("unit: N·m\n", ""))
    assert [fault.field for fault in caught.value.faults] == ["joints.u-bolts.unit", "joints.hubs.unit"]


def test_stated_edges_need_no_tolerance_and_a_joints_own_unit_none_of_the_plan() -> None:
    joints = "joints: [{id: b, name: B, fasteners: 1, low: 9, high: 10, unit: Nm}]\n"
    text = f"plan: a\ntitle: A\nrevision: A\nsource: A\n{joints}"

    assert load(text).joints[0].final.band.target_nm == Decimal("9.5")


def test_a_bad_unit_of_the_plan_is_told_once() -> None:
    with pytest.raises(PlanError, match=r"^axle\.yaml, line 5, `unit`: unit `N/m` is a quotient") as caught:
        load(PLAN.replace("N·m", "N/m"))
    assert len(caught.value.faults) == 1


def test_layout_comments_and_the_order_of_fields_do_not_change_the_content() -> None:
    other = "# for the shop\n" + PLAN.replace("plan: axle\n", "").replace("torque: 95.20}", "torque:   95.20 }  # dry")
    other += "\nplan: 'axle'\n"

    assert load(other).content_sha256 == load(PLAN).content_sha256


@pytest.mark.parametrize(
    ("old", "new"),
    [
        pytest.param("95.20", "95.2", id="digits-as-written"),
        pytest.param("8 %", "9 %", id="tolerance"),
        pytest.param("fasteners: 2", "fasteners: 3", id="count"),
        pytest.param("name: Hubs", "name: hubs", id="name"),
        pytest.param("60}", "60, prep: dry}", id="field-more"),
        pytest.param("60}", "60, critical: no}", id="a-default-written-out"),
        pytest.param("60}", "60, mirror: left/right}", id="mirror"),
        pytest.param("joints:", "item: VIN\njoints:", id="item"),
        pytest.param("joints:", "accepted: [{finding: a, reason: b}]\njoints:", id="accepted"),
    ],
)
def test_what_the_plan_says_changes_the_content(old: str, new: str) -> None:
    assert old in PLAN

    assert load(PLAN.replace(old, new)).content_sha256 != load(PLAN).content_sha256


def test_the_content_of_the_example_is_fixed_for_ever(example: Route) -> None:
    """Plans already stored are known by this hash; where it moves, an old record no longer names its plan."""
    assert example.content_sha256 == "82e63c81fcc5dc46f6046b9c28ddafc0fe67c40f7125f69fb7d8f3b97e23f0bd"


def test_the_content_hash_is_over_canonical_json() -> None:
    """The reference is the rfc8785 package (RFC 8785)."""
    plan = PlanModel.model_validate(read_tree(EXAMPLE.read_bytes(), "plan-example.yaml").root)
    content = plan.model_dump(by_alias=True, exclude_none=True)

    assert content["joints"][0]["torque"] == "95"
    assert content_sha256(plan) == hashlib.sha256(rfc8785.dumps(content)).hexdigest()


def test_a_plausible_torque_for_size_and_class_loads_and_keeps_its_place() -> None:
    """The short form T = K d F with K 0.20 and 75 % of proof load, worked out here.

    Stress area pi/4 (d - 0.9382 P)^2 and proof stress 580 MPa of class 8.8 up to 16 mm: ISO 898-1, seen on pages that
    quote it; K and the share of proof are textbook values. The plan rounds to 50.5 N·m for an M10x1.5.
    """
    text = PLAN.replace("torque: 95.20", 'torque: 50.5, thread: M10x1.5, grade: "8.8"')

    band = load(text).joint("u-bolts").final.band

    area_mm2 = math.pi / 4 * (10 - 0.9382 * 1.5) ** 2
    assert float(band.target_nm) == pytest.approx(0.20 * 0.010 * 0.75 * 580 * area_mm2, rel=0.005)
    assert band.low_nm < band.target_nm < band.high_nm


def test_what_is_too_large_is_refused_before_anything_of_it_is_read() -> None:
    """Ten megabytes that look like a plan cost no more than the count of their bytes."""
    row = b"  - {id: bolts, name: Bolts, fasteners: 4, torque: 95}\n"
    data = PLAN.encode() + row * (10_000_000 // len(row))
    tracemalloc.start()
    try:
        with pytest.raises(PlanError, match=rf"^axle\.yaml, line 1: the file has \d+ bytes, more than the {MAX_BYTES} .*; split"):
            load_plan(data, "axle.yaml")
        _now, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert peak < 1_000_000


@pytest.mark.parametrize(
    "data",
    [
        pytest.param("a: " + "[" * 10_000 + "]" * 10_000, id="lists"),
        pytest.param("a: " + "{b: " * 10_000 + "1" + "}" * 10_000, id="fields"),
        pytest.param("\n".join(" " * depth + "a:" for depth in range(1_900)), id="indentation"),
        pytest.param("joints: " + "- " * 10_000, id="dashes"),
        pytest.param("joints:\n" + "- " * 10_000 + "a", id="dashes-on-a-line"),
        pytest.param("steps: [" + "{torque: [" * 10_000, id="never-closed"),
    ],
)
def test_ten_thousand_levels_are_refused_with_little_memory(data: str) -> None:
    tracemalloc.start()
    try:
        with pytest.raises(PlanError, match=r"^axle\.yaml, line \d+.*(nested more than 20 deep|this is no YAML)"):
            load_plan(data.encode(), "axle.yaml")
        _now, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert peak < 20_000_000
