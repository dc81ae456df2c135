"""A plan as a table says the same when it is read back; its cells stay texts, and the same plan gives the same bytes."""

import argparse
import json
import re
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from collector.cli.plan_export import joint_rows, run_export, sheets_of
from collector.cli.plan_source import plan_bytes
from schemas.errors import PlanError, RecordError
from schemas.plan.load import load_plan, load_whole

HERE = Path(__file__).parents[1]
WORKSHOP = files("sim.workshop").joinpath("rear-axle.yaml").read_bytes()
EXAMPLE = (HERE / "data" / "plan-example.yaml").read_bytes()
FULL = """\
plan: "8-Mar"
title: "=HYPERLINK(1)"
revision: "1.10"
source: "-1+2"
unit: N·m
tolerance: +10 % -0 %
item: VIN
small_drag: add
accepted:
  - {finding: unlike-torque, reason: "@home"}
  - {finding: no-grade, joints: ["007", "12E5"], reason: 'A "quoted", one'}
joints:
  - {id: "007", name: "ציר / אחורי", fasteners: 1, torque: 95.20, order: [1], start: 1, wrench: [W-1, "2"], grade: "8.80"}
  - {id: "12E5", name: 'Nut 5/8" _x0041_', fasteners: 4, low: 40, high: 50.5, unit: lbf·ft, stages: [snug, 50, 100, 100],
     order: [4, 3, 2, 1], start: [1, 2, 3], nut: prevailing, drag: included, mirror: left/right,
     adapter: {length: 50 mm, angle: 0, corrected_by: wrench}}
  - {id: "1.2E+06", name: "null", fasteners: 2, torque: not stated, wheel: "yes", thread: 3/8, prep: "8-Mar"}
steps:
  - do: "'Clean"
    covers: []
  - caution: "=1+1"
  - loose: "007"
  - torque: ["12E5", "1.2E+06"]
  - hold point: point
    ask: Axle, centred?
    sign: second person
    measure: {unit: mm, low: -3, high: 3.50}
    after: [12E5-left]
  - torque: "007"
    after: [point]
    covers: ["12E5"]
  - retorque: "007"
    from: 40 km
""".encode()


@pytest.fixture(name="export")
def _export(tmp_path, monkeypatch):
    """Exports a plan in an empty folder and gives the path of the table."""
    monkeypatch.chdir(tmp_path)

    def run(plan, to="table.xlsx", name="plan.yaml", ignore=None):
        Path(name).write_bytes(plan)
        assert run_export(argparse.Namespace(plan=name, to=to, ignore=ignore)) == 0
        return Path(to)

    return run


@pytest.mark.parametrize("plan", [WORKSHOP, EXAMPLE, FULL], ids=["workshop", "example", "full"])
def test_a_workbook_read_back_is_the_same_plan(export, plan):
    text = plan_bytes(str(export(plan)))

    assert load_plan(text.data, "x").content_sha256 == load_plan(plan, "x").content_sha256
    assert text.notes == ()


def test_a_table_can_be_exported_too_and_nothing_changes(export, tmp_path):
    first = export(FULL)
    run_export(argparse.Namespace(plan=str(first), to="again.xlsx", ignore=None))

    assert load_plan(plan_bytes("again.xlsx").data, "x").content_sha256 == load_plan(FULL, "x").content_sha256


@pytest.mark.parametrize("plan", [WORKSHOP, EXAMPLE, FULL], ids=["workshop", "example", "full"])
def test_a_workbook_can_be_made_into_yaml_again(export, plan):
    export(plan)
    run_export(argparse.Namespace(plan="table.xlsx", to="again.yaml", ignore=None))

    assert load_plan(Path("again.yaml").read_bytes(), "x").content_sha256 == load_plan(plan, "x").content_sha256


def test_a_table_with_columns_to_leave_out_becomes_yaml_and_says_so(export, capsys):
    data = export(b"id,name,qty,torque,unit,tol,Price\na,A,4,1,Nm,8 %,9\n", "plan.yaml", "plan.csv", ["price"]).read_bytes()

    assert b"joints:\n  - id: a\n    name: A\n    fasteners: 4\n    torque: 1\n    unit: Nm\n    tolerance: 8 %\n" in data
    assert "plan.csv: note: column G `Price` is left out, as --ignore says" in capsys.readouterr().err


def test_a_csv_file_read_back_has_the_same_joints_and_says_what_it_lost(export, capsys):
    path = export(WORKSHOP, "table.csv")

    written, read = load_whole(WORKSHOP, "x"), load_whole(plan_bytes(str(path)).data, "x")
    assert read.route.joints == written.route.joints
    assert (read.route.plan, read.route.title, read.route.revision, read.route.source) == (
        written.route.plan, written.route.title, written.route.revision, written.route.source
    )  # fmt: skip
    told = capsys.readouterr().err
    assert f"table.csv: {len(written.route.joints)} joints\n" in told
    assert (
        f"table.csv: note: the {len(written.route.steps)} steps have no place in a CSV file; as .xlsx the plan is whole" in told
    )


def test_what_else_a_csv_file_cannot_hold_is_told(export, capsys):
    export(FULL, "table.csv")

    told = capsys.readouterr().err
    for name in ("item", "small_drag", "accepted"):
        assert f"note: `{name}` has no place in a CSV file" in told


def test_a_plan_without_steps_loses_nothing_in_csv(export, capsys):
    plan = b"plan: p\ntitle: t\nrevision: r\nsource: s\njoints: [{id: a, name: b, fasteners: 1, low: 1, high: 2, unit: Nm}]\n"
    path = export(plan, "table.csv")

    assert load_plan(plan_bytes(str(path)).data, "x").content_sha256 == load_plan(plan, "x").content_sha256
    assert "note" not in capsys.readouterr().err


