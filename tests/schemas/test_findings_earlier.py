"""A torque that differs from the plan's earlier revision by the factor of a slip is asked about."""

from collections.abc import Callable

import pytest

from schemas.findings.check import Checked

Check = Callable[..., Checked]
Ids = Callable[[Checked], list[tuple[str, str | None]]]
SLIP = "unlike-earlier-revision"


# Factors by hand from NIST SP 811: 1 lbf·ft is 1.3558 N·m, 1 N·m is 8.8507 lbf·in, 1 kgf·m is 9.80665 N·m or 7.233 lbf·ft.
@pytest.mark.parametrize(
    ("before", "now", "mixed_up"),
    [
        pytest.param("100", "135.58", "N·m and lbf·ft", id="feet"),
        pytest.param("100", "73.8", "N·m and lbf·ft", id="feet-the-other-way"),
        pytest.param("100", "885", "N·m and lbf·in", id="inches"),
        pytest.param("100", "11.3", "N·m and lbf·in", id="inches-the-other-way"),
        pytest.param("100", "10.2", "N·m and kgf·m", id="kilograms"),
        pytest.param("100", "980", "N·m and kgf·m", id="kilograms-the-other-way"),
        pytest.param("100", "1000", "a decimal point", id="ten"),
        pytest.param("100", "10", "a decimal point", id="a-tenth"),
        pytest.param("100", "1200", "lbf·ft and lbf·in", id="twelve"),
        pytest.param("100", "8.4", "lbf·ft and lbf·in", id="a-twelfth"),
        pytest.param("10", "72.3", "kgf·m and lbf·ft", id="kilograms-and-feet"),
        pytest.param("100", "100", None, id="the-same"),
        pytest.param("100", "110", None, id="a-new-figure"),
        pytest.param("100", "200", None, id="twice"),
        pytest.param("100", "130", None, id="beside-the-factor"),
        pytest.param("100", "1240", None, id="beyond-all-factors"),
    ],
)
def test_the_factor_of_a_slip_is_named(check: Check, before: str, now: str, mixed_up: str | None) -> None:
    checked = check(f"id: a, torque: {now}", earlier=[[f"id: a, torque: {before}"]])

    if mixed_up is None:
        assert checked.open == ()
    else:
        [found] = checked.open
        assert (found.id, found.level, found.joint) == (SLIP, "warning", "a")
        assert found.what.startswith(f"{now} N·m here, {before} N·m in revision A1: the factor of ")
        assert mixed_up in found.what


def test_another_unit_for_the_same_torque_is_no_slip(check: Check, ids: Ids) -> None:
    assert ids(check("id: a, torque: 70, unit: lbf·ft", earlier=[["id: a, torque: 95"]])) == []
    assert ids(check("id: a, torque: 95, unit: lbf·ft", earlier=[["id: a, torque: 95"]])) == [(SLIP, "a")]


def test_the_latest_revision_that_has_the_joint_counts(check: Check, ids: Ids) -> None:
    now = ("id: a, torque: 100", "id: b, torque: 100", 'id: c, torque: "not stated"', "id: d, torque: 10")
    latest = ["id: a, torque: 100", 'id: b, torque: "not stated"', "id: c, torque: 10"]
    before = ["id: a, torque: 1000", "id: b, torque: 1000", "id: c, torque: 10"]

    assert ids(check(*now, earlier=[latest, before])) == [(SLIP, "b")]


def test_edges_are_compared_by_their_middle_and_found_at_their_line(check: Check) -> None:
    [found] = check("id: a, low: 90, high: 110", earlier=[["id: a, torque: 10"]]).open

    assert (
        found.what == "90 to 110 N·m here, 10 N·m in revision A1: the factor of 10, as between a decimal point, or N·m and daN·m"
    )
