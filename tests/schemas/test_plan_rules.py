"""A joint whose fields are all well written can still contradict itself, and ids can stand twice; each way is named."""

import pytest

from schemas.errors import PlanError, PlanFault
from schemas.plan.load import load_plan
from schemas.route import Route

HEAD = "plan: axle\ntitle: Axle\nrevision: A\nsource: Made up\nunit: N·m\ntolerance: 8 %\njoints:\n"
JOINTS = "  - {id: u-bolts, name: U-bolts, fasteners: 4, torque: 95}\n  - {id: hubs, name: Hubs, fasteners: 2, torque: 60}\n"
POINT = "{hold point: %s, ask: Set, sign: lead}"


def load(joints: str = JOINTS, *steps: str) -> Route:
    listed = "".join(f"  - {step}\n" for step in steps)
    return load_plan((HEAD + joints + (f"steps:\n{listed}" if steps else "")).encode(), "axle.yaml")


def faults(joints: str = JOINTS, *steps: str) -> tuple[PlanFault, ...]:
    with pytest.raises(PlanError, match=r"^axle\.yaml, line ") as caught:
        load(joints, *steps)
    return caught.value.faults


def joint(more: str, *, torque: str = "torque: 95", small: str = "") -> str:
    rule = f"small_drag: {small}\n" if small else ""
    return f"  - {{id: u-bolts, name: U-bolts, fasteners: 4{', ' if torque else ''}{torque}{more}}}\n{rule}"


