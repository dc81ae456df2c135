"""What the register cannot do, or not well enough: ranges, adapters, and permissible errors beside the band."""

from collections.abc import Callable

import pytest

from schemas.findings.check import Checked
from schemas.wrench import Wrench

Check = Callable[..., Checked]
Ids = Callable[[Checked], list[tuple[str, str | None]]]
NewWrench = Callable[..., Wrench]


def test_without_a_register_it_is_only_said_that_nothing_was_checked(check: Check) -> None:
    checked = check("id: a, torque: 90, tolerance: 1 %, wrench: [W-9]", 'id: b, torque: "not stated"', "id: c, torque: 20")

    assert checked.findings == ()
    assert "range and precision of the wrench, 2 joints (a and c): no wrench is registered" in checked.not_checked


def test_a_torque_outside_every_range_is_an_error_at_its_joint(check: Check, wrench: NewWrench) -> None:
    [found] = check("id: a, torque: 90", "id: b, torque: 9", wrenches=[wrench("W-1", 40, 200)]).open

    assert (found.id, found.level, found.joint, found.line) == ("no-wrench-covers", "error", "b", 9)
    assert found.what == "no registered wrench covers 9 N·m of stage 1"
    assert found.remedy == "register one that does, or name another"


def test_a_value_to_set_through_an_adapter_has_to_lie_in_the_range(check: Check, ids: Ids, wrench: NewWrench) -> None:
    # 40 at 4 units of adapter on 12 of lever is set to 30 (TM 9-2350-261-20-1, read).
    joint = "id: a, torque: 40, adapter: {length: 100 mm, angle: 0}"

    assert ids(check(joint, wrenches=[wrench("W-1", 30, 31, length_mm="300")])) == []
    assert ids(check(joint, wrenches=[wrench("W-1", 31, 50, length_mm="300")])) == [("no-wrench-covers", "a")]
    [found] = check(joint, wrenches=[wrench("W-1", 30, 31)]).open
    assert (found.id, found.level) == ("adapter-length-unknown", "error")
    assert found.remedy.startswith("enter it with `witnessmark wrench length`, from drive to grip mark, or write")


def test_a_wrench_that_the_register_does_not_have_is_named(check: Check, ids: Ids, wrench: NewWrench) -> None:
    joint = "id: a, torque: 90, wrench: {}"
    register = [wrench("W-1", 40, 200)]

    assert ids(check(joint.format("[W-1]"), wrenches=register)) == []
    [one] = check(joint.format("[W-1, W-9]"), wrenches=register).open
    assert (one.id, one.level, one.what) == ("names-unknown-wrench", "warning", "W-9 is not in the register")
    [two] = check(joint.format("[W-1, W-8, W-9]"), wrenches=register).open
    assert two.what == "W-8, W-9 are not in the register"
    assert ids(check(joint.format("[W-8, W-9]"), wrenches=register)) == [("no-wrench-covers", "a")]


@pytest.mark.parametrize("corrected_by", ["us", "wrench"])
def test_an_adapter_at_a_right_angle_changes_nothing_and_that_is_said(check: Check, ids: Ids, corrected_by: str) -> None:
    adapter = f"adapter: {{length: 50 mm, angle: 90, corrected_by: {corrected_by}}}"
    checked = check(f"id: a, torque: 90, {adapter}")

    assert ids(checked) == [("adapter-needs-no-correction", "a")]
    assert "a socket extension in line with the fastener" in checked.open[0].what
    assert ids(check(f"id: a, torque: 90, {adapter.replace('90', '89')}")) == []


@pytest.mark.parametrize(
    ("tolerance", "found"),
    [
        # 4 % of the torque beside the whole width of the band: 4 of 16, of 15.9, of 8.1, of 8, of 7.9.
        pytest.param("8 %", None, id="a-quarter"),
        pytest.param("7.95 %", "uncertainty-wide-for-the-band", id="above-a-quarter"),
        pytest.param("4.05 %", "uncertainty-wide-for-the-band", id="below-a-half"),
        pytest.param("4 %", "uncertainty-wide-for-the-band", id="a-half"),
        pytest.param("3.95 %", "tolerance-finer-than-any-wrench", id="above-a-half"),
        pytest.param("+16 % -0 %", None, id="one-sided"),
    ],
)
def test_a_permissible_error_is_laid_beside_the_band(check: Check, wrench: NewWrench, tolerance: str, found: str | None) -> None:
    checked = check(f"id: a, torque: 100, tolerance: {tolerance}", wrenches=[wrench("W-1", 40, 200)])

    assert [each.id for each in checked.open] == ([found] if found else [])


def test_the_finest_wrench_that_covers_the_final_counts(check: Check, ids: Ids, wrench: NewWrench) -> None:
    joint, fine, coarse = "id: a, torque: 100, tolerance: 6 %", wrench("W-1", 40, 200, "1"), wrench("W-2", 40, 200, "4")

    assert ids(check(joint, wrenches=[coarse, fine])) == []
    assert ids(check(joint, wrenches=[coarse, wrench("W-1", 40, 90, "1")])) == [("uncertainty-wide-for-the-band", "a")]
    assert ids(check(f"{joint}, wrench: [W-2]", wrenches=[coarse, fine])) == [("uncertainty-wide-for-the-band", "a")]
    [found] = check(joint, wrenches=[coarse]).open
    assert found.what == (
        "the finest wrench for it, W-2, may be off by 4 N·m to either side (4 %), and the band is 12 N·m wide: 33 % of it"
    )


def test_a_drag_that_is_measured_on_the_job_leaves_the_range_open(check: Check, wrench: NewWrench) -> None:
    joint = "id: a, torque: 100, nut: prevailing, drag: measured"
    checked = check(joint, head="small_drag: add\n", wrenches=[wrench("W-1", 40, 200)])

    assert "range of the wrench with the drag, a: the drag is measured on the job" in checked.not_checked
