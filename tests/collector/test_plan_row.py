"""A table of joints as people keep it: which column is what, what a row says, and what is refused at which cell."""

import re
import zipfile
from datetime import date, time

import pytest
from openpyxl import Workbook

from collector.acquire.plan_table import plan_tables
from collector.cli.plan_source import plan_bytes
from collector.decode.plan_book import read_book
from collector.decode.plan_header import JOINT_TABLE, key_of
from collector.decode.plan_yaml import write_plan
from schemas.errors import PlanError
from schemas.plan.load import load_plan, load_whole

HEAD = "id,name,fasteners,torque,unit,tolerance\n"
ROW = "hub,Hub nuts,5,110,N·m,8 %\n"


def read(text, *ignored, name="bench.csv"):
    """The plan of a CSV file, judged, and what was told of the reading."""
    draft, notes = read_book(plan_tables(text.encode(), name), ignored)
    written = write_plan(draft)
    try:
        return load_whole(written.data, name).written, list(notes)
    except PlanError as error:
        raise written.placed(error) from error


def joint(text, *ignored):
    (joint,) = read(text, *ignored)[0].joints
    return joint


def faults(text, *ignored):
    with pytest.raises(PlanError) as caught:
        read(text, *ignored)
    return str(caught.value).splitlines()


@pytest.fixture(name="book")
def _book(tmp_path):
    """Saves sheets, each a list of rows, and gives what the plan's file says; `shape` may alter the first sheet before."""

    def save(sheets, shape=None, ignored=()):
        book = Workbook()
        book.remove(book.active)
        for name, rows in sheets.items():
            sheet = book.create_sheet(name)
            for row in rows:
                sheet.append(row)
        if shape:
            shape(book.worksheets[0])
        path = tmp_path / "bench.xlsx"
        book.save(path)
        text = plan_bytes(str(path), ignored)
        try:
            return load_whole(text.data, "bench.xlsx").written, list(text.notes)
        except PlanError as error:
            raise text.placed(PlanError("bench.xlsx", error.faults)) from error

    return save


def told(book, *arguments, **more):
    with pytest.raises(PlanError) as caught:
        book(*arguments, **more)
    return [line.rpartition("bench.xlsx, ")[2] for line in str(caught.value).splitlines()]


JOINTS = [["id", "name", "fasteners", "torque", "unit", "tolerance"], ["hub", "Hub nuts", 5, 110, "N·m", "8 %"]]


def test_a_plain_table_is_the_plan_that_it_says():
    plan, notes = read(HEAD + ROW)

    assert plan.joints[0].model_dump(exclude_unset=True) == {
        "id": "hub",
        "name": "Hub nuts",
        "fasteners": 5,
        "torque": "110",
        "unit": "N·m",
        "tolerance": "8 %",
    }
    assert (plan.plan, plan.title, plan.source, len(plan.revision)) == ("bench", "bench", "file bench.csv", 12)
    assert [note.split(",")[0] for note in notes] == [
        "`plan` is `bench`",
        "`title` is `bench`",
        f"`revision` is `{plan.revision}`",
        "`source` is `file bench.csv`",
    ]


@pytest.mark.parametrize(
    ("header", "field"),
    [
        ("Target", "torque"),
        ("NOMINAL", "torque"),
        ("Qty.", "fasteners"),
        ("count", "fasteners"),
        ("Thread  size", "thread"),
        ("size", "thread"),
        ("Property-Class", "grade"),
        ("class", "grade"),
        ("Lubricant", "prep"),
        ("counter hold", "counter_hold"),
        ("COUNTER_HOLD", "counter_hold"),
        ("Then Angle", "then_angle"),
        ("usl", "high"),
        ("Torque min.", "low"),
        ("± ", "tolerance"),
        ("Description", "name"),
        ("pos", "id"),
        ("tool", "wrench"),
        ("+/-", "tolerance"),
        ("#bolts", "no column"),
    ],
)
def test_the_usual_headers_are_known(header, field):
    target = JOINT_TABLE.get(key_of(header))
    assert (getattr(target, "name", "no column")) == field


@pytest.mark.parametrize(
    "header",
    ["torque (N·m)", "Torque [Nm]", "torque_nm", "Torque in Nm", "Torque, N·m", "target (N.m)", "Torque Newton metres", "Nm"],
)
def test_a_unit_in_the_header_is_that_of_its_column(header):
    found = joint(f'id,name,qty,"{header}",tol\nhub,Hub nuts,5,110,8 %\n')

    assert found.torque == "110"
    assert load_plan(write(found), "x").joints[0].unit == "N·m"


def write(found):
    """One joint as a plan of its own."""
    return (
        "plan: p\ntitle: t\nrevision: r\nsource: s\njoints:\n"
        f'  - {{id: {found.id}, name: "{found.name}", fasteners: 1, torque: 5, tolerance: 8 %, unit: "{found.unit}"}}\n'
    ).encode()


