"""A wheel that no step comes back to is found."""

from collections.abc import Callable

import pytest

from schemas.findings.check import Checked

Check = Callable[..., Checked]
Ids = Callable[[Checked], list[tuple[str, str | None]]]
STEPS = ("torque: [a, b]", "retorque: a, from: 40 km, to: 80 km")


def test_each_wheel_without_a_retorque_is_found(check: Check, ids: Ids) -> None:
    wheels = ("id: a, torque: 110, wheel: yes", "id: b, torque: 110, wheel: yes")

    assert ids(check(*wheels)) == [("wheel-without-retorque", "a"), ("wheel-without-retorque", "b")]
    assert ids(check(*wheels, steps=STEPS)) == [("wheel-without-retorque", "b")]
    assert ids(check("id: a, torque: 110", "id: b, torque: 110", steps=STEPS)) == []


def test_a_mirrored_wheel_is_one_place_in_the_plan(check: Check, ids: Ids) -> None:
    wheel = "id: a, torque: 110, wheel: yes, mirror: left/right"

    assert ids(check(wheel)) == [("wheel-without-retorque", "a")]
    assert ids(check(wheel, steps=("torque: a", "retorque: a, from: 40 km"))) == []
    assert ids(check(wheel, steps=("torque: a", "retorque: a-left, from: 40 km"))) == [("wheel-without-retorque", "a")]


@pytest.mark.parametrize(
    "fields",
    [
        pytest.param("torque: 110, prep: sealant, basis: as prepared, cure: 24 h", id="cures"),
        pytest.param("torque: 110, then_angle: 90, angle_tolerance: 10", id="angle"),
        pytest.param('torque: "not stated"', id="no-torque"),
    ],
)
def test_a_wheel_that_may_not_be_retorqued_is_left_out(check: Check, ids: Ids, fields: str) -> None:
    assert ids(check(f"id: a, wheel: yes, {fields}")) == []
