"""Joints that should be alike and are not: left against right, one size, grade and preparation against another torque."""

from collections.abc import Callable

import pytest

from schemas.findings.check import Checked

Check = Callable[..., Checked]
Ids = Callable[[Checked], list[tuple[str, str | None]]]
M12 = 'thread: M12x1.75, grade: "8.8", prep: dry'
MIRROR, BUILT, LIKE = "unlike-torque-on-mirror-joints", "unlike-mirror-joints", "unlike-torque-on-like-joints"


@pytest.mark.parametrize(
    ("left", "right"),
    [
        pytest.param("id: hub-left", "id: hub-right", id="at-the-end"),
        pytest.param("id: left-hub", "id: right-hub", id="at-the-front"),
        pytest.param("id: hub_LH_2", "id: hub_RH_2", id="letters-of-the-trade"),
        pytest.param("id: hub.l", "id: hub.r", id="one-letter"),
        pytest.param('id: J1, name: "Hub nuts, left"', 'id: J2, name: "Hub nuts, right"', id="by-name"),
    ],
)
def test_left_and_right_of_another_torque_are_asked_about_once(check: Check, left: str, right: str) -> None:
    [found] = check(f"{left}, torque: 95, {M12}", f"{right}, torque: 59, {M12}").open

    assert (found.id, found.level) == (MIRROR, "warning")
    assert found.what.startswith("left and right are unlike: 59 N·m for ")
    assert "95 N·m for " in found.what
    assert len(found.joints) == 2


@pytest.mark.parametrize(
    ("one", "other"),
    [
        pytest.param("id: hub-left", "id: hub-front", id="no-pair"),
        pytest.param("id: bleeder", "id: bleedel", id="letters-inside-a-word"),
        pytest.param("id: hub-left", "id: cap-right", id="another-part"),
        pytest.param("id: hub-left", "id: hub-rh", id="another-way-of-writing"),
    ],
)
def test_what_is_no_pair_is_not_compared(check: Check, one: str, other: str) -> None:
    assert check(f"{one}, torque: 20", f"{other}, torque: 90").open == ()


def test_left_and_right_of_one_torque_in_two_units_are_alike(check: Check) -> None:
    # 70 lbf·ft are 94.9 N·m.
    assert check("id: hub-left, torque: 95", "id: hub-right, torque: 70, unit: lbf·ft").open == ()


def test_a_stated_torque_is_unlike_one_that_is_not_stated(check: Check, ids: Ids) -> None:
    checked = check("id: hub-left, torque: 95", 'id: hub-right, torque: "not stated"')

    assert ids(checked) == [(MIRROR, "hub-right")]
    assert checked.open[0].what == "left and right are unlike: 95 N·m for hub-left; not stated for hub-right"
    assert check('id: hub-left, torque: "not stated"', 'id: hub-right, torque: "not stated"').open == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        pytest.param("fasteners: 6", "fasteners 6", id="fasteners"),
        pytest.param("stages: [50, 100]", "stages 50, 100", id="stages"),
        pytest.param("nut: plain", "nut plain", id="nut"),
        pytest.param("prep: oil", "prep oil", id="prep"),
    ],
)
def test_left_and_right_that_are_built_unlike_are_asked_about(check: Check, ids: Ids, change: str, said: str) -> None:
    checked = check("id: hub-left, torque: 95", f"id: hub-right, torque: 95, {change}")

    assert ids(checked) == [(BUILT, "hub-right")]
    assert f"hub-right: {said}" in checked.open[0].what
    assert "hub-left: " in checked.open[0].what


def test_the_odd_one_of_three_is_the_one_that_is_named(check: Check, ids: Ids) -> None:
    joints = [f"id: pin-left-1, torque: 95, {M12}", f"id: cover, torque: 95, {M12}", f"id: strut, torque: 40, {M12}"]

    assert ids(check(*joints)) == [(LIKE, "strut")]


def test_alike_joints_of_another_torque_are_one_finding_however_many_they_are(check: Check) -> None:
    joints = [f"id: j{number}, torque: {90 if number % 2 else 60}, {M12}" for number in range(40)]

    [found] = check(*joints).open

    assert found.id == LIKE
    assert len(found.joints) == 40
    assert found.what == (
        "on M12x1.75, class 8.8, dry, the torques are unlike: 60 N·m for j0, j2, j4, j6 and 16 more; "
        "90 N·m for j1, j3, j5, j7 and 16 more"
    )