@pytest.mark.parametrize(
    ("header", "cell", "low", "high", "unit"),
    [
        pytest.param("torque", "88 Nm", None, None, "Nm", id="unit-in-the-cell"),
        pytest.param("torque (N·m)", "88 Nm", None, None, "N·m", id="unit-in-both"),
        pytest.param("torque (Nm)", "88 to 96", "88", "96", "Nm", id="two-edges"),
        pytest.param("torque", "88 - 96 lbf ft", "88", "96", "lbf ft", id="two-edges-with-unit"),
        pytest.param("torque", "88–96 Nm", "88", "96", "Nm", id="dash"),
    ],
)
def test_a_torque_may_carry_its_unit_and_both_edges(header, cell, low, high, unit):
    tolerance = "" if low else "5 %"
    found = joint(f"id,name,qty,{header},tolerance\nhub,Hub nuts,5,{cell},{tolerance}\n")

    assert (found.low, found.high, found.unit) == (low, high, unit)
    assert found.torque == (None if low else "88")


@pytest.mark.parametrize(
    ("header", "row", "says"),
    [
        pytest.param(
            "torque (N·m)",
            "65 ft-lb",
            "line 2, cell D2: `ft-lb` stands here and `N·m` in line 1, cell D1; write one unit",
            id="header",
        ),
        pytest.param(
            "torque,unit",
            "65 lbf·ft,Nm",
            "line 2, cell D2: `lbf·ft` stands here and `Nm` in line 2, cell E2; write one unit",
            id="column",
        ),
        pytest.param(
            "low (Nm),high (lbf ft)", "60,70", "line 1, cell E1: `lbf ft` stands here and `Nm` in line 1, cell D1", id="edges"
        ),
    ],
)
def test_two_units_that_disagree_are_refused_at_the_cell(header, row, says):
    assert faults(f"id,name,qty,{header}\nhub,Hub nuts,5,{row}\n")[0].startswith(f"bench.csv, {says}")


def test_a_target_with_both_edges_is_a_torque_with_the_tolerance_between_them():
    text = "id,name,qty,target,low,high,unit\nhub,Hub nuts,5,45.0,43,47.5,Nm\ncap,Cap,2,8,8,9,Nm\n"
    plan, notes = read(text)

    assert [(one.torque, one.tolerance, one.low) for one in plan.joints] == [
        ("45.0", "+2.5 Nm -2.0 Nm", None),
        ("8", "+1 Nm -0 Nm", None),
    ]
    band = load_plan(write_plan(read_book(plan_tables(text.encode(), "x.csv"))[0]).data, "x").joints[0].stages[0].band
    assert (band.low, band.target, band.high) == (43, 45, 47.5)
    assert notes.count("low and high stand beside the torque: it is the target, and its tolerance is what lies between") == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        pytest.param("50,43,47,Nm,", "cell D2: torque 50 lies outside low 43 and high 47; correct one of them", id="outside"),
        pytest.param(
            "45,43,47,Nm,5 %", "cell E2, `joints.hub.low`: `low` stands beside `torque`; write either", id="tolerance-too"
        ),
        pytest.param("45,43,47,,", "`low` stands beside `torque`", id="no-unit"),
        pytest.param("45,43,,Nm,", "`low` stands beside `torque`", id="one-edge"),
        pytest.param(
            "40 to 45,43,,Nm,", "cell D2: `40 to 45` has both edges, and so has `low` 43; keep one of them", id="edges-twice"
        ),
        pytest.param(",40 to 43,47,Nm,", "cell E2, `joints.hub.low`: `40 to 43` is more than a number", id="edges-in-an-edge"),
        pytest.param(',"1,5",2,Nm,', "cell E2, `joints.hub.low`: `1,5` has a comma; write a point", id="decimal-comma"),
        pytest.param('"1.234,5",,,Nm,5 %', "cell D2, `joints.hub.torque`: `1.234,5` has a comma; write a point", id="thousands"),
        pytest.param("45 kg,,,Nm,5 %", "cell D2, `joints.hub.torque`: `45 kg` is more than a number", id="no-torque-unit"),
        pytest.param("45,,,furlongs,5 %", "cell G2, `joints.hub.unit`: unit `furlongs` is not known", id="no-unit-at-all"),
        pytest.param(
            "45 Nm,,,furlongs,5 %", "cell G2, `joints.hub.unit`: unit `furlongs` is not known", id="unknown-beside-known"
        ),
        pytest.param("8-Mar,,,Nm,5 %", "cell D2: 8-Mar: was it 3/8?", id="date"),
    ],
)
def test_a_torque_that_is_not_certain_is_refused_at_its_cell(row, says):
    said = faults(f"id,name,qty,target,low,high,unit,tolerance\nhub,Hub nuts,5,{row}\n")

    assert any(f"bench.csv, line 2, {says}" in line or says in line for line in said)


