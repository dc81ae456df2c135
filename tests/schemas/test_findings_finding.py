"""Structural errors become findings with what, why and remedy; every id that there is has its words."""

import ast
import re
from pathlib import Path

import pytest

import schemas.plan
from schemas.errors import PlanError, PlanFault
from schemas.findings.catalogue import CATALOGUE
from schemas.findings.finding import finding, findings_of, named
from schemas.plan.load import load_whole

PLAN_PARTS = ("rules", "step_rules", "waits", "load")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")


def ids_in(module: str) -> set[str]:
    """Every text in a module that has the form of an id; the two words of a template are put in."""
    source = (Path(next(iter(schemas.plan.__path__))) / f"{module}.py").read_text(encoding="utf-8")
    texts = {node.value for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    found = {text for text in texts if _ID.fullmatch(text)}
    return found | {f"{word}-before-torqued" for word in ("recheck", "retorque") if "-before-torqued" in texts}


@pytest.mark.parametrize("module", PLAN_PARTS)
def test_every_id_of_a_structural_error_has_its_words_and_is_an_error(module: str) -> None:
    found = ids_in(module)

    assert len(found) >= 3
    assert found <= set(CATALOGUE)
    assert {CATALOGUE[name].level for name in found} == {"error"}


def test_words_are_sentences_that_fit_a_screen() -> None:
    for name, kind in CATALOGUE.items():
        assert kind.level in ("error", "warning"), name
        assert kind.why[0].isupper(), name
        assert kind.why.endswith("."), name
        assert len(kind.why) < 320, name
        assert kind.remedy[0].islower() or kind.remedy.startswith("`"), name
        assert not kind.remedy.endswith("."), name


def test_a_warning_that_states_a_fact_of_the_trade_names_its_source_or_says_that_there_is_none() -> None:
    without = {name for name, kind in CATALOGUE.items() if kind.level == "warning" and "(" not in kind.why}

    # These say what follows from the plan and the register alone.
    assert without == {"acceptance-of-nothing", "acceptance-of-an-error", "names-unknown-wrench", "cure-without-preparation"}


@pytest.mark.parametrize(
    ("fault", "joint", "what", "remedy"),
    [
        pytest.param(
            PlanFault(8, "joints.J01.fasteners", "`two` is no count; write a whole number", "field"),
            "J01", "`joints.J01.fasteners`: `two` is no count", "write a whole number", id="field-of-a-joint",
        ),
        pytest.param(
            PlanFault(8, "joints.hub.no.2.adapter.length", "it is no length; write 50 mm", "field"),
            "hub.no.2", "`joints.hub.no.2.adapter.length`: it is no length", "write 50 mm", id="an-id-with-points",
        ),
        pytest.param(
            PlanFault(8, "joints.J01.stages[2]", "it is zero; write more", "field"),
            "J01", "`joints.J01.stages[2]`: it is zero", "write more", id="entry-of-a-list",
        ),
        pytest.param(
            PlanFault(8, "joints.J01", "no step torques `J01`; add a step", "never-torqued"),
            "J01", "`joints.J01`: no step torques `J01`", "add a step", id="whole-joint",
        ),
        pytest.param(
            PlanFault(8, "steps[4].after", "it is odd; do this; then that", "waits-for-nothing"),
            None, "`steps[4].after`: it is odd", "do this; then that", id="step",
        ),
        pytest.param(
            PlanFault(0, "", "`a; b` is no unit; write N·m", "unknown-unit"),
            None, "`a; b` is no unit", "write N·m", id="semicolon-of-the-plan",
        ),
        pytest.param(
            PlanFault(3, "", "an open ` quote; close it", "unreadable"), None, "an open ` quote", "close it", id="one-backtick",
        ),
        pytest.param(
            PlanFault(3, "title", "one value is wanted here", "field"), None, "`title`: one value is wanted here",
            CATALOGUE["field"].remedy, id="without-a-remedy-of-its-own",
        ),
    ],
)  # fmt: skip
def test_a_fault_is_split_into_what_and_what_to_do(fault: PlanFault, joint: str | None, what: str, remedy: str) -> None:
    [found] = findings_of([fault])

    assert (found.id, found.level, found.line, found.accepted) == (fault.id, "error", fault.line, None)
    assert (found.joint, found.what, found.remedy) == (joint, what, remedy)
    assert found.why == CATALOGUE[fault.id].why


def test_a_fault_of_an_unknown_kind_is_told_all_the_same() -> None:
    [found] = findings_of([PlanFault(3, "", "something is odd", "not-in-the-book")])

    assert found.level == "error"
    assert found.why
    assert found.remedy


def test_every_fault_of_a_real_plan_has_a_what_and_a_remedy() -> None:
    text = (
        "plan: p\ntitle: T\nrevision: A\nsource: S\njoints:\n"
        "  - {id: a, name: A, fasteners: 2, torque: 10, stages: [50]}\n  - {id: a, name: B, fasteners: 2}\n"
        "steps:\n  - {loose: a}\n  - {torque: b}\n"
    )
    with pytest.raises(PlanError, match="a") as caught:
        load_whole(text.encode(), "p.yaml")

    found = findings_of(caught.value.faults)

    assert {each.id for each in found} >= {"duplicate-id", "no-unit", "unknown-joint", "left-loose-for-good"}
    assert all(each.what and each.remedy and "; " not in each.what for each in found)


@pytest.mark.parametrize(
    ("names", "said"),
    [
        pytest.param(["a"], "a", id="one"),
        pytest.param(["a", "b", "a"], "a and b", id="two-each-once"),
        pytest.param(list("abcde"), "a, b, c, d and e", id="one-more-than-the-most-is-named-too"),
        pytest.param(list("abcdef"), "a, b, c, d and 2 more", id="many"),
    ],
)
def test_many_names_are_counted(names: list[str], said: str) -> None:
    assert named(names) == said


def test_a_finding_without_a_joint_is_about_none() -> None:
    assert finding("acceptance-of-nothing", None, 3, "it is odd").joints == ()
    assert finding("over-proof-load", "hub", 3, "it is odd").joints == ("hub",)


def test_an_error_at_a_step_names_the_joint_that_it_is_about() -> None:
    joints = "".join(f"  - {{id: {name}, name: Bolts, fasteners: 2, torque: 10}}\n" for name in "abcdefg")
    steps = (
        "loose: a", "fit: b, positions: [1]", "fit: b, positions: [1]", "torque: c", "torque: c", "open: c", "open: d",
        "recheck: e", "do: Close it, covers: f", "torque: [e, f, d]", "torque: g", "retorque: [g, g], from: 40 km",
    )  # fmt: skip
    text = "plan: p\ntitle: T\nrevision: A\nsource: S\nunit: N·m\ntolerance: 10 %\njoints:\n" + joints + "steps:\n"
    with pytest.raises(PlanError, match="left loose") as caught:
        load_whole((text + "".join(f"  - {{{step}}}\n" for step in steps)).encode(), "p.yaml")

    named_at = {(found.id, found.joint) for found in findings_of(caught.value.faults)}

    assert named_at >= {
        ("left-loose-for-good", "a"), ("fitted-twice", "b"), ("never-fitted", "b"), ("torqued-twice", "c"),
        ("left-open-for-good", "c"), ("opened-before-torqued", "d"), ("recheck-before-torqued", "e"),
        ("covered-before-torqued", "f"), ("named-twice", "g"),
    }  # fmt: skip
