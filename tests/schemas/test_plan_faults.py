"""What the models refuse is told with line, field, and the known word that comes next to it."""

import pytest

from schemas.errors import PlanError, PlanFault
from schemas.plan.faults import LATER_WORDS
from schemas.plan.load import load_plan

HEAD = "plan: axle\ntitle: Axle\nrevision: A\nsource: Made up\nunit: N·m\ntolerance: 8 %\n"
JOINT = "joints:\n  - {id: u-bolts, name: U-bolts, fasteners: 4, torque: 95}\n"


def faults(text: str) -> tuple[PlanFault, ...]:
    with pytest.raises(PlanError, match=r"^axle\.yaml, line ") as caught:
        load_plan(text.encode(), "axle.yaml")
    return caught.value.faults


def test_an_unknown_field_is_refused_with_the_nearest_known_one() -> None:
    assert faults(HEAD.replace("tolerance", "tolerence") + JOINT) == (
        PlanFault(6, "tolerence", "`tolerence` is no field here; did you mean `tolerance`?"),
    )
    (fault,) = faults(HEAD + JOINT.replace("}", ", fastners: 4}"))
    assert fault == PlanFault(8, "joints.u-bolts.fastners", "`fastners` is no field here; did you mean `fasteners`?")


def test_an_unknown_field_next_to_none_is_refused_with_all_known_ones() -> None:
    (fault,) = faults(HEAD + JOINT + "xyzzy: 1\n")

    assert fault.what.startswith("`xyzzy` is no field here; known here: `plan`, `title`, `revision`")


@pytest.mark.parametrize("word", sorted(LATER_WORDS))
def test_a_word_of_later_is_refused_by_name_in_joints_and_steps(word: str) -> None:
    text = HEAD + JOINT.replace("}", f", {word}: 90}}") + f"steps:\n  - {word}: u-bolts\n  - {{torque: u-bolts, {word}: 1}}\n"

    what = f"`{word}` belongs to the plan language but this version does not read it yet; take it out or use a later version"
    assert faults(text) == (
        PlanFault(8, f"joints.u-bolts.{word}", what),
        PlanFault(10, "steps[1]", what),
        PlanFault(11, f"steps[2].{word}", what),
    )


def test_a_word_of_later_is_known_in_its_other_spelling() -> None:
    (fault,) = faults(HEAD + JOINT.replace("}", ", then angle: 90}"))

    assert fault.what.startswith("`then angle` belongs to the plan language")


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
    ],
)
def test_a_bad_step_is_refused_with_what_to_write(step: str, field: str, words: str) -> None:
    (fault,) = faults(f"{HEAD}{JOINT}steps:\n  - {step}\n")

    assert (fault.line, fault.field) == (10, field)
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