@pytest.mark.parametrize(
    ("header", "cell", "field", "value"),
    [
        pytest.param("tolerance (%)", "8", "tolerance", "8 %", id="percent"),
        pytest.param("Tol. [N·m]", "4", "tolerance", "±4 N·m", id="torque"),
        pytest.param("tolerance ± (N·m)", "4", "tolerance", "±4 N·m", id="plus-minus"),
        pytest.param("tolerance (%)", "+10 % -0 %", "tolerance", "+10 % -0 %", id="written-out"),
        pytest.param("cure (h)", "24", "cure", "24 h", id="hours"),
        pytest.param("work within (min)", "10", "work_within", "10 min", id="minutes"),
        pytest.param("cure (h)", "90 min", "cure", "90 min", id="own-unit"),
        pytest.param("stages", "30/60/100", "stages", ["30", "60", "100"], id="slashes"),
        pytest.param("stages", "snug 50 % 100 %", "stages", ["snug", "50", "100"], id="percents"),
        pytest.param("stages", '"[snug, 50, 100]"', "stages", ["snug", "50", "100"], id="brackets"),
        pytest.param("order", "cross", "order", "cross", id="word"),
        pytest.param("order", "in line", "order", "in line", id="words"),
        pytest.param("order", "1 3 5 2 4", "order", (1, 3, 5, 2, 4), id="positions"),
        pytest.param("order", "1-3-5-2-4", "order", (1, 3, 5, 2, 4), id="hyphens"),
        pytest.param("wrench", '"W-140, W/2 3"', "wrench", ["W-140", "W/2", "3"], id="ids"),
        pytest.param("start", "3", "start", [3], id="one-in-a-list"),
        pytest.param("wheel", "yes", "wheel", "yes", id="yes"),
        pytest.param("thread", "1/2-13", "thread", "1/2-13", id="thread"),
        pytest.param("name 2", "x", None, None, id="unknown"),
    ],
)
def test_a_cell_is_the_value_of_its_field(header, cell, field, value):
    text = f"id,name,qty,torque,unit,{header}\nhub,Hub nuts,5,110,N·m,{cell}\n"
    if field is None:
        assert f"cell F1: `{header}` is no column that we know; did you mean" in faults(text)[0]
    else:
        text = text if field == "tolerance" else text.replace("torque,unit,", "torque,unit,tol,").replace("N·m,", "N·m,8 %,", 1)
        assert getattr(joint(text), field) == value


def test_an_angle_and_an_adapter_have_their_columns():
    text = (
        "id,name,qty,torque,unit,tol,Then angle (°),angle tolerance [deg],adapter length (mm),adapter angle (deg)\n"
        "hub,Hub,5,40,N·m,5 %,90,10,50,0\n"
    )
    found = joint(text)

    assert (found.then_angle, found.angle_tolerance) == ("90", "10")
    assert (found.adapter.length, found.adapter.angle) == ("50 mm", "0")


def test_a_fault_in_an_adapter_is_shown_at_its_cell():
    text = "id,name,qty,torque,unit,tol,adapter length,adapter angle\nhub,Hub,5,40,N·m,5 %,50 mm,270\nb,B,5,40,N·m,5 %,,0\n"

    assert [line.partition(": ")[0] for line in faults(text)] == [
        "bench.csv, line 2, cell H2, `joints.hub.adapter.angle`",
        "bench.csv, line 3, cell H3, `joints.b.adapter.length`",
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param(
            "id,name,qty,tourque\nhub,Hub,5,1\n",
            "cell D1: `tourque` is no column that we know; did you mean `torque`?",
            id="near",
        ),
        pytest.param(
            "id,name,qty,torque,zzzz\nh,H,5,1,\n", "cell E1: `zzzz` is no column that we know; known here: `remarks`,", id="far"
        ),
        pytest.param(
            "id,qty,torque,unit,torque\nh,5,2,Nm,3\n",
            "cell E1: column `torque` stands twice (columns 3 and 5); take one out",
            id="twice",
        ),
        pytest.param(
            "id,qty,target,Torque,unit\nh,5,2,3,Nm\n",
            "cell D1: `target` and `Torque` are both `torque` (columns 3 and 4)",
            id="both",
        ),
        pytest.param("id,qty,low\nh,2,4\n", "line 1: there is no column for `torque`; add one, or `low` and `high`", id="torque"),
        pytest.param(
            "thread,qty,torque\nM8,2,4\n", "line 1: there is no column for `id` or `name`; add one that tells the", id="id"
        ),
        pytest.param("x,y\nM8,2\n", "cell A1: `x` is no column that we know", id="nothing-known"),
        pytest.param(
            "id,qty,torque,\nh,2,4,x\n",
            "line 2, cell D2: column D is filled and has no header; give it one, or empty it",
            id="headless",
        ),
        pytest.param(
            "No.,joint,torque\n1,h,4\n", "cell A1: column A `No.` can be the joint's id or how many fasteners it has", id="no"
        ),
    ],
)
def test_a_header_that_is_not_certain_is_refused_at_its_cell(text, says):
    assert any(line.startswith("bench.csv, line ") and says in line for line in faults(text))


def test_a_column_is_left_out_only_by_name_and_said_so():
    text = HEAD.replace("\n", ",Price\n") + ROW.replace("\n", ",4.20\n")

    assert "leave it out by naming it in --ignore" in faults(text)[0]
    plan, notes = read(text, "price")
    assert plan.joints[0].id == "hub"
    assert notes[0] == "column G `Price` is left out, as --ignore says"


def test_a_name_in_ignore_that_no_column_has_is_told():
    assert faults(HEAD + ROW, "prize") == ["bench.csv, line 1: --ignore names `prize`, and no column is called so"]


