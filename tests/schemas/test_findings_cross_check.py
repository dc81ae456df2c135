"""Whether a torque's unit is confirmed by anything, or stands alone."""

from collections.abc import Callable

import pytest

from schemas.findings.check import Checked

Check = Callable[..., Checked]
M12 = 'thread: M12x1.75, grade: "8.8", prep: dry'


def alone(checked: Checked) -> list[str]:
    """The joints of the line about units."""
    return [line.split(":")[0] for line in checked.not_checked if line.startswith("unit of the torque, ")]


def test_a_unit_that_nothing_confirms_is_said_and_is_no_finding(check: Check) -> None:
    checked = check(f"id: a, torque: 60, {M12}", "id: b, torque: 80")

    assert checked.findings == ()
    assert alone(checked) == ["unit of the torque, 2 joints (a and b)"]
    assert "the unit could not be cross-checked" in checked.not_checked[-1]


@pytest.mark.parametrize(
    ("joints", "told"),
    [
        pytest.param([f"id: a, torque: 60, {M12}", f"id: b, torque: 62, {M12}"], True, id="like-joints-in-one-unit-share-a-slip"),
        pytest.param(
            [f"id: a, torque: 60, {M12}", f"id: b, torque: 45, unit: lbf·ft, {M12}"], False, id="like-joints-in-two-units"
        ),
        pytest.param(['id: a, torque: "not stated"'], False, id="no-torque"),
    ],
)
def test_a_like_joint_in_another_unit_confirms_it(check: Check, joints: list[str], told: bool) -> None:
    assert bool(alone(check(*joints))) is told


def test_the_strength_confirms_it_where_every_other_unit_would_be_implausible(check: Check) -> None:
    # At K 0.16 M12 8.8 reaches its proof load with 93.8 N·m (T = K d F, by hand): 100 N·m are plausible (1.07), 100 lbf·ft
    # (135.6 N·m) are not, 100 lbf·in (11.3 N·m, 0.12) are not, 100 kgf·m are not.
    assert alone(check(f"id: a, torque: 100, {M12}")) == []
    assert alone(check(f"id: a, torque: 60, {M12}")) == ["unit of the torque, a"]


def test_an_earlier_revision_confirms_it(check: Check) -> None:
    assert alone(check("id: a, torque: 80", earlier=[["id: a, torque: 85"]])) == []
    assert alone(check("id: a, torque: 80", earlier=[["id: b, torque: 85"]])) == ["unit of the torque, a"]
