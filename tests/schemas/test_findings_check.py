"""The whole check: order, mirrored joints as one, the lines of what was not checked, and what comes before in a database."""

from collections.abc import Callable

from schemas.findings.check import Checked, check_plan
from schemas.plan.load import load_whole

Check = Callable[..., Checked]
Ids = Callable[[Checked], list[tuple[str, str | None]]]


def test_a_sound_plan_has_no_finding(check: Check) -> None:
    assert check('id: a, torque: 70, thread: M12, grade: "8.8", prep: dry, basis: dry').findings == ()


def test_findings_come_in_the_order_of_lines(check: Check) -> None:
    checked = check(
        "id: c, torque: 110, wheel: yes", 'id: b, torque: 700, thread: M12, grade: "8.8"', "id: a, torque: 80, nut: prevailing"
    )

    assert [(found.line, found.id) for found in checked.findings] == [
        (8, "wheel-without-retorque"), (9, "over-proof-load"), (10, "prevailing-nut-without-drag"),
    ]  # fmt: skip


def test_a_finding_stands_at_the_line_of_its_field() -> None:
    text = (
        "plan: p\ntitle: T\nrevision: A\nsource: S\nunit: N·m\ntolerance: 10 %\njoints:\n"
        "  - id: a\n    name: A\n    fasteners: 2\n    thread: M12\n    grade: '8.8'\n    torque: 700\n    nut: prevailing\n"
    )

    checked = check_plan(load_whole(text.encode(), "p.yaml"))

    assert [(found.id, found.line) for found in checked.open] == [("over-proof-load", 13), ("prevailing-nut-without-drag", 14)]


def test_mirrored_joints_give_each_finding_once(check: Check, ids: Ids) -> None:
    checked = check('id: hub, torque: 700, thread: M12, grade: "8.8", mirror: left/right, prep: oil', "id: b, torque: 20")

    assert ids(checked) == [("over-proof-load", "hub")]
    assert "a dry torque on a wet thread, hub: `basis` is not stated" in checked.not_checked


def test_what_was_not_checked_is_one_line_a_reason(check: Check) -> None:
    checked = check(*(f"id: j{number}, torque: 20" for number in range(9)))

    assert "torque against the strength of the thread, 9 joints (j0, j1, j2, j3 and 5 more): `thread` is not stated" in (
        checked.not_checked
    )
    assert len(checked.not_checked) == 4


def test_the_very_plan_that_is_checked_is_no_earlier_one(check: Check, ids: Ids) -> None:
    text = "plan: p\ntitle: T\nrevision: A\nsource: S\nunit: N·m\ntolerance: 10 %\njoints:\n"
    loaded = load_whole(f"{text}  - {{id: a, name: A, fasteners: 2, torque: 20}}\n".encode(), "p.yaml")

    assert any(line.startswith("unit of the torque") for line in check_plan(loaded, (), [loaded.route]).not_checked)