@pytest.mark.parametrize(
    ("header", "row", "ids", "names", "count"),
    [
        pytest.param("joint,qty", "J1,4", "J1", "J1", 4, id="joint-is-an-id"),
        pytest.param("joint,qty", '"Rear hanger, left",4', "rear-hanger-left", "Rear hanger, left", 4, id="joint-is-a-name"),
        pytest.param("name,qty", "Rear hanger,4", "rear-hanger", "Rear hanger", 4, id="names-alone"),
        pytest.param("no.,joint,qty", "7,Rear hanger,4", "7", "Rear hanger", 4, id="numbered-joints"),
        pytest.param("joint,desc,no.", "J1,Rear hanger,4", "J1", "Rear hanger", 4, id="no-is-a-count"),
        pytest.param("id,no.", "J1,4", "J1", "J1", 4, id="no-beside-an-id"),
        pytest.param("id,joint,qty", "J1,Rear hanger,4", "J1", "Rear hanger", 4, id="joint-beside-an-id"),
        pytest.param("no.,name,qty", "7,Rear hanger,4", "7", "Rear hanger", 4, id="no-beside-a-name"),
    ],
)
def test_what_tells_the_joints_apart_is_id_and_name(header, row, ids, names, count):
    found = joint(f"{header},torque,unit,tol\n{row},110,N·m,8 %\n")

    assert (found.id, found.name, found.fasteners) == (ids, names, count)


def test_names_that_stand_twice_get_numbered_ids_and_a_note():
    plan, notes = read("name,qty,torque,unit,tol\nHub!,5,110,N·m,8 %\nhub,4,90,N·m,8 %\n½,1,5,N·m,8 %\n…,1,5,N·m,8 %\n")

    assert [one.id for one in plan.joints] == ["hub", "hub-2", "½", "joint"]
    assert "ids are made of the names, as no column holds them" in notes


@pytest.mark.parametrize(
    "one", ["NA", "None", "null", "N/A", "0077", "7E3", "200E12", "98765432109876543", "no", "1:30", "2026-03-08"]
)
def test_an_id_is_the_text_of_its_cell_whatever_it_looks_like(one):
    assert joint(HEAD + ROW.replace("hub", one, 1)).id == one


def test_names_of_every_script_with_quotes_and_slashes_survive():
    names = ["ציר אחורי / שמאל", 'Ø 5/8" “bolt” \\ n', "前輪: ナット #1", "Träger – [x] {y}", "- a", "=1+1", "'s"]
    text = HEAD + "".join(f'j{place},"{name.replace(chr(34), chr(34) * 2)}",5,110,N·m,8 %\n' for place, name in enumerate(names))

    assert [one.name for one in read(text)[0].joints] == names


@pytest.mark.parametrize(
    ("row", "says"),
    [
        pytest.param(",Hub nuts,5,110,N·m,8 %", "cell A2, `joints[1].id`: this is empty; write a text", id="id-empty"),
        pytest.param("hub, ,5,110,N·m,8 %", "cell B2, `joints.hub.name`: this is empty; write a text", id="name-empty"),
        pytest.param(
            "hub,Hub,,110,N·m,8 %", "cell C2, `joints.hub.fasteners`: `` is no count; write a whole number", id="count-empty"
        ),
        pytest.param("hub,Hub,4x,110,N·m,8 %", "cell C2, `joints.hub.fasteners`: `4x` is no count", id="count"),
        pytest.param(
            "1.2E+06,Hub,4,110,N·m,8 %", "cell A2: 1.2E+06 is what a spreadsheet makes of a long number or of an id", id="wide"
        ),
        pytest.param("3E+15,Hub,4,110,N·m,8 %", "cell A2: 3E+15 is what a spreadsheet makes of", id="wide-without-point"),
        pytest.param(
            "hub,Hub,4,,N·m,8 %", "line 2, `joints.hub.torque`: the joint has no torque; write `torque`", id="torque-empty"
        ),
        pytest.param(
            "hub,Hub,4,110,,8 %", "line 2, `joints.hub.unit`: neither the joint nor the plan has a unit", id="unit-empty"
        ),
        pytest.param(
            "hub,Hub,4,110,N·m", "line 2: has 5 cells under a header of 6; a comma inside a cell needs quotes", id="short"
        ),
        pytest.param("hub,Hub,4,110,N·m,8 %,x", "line 2: has 7 cells under a header of 6", id="long"),
        pytest.param("a b,Hub,4,110,N·m,8 %", "cell A2, `joints.a b.id`: `a b` is no id; use at most 64 letters", id="no-id"),
    ],
)
def test_a_row_that_lacks_something_is_refused_at_its_place(row, says):
    assert any(line.startswith(f"bench.csv, line 2, {says}") or says in line for line in faults(HEAD + row + "\n"))


def test_an_empty_cell_beyond_the_header_is_no_fault():
    assert joint(HEAD + ROW.replace("\n", ",,\n")).id == "hub"


def test_an_id_that_stands_twice_is_refused_at_the_second_cell():
    assert faults(HEAD + ROW + ROW) == [
        "bench.csv, line 3, cell A3, `joints.hub.id`: `hub` is the id of joints[1] already; give one of them another"
    ]


