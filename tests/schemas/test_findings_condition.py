"""Threads, compounds, nuts and hardware that do not agree with what the plan does with them."""

from collections.abc import Callable

import pytest

from schemas.findings.check import Checked

Check = Callable[..., Checked]
Ids = Callable[[Checked], list[tuple[str, str | None]]]
LOCKED = "id: a, torque: 20, prep: threadlocker medium, basis: as prepared"
OTHER = "id: b, torque: 20"


@pytest.mark.parametrize("prep", ["oil", "anti-seize", "threadlocker medium", "threadlocker high", "sealant"])
def test_a_torque_for_dry_threads_on_wet_ones_is_found(check: Check, ids: Ids, prep: str) -> None:
    assert ids(check(f"id: a, torque: 20, basis: dry, prep: {prep}")) == [("dry-torque-on-wet-thread", "a")]
    assert ids(check(f"id: a, torque: 20, basis: as prepared, prep: {prep}")) == []


def test_a_basis_for_prepared_threads_asks_for_the_preparation(check: Check, ids: Ids) -> None:
    assert ids(check("id: a, torque: 20, basis: as prepared")) == [("basis-without-preparation", "a")]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        pytest.param("prep: oil", "`basis` is not stated", id="no-basis"),
        pytest.param(
            "prep: candle wax, basis: dry", "whether prep `candle wax` leaves the thread dry is not known", id="free-text"
        ),
        pytest.param("prep: dry, basis: dry", None, id="dry"),
        pytest.param("basis: dry", None, id="nothing-on-it"),
        pytest.param("prep: candle wax", None, id="free-text-without-basis"),
    ],
)
def test_what_a_basis_would_be_needed_for_is_said(check: Check, ids: Ids, fields: str, said: str | None) -> None:
    checked = check(f"id: a, torque: 20, {fields}")

    assert ids(checked) == []
    assert [line for line in checked.not_checked if line.startswith("a dry torque on a wet thread")] == (
        [f"a dry torque on a wet thread, a: {said}"] if said else []
    )


@pytest.mark.parametrize("field", ["cure: 24 h", "work_within: 10 min", "work_within: 10 min, cure: 24 h"])
def test_a_time_of_a_compound_asks_for_the_compound(check: Check, ids: Ids, field: str) -> None:
    assert ids(check(f"id: a, torque: 20, {field}")) == [("cure-without-preparation", "a")]
    assert ids(check(f"id: a, torque: 20, prep: dry, {field}")) == [("cure-without-preparation", "a")]
    assert ids(check(f"id: a, torque: 20, prep: sealant, {field}")) == []


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        pytest.param("torque: 20, nut: prevailing", True, id="not-said"),
        pytest.param("torque: 20, nut: prevailing, drag: included", False, id="included"),
        pytest.param("torque: 20, nut: prevailing, drag: measured", False, id="measured"),
        pytest.param("torque: 20, nut: plain", False, id="plain"),
        pytest.param('torque: "not stated", nut: prevailing', False, id="no-torque"),
    ],
)
def test_a_prevailing_nut_has_to_say_its_drag(check: Check, ids: Ids, fields: str, found: bool) -> None:
    expected = [("prevailing-nut-without-drag", "a")] if found else []

    assert ids(check(f"id: a, {fields}", head="small_drag: add\n")) == expected


OPENED = ("torque: a", "open: a", "torque: a")
ANGLE = "then_angle: 90, angle_tolerance: 10"
DRAGS = "nut: prevailing, drag: included"


@pytest.mark.parametrize(
    ("fields", "steps", "found"),
    [
        pytest.param(f"hardware: reused, {ANGLE}", (), True, id="angle-reused"),
        pytest.param(f"hardware: new, {ANGLE}", (), False, id="angle-new"),
        pytest.param(f"hardware: new, {ANGLE}", OPENED, True, id="angle-new-once-and-opened"),
        pytest.param(f"hardware: new each time, {ANGLE}", OPENED, False, id="angle-new-each-time"),
        pytest.param(f"hardware: reused, {DRAGS}", (), True, id="prevailing-reused"),
        pytest.param(f"hardware: new, {DRAGS}", OPENED, True, id="prevailing-new-once-and-opened"),
        pytest.param("hardware: reused, nut: prevailing, drag: measured", (), False, id="prevailing-measured"),
        pytest.param("hardware: reused, nut: plain", OPENED, False, id="plain-reused"),
        pytest.param(ANGLE, OPENED, False, id="not-said"),
        pytest.param(
            "hardware: new each time", ("torque: a", "retorque: a, from: 40 km, method: back off a turn"), True, id="backed-off"
        ),
        pytest.param("hardware: new each time", ("torque: a", "retorque: a, from: 40 km"), False, id="not-slackened"),
    ],
)  # fmt: skip
def test_hardware_that_works_once_is_not_used_again(
    check: Check, ids: Ids, fields: str, steps: tuple[str, ...], found: bool
) -> None:
    expected = [("single-use-reused", "a")] if found else []

    assert ids(check(f"id: a, torque: 20, {fields}", steps=steps, head="small_drag: add\n")) == expected


@pytest.mark.parametrize(
    ("joint", "steps", "between"),
    [
        pytest.param(LOCKED, ("loose: a", "torque: b", "torque: a"), "1 other step", id="loose"),
        pytest.param(LOCKED, ("loose: a", "do: Lower it", "torque: b", "torque: a"), "2 other steps", id="two-steps"),
        pytest.param(LOCKED, ("torque: b", "loose: a", "caution: Mind it", "torque: a"), None, id="only-a-caution-between"),
        pytest.param(LOCKED, ("torque: b", "torque: a"), None, id="never-loose"),
        pytest.param(LOCKED, ("torque: a", "torque: b", "open: a", "torque: a"), None, id="torqued-before-the-other-work"),
        pytest.param(LOCKED, ("loose: a", "torque: a", "torque: b", "open: a", "torque: a"), None, id="torqued-at-once"),
        pytest.param(LOCKED, ("torque: a", "open: a", "loose: a", "torque: b", "torque: a"), "1 other step", id="loose-again"),
        pytest.param(
            LOCKED, ("fit: a, positions: [1, 2]", "torque: b", "fit: a, positions: [3, 4]", "torque: a"), "1 other step",
            id="fitted",
        ),
        pytest.param(
            LOCKED, ("torque: b", "fit: a, positions: [1, 2]", "fit: a, positions: [3, 4]", "torque: a"), None,
            id="fitted-in-a-row",
        ),
        pytest.param(
            "id: a, torque: 20, prep: sealant, basis: as prepared, work_within: 10 min", ("loose: a", "torque: b", "torque: a"),
            "1 other step", id="sealant-with-a-time",
        ),
        pytest.param(
            "id: a, torque: 20, prep: oil, basis: as prepared", ("loose: a", "torque: b", "torque: a"), None, id="oil-sets-never"
        ),
    ],
)  # fmt: skip
def test_a_compound_must_not_set_before_the_torque(
    check: Check, ids: Ids, joint: str, steps: tuple[str, ...], between: str | None
) -> None:
    checked = check(joint, OTHER, steps=steps)

    assert ids(checked) == ([("threadlocked-left-loose", "a")] if between else [])
    assert between is None or f"only after {between}" in checked.open[0].what
    assert between != "1 other step" or checked.open[0].what.endswith("1 other step")
