"""What the models refuse is told with line, field, and the known word that comes next to it."""

import pytest

from schemas.errors import PlanError, PlanFault
from schemas.plan.faults import nearest
from schemas.plan.load import load_plan

HEAD = "plan: axle\ntitle: Axle\nrevision: A\nsource: Made up\nunit: N·m\ntolerance: 8 %\n"
JOINT = "joints:\n  - {id: u-bolts, name: U-bolts, fasteners: 4, torque: 95}\n"


def faults(text: str) -> tuple[PlanFault, ...]:
    with pytest.raises(PlanError, match=r"^axle\.yaml, line ") as caught:
        load_plan(text.encode(), "axle.yaml")
    return caught.value.faults


def test_an_unknown_field_is_refused_with_the_nearest_known_one() -> None:
    assert faults(HEAD.replace("tolerance", "tolerence") + JOINT) == (
        PlanFault(6, "tolerence", "`tolerence` is no field here; did you mean `tolerance`?", "field"),
    )
    (fault,) = faults(HEAD + JOINT.replace("}", ", fastners: 4}"))
    assert fault == PlanFault(8, "joints.u-bolts.fastners", "`fastners` is no field here; did you mean `fasteners`?", "field")


def test_an_unknown_field_next_to_none_is_refused_with_all_known_ones() -> None:
    (fault,) = faults(HEAD + JOINT + "xyzzy: 1\n")

    assert fault.what.startswith("`xyzzy` is no field here; known here: `plan`, `title`, `revision`")


def test_a_name_that_nothing_known_comes_near_to_is_answered_with_what_there_is_or_with_nothing() -> None:
    assert nearest("x" * 10_000, ["hubs"]) == "known here: `hubs`"
    assert nearest("hub", []) == "none is known here"
    assert nearest("x", map(str, range(100))).count("`") == 50
    assert nearest("x", map(str, range(100))).endswith("`24` and 75 more")
    assert nearest("x", map(str, range(25))).endswith("`24`")