@pytest.mark.parametrize(
    ("cell", "asks"),
    [
        pytest.param("8-Mar", "8-Mar: was it 3/8?", id="eighths"),
        pytest.param("16-Jul", "16-Jul: was it 7/16?", id="sixteenths"),
        pytest.param("3-Aug", "3-Aug: was it 3/8?", id="day-first"),
        pytest.param("8-Jan", "8-Jan: was it 1/8 or 1-8?", id="inch-or-eighth"),
        pytest.param("Jan-08", "Jan-08: was it 1-8?", id="month-and-year"),
        pytest.param("24-oct", "24-oct: was it 10-24?", id="numbered-screw"),
        pytest.param("Jun-32", "Jun-32: was it 6-32?", id="numbered-screw-as-a-year"),
        pytest.param("15-Mar", "15-Mar: was it 3/15?", id="no-size"),
    ],
)
def test_a_size_that_became_a_date_is_asked_about_and_not_put_right(cell, asks):
    (said,) = faults(HEAD.replace("\n", ",thread\n") + ROW.replace("\n", f",{cell}\n"))

    assert said.startswith(f"bench.csv, line 2, cell G2: {asks} A spreadsheet turns such a size into a date")


@pytest.mark.parametrize("size", ["3/8", "13/16-16", "#10-24", "1-8"])
def test_a_size_that_stayed_one_is_fine(size):
    if size == "13/16-16":
        size = "7/16-14"
    assert joint(HEAD.replace("\n", ",thread\n") + ROW.replace("\n", f",{size}\n")).thread == size


def test_the_head_may_stand_in_each_row():
    head = HEAD.replace("\n", ",Plan,Title,Rev.,Source\n")
    more = ",axle,Rear axle,03,Sheet 7\n"
    plan, notes = read(head + ROW.replace("\n", more) + ROW.replace("hub", "cap").replace("\n", ",,,,\n"))

    assert (plan.plan, plan.title, plan.revision, plan.source) == ("axle", "Rear axle", "03", "Sheet 7")
    assert notes == []
    (said,) = faults(head + ROW.replace("\n", more) + ROW.replace("hub", "cap").replace("\n", more.replace("03", "04")))
    assert said.startswith(
        "bench.csv, line 3, cell I3: `04` stands here and `03` in line 2, cell I2; `revision` is of the whole plan"
    )


def test_remarks_are_cautions_before_their_joints():
    plan, notes = read(
        HEAD.replace("\n", ",Remarks\n") + ROW.replace("\n", ",Clean it\n") + ROW.replace("hub", "cap").replace("\n", ",\n")
    )

    assert [step.model_dump(exclude_unset=True) for step in plan.steps] == [
        {"caution": "Hub nuts: Clean it"},
        {"torque": ["hub"]},
        {"torque": ["cap"]},
    ]
    assert "the remarks are read as cautions, each before its joint is torqued" in notes


def test_rows_without_anything_are_passed_over_and_told():
    _, notes = read("Axle list\n" + HEAD + ROW + ",,,,,\n" + ROW.replace("hub", "cap") + ",,,,,\n,,,,,\n")

    assert notes[:3] == [
        "line 1 `Axle list` stands above the header and is not read",
        "empty rows between others are passed over: 4",
        "2 empty rows below the table: left out",
    ]
    blank = read(HEAD + "".join(ROW.replace("hub", f"h{n}") + ",,,,,\n" for n in range(13)))[1]
    assert blank[0] == "empty rows between others are passed over: 3, 5, 7, 9, 11, 13, 15, 17, 19, 21 and 2 more"
    assert blank[1] == "1 empty row below the table: left out"


def test_a_table_without_rows_is_told():
    assert faults("\n", *()) == [
        "bench.csv: holds no table: no line has more than one cell; it needs a header and a row for each joint"
    ]
    (said,) = faults("id,name,qty,torque\n")
    assert said == "bench.csv, line 1: no row stands below the header; write one for each joint"


def test_of_very_many_faults_the_first_are_told_and_the_others_counted():
    said = faults(HEAD + ROW.replace("110", "8-Mar") * 150)

    assert len(said) == 101
    assert said[-1] == "bench.csv: 50 more such places below; correct these first"


def test_numbers_in_the_place_of_texts_are_told_by_column(book):
    rows = [JOINTS[0] + ["grade"], [7, "Hub", 5, 110, "N·m", "8 %", 8.8], [8, "Cap", 5, 110, "N·m", "8 %", 10.9]]
    plan, notes = book({"joints": rows})

    assert [(one.id, one.grade) for one in plan.joints] == [("7", "8.8"), ("8", "10.9")]
    assert notes[:2] == [
        "column A holds numbers (A2 and 1 more): they are read as their digits; zeros in front or behind are lost in a number",
        "column G holds numbers (G2 and 1 more): they are read as their digits; zeros in front or behind are lost in a number",
    ]


