"""A plan whose fields are all well written can still contradict itself; each way is named."""

import pytest

from schemas.errors import PlanError, PlanFault
from schemas.plan.load import load_plan
from schemas.route import Route

HEAD = "plan: axle\ntitle: Axle\nrevision: A\nsource: Made up\nunit: N·m\ntolerance: 8 %\njoints:\n"
JOINTS = "  - {id: u-bolts, name: U-bolts, fasteners: 4, torque: 95}\n  - {id: hubs, name: Hubs, fasteners: 2, torque: 60}\n"
POINT = "{hold point: height, ask: Set, sign: lead}"


def load(joints: str = JOINTS, *steps: str) -> Route:
    listed = "".join(f"  - {step}\n" for step in steps)
    return load_plan((HEAD + joints + (f"steps:\n{listed}" if steps else "")).encode(), "axle.yaml")


def faults(joints: str = JOINTS, *steps: str) -> tuple[PlanFault, ...]:
    with pytest.raises(PlanError, match=r"^axle\.yaml, line ") as caught:
        load(joints, *steps)
    return caught.value.faults


def joint(more: str, *, torque: str = "torque: 95") -> str:
    return f"  - {{id: u-bolts, name: U-bolts, fasteners: 4{', ' if torque else ''}{torque}{more}}}\n"


def test_a_plan_without_contradiction_loads() -> None:
    route = load(JOINTS, "{loose: hubs}", POINT, "{torque: [u-bolts, hubs], after: height}", "{retorque: hubs, from: 1 h}")

    assert route.steps[2].after == ("height",)


@pytest.mark.parametrize(
    ("steps", "line", "field", "words"),
    [
        pytest.param(
            ["{torque: [u-bolts, hubs]}", "{loose: hubs}"],
            12, "steps[2].loose", "`hubs` is left loose and no later step torques it", id="loose-for-ever",
        ),
        pytest.param(
            ["{torque: u-bolts}"], 9, "joints.hubs", "no step torques `hubs`; add a step", id="not-reached"
        ),
        pytest.param(
            ["{torque: u-bolts}", "{retorque: hubs, from: 40 km}"],
            9, "joints.hubs", "no step torques `hubs`", id="only-retorqued",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs, hub]}"], 11, "steps[1].torque[3]", "did you mean `hubs`?", id="unknown-joint"
        ),
        pytest.param(
            ["{loose: wheels}", "{torque: [u-bolts, hubs]}"],
            11, "steps[1].loose", "the plan has no joint `wheels`; known here: `u-bolts`, `hubs`", id="unknown-loose",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs], covers: [hub]}"],
            11, "steps[1].covers[1]", "did you mean `hubs`?", id="unknown-covered",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs]}", "{retorque: hub, from: 40 km}"],
            12, "steps[2].retorque", "did you mean `hubs`?", id="unknown-retorque",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs]}", "{torque: []}"], 12, "steps[2].torque", "names no joint", id="no-joint"
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs]}", "{torque: hubs}"],
            12, "steps[2].torque", "`hubs` is torqued in steps[1] already", id="torqued-twice",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs, hubs]}"],
            11, "steps[1].torque[3]", "`hubs` is torqued in steps[1] already", id="torqued-twice-in-one",
        ),
        pytest.param(
            [POINT, "{torque: [u-bolts, hubs], after: [hight]}"],
            12, "steps[2].after[1]", "the plan has no hold point `hight`; did you mean `height`?", id="unknown-point",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs], after: height}"],
            11, "steps[1].after", "the plan has no hold point `height`; none is known here", id="no-point-at-all",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs], after: height}", POINT],
            11, "steps[1].after", "hold point `height` comes later, in steps[2]", id="point-too-late",
        ),
        pytest.param(
            [POINT, "{torque: [u-bolts, hubs]}", POINT],
            13, "steps[3].hold point", "`height` is the hold point of steps[1] already", id="point-twice",
        ),
        pytest.param(
            ["{retorque: hubs, from: 40 km}", "{torque: [u-bolts, hubs]}"],
            11, "steps[1].retorque", "`hubs` is torqued only in a later step", id="retorque-too-early",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs]}", "{retorque: hubs, from: 80 km, to: 40 km}"],
            12, "steps[2].to", "`to` 40 km is not beyond `from` 80 km", id="retorque-backwards",
        ),
    ],
)  # fmt: skip
def test_a_contradiction_of_steps_is_named(steps: list[str], line: int, field: str, words: str) -> None:
    (fault,) = faults(JOINTS, *steps)

    assert (fault.line, fault.field) == (line, field)
    assert words in fault.what


def test_the_hold_point_may_be_signed_early_when_its_id_stands_twice() -> None:
    (fault,) = faults(JOINTS, POINT, "{torque: [u-bolts, hubs], after: height}", POINT)

    assert fault.field == "steps[3].hold point"