@pytest.mark.parametrize(
    ("step", "field", "words"),
    [
        pytest.param("tighten all", "steps[1]", "this is no step", id="text"),
        pytest.param("{torq: u-bolts}", "steps[1]", "did you mean `torque`?", id="near"),
        pytest.param("{xyzzy: u-bolts}", "steps[1]", "a step begins with one of `do`, `caution`", id="far"),
        pytest.param("{torque: u-bolts, caution: hot}", "steps[1].caution", "a step of its own", id="two-words"),
        pytest.param("{torque: u-bolts, ask: ok}", "steps[1].ask", "known here: `torque`, `after`", id="other-field"),
        pytest.param("{hold point: a, sign: lead}", "steps[1].ask", "`ask` is missing", id="no-question"),
        pytest.param("{hold point: a, ask: b, sign: boss}", "steps[1].sign", "`second person`", id="no-role"),
        pytest.param("{retorque: u-bolts}", "steps[1].from", "for example `from: 40 km`", id="retorque-without-from"),
        pytest.param("{retorque: u-bolts, from: 40}", "steps[1].from", "write it like 40 km", id="from-without-unit"),
        pytest.param("{torque: 8}", "steps[1].torque", 'put quotes around it: "8"', id="joint-as-number"),
        pytest.param("{torque: [u-bolts, 8]}", "steps[1].torque[2]", 'put quotes around it: "8"', id="list-entry"),
        pytest.param("{torque: {a: b}}", "steps[1].torque", "a list is wanted here", id="fields-as-joint"),
        pytest.param("{torque: u-bolts, open: u-bolts}", "steps[1].open", "a step of its own", id="torque-and-open"),
        pytest.param("{fit: u-bolts}", "steps[1].positions", "for example `positions: [5, 6]`", id="fit-without-position"),
        pytest.param("{fit: u-bolts, positions: []}", "steps[1].positions", "the list is empty", id="fit-nothing"),
        pytest.param("{fit: u-bolts, positions: [1, b]}", "steps[1].positions[2]", "from 1 to 999", id="fit-a-word"),
        pytest.param("{open: u-bolts, as_found: true}", "steps[1].as_found", "write `yes` or `no`", id="as-found"),
        pytest.param("{recheck: u-bolts, from: 1 h}", "steps[1].from", "known here: `recheck`, `after`", id="recheck-from"),
        pytest.param("{retorque: u-bolts, from: 1 h, method: tap}", "steps[1].method", "`do not slacken`", id="method"),
        pytest.param("{caution: hot, covers: [u-bolts]}", "steps[1].covers", "known here: `caution`", id="caution-covers"),
        pytest.param("{do: it, after: [u-bolts]}", "steps[1].after", "known here: `do`, `covers`", id="do-after"),
        pytest.param(
            "{hold point: a, ask: b, sign: lead, measure: 3 mm}",
            "steps[1].measure",
            "fields are wanted here",
            id="measure-text",
        ),
        pytest.param(
            "{hold point: a, ask: b, sign: lead, measure: {unit: mm, low: 0}}",
            "steps[1].measure.high",
            "for example `high: 3`",
            id="measure-without-high",
        ),
        pytest.param(
            "{hold point: a, ask: b, sign: lead, measure: {unit: mm, low: 0, high: 3, units: mm}}",
            "steps[1].measure.units",
            "did you mean `unit`?",
            id="measure-unknown-field",
        ),
        pytest.param(
            "{hold point: a, ask: b, sign: lead, measure: {unit: mm, low: --3, high: 3}}",
            "steps[1].measure.low",
            "write plain digits",
            id="measure-digits",
        ),
    ],
)
def test_a_bad_step_is_refused_with_what_to_write(step: str, field: str, words: str) -> None:
    (fault,) = faults(f"{HEAD}{JOINT}steps:\n  - {step}\n")

    assert (fault.line, fault.field, fault.id) == (10, field, "field")
    assert words in fault.what


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        pytest.param(HEAD, "joints", "`joints` is missing; write it as a list", id="no-joints"),
        pytest.param(HEAD + "joints: []\n", "joints", "the list is empty", id="empty-joints"),
        pytest.param(HEAD + "joints: u-bolts\n", "joints", "a list is wanted here", id="joints-no-list"),
        pytest.param(HEAD + "joints: [u-bolts]\n", "joints[1]", "fields are wanted here", id="joint-no-fields"),
        pytest.param(HEAD + JOINT + "steps: []\n", "steps", "the list is empty", id="empty-steps"),
        pytest.param(HEAD.replace("source: Made up\n", "") + JOINT, "source", "`source` is missing; write", id="none"),
        pytest.param(HEAD.replace("A\n", "[A]\n") + JOINT, "revision", "one value is wanted here", id="revision-list"),
        pytest.param(HEAD + JOINT + "item: plate\n", "item", "`plate` is not known here; write `VIN`", id="item"),
        pytest.param(HEAD + JOINT + "small_drag: leave\n", "small_drag", "`leave out below a third`", id="small-drag"),
        pytest.param(HEAD + JOINT + "accepted: all\n", "accepted", "a list is wanted here", id="accepted-text"),
        pytest.param(
            HEAD + JOINT + "accepted: [{finding: torque-unlike}]\n", "accepted[1].reason", "`reason` is missing", id="no-reason"
        ),
        pytest.param(
            HEAD + JOINT + "accepted: [{finding: torque-unlike, joint: a, reason: Sheet}]\n",
            "accepted[1].joint", "did you mean `joints`?", id="accepted-unknown-field",
        ),
        pytest.param(
            HEAD + JOINT + "accepted: [{finding: torque-unlike, joints: [], reason: Sheet}]\n",
            "accepted[1].joints", "the list is empty", id="accepted-for-nothing",
        ),
    ],
)  # fmt: skip
def test_a_bad_plan_is_refused_with_what_to_write(text: str, field: str, words: str) -> None:
    (fault,) = faults(text)

    assert fault.field == field
    assert words in fault.what


def test_every_fault_of_a_file_is_told_at_once_in_the_order_of_lines() -> None:
    """The unquoted look-alikes that readers of YAML turn into other types, all in one file; each line has one."""
    ids = ["012", "08", "1:30", "no", "1_000", "2026-03-08", "1e3"]
    joints = "".join(f"  - {{id: {name}, name: x, fasteners: 1, torque: 25, thread: 3/8}}\n" for name in ids)
    found = faults(HEAD.replace("revision: A", "revision: 1.10") + "joints:\n" + joints)

    assert [fault.line for fault in found] == [3, 8, 9, 10, 11, 12, 13, 14]
    assert all("put quotes around it" in fault.what for fault in found)
    assert [fault.field for fault in found[1:]] == [f"joints.{name}.id" for name in ids]


def test_of_a_flood_of_faults_the_first_two_hundred_are_told_and_that_there_are_more() -> None:
    found = faults(HEAD + "joints:\n" + "  - {id: a, name: A, fasteners: 1, torque: 5, xyzzy: 1}\n" * 300)

    assert len(found) == 201
    assert [fault.line for fault in found[:200]] == list(range(8, 208))
    assert found[-1] == PlanFault(
        207, "", "there are more faults than these 200; correct these and check the plan again", "more-faults"
    )


def test_exactly_two_hundred_faults_are_told_without_a_word_more() -> None:
    found = faults(HEAD + "joints:\n" + "  - {id: a, name: A, fasteners: 1, torque: 5, xyzzy: 1}\n" * 200)

    assert {fault.id for fault in found} == {"field"}
    assert len(found) == 200


def test_a_flood_of_contradictions_is_cut_too() -> None:
    found = faults(HEAD + JOINT + "steps:\n" + "  - torque: hubs\n" * 1000)

    assert len(found) == 201
    assert found[-1].id == "more-faults"