@pytest.mark.parametrize(
    ("value", "form", "says"),
    [
        pytest.param(
            1200000, "0.0E+00", "cell A2: holds the number 1200000 in the form 0.0E+00, and it may have been another", id="wide"
        ),
        pytest.param(77, "0000", "cell A2: holds the number 77 and shows zeros in front of it; write it as a text", id="zeros"),
        pytest.param(9876543210987654, "0", "cell A2: holds a number of which a spreadsheet keeps 15 digits; write", id="long"),
        pytest.param("#N/A", "General", "cell A2: holds the error #N/A; correct it in the spreadsheet", id="error"),
        pytest.param("=1+1", "General", "cell A2: holds a formula without a stored result; open the file", id="formula"),
    ],
)
def test_an_id_that_a_spreadsheet_may_have_changed_is_refused(book, value, form, says):
    def shape(sheet):
        sheet["A2"] = value
        sheet["A2"].number_format = form
        if value == "#N/A":
            sheet["A2"].data_type = "e"

    assert told(book, {"joints": JOINTS}, shape)[0].startswith(says)


def test_a_date_in_a_workbook_is_asked_about(book):
    def shape(sheet):
        sheet["G1"], sheet["G2"], sheet["H1"], sheet["H2"] = "thread", date(2026, 3, 8), "grade", time(7, 30)

    assert told(book, {"joints": JOINTS}, shape) == [
        "cell G2: 8-Mar: was it 3/8? A spreadsheet turns such a size into a date; write it anew,"
        " in a cell that has the form of a text",
        "cell H2: 07:30:00 is a day or a time, not a text. A spreadsheet turns such a size into a date; write it anew,"
        " in a cell that has the form of a text",
    ]


def test_a_text_in_a_cell_that_has_the_form_of_a_text_was_typed_so(book):
    def shape(sheet):
        sheet["A2"] = "8-Mar"
        sheet["A2"].number_format = "@"

    assert book({"joints": JOINTS}, shape)[0].joints[0].id == "8-Mar"


def test_a_row_with_one_cell_merged_across_is_a_heading_for_the_names_below(book):
    rows = [["Rear axle"], JOINTS[0], ["LEFT"], JOINTS[1], ["RIGHT"], ["cap", *JOINTS[1][1:]]]

    def shape(sheet):
        for cells in ("A1:F1", "A3:F3", "A5:F5"):
            sheet.merge_cells(cells)

    plan, notes = book({"joints": rows}, shape)

    assert [one.name for one in plan.joints] == ["LEFT: Hub nuts", "RIGHT: Hub nuts"]
    assert notes[0] == "row 1 `Rear axle` stands above the header and is not read"
    assert notes[1] == "row 3 `LEFT` is a heading; it stands before the names of the joints below"


@pytest.mark.parametrize("cells", ["A2:A3", "D2:D3", "D2:E2"])
def test_any_other_merged_cell_is_refused(book, cells):
    said = told(book, {"joints": [*JOINTS, ["cap", "Cap", 5, 110, "N·m", "8 %"]]}, lambda sheet: sheet.merge_cells(cells))

    assert f"cell {cells[:2]}: cells {cells} are merged, and only the first of them has a value; unmerge them" in said[0]


def test_merged_cells_that_hide_nothing_are_let_be(book):
    rows = [[*JOINTS[0], None, "note"], [*JOINTS[1]]]

    def shape(sheet):
        sheet.merge_cells("H1:I1")
        sheet.merge_cells("J2:J9")
        sheet.merge_cells("F2:G2")
        sheet.merge_cells("A20:B22")

    assert book({"joints": rows}, shape)[0].joints[0].id == "hub"


PLAN = [["Field", "Value"], ["plan", "axle"], ["title", "Rear axle"], ["revision", 3], ["source", "Sheet 7"], ["unit", "N·m"]]


def test_a_workbook_may_hold_head_steps_and_accepted_findings(book):
    steps = [
        ["step", "what", "ask", "sign", "after", "measure unit", "measure low", "measure high", "from", "to", "positions"],
        ["caution", "Chock the wheels, both"],
        ["fit", "hub", None, None, None, None, None, None, None, None, "1, 2 3 4 5"],
        ["Torque", "hub"],
        ["Hold point", "level", "Level?", "lead", "hub", "mm", "-3", 3],
        ["retorque", "hub", None, None, None, None, None, None, "40 km", "80 km"],
    ]
    accepted = [["finding", "joints", "reason"], ["unlike-torque", "hub", "Sheet 7 says so"]]
    rows = [[*JOINTS[0][:4], "tolerance"], ["hub", "Hub nuts", 5, 110, "8 %"]]
    plan, notes = book({"Notes": [["x"]], "plan": PLAN, "steps": steps, "accepted": accepted, "Joints": rows})

    assert (plan.plan, plan.title, plan.revision, plan.unit) == ("axle", "Rear axle", "3", "N·m")
    assert [step.model_dump(exclude_unset=True, by_alias=True) for step in plan.steps] == [
        {"caution": "Chock the wheels, both"},
        {"fit": ["hub"], "positions": [1, 2, 3, 4, 5]},
        {"torque": ["hub"]},
        {
            "hold point": "level",
            "ask": "Level?",
            "sign": "lead",
            "after": ["hub"],
            "measure": {"unit": "mm", "low": "-3", "high": "3"},
        },
        {"retorque": ["hub"], "from": "40 km", "to": "80 km"},
    ]
    assert plan.accepted[0].model_dump() == {"finding": "unlike-torque", "joints": ["hub"], "reason": "Sheet 7 says so"}
    assert notes == ["sheet `Notes` is not read"]


