"""What is written as YAML is read back as the very same texts, and each line knows where it came from."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.decode.plan_slug import free_id, slug
from collector.decode.plan_yaml import Draft, Entry, Said, scalar, write_plan
from schemas.errors import PlanError, PlanFault
from schemas.plan.columns import HEAD_COLUMNS, JOINT_COLUMNS, STEP_COLUMNS, Shape
from schemas.plan.text import read_tree
from schemas.table import Place

HERE = Place(4, "line 4, cell B4")
BY_NAME = {column.name: column for column in JOINT_COLUMNS}


@pytest.mark.parametrize(
    ("text", "numeric", "written"),
    [
        pytest.param("88", True, "88", id="digits-in-a-numeric-field"),
        pytest.param("95.20", True, "95.20", id="closing-zero"),
        pytest.param("-3", True, "-3", id="minus"),
        pytest.param("8.8", False, '"8.8"', id="digits-in-a-text"),
        pytest.param("007", True, '"007"', id="leading-zeros"),
        pytest.param("no", False, '"no"', id="truth-value"),
        pytest.param("2026-03-08", False, '"2026-03-08"', id="date"),
        pytest.param("not stated", True, "not stated", id="words"),
        pytest.param("±8 N·m", False, "±8 N·m", id="tolerance"),
        pytest.param("Hub, left", False, '"Hub, left"', id="comma"),
        pytest.param("a: b", False, '"a: b"', id="colon"),
        pytest.param("a #1", False, '"a #1"', id="hash"),
        pytest.param('5/8" \\ x', False, '"5/8\\" \\\\ x"', id="quote-and-backslash"),
        pytest.param("ציר", False, "ציר", id="right-to-left"),
        pytest.param("a\u200fb\n", False, '"a\\U0000200Fb\\U0000000A"', id="signs-that-cannot-be-seen"),
        pytest.param("", False, '""', id="empty"),
    ],
)
def test_a_text_has_quotes_only_where_a_reader_of_yaml_could_take_it_for_something_else(text, numeric, written):
    assert scalar(text, numeric) == written


# Lone surrogates cannot come out of any decoder that is used here.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)


def value_for(column):
    return TEXTS if column.shape is Shape.ONE else st.lists(TEXTS, max_size=3).map(tuple)


@given(st.data())
def test_every_text_of_every_field_is_read_back(data):
    columns = data.draw(st.lists(st.sampled_from(JOINT_COLUMNS), min_size=1, unique=True))
    fields = tuple(Said(column, data.draw(value_for(column)), HERE) for column in columns)
    head = Entry(HERE, (Said(HEAD_COLUMNS[1], data.draw(TEXTS), HERE),))
    step = Entry(HERE, (Said(STEP_COLUMNS["loose"][0], data.draw(value_for(STEP_COLUMNS["loose"][0])), HERE),))

    written = write_plan(Draft(head, (Entry(HERE, fields),), (step,)))

    joint: dict[str, object] = {}
    for said in fields:
        where = joint
        for name in said.column.path[:-1]:
            where = where.setdefault(name, {})
        where[said.column.path[-1]] = said.value if isinstance(said.value, str) else list(said.value)
    tree = read_tree(written.data, "x")
    assert tree.root == {
        "title": head.fields[0].value, "joints": [joint], "steps": [{"loose": list(step.fields[0].value)}]
    }  # fmt: skip
    assert all(line in written.places for line in tree.lines.values())


def test_a_fault_is_shown_where_its_field_was_said_or_where_its_row_is():
    row, cell, other = Place(7, "row 7"), Place(7, "cell A7"), Place(7, "cell C7")
    entry = Entry(row, (Said(BY_NAME["id"], "hub", cell), Said(BY_NAME["wrench"], ("a",), other)))
    written = write_plan(Draft(Entry(HERE, ()), (entry,)))
    faults = (
        PlanFault(2, "joints.hub.id", "a"),
        PlanFault(2, "joints.hub.torque", "b"),
        PlanFault(2, "joints.hub", "c"),
        PlanFault(3, "joints.hub.wrench[1]", "d", "unknown-wrench"),
        PlanFault(1, "joints", "e"),
        PlanFault(99, "", "f"),
    )

    placed = written.placed(PlanError("plan.xlsx", faults))

    assert str(placed).splitlines() == [
        "plan.xlsx, cell A7, `joints.hub.id`: a",
        "plan.xlsx, row 7, `joints.hub.torque`: b",
        "plan.xlsx, row 7, `joints.hub`: c",
        "plan.xlsx, cell C7, `joints.hub.wrench[1]`: d",
        "plan.xlsx, line 4, cell B4, `joints`: e",
        "plan.xlsx, line 99: f",
    ]
    assert [(fault.line, fault.id) for fault in placed.faults][3] == (7, "unknown-wrench")


def test_a_plan_without_joints_is_written_as_one():
    assert write_plan(Draft(Entry(HERE, ()), ())).data == b"joints: []\n"


@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("Rear hanger, left", "rear-hanger-left"),
        ('5/8" bolt (old)', "5-8-bolt-old"),
        ("ÖL_Wanne", "öl-wanne"),
        ("ציר אחורי", "ציר-אחורי"),
        ("...", "joint"),
        ("x" * 99, "x" * 60),
    ],
)
def test_an_id_is_made_of_the_letters_and_digits_of_a_name(name, made):
    assert slug(name) == made


@given(st.lists(st.text(max_size=80), max_size=8))
def test_made_ids_are_ids_and_none_stands_twice(names):
    from pydantic import TypeAdapter

    from schemas.plan.fields import Id

    made: list[str] = []
    for name in names:
        made.append(free_id(slug(name), made))

    assert len(set(made)) == len(made)
    assert [TypeAdapter(Id).validate_python(one) for one in made] == made