@pytest.mark.parametrize(
    ("text", "field", "words", "name"),
    [
        pytest.param(joint(", stages: [30, 60]"), "stages", "do not end at 100", "stages-do-not-end-at-100", id="no-final"),
        pytest.param(joint(", stages: [snug]"), "stages", "do not end at 100", "stages-do-not-end-at-100", id="snug-only"),
        pytest.param(joint(", stages: [60, 30, 100]"), "stages", "do not rise", "stages-out-of-order", id="falling"),
        pytest.param(joint(", stages: [30, 30, 100]"), "stages", "do not rise", "stages-out-of-order", id="equal"),
        pytest.param(joint(", stages: [110, 100]"), "stages", "do not rise", "stages-out-of-order", id="above-100"),
        pytest.param(joint(", stages: [30, snug, 100]"), "stages", "only be the first", "stages-out-of-order", id="snug-later"),
        pytest.param(joint(", stages: [snug, snug, 100]"), "stages", "only be the first", "stages-out-of-order", id="snug-twice"),
        pytest.param(joint(", stages: [95, 100]"), "stages", "not below the final", "stage-in-the-band", id="in-final-band"),
        pytest.param(joint(", order: [1, 2, 3]"), "order", "from 1 to 4 once", "unknown-position", id="order-short"),
        pytest.param(joint(", order: [1, 2, 3, 3]"), "order", "from 1 to 4 once", "unknown-position", id="order-twice"),
        pytest.param(joint(", order: [2, 3, 4, 5]"), "order", "from 1 to 4 once", "unknown-position", id="order-beyond"),
        pytest.param(joint("", torque=""), "torque", "the joint has no torque", "no-torque", id="no-torque"),
        pytest.param(joint(", low: 90"), "low", "`low` stands beside `torque`", "two-bands", id="low-beside-torque"),
        pytest.param(joint(", high: 90"), "high", "`high` stands beside `torque`", "two-bands", id="high-beside-torque"),
        pytest.param(joint("", torque="low: 90"), "low", "`low` stands without `high`", "half-a-band", id="low-alone"),
        pytest.param(joint("", torque="high: 90"), "high", "`high` stands without `low`", "half-a-band", id="high-alone"),
        pytest.param(joint("", torque="low: 90, high: 80"), "low", "`low` 90 is not below `high` 80", "empty-band", id="crossed"),
        pytest.param(joint(", tolerance: 5 %", torque="low: 80, high: 90"), "tolerance", "take the tol", "two-bands", id="both"),
        pytest.param(joint(", tolerance: ±95 Nm"), "tolerance", "reaches down to 0", "empty-band", id="tolerance-to-zero"),
        pytest.param(joint(", tolerance: ±5 J"), "tolerance", "unit `J` is an energy", "empty-band", id="tolerance-energy"),
        pytest.param(joint(", unit: furlong"), "unit", "unit `furlong` is not known", "unknown-unit", id="unknown-unit"),
        pytest.param(
            joint(", tolerance: 5 %", torque="torque: not stated"), "tolerance", "has no tolerance", "no-torque", id="no-band"
        ),
        pytest.param(
            joint(", stages: [snug, 100]", torque="torque: not stated"), "stages", "has no stages", "no-torque", id="no-stages"
        ),
        pytest.param(joint(", stages: [100, 50, 100]"), "stages", "do not rise", "stages-out-of-order", id="100-then-50"),
        pytest.param(joint(", start: 5"), "start", "positions 1 to 4; begin at one", "unknown-position", id="start-beyond"),
        pytest.param(
            joint(", start: [1, 3]"), "start", "2 places to start and 1 measured", "unknown-position", id="starts"
        ),
        pytest.param(
            joint(", stages: [snug, 50, 100], start: [1, 2, 3]"),
            "start", "3 places to start and 2 measured", "unknown-position", id="snug-is-not-measured",
        ),
        pytest.param(
            joint(", then_angle: 90"), "then_angle", "without `angle_tolerance`", "angle-without-tolerance", id="angle-alone"
        ),
        pytest.param(
            joint(", angle_tolerance: 9"), "angle_tolerance", "without `then_angle`", "angle-without-tolerance", id="width"
        ),
        pytest.param(
            joint(", then_angle: 90, angle_tolerance: 90"),
            "angle_tolerance", "reaches down to zero", "empty-band", id="angle-to-zero",
        ),
        pytest.param(
            joint(", then_angle: 90, angle_tolerance: 9", torque="torque: not stated"),
            "then_angle", "write the torque", "no-torque", id="angle-from-nothing",
        ),
        pytest.param(
            joint(", drag: included"), "drag", "`nut: prevailing`", "drag-without-prevailing-nut", id="drag-no-nut"
        ),
        pytest.param(
            joint(", drag: measured, nut: plain", small="add"),
            "drag", "`nut: prevailing`", "drag-without-prevailing-nut", id="drag-plain-nut",
        ),
        pytest.param(
            joint(", drag: 4 N·m, nut: prevailing"),
            "drag", "`small_drag: add` or `small_drag: leave out", "no-rule-for-small-drag", id="no-rule",
        ),
        pytest.param(
            joint(", drag: measured, nut: prevailing", torque="torque: not stated", small="add"),
            "drag", "take `drag` out", "no-torque", id="drag-on-nothing",
        ),
        pytest.param(
            joint(", drag: 4 lbf·ft, nut: prevailing", small="add"),
            "drag", "in lbf·ft and the torque in N·m", "drag-in-another-unit", id="drag-unit",
        ),
    ],
)  # fmt: skip
def test_a_contradiction_within_a_joint_is_named(text: str, field: str, words: str, name: str) -> None:
    (fault,) = faults(text)

    assert (fault.field, fault.id) == (f"joints.u-bolts.{field}", name)
    assert fault.line == 8
    assert words in fault.what


@pytest.mark.parametrize(
    "more",
    [
        pytest.param("stages: [snug, 30, 100, 100, 100]", id="until-nothing-moves"),
        pytest.param("stages: [snug, 50, 100], start: [4, 2]", id="a-start-each"),
        pytest.param("stages: [50, 100], start: 3", id="one-start-for-all"),
        pytest.param("nut: prevailing, drag: included", id="drag-included-needs-no-rule"),
        pytest.param("then_angle: 90, angle_tolerance: 89.9", id="wide-angle"),
    ],
)
def test_what_only_looks_like_a_contradiction_loads(more: str) -> None:
    assert load(joint(f", {more}")).joints[0].id == "u-bolts"