def test_in_a_csv_file_no_cell_can_be_run_by_a_spreadsheet(export):
    text = export(FULL, "table.csv").read_text(encoding="utf-8-sig")

    # The signs are those of OWASP's page "CSV Injection" (from memory).
    assert re.search(r'(?:^|,)"?[=+\-@]', text, re.MULTILINE) is None
    assert "'=HYPERLINK(1)" in text


def test_in_a_workbook_every_cell_is_a_text_and_has_the_form_of_one(export):
    book = load_workbook(export(FULL))

    assert book.sheetnames == ["joints", "plan", "steps", "accepted"]
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert {(cell.data_type, cell.number_format) for cell in cells} == {("s", "@")}
    # What is typed below the table stays as typed too, so that 3/8 becomes no date.
    assert book["joints"].column_dimensions["C"].number_format == "@"


@pytest.mark.parametrize("name", ["table.xlsx", "table.csv"])
def test_the_same_plan_gives_the_same_bytes(export, name):
    first = export(FULL, name).read_bytes()

    assert export(FULL, name).read_bytes() == first


@pytest.mark.parametrize(
    ("to", "says"),
    [
        pytest.param(
            "table.ods", "table.ods: give the file the ending .csv or .xlsx or .yaml, which says what is written", id="ending"
        ),
        pytest.param("no/table.csv", "no/table.csv: cannot be written (No such file or directory); name another", id="folder"),
    ],
)
def test_a_file_that_cannot_be_written_is_named(export, to, says):
    with pytest.raises(RecordError, match=re.escape(says)):
        export(EXAMPLE, to)


def test_a_plan_that_is_wrong_is_not_exported(export, tmp_path):
    with pytest.raises(PlanError, match=r"^plan.csv, line 2, cell C2, `joints.a.fasteners`: `0` is no count"):
        export(b"id,name,qty,torque,unit,tol\na,A,0,1,Nm,8 %\n", name="plan.csv")
    assert not (tmp_path / "table.xlsx").exists()


NAMES = st.text(st.characters(categories=["L", "Nd", "Po", "Sm", "Sc"]), min_size=1, max_size=12).filter(str.isprintable)
IDS = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9./+#:()-]{0,8}", fullmatch=True)
DIGITS = st.integers(1, 500).map(str) | st.from_regex(r"[1-9][0-9]{0,2}\.[0-9]{1,3}", fullmatch=True)


@st.composite
def joints(draw, one):
    count = draw(st.integers(1, 6))
    joint = {"id": one, "name": draw(NAMES), "fasteners": str(count)}
    joint |= draw(
        st.sampled_from([{"torque": "not stated"}, {"low": "40", "high": "50.50"}, {"torque": "95"}, {"torque": "9.50"}])
    )
    may = {
        "unit": st.sampled_from(["N·m", "lbf·ft"]), "thread": st.sampled_from(["M8", "1/2-13", "3/8"]),
        "order": st.sampled_from(["cross", "any", "in line"]) | st.permutations([str(place + 1) for place in range(count)]),
        "grade": NAMES, "prep": NAMES,
        "socket": NAMES, "counter_hold": NAMES, "wrench": st.lists(IDS, max_size=3), "wheel": st.sampled_from(["yes", "no"]),
        "start": st.just(["1"]), "hand": st.just("left"), "mark": st.just("none"), "seen_from": NAMES, "cure": st.just("24 h"),
        "adapter": st.fixed_dictionaries({"length": st.just("50 mm"), "angle": st.sampled_from(["0", "90"])}),
    }  # fmt: skip
    if joint.get("torque") != "not stated":
        may |= {"stages": st.sampled_from([["100"], ["snug", "100"], ["30", "60", "100"]]), "then_angle": st.just("90")}
    for name in draw(st.lists(st.sampled_from(sorted(may)), unique=True)):
        joint[name] = draw(may[name])
    if "then_angle" in joint:
        joint["angle_tolerance"] = "10"
    return joint


@st.composite
def plans(draw):
    ids = draw(st.lists(IDS, min_size=1, max_size=4, unique=True))
    plan = {name: draw(NAMES) for name in ("title", "revision", "source")} | {
        "plan": draw(IDS),
        "unit": "N·m",
        "tolerance": "8 %",
    }
    plan["joints"] = [draw(joints(one)) for one in ids]
    if draw(st.booleans()):
        plan["steps"] = [{"loose": [ids[0]]}, {"do": draw(NAMES), "covers": []}]
        plan["steps"] += [{"torque": ids, "after": []}, {"do": draw(NAMES), "covers": draw(st.just([]) | st.just(ids))}]
    if draw(st.booleans()):
        plan["accepted"] = [{"finding": "a", "joints": ids, "reason": draw(NAMES)}]
    return json.dumps(plan, ensure_ascii=False).encode()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
@given(plans())
def test_any_plan_comes_back_from_a_workbook(export, plan):
    text = plan_bytes(str(export(plan)))

    assert load_plan(text.data, "x").content_sha256 == load_plan(plan, "x").content_sha256


def test_a_table_has_the_columns_that_a_joint_uses_and_no_other():
    plan = load_whole(EXAMPLE, "x").written

    rows = joint_rows(plan)
    assert rows[0][:5] == ["id", "name", "fasteners", "torque", "tolerance"]
    assert "adapter length" in rows[0]
    assert "grade" in rows[0]
    assert "drag" not in rows[0]
    assert all(len(row) == len(rows[0]) for row in rows)
    assert list(sheets_of(plan)) == ["joints", "plan", "steps"]