def test_the_plans_unit_serves_for_a_target_with_both_edges(book):
    plan, _ = book({"joints": [["id", "name", "qty", "target", "low", "high"], ["hub", "Hub", 5, 45, 43, 47]], "plan": PLAN})

    assert plan.joints[0].tolerance == "+2 N·m -2 N·m"


@pytest.mark.parametrize(
    ("sheet", "rows", "says"),
    [
        pytest.param(
            "plan",
            [["titel", "x"]],
            "sheet `plan`, cell A1: `titel` is no field of a plan; did you mean `title`?",
            id="head-near",
        ),
        pytest.param(
            "plan", [["zzz", "x"]], "sheet `plan`, cell A1: `zzz` is no field of a plan; known here: `plan`,", id="head-far"
        ),
        pytest.param(
            "plan",
            [["title", "x"], ["title", "y"]],
            "sheet `plan`, cell A2: `title` stands twice; keep one of them",
            id="head-twice",
        ),
        pytest.param(
            "plan", [["title", "=1"]], "sheet `plan`, cell B1: holds a formula without a stored result", id="head-formula"
        ),
        pytest.param("plan", [["plan", "a b"]], "sheet `plan`, cell B1, `plan`: `a b` is no id", id="head-judged"),
        pytest.param(
            "steps",
            [["step"], ["do"]],
            "sheet `steps`, row 1: there is no column for `what`; each row has the word",
            id="no-what",
        ),
        pytest.param(
            "steps",
            [["step", "what"], ["dew", "x"]],
            "sheet `steps`, cell A2: `dew` is no word of a step; known are `do`,",
            id="word",
        ),
        pytest.param(
            "steps",
            [["step", "what"], [None, "x"]],
            "sheet `steps`, row 2: the row has no word of a step; known are",
            id="wordless",
        ),
        pytest.param(
            "steps",
            [["step", "what", "sign"], ["do", "x", "lead"]],
            "sheet `steps`, cell C2: such a step has no `sign`; empty",
            id="field",
        ),
        pytest.param(
            "steps",
            [["step", "what"], ["do", "x", "y"]],
            "sheet `steps`, cell C2: this cell stands under no header; empty it",
            id="bare",
        ),
        pytest.param(
            "steps",
            [["step", "what", "zz"], ["do", "x", "y"]],
            "sheet `steps`, cell C1: `zz` is no column that we know",
            id="unknown",
        ),
        pytest.param(
            "steps",
            [["step", "what"], ["do", "=1"]],
            "sheet `steps`, cell B2: holds a formula without a stored result",
            id="formula",
        ),
        pytest.param(
            "steps",
            [["step", "what"], ["torque", "hubb"]],
            "sheet `steps`, cell B2, `steps[1].torque[1]`: the plan has no",
            id="joint",
        ),
        pytest.param(
            "steps",
            [["step", "what"], ["torque"]],
            "sheet `steps`, row 2, `steps[1].torque`: the step names no joint;",
            id="nothing",
        ),
        pytest.param(
            "steps",
            [["what", "step", "ask"], ["p", "hold point", "Ok?"]],
            "sheet `steps`, row 2, `steps[1].sign`: `sign` is",
            id="sign",
        ),
        pytest.param(
            "accepted", [["finding"], ["x"]], "sheet `accepted`, row 2, `accepted[1].reason`: `reason` is missing", id="reason"
        ),
    ],
)
def test_a_fault_in_another_sheet_is_shown_at_its_cell(book, sheet, rows, says):
    assert any(line.startswith(says) for line in told(book, {"joints": JOINTS, sheet: rows}))


def test_what_stands_beside_the_values_of_the_head_is_told(book):
    notes = book({"joints": JOINTS, "plan": [["title", "x", "do not ask"], ["source"]]})[1]

    assert "sheet `plan`, cell C1 is not read: `do not ask`" in notes
    assert any(note.startswith("`source` is `file bench.xlsx`") for note in notes)


def test_a_head_that_stands_in_two_places_is_one_or_refused(book):
    rows = [[*JOINTS[0], "title"], [*JOINTS[1], "Rear axle"]]

    assert book({"joints": rows, "plan": PLAN})[0].title == "Rear axle"
    rows[1][-1] = "Front axle"
    assert told(book, {"joints": rows, "plan": PLAN}) == [
        "cell G2: `Front axle` stands here and `Rear axle` in sheet `plan`, cell B3; keep one of them"
    ]


def test_remarks_have_no_place_beside_steps(book):
    rows = [[*JOINTS[0], "remarks"], [*JOINTS[1], "Clean it"]]
    sheets = {"joints": rows, "steps": [["step", "what"], ["torque", "hub"]]}

    assert told(book, sheets)[0].startswith("cell G2: the remarks have no place beside the sheet `steps`; write them there")
    assert len(book(sheets, ignored=["Remarks"])[0].steps) == 1


