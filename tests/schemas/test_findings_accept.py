"""A plan may accept warnings with a reason: one entry for many joints, never an error, and nothing that is not there."""

from collections.abc import Callable

import pytest

from schemas.findings.check import Checked
from schemas.wrench import Wrench

Check = Callable[..., Checked]
Ids = Callable[[Checked], list[tuple[str, str | None]]]
NOTHING = "acceptance-of-nothing"
DRAG = "prevailing-nut-without-drag"
NUTS = tuple(f"id: {name}, torque: 80, nut: prevailing" for name in "abc")
M12 = 'thread: M12x1.75, grade: "8.8", prep: dry'


def accepted(name: str, joints: str = "", reason: str = "the maker says so") -> str:
    return f"accepted:\n  - {{finding: {name}, {f'joints: {joints}, ' if joints else ''}reason: {reason}}}\n"


@pytest.mark.parametrize(
    ("joints", "left"),
    [
        pytest.param("", [], id="wherever-it-is-found"),
        pytest.param("[a, b, c]", [], id="all-by-name"),
        pytest.param("[a, b]", [(DRAG, "c")], id="some"),
    ],
)
def test_one_entry_accepts_many_joints(check: Check, ids: Ids, joints: str, left: list[tuple[str, str]]) -> None:
    checked = check(*NUTS, head=accepted(DRAG, joints))

    assert ids(checked) == left
    assert len(checked.findings) == 3
    assert {found.accepted for found in checked.findings if found not in checked.open} == {"the maker says so"}


def test_an_entry_that_fits_nothing_is_told_at_its_line(check: Check, ids: Ids) -> None:
    checked = check("id: a, torque: 80", head=accepted(DRAG))

    assert ids(checked) == [(NOTHING, None)]
    assert checked.open[0].line == 8
    assert checked.open[0].what == f"`{DRAG}` is not found"


def test_a_joint_that_the_finding_is_not_at_is_named(check: Check, ids: Ids) -> None:
    checked = check(*NUTS, "id: d, torque: 80", head=accepted(DRAG, "[a, b, c, d]"))

    assert ids(checked) == [(NOTHING, None)]
    assert checked.open[0].what == f"`{DRAG}` is not found at d"


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        pytest.param("prevailing-nut-without-drags", f"write `{DRAG}`", id="nearly"),
        pytest.param("zzz", "write the id that `witnessmark plan check` prints", id="not-at-all"),
    ],
)
def test_a_finding_that_there_is_not_is_told_with_the_nearest(check: Check, name: str, hint: str) -> None:
    [found] = check("id: a, torque: 80", head=accepted(name)).open

    assert (found.id, found.what, found.remedy) == (NOTHING, f"there is no finding `{name}`", hint)


def test_an_error_cannot_be_accepted(check: Check, ids: Ids, wrench: Callable[..., Wrench]) -> None:
    checked = check("id: a, torque: 9", head=accepted("no-wrench-covers"), wrenches=[wrench("W-1", 40, 200)])

    assert ids(checked) == [("acceptance-of-an-error", None), ("no-wrench-covers", "a")]
    assert checked.open[0].what == "`no-wrench-covers` is an error and cannot be accepted"


def test_what_hangs_on_the_register_may_be_accepted_before_there_is_one(
    check: Check, ids: Ids, wrench: Callable[..., Wrench]
) -> None:
    joint, head = "id: a, torque: 100, tolerance: 6 %", accepted("uncertainty-wide-for-the-band", "[a]")

    assert ids(check(joint, head=head)) == []
    checked = check(joint, head=head, wrenches=[wrench("W-1", 40, 200)])
    assert ids(checked) == []
    assert [found.accepted for found in checked.findings] == ["the maker says so"]


@pytest.mark.parametrize(
    ("joints", "open_"),
    [
        pytest.param("[hub-left]", [], id="one-side"),
        pytest.param("[hub-right]", [], id="the-other"),
        pytest.param("[hub-left, hub-right]", [], id="both"),
        pytest.param("", [], id="all"),
    ],
)
def test_of_a_pair_either_may_be_named(check: Check, ids: Ids, joints: str, open_: list[tuple[str, str]]) -> None:
    head = accepted("unlike-torque-on-mirror-joints", joints)

    assert ids(check("id: hub-left, torque: 60", "id: hub-right, torque: 90", head=head)) == open_


def test_of_a_group_all_that_differ_have_to_be_named(check: Check, ids: Ids) -> None:
    joints = [f"id: {name}, torque: {torque}, {M12}" for name, torque in (("a", 40), ("b", 40), ("c", 60), ("d", 85))]
    like = "unlike-torque-on-like-joints"

    assert ids(check(*joints, head=accepted(like, "[c, d]"))) == []
    assert ids(check(*joints, head=accepted(like, "[a, b, d]"))) == []
    checked = check(*joints, head=accepted(like, "[d]"))
    assert ids(checked) == [(NOTHING, None), (like, "d")]
    assert checked.open[0].what == f"`{like}` is about a, b, c and d, and too few of them are named"


def test_a_mirrored_joint_is_named_as_one_or_by_its_sides(check: Check, ids: Ids) -> None:
    nut = "id: hub, torque: 80, nut: prevailing, mirror: left/right"

    assert ids(check(nut)) == [(DRAG, "hub")]
    assert ids(check(nut, head=accepted(DRAG, "[hub]"))) == []
    assert ids(check(nut, head=accepted(DRAG, "[hub-left, hub-right]"))) == []


def test_of_two_entries_for_one_finding_the_first_gives_the_reason_and_both_are_used(check: Check, ids: Ids) -> None:
    two = accepted(DRAG, reason="sheet 12") + accepted(DRAG, "[a]", "sheet 13").removeprefix("accepted:\n")
    checked = check(NUTS[0], head=two)

    assert ids(checked) == []
    assert [found.accepted for found in checked.findings] == ["sheet 12"]


@pytest.mark.parametrize("name", [NOTHING, "acceptance-of-an-error"])
def test_what_is_said_of_acceptances_cannot_be_accepted(check: Check, ids: Ids, name: str) -> None:
    checked = check("id: a, torque: 80", head=f"{accepted(DRAG)}  - {{finding: {name}, reason: hush}}\n")

    assert ids(checked) == [(NOTHING, None), (NOTHING, None)]
    assert checked.open[1].what == f"`{name}` is about `accepted` itself and cannot be accepted"