def test_many_torques_in_a_group_are_counted(check: Check) -> None:
    joints = [f"id: j{number}, torque: {40 * 1.25**number:.2f}, {M12}, tolerance: 2 %" for number in range(6)]

    [found] = [found for found in check(*joints).open if found.id == LIKE]

    assert found.what.endswith("78.12 N·m for j3; and 2 more torques")


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        pytest.param("torque: 90", "torque: 95", True, id="in-each-others-band"),
        pytest.param("torque: 90, tolerance: 1 %", "torque: 95", True, id="in-one-of-the-two-bands"),
        pytest.param("torque: 90, tolerance: 1 %", "torque: 95, tolerance: 1 %", False, id="in-neither-band"),
        pytest.param("torque: 90", "torque: 120, then_angle: 90, angle_tolerance: 9", True, id="one-begins-an-angle"),
        pytest.param("torque: 60", "torque: 90, nut: prevailing, drag: included", True, id="a-drag-inside"),
        pytest.param("torque: 90", "torque: 90, nut: prevailing, drag: 20 N·m", True, id="a-drag-on-top"),
        pytest.param(
            "torque: 90, tolerance: 1 %, nut: prevailing, drag: 20 N·m", "torque: 100, tolerance: 1 %", False,
            id="a-drag-widens-no-band",
        ),
        pytest.param("torque: 60", "low: 88, high: 92", False, id="edges"),
        pytest.param("torque: 66, unit: lbf·ft", "torque: 89.5", True, id="two-units"),
    ],
)  # fmt: skip
def test_like_joints_are_compared_by_what_stretches_them(check: Check, one: str, other: str, alike: bool) -> None:
    checked = check(f"id: a, {one}, {M12}", f"id: b, {other}, {M12}", head="small_drag: add\n")

    assert [found.id for found in checked.open if found.id == LIKE] == ([] if alike else [LIKE])


@pytest.mark.parametrize(
    "other",
    [
        pytest.param('thread: M12x1.5, grade: "8.8", prep: dry', id="pitch"),
        pytest.param('thread: M12, grade: "10.9", prep: dry', id="grade"),
        pytest.param('thread: M12, grade: "8.8", prep: oil, basis: as prepared', id="preparation"),
        pytest.param('thread: M12, grade: "8.8"', id="no-preparation"),
    ],
)
def test_another_size_grade_or_preparation_is_not_alike(check: Check, other: str) -> None:
    assert check(f"id: a, torque: 60, {M12}", f"id: b, torque: 85, {other}").open == ()


def test_one_thread_and_grade_in_two_spellings_are_alike(check: Check, ids: Ids) -> None:
    checked = check(f"id: a, torque: 60, {M12}", "id: b, torque: 90, thread: M12, grade: class 8.8, prep: dry")

    assert ids(checked) == [(LIKE, "b")]


def test_grades_and_threads_that_we_do_not_know_are_compared_by_their_texts(check: Check) -> None:
    other = "thread: 7/16, grade: A2-70, prep: dry"

    [found] = check(f"id: a, torque: 20, {other}", f"id: b, torque: 40, {other}").open

    assert found.what.startswith("on 7/16, a2-70, dry, the torques are unlike: 20 N·m for a; 40 N·m for b")


@pytest.mark.parametrize("strut", [60, 90])
def test_a_joint_that_is_unlike_its_mirror_is_not_told_of_twice(check: Check, ids: Ids, strut: int) -> None:
    joints = [f"id: hub-left, torque: 60, {M12}", f"id: hub-right, torque: 90, {M12}", f"id: strut, torque: {strut}, {M12}"]

    assert ids(check(*joints)) == [(MIRROR, "hub-right")]


def test_of_a_pair_that_is_unlike_one_still_stands_beside_its_like(check: Check, ids: Ids) -> None:
    joints = [f"id: hub-left, torque: 20, {M12}", f"id: hub-right, torque: 60, {M12}", f"id: strut, torque: 90, {M12}"]

    assert ids(check(*joints)) == [(MIRROR, "hub-right"), (LIKE, "strut")]


def test_mirrored_joints_of_the_plan_are_one_and_are_not_compared_with_each_other(check: Check, ids: Ids) -> None:
    checked = check(f"id: hub, torque: 600, mirror: left/right, {M12}", f"id: strut, torque: 60, {M12}")

    assert ids(checked) == [("over-proof-load", "hub"), (LIKE, "strut")]
    assert checked.open[1].joints == ("strut", "hub")


@pytest.mark.parametrize(
    ("fields", "lacks"),
    [
        pytest.param("torque: 20", "`thread` and `grade` not stated", id="both"),
        pytest.param("torque: 20, thread: M8", "`grade` not stated", id="grade"),
    ],
)
def test_a_joint_that_says_too_little_is_not_compared_and_that_is_said(check: Check, fields: str, lacks: str) -> None:
    assert f"torque against like joints, a: {lacks}" in check(f"id: a, {fields}").not_checked
