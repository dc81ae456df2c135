"""What a step waits for has to come before it; what never comes, comes too late or waits in a circle is named."""

import pytest

from schemas.errors import PlanError, PlanFault
from schemas.plan.load import load_plan
from schemas.plan.waits import Tightness
from schemas.route import Route

HEAD = """\
plan: axle
title: Axle
revision: A
source: Made up
unit: N·m
tolerance: 8 %
joints:
  - {id: u-bolts, name: U-bolts, fasteners: 4, torque: 95}
  - {id: hubs, name: Hubs, fasteners: 2, torque: 60}
steps:
"""
BOTH = "{torque: [u-bolts, hubs]}"


def load(*steps: str) -> Route:
    return load_plan((HEAD + "".join(f"  - {step}\n" for step in steps)).encode(), "axle.yaml")


def faults(*steps: str) -> tuple[PlanFault, ...]:
    with pytest.raises(PlanError, match=r"^axle\.yaml, line ") as caught:
        load(*steps)
    return caught.value.faults


def point(name: str, after: str = "") -> str:
    return f"{{hold point: {name}, ask: Set, sign: lead{f', after: {after}' if after else ''}}}"


@pytest.mark.parametrize(
    ("steps", "line", "field", "words", "name"),
    [
        pytest.param(
            [point("height"), "{torque: [u-bolts, hubs], after: [hight]}"],
            12, "steps[2].after[1]", "the plan has no hold point or joint `hight`; did you mean `height`?",
            "waits-for-nothing", id="unknown",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs], after: height}"],
            11, "steps[1].after", "no hold point or joint `height`; known here: `u-bolts`, `hubs`", "waits-for-nothing",
            id="no-point-at-all",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs], after: height}", point("height")],
            11, "steps[1].after", "hold point `height` comes later, in steps[2]; move it before", "waits-for-later-step",
            id="point-too-late",
        ),
        pytest.param(
            [point("height", "hubs"), BOTH],
            11, "steps[1].after", "joint `hubs` comes later, in steps[2]; move it before", "waits-for-later-step",
            id="joint-too-late",
        ),
        pytest.param(
            [point("height", "height"), BOTH],
            11, "steps[1].after", "waits for `height`, which it makes itself; take it out", "steps-wait-for-each-other",
            id="point-for-itself",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs], after: hubs}"],
            11, "steps[1].after", "waits for `hubs`, which it makes itself", "steps-wait-for-each-other", id="joint-for-itself",
        ),
        pytest.param(
            [BOTH, "{open: hubs}", "{torque: hubs, after: hubs}"],
            13, "steps[3].after", "waits for `hubs`, which it makes itself", "steps-wait-for-each-other",
            id="joint-that-was-opened-for-itself",
        ),
        pytest.param(
            [BOTH, "{open: hubs}", point("height", "hubs"), "{torque: hubs}"],
            13, "steps[3].after", "joint `hubs` comes later, in steps[4]", "waits-for-later-step", id="joint-that-is-open",
        ),
        pytest.param(
            [point("a", "b"), point("b", "a"), BOTH],
            11, "steps[1].after", "steps[2] makes `b` and waits for this one; take one of the two `after` out",
            "steps-wait-for-each-other", id="two-for-each-other",
        ),
        pytest.param(
            ["{torque: u-bolts, after: c}", point("a", "u-bolts"), point("b", "[a, hubs]"), point("c", "b"), "{torque: hubs}"],
            11, "steps[1].after", "steps[4] makes `c` and waits for this one", "steps-wait-for-each-other", id="long-way-round",
        ),
    ],
)  # fmt: skip
def test_a_wait_that_cannot_end_is_named(steps: list[str], line: int, field: str, words: str, name: str) -> None:
    fault = faults(*steps)[0]

    assert (fault.line, fault.field, fault.id) == (line, field, name)
    assert words in fault.what


def test_a_circle_of_others_is_not_laid_at_the_door_of_a_step_that_waits_for_it() -> None:
    found = faults(point("first", "a"), point("a", "b"), point("b", "a"), BOTH)

    assert [(fault.line, fault.id) for fault in found] == [(11, "waits-for-later-step"), (12, "steps-wait-for-each-other")]


def test_a_joint_that_no_step_torques_is_told_from_one_that_is_not_there() -> None:
    found = faults("{torque: u-bolts, after: hubs}")

    assert [fault.id for fault in found] == ["never-torqued", "waits-for-nothing"]
    assert found[1].what.startswith("the plan has no step that torques joint `hubs`; ")


def test_where_nothing_can_be_waited_for_there_is_still_something_to_do() -> None:
    found = faults("{recheck: hubs, after: height}")

    assert found[-1].what == "the plan has no hold point or joint `height`; add a step for it above, or take the name out"


@pytest.mark.parametrize(
    "steps",
    [
        pytest.param([point("height"), "{torque: [u-bolts, hubs], after: [height]}"], id="hold-point"),
        pytest.param(["{torque: u-bolts}", "{torque: hubs, after: u-bolts}"], id="joint"),
        pytest.param([BOTH, "{open: hubs, after: [hubs, u-bolts]}", "{torque: hubs}"], id="opened-when-done"),
        pytest.param([BOTH, "{open: hubs}", "{torque: hubs}", "{recheck: u-bolts, after: hubs}"], id="opened-and-done-again"),
        pytest.param([BOTH, point("turns", "hubs"), "{open: hubs}", "{torque: hubs, after: turns}"], id="done-before-opened"),
        pytest.param([BOTH, point("turns", "[hubs, u-bolts]"), point("shut", "turns")], id="point-after-point"),
    ],
)
def test_waiting_for_what_comes_before_is_fine(steps: list[str]) -> None:
    assert any(step.after for step in load(*steps).steps)


def test_the_hold_point_may_be_signed_early_when_its_id_stands_twice() -> None:
    (fault,) = faults(point("height"), "{torque: [u-bolts, hubs], after: height}", point("height"))

    assert fault.field == "steps[3].hold point"


def test_a_mirrored_pair_is_waited_for_with_both_its_sides() -> None:
    text = HEAD.replace("torque: 60", "torque: 60, mirror: left/right")
    route = load_plan(f"{text}  - torque: hubs\n  - {{torque: u-bolts, after: hubs}}\n".encode(), "axle.yaml")

    assert route.steps[1].after == ("hubs-left", "hubs-right")


@pytest.mark.parametrize(
    ("step", "finds"),
    [
        pytest.param(0, 2, id="before-all"),
        pytest.param(2, 2, id="the-torque-step-itself"),
        pytest.param(4, 2, id="the-opening-finds-it-tight"),
        pytest.param(5, 6, id="open"),
        pytest.param(7, 6, id="tight-again"),
        pytest.param(9, None, id="left-open"),
    ],
)
def test_a_step_finds_the_joint_as_the_steps_before_have_left_it(step: int, finds: int | None) -> None:
    """A joint torqued in steps 2 and 6, opened in 4 and 8."""
    assert Tightness({"hub": [2, 6]}, {"hub": [4, 8]}).torqued_for("hub", step) == finds
    assert Tightness({}, {}).torqued_for("hub", step) is None