def test_formulas_with_results_and_hidden_digits_are_told(tmp_path, book):
    def shape(sheet):
        sheet["C2"], sheet["D2"] = "=2+3", 110.25

    told(book, {"joints": JOINTS}, shape)
    path = tmp_path / "bench.xlsx"
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    data = re.sub(rb"(<f>2\+3</f>)<v(?: ?/>|></v>)", rb"\1<v>5</v>", parts["xl/worksheets/sheet1.xml"])
    parts["xl/worksheets/sheet1.xml"] = data.replace(b"<v>110.25</v>", b"<v>110.25000000000001</v>")
    with zipfile.ZipFile(path, "w") as new:
        for name, part in parts.items():
            new.writestr(name, part)

    text = plan_bytes(str(path))

    joint = load_whole(text.data, "x").written.joints[0]
    assert (joint.fasteners, joint.torque) == (5, "110.25")
    assert text.notes[:2] == (
        "column C holds formulas (C2): their stored results are read",
        "column D has more digits than a spreadsheet shows (D2): 15 of them are read",
    )


def test_an_empty_sheet_of_steps_is_none(book):
    assert book({"joints": JOINTS, "steps": []})[0].steps is None


def test_the_only_sheet_is_that_of_the_joints_whatever_its_name(book):
    assert book({"plan": JOINTS})[0].joints[0].id == "hub"


def test_a_workbook_with_nothing_in_it_is_told(book):
    assert told(book, {"Sheet": []}) == ["row 1: the table is empty; it needs a header and a row for each joint"]


def test_a_plan_in_yaml_stands_as_it_is(tmp_path):
    (tmp_path / "plan.yaml").write_bytes(b"plan: x\n")
    text = plan_bytes(str(tmp_path / "plan.yaml"))
    error = PlanError("x", ())

    assert (text.data, text.notes, text.placed(error)) == (b"plan: x\n", (), error)
    with pytest.raises(Exception, match=re.escape("no.yaml: cannot be read (No such file or directory); name a plan file")):
        plan_bytes(str(tmp_path / "no.yaml"))


def _second_sheet(hidden):
    def shape(sheet):
        sheet.sheet_state = "hidden" if hidden else "visible"

    return shape


@pytest.mark.parametrize("hidden", [False, True], ids=["in-sight", "hidden"])
def test_a_second_sheet_of_joints_is_never_left_out_in_silence(book, hidden):
    two = {"Front": JOINTS, "Rear": [JOINTS[0], ["cap", *JOINTS[1][1:]]]}

    (said,) = told(book, two, _second_sheet(hidden))

    left, read_one = ("hidden sheet", "Rear") if hidden else ("sheet", "Front")
    assert said == (
        f"sheet `{'Front' if hidden else 'Rear'}`, row 1: this {left} holds joints, and so does `{read_one}`;"
        " bring them into one sheet, called joints"
    )


def test_a_sheet_that_is_called_joints_is_meant_and_the_others_are_told(book):
    plan, notes = book({"old": [["qty", "torque", "id"], [4, 95, "a"]], "joints": JOINTS}, _second_sheet(hidden=True))

    assert [joint.id for joint in plan.joints] == ["hub"]
    assert "hidden sheet `old` is not read" in notes


def test_a_hidden_sheet_is_no_plan_where_another_is_in_sight(book):
    plan, notes = book({"lists": [["words"], ["dry"]], "Axle": JOINTS}, _second_sheet(hidden=True))

    assert [joint.id for joint in plan.joints] == ["hub"]
    assert "hidden sheet `lists` is not read" in notes


def test_rows_that_a_spreadsheet_hides_are_read_and_told(book):
    def hide(sheet):
        for line in (3, 4):
            sheet.row_dimensions[line].hidden = True

    rows = [*JOINTS, ["cap", *JOINTS[1][1:]], ["pin", *JOINTS[1][1:]], ["end", *JOINTS[1][1:]]]
    plan, notes = book({"joints": rows}, hide)

    assert [joint.id for joint in plan.joints] == ["hub", "cap", "pin", "end"]
    assert "hidden rows are read like the others: 3, 4" in notes


def test_a_word_that_a_spreadsheet_wrote_with_a_capital_is_the_word():
    found = joint(
        "id,name,qty,torque,unit,tol,prep,order,nut,drag,wheel,stages,basis\n"
        "hub,Hub,5,110,N·m,8 %,Anti-Seize,Cross,Prevailing,Included,Yes,Snug 100,DRY\n"
    )

    assert (found.prep, found.order, found.nut, found.drag, found.wheel, found.stages, found.basis) == (
        "anti-seize", "cross", "prevailing", "included", "yes", ["snug", "100"], "dry",
    )  # fmt: skip


def test_a_free_text_keeps_its_capitals():
    assert joint("id,name,qty,torque,unit,tol,prep\nhub,Dry,5,110,N·m,8 %,Candle Wax\n").prep == "Candle Wax"
    assert joint("id,name,qty,torque,unit,tol,prep\nhub,Dry,5,110,N·m,8 %,Candle Wax\n").name == "Dry"