@pytest.mark.parametrize("step", ["{retorque: hubs, from: 40 km, to: 80 km}", "{retorque: hubs, from: 1 day, to: 40 km}"])
def test_a_retorque_span_that_rises_or_cannot_be_compared_is_fine(step: str) -> None:
    assert load(JOINTS, "{torque: [u-bolts, hubs]}", step).steps[1].joints == ("hubs",)


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        pytest.param(joint(", stages: [30, 60]"), "stages", "do not end at 100", id="no-final"),
        pytest.param(joint(", stages: [snug]"), "stages", "do not end at 100", id="snug-only"),
        pytest.param(joint(", stages: [60, 30, 100]"), "stages", "do not rise", id="falling"),
        pytest.param(joint(", stages: [30, 30, 100]"), "stages", "do not rise", id="equal"),
        pytest.param(joint(", stages: [110, 100]"), "stages", "do not rise", id="above-100"),
        pytest.param(joint(", stages: [30, snug, 100]"), "stages", "can only be the first", id="snug-later"),
        pytest.param(joint(", stages: [snug, snug, 100]"), "stages", "can only be the first", id="snug-twice"),
        pytest.param(joint(", stages: [95, 100]"), "stages", "not below the final's lower edge", id="in-final-band"),
        pytest.param(joint(", order: [1, 2, 3]"), "order", "each position from 1 to 4 once", id="order-short"),
        pytest.param(joint(", order: [1, 2, 3, 3]"), "order", "each position from 1 to 4 once", id="order-twice"),
        pytest.param(joint(", order: [2, 3, 4, 5]"), "order", "each position from 1 to 4 once", id="order-beyond"),
        pytest.param(joint("", torque=""), "torque", "the joint has no torque", id="no-torque"),
        pytest.param(joint(", low: 90"), "low", "`low` stands beside `torque`", id="low-beside-torque"),
        pytest.param(joint(", high: 90"), "high", "`high` stands beside `torque`", id="high-beside-torque"),
        pytest.param(joint("", torque="low: 90"), "low", "`low` stands without `high`", id="low-alone"),
        pytest.param(joint("", torque="high: 90"), "high", "`high` stands without `low`", id="high-alone"),
        pytest.param(joint("", torque="low: 90, high: 80"), "low", "`low` 90 is not below `high` 80", id="crossed"),
        pytest.param(joint(", tolerance: 5 %", torque="low: 80, high: 90"), "tolerance", "take the tol", id="both"),
        pytest.param(joint(", tolerance: ±95 Nm"), "tolerance", "reaches down to 0", id="tolerance-to-zero"),
        pytest.param(joint(", tolerance: ±5 J"), "tolerance", "unit `J` is an energy", id="tolerance-energy"),
        pytest.param(joint(", unit: furlong"), "unit", "unit `furlong` is not known", id="unknown-unit"),
        pytest.param(
            joint(", tolerance: 5 %", torque="torque: not stated"), "tolerance", "has no tolerance", id="no-band"
        ),
        pytest.param(
            joint(", stages: [snug, 100]", torque="torque: not stated"), "stages", "has no stages", id="no-stages"
        ),
    ],
)  # fmt: skip
def test_a_contradiction_within_a_joint_is_named(text: str, field: str, words: str) -> None:
    (fault,) = faults(text)

    assert fault.field == f"joints.u-bolts.{field}"
    assert fault.line == 8
    assert words in fault.what


def test_two_joints_of_one_id_are_refused() -> None:
    (fault,) = faults(joint("") + joint(""))

    assert fault == PlanFault(9, "joints.u-bolts.id", "`u-bolts` is the id of joints[1] already; give one of them another")


def test_all_contradictions_are_told_at_once() -> None:
    found = faults(joint(", stages: [30, 60], order: [1], unit: J"), "{torque: hubs}")

    assert [fault.field for fault in found] == [
        "joints.u-bolts.stages",
        "joints.u-bolts.order",
        "joints.u-bolts",
        "joints.u-bolts.unit",
        "steps[1].torque",
    ]


@pytest.mark.parametrize(
    ("joints", "steps", "words"),
    [
        pytest.param(
            joint(", adapter: {length: 50 mm, angle: 0}"), [], "`joints.u-bolts.adapter`: the value", id="adapter"
        ),
        pytest.param(joint("", torque="torque: not stated"), [], "`joints.u-bolts.torque`: ", id="not-stated"),
        pytest.param(joint(""), ["{torque: u-bolts, covers: [u-bolts]}"], "`steps[1].covers`: nothing", id="covers"),
    ],
)  # fmt: skip
def test_what_the_collector_does_not_do_yet_is_told_by_name(joints: str, steps: list[str], words: str) -> None:
    (line,) = load(joints, *steps).not_obeyed

    assert line.startswith(words)
    assert "\n" not in line


def test_a_plan_that_asks_for_nothing_more_is_obeyed() -> None:
    assert load(JOINTS, "{torque: [u-bolts, hubs], covers: []}").not_obeyed == ()