def test_two_joints_of_one_id_are_refused() -> None:
    (fault,) = faults(joint("") + joint(""))

    what = "`u-bolts` is the id of joints[1] already; give one of them another"
    assert fault == PlanFault(9, "joints.u-bolts.id", what, "duplicate-id")


@pytest.mark.parametrize(
    ("ids", "line", "what"),
    [
        pytest.param(["hub!", "hub"], 9, "`hub` is the id of joints[1] already", id="the-pair"),
        pytest.param(["hub", "hub!"], 9, "`hub` is the id of joints[1] already", id="the-pair-later"),
        pytest.param(["hub!", "hub!"], 9, "`hub` is the id of joints[1] already", id="two-pairs"),
        pytest.param(["hub!", "hub-right"], 9, "`hub-right` is the id of joints[1] already", id="a-side"),
        pytest.param(["hub-left", "eye", "hub!"], 10, "`hub-left` is the id of joints[1] already", id="a-side-later"),
        pytest.param(["hub!", "eye", "eye"], 10, "`eye` is the id of joints[2] already", id="counted-as-in-the-file"),
    ],
)
def test_an_id_may_not_be_that_of_a_mirrored_pair_or_of_one_of_its_sides(ids: list[str], line: int, what: str) -> None:
    mirrors = {name: ", mirror: left/right" if name.endswith("!") else "" for name in ids}
    (fault,) = faults(
        "".join(f"  - {{id: {name.strip('!')}, name: A, fasteners: 1, torque: 5{mirrors[name]}}}\n" for name in ids)
    )

    assert (fault.line, fault.id) == (line, "duplicate-id")
    assert fault.what.startswith(what)


@pytest.mark.parametrize("point", ["u-bolts", "hubs", "hubs-left"])
def test_a_hold_point_may_not_have_the_id_of_a_joint(point: str) -> None:
    mirrored = JOINTS.replace("torque: 60", "torque: 60, mirror: left/right")
    (fault,) = faults(mirrored, POINT % point, "{torque: [u-bolts, hubs]}")

    assert (fault.line, fault.field, fault.id) == (11, "steps[1].hold point", "duplicate-id")
    assert fault.what == f"`{point}` is the id of a joint already; give the hold point another, since `after` names both"


def test_two_hold_points_of_one_id_are_refused() -> None:
    (fault,) = faults(JOINTS, POINT % "height", "{torque: [u-bolts, hubs], after: height}", POINT % "height")

    what = "`height` is the hold point of steps[1] already; give one of them another"
    assert fault == PlanFault(13, "steps[3].hold point", what, "duplicate-id")


def test_a_finding_is_accepted_for_a_joint_that_there_is() -> None:
    accepted = "accepted: [{finding: unlike-torque, joints: [hubs, hub], reason: Sheet 12}]\n"
    (fault,) = faults(JOINTS + accepted)

    assert fault == PlanFault(10, "accepted[1].joints[2]", "the plan has no joint `hub`; did you mean `hubs`?", "unknown-joint")
    assert load(JOINTS + accepted.replace(", hub]", "]")).joints
    assert load(JOINTS + "accepted: [{finding: unlike-torque, reason: Sheet 12}]\n").joints


def test_of_two_mirrored_joints_one_mistake_is_told_once() -> None:
    (fault,) = faults(joint(", mirror: left/right, stages: [30, 60]"))

    assert (fault.line, fault.field) == (8, "joints.u-bolts.stages")


def test_all_contradictions_are_told_at_once() -> None:
    found = faults(joint(", stages: [30, 60], order: [1], unit: J"), "{torque: hubs}")

    assert [fault.field for fault in found] == [
        "joints.u-bolts.stages",
        "joints.u-bolts.order",
        "joints.u-bolts",
        "joints.u-bolts.unit",
        "steps[1].torque",
    ]
