"""A plan as it is read aloud: each part of a line is understood, or is named with what would be; nothing is guessed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.decode.plan_line import Spoken
from collector.decode.plan_part import UNDERSTOOD, WHEN, read_part, why_not
from collector.decode.plan_yaml import Draft, Entry, Said, write_plan
from schemas.errors import PlanError
from schemas.plan.columns import HEAD_COLUMNS
from schemas.plan.load import load_whole
from schemas.table import Place

HEAD = {"plan": "p", "title": "t", "revision": "1", "source": "s", "unit": "N·m", "tolerance": "8 %"}


def hear(*lines, spoken=None):
    """What the lines make, and what was said to each."""
    spoken = spoken or Spoken()
    return spoken, [spoken.add(line, Place(number, f"line {number}")) for number, line in enumerate(lines, 1)]


def plan_of(spoken):
    place = Place(0, "")
    head = Entry(place, tuple(Said(column, HEAD[column.name], place) for column in HEAD_COLUMNS if column.name in HEAD))
    return load_whole(write_plan(Draft(head, tuple(spoken.joints), spoken.steps())).data, "x").written


def plan(*lines):
    spoken, said = hear(*lines)
    assert [one.unclear for one in said if one.unclear] == []
    return plan_of(spoken)


def joint(line):
    (one,) = plan(line).joints
    return one.model_dump(exclude_unset=True, exclude={"id", "name", "fasteners", "torque", "unit", "thread"})


def steps(*lines):
    found = plan(*lines).steps
    return None if found is None else [step.model_dump(exclude_unset=True, by_alias=True) for step in found]


def unclear(*lines):
    return [what for one in hear(*lines)[1] for what in one.unclear]


def test_a_line_is_a_joint_that_is_left_loose_and_torqued_later():
    spoken, (said,) = hear("rear hanger, 4 x M12, 88 N·m, anti-seize, loose")

    found = plan_of(spoken)
    assert found.joints[0].model_dump(exclude_unset=True) == {
        "id": "rear-hanger", "name": "rear hanger", "fasteners": 4, "torque": "88", "unit": "N·m", "thread": "M12",
        "prep": "anti-seize",
    }  # fmt: skip
    assert [step.model_dump(exclude_unset=True) for step in found.steps] == [
        {"loose": ["rear-hanger"]},
        {"torque": ["rear-hanger"]},
    ]
    assert said.echo == (
        "rear-hanger = rear hanger: fasteners 4, torque 88 N·m, thread M12, prep anti-seize; left loose here, torqued later"
    )


@pytest.mark.parametrize(
    ("part", "fields"),
    [
        ("4 x M12x1.75", {"fasteners": "4", "thread": "M12x1.75"}),
        ("4×M12", {"fasteners": "4", "thread": "M12"}),
        ("12 x m 8 × 1.25", {"fasteners": "12", "thread": "M8x1.25"}),
        ("six 1/2-13", {"fasteners": "6", "thread": "1/2-13"}),
        ("Twelve 7/16-20 UNF bolts", {"fasteners": "12", "thread": "7/16-20 UNF"}),
        ("4 off M12", {"fasteners": "4", "thread": "M12"}),
        ("4 bolts M12", {"fasteners": "4", "thread": "M12"}),
        ("4 M12 bolts", {"fasteners": "4", "thread": "M12"}),
        ("4 x 1/2-13", {"fasteners": "4", "thread": "1/2-13"}),
        ("2 x #10-24", {"fasteners": "2", "thread": "#10-24"}),
        ("5 nuts", {"fasteners": "5"}),
        ("four", {"fasteners": "4"}),
        ("M14", {"thread": "M14"}),
        ("thread 3/8", {"thread": "3/8"}),
        ("88 N·m", {"torque": "88", "unit": "N·m"}),
        ("88Nm", {"torque": "88", "unit": "Nm"}),
        ("torque 65 lbf ft", {"torque": "65", "unit": "lbf ft"}),
        ("at 9.5 kgf·m", {"torque": "9.5", "unit": "kgf·m"}),
        ("88 to 96 N·m", {"low": "88", "high": "96", "unit": "N·m"}),
        ("88-96 N·m", {"low": "88", "high": "96", "unit": "N·m"}),
        ("not stated", {"torque": "not stated"}),
        ("±5 %", {"tolerance": "±5 %"}),
        ("8 %", {"tolerance": "8 %"}),
        ("8 percent", {"tolerance": "8 %"}),
        ("tolerance plus or minus 5 N·m", {"tolerance": "±5 N·m"}),
        ("+10 % -0 %", {"tolerance": "+10 % -0 %"}),
        ("8.8", {"grade": "8.8"}),
        ("class 10.9", {"grade": "10.9"}),
        ("Grade 5", {"grade": "grade 5"}),
        ("SAE grade 8", {"grade": "grade 8"}),
        ("class 8", {"grade": "class 8"}),
        ("A2 70", {"grade": "A2-70"}),
        ("Dry", {"prep": "dry"}),
        ("lightly oiled", {"prep": "oil"}),
        ("medium threadlocker", {"prep": "threadlocker medium"}),
        ("prep zinc paste", {"prep": "zinc paste"}),
        ("30/60/100", {"stages": ("30", "60", "100")}),
        ("snug 50 100", {"stages": ("snug", "50", "100")}),
        ("50 % then 100 %", {"stages": ("50", "100")}),
        ("in stages 50 100 100", {"stages": ("50", "100", "100")}),
        ("stages 100", {"stages": ("100",)}),
        ("cross", {"order": "cross"}),
        ("in line", {"order": "in line"}),
        ("order 1 3 2 4", {"order": ("1", "3", "2", "4")}),
        ("prevailing nut", {"nut": "prevailing"}),
        ("drag 4 N·m", {"drag": "4 N·m"}),
        ("wheel", {"wheel": "yes"}),
        ("critical", {"critical": "yes"}),
        ("left hand thread", {"hand": "left"}),
        ("left and right", {"mirror": "left/right"}),
        ("mirror left/right", {"mirror": "left/right"}),
        ("19 mm socket", {"socket": "19 mm"}),
        ("socket 3/4 in", {"socket": "3/4 in"}),
        ("1-1/8 inch socket", {"socket": "1-1/8 inch"}),
        ("hold head 18 mm", {"counter_hold": "head 18 mm"}),
        ("counter-hold the bolt head 22 mm", {"counter_hold": "bolt head 22 mm"}),
        ("new each time", {"hardware": "new each time"}),
        ("then 90 degrees", {"then_angle": "90"}),
        ("plus 90° ± 10°", {"then_angle": "90", "angle_tolerance": "10"}),
        ("work within 10 min", {"work_within": "10 min"}),
        ("Cure: 24 h", {"cure": "24 h"}),
        ("seen from the rear", {"seen_from": "the rear"}),
        ("wrench W-140", {"wrench": ("W-140",)}),
        ("adapter length 50 mm", {"adapter length": "50 mm"}),
        ("loose", {WHEN: "loose"}),
        ("later.", {WHEN: "later"}),
    ],
)  # fmt: skip
def test_a_part_is_the_fields_that_a_person_means(part, fields):
    assert read_part(part) == fields


@pytest.mark.parametrize(
    "part",
    [
        "88",
        "4",
        "4 1/2-13 x",
        "88 kg",
        "19 mm",
        "foo",
        "cure",
        "50 60",
        "100",
        "then soon",
        "1.5.2",
        "Nm",
    ],
)
def test_a_part_that_is_not_certain_is_not_understood(part):
    assert read_part(part) is None
    assert why_not(part).isprintable()


def test_four_and_a_half_inches_are_not_taken_for_four_of_a_half():
    assert read_part("4 1/2-13") == {"thread": "4 1/2-13"}
    assert unclear("hub, 4 1/2-13, 88 N·m") == [
        "how many fasteners are there? write it with the thread, as 4 x M12, or as 4 bolts"
    ]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        pytest.param("hub, 8 x M10, 88", "`88` is a number alone; write 88 N·m, 88 %, or 88 x and the thread", id="number"),
        pytest.param(
            "hub, 8 x M10, 88 kg", "`88 kg` is not understood: unit `kg` is a mass, not a torque; write a unit of", id="mass"
        ),
        pytest.param("hub, 8 x M10, 88 quux", f"`88 quux` is not understood; a part says {UNDERSTOOD}", id="no-unit"),
        pytest.param(
            "hub, 8 x M10, 88 N·m, prevaling nut", "`prevaling nut` is not understood; did you mean `prevailing nut`?", id="near"
        ),
        pytest.param(
            "hub, 8 x M10, 1,5 N·m", "`1,5` can be 1.5 or two parts; write 1.5, or a space behind a comma that parts", id="comma"
        ),
        pytest.param("hub,8 x M10,1.5 N·m", "`10,1` can be 10.1 or two parts; write 10.1, or a space", id="no-space"),
        pytest.param("hub, 8 x M10, 88 N·m, 90 N·m", "`88 N·m` and `90 N·m` both state torque; keep one", id="twice"),
        pytest.param(
            "hub, 8 x M10, 88 N·m, 80 to 90 N·m", "`88 N·m` and `80 to 90 N·m` both state unit; keep one", id="both-forms"
        ),
        pytest.param(
            "hub, 8 x M10, 80 to 90 N·m, not stated",
            "the torque stands twice, alone and with two edges; keep one",
            id="not-stated",
        ),
        pytest.param(
            "hub, 8 x M10", "what is the torque? write it with its unit, as 88 N·m or 88 to 96 N·m, or `not stated`", id="torque"
        ),
        pytest.param(
            "hub, 88 N·m, M8", "how many fasteners are there? write it with the thread, as 4 x M12, or as 4 bolts", id="count"
        ),
        pytest.param(
            "8 x M10, 88 N·m", "the line begins with `8 x M10`; begin with the joint's name, then a comma", id="no-name"
        ),
        pytest.param(", 8 x M10, 88 N·m", "the line begins with ``; begin with the joint's name, then a comma", id="empty-name"),
        pytest.param("hub; 8 x M10; 88 N·m", "how many fasteners are there?", id="semicolons"),
    ],
)
def test_what_is_not_understood_is_one_clear_line_and_nothing_is_kept(line, says):
    spoken, (said,) = hear(line)

    assert said.unclear[0].startswith(says)
    assert said.echo == ""
    assert spoken.is_empty


def test_every_part_that_is_not_understood_is_named():
    assert len(unclear("hub, 8 x M10, 88, foo, bar")) == 3


@pytest.mark.parametrize(
    ("line", "name", "made"),
    [
        pytest.param(
            '"Spring U-bolt nuts, left", 4 x M14, 95 N·m', "Spring U-bolt nuts, left", "spring-u-bolt-nuts-left", id="quoted"
        ),
        pytest.param("“Hub, 1,5 t axle”, 4 x M14, 95 N·m", "Hub, 1,5 t axle", "hub-1-5-t-axle", id="decimal-comma-in-a-name"),
        pytest.param("U-bolt nuts, left, rear, 4 x M14, 95 N·m", "U-bolt nuts, left, rear", "u-bolt-nuts-left-rear", id="sides"),
        pytest.param("wheel  nuts, 5 x M12, 110 N·m", "wheel nuts", "wheel-nuts", id="begins-like-a-field"),
        pytest.param("ציר אחורי, 4 x M14, 95 N·m", "ציר אחורי", "ציר-אחורי", id="right-to-left"),
        pytest.param('5/8" hanger \\ 2, 4 x M14, 95 N·m', '5/8" hanger \\ 2', "5-8-hanger-2", id="inch-mark"),
        pytest.param("hub, id H-1, 4 x M14, 95 N·m", "hub", "H-1", id="id-stated"),
    ],
)
def test_the_name_comes_first_and_the_id_is_made_of_it(line, name, made):
    (one,) = plan(line).joints

    assert (one.name, one.id) == (name, made)


def test_an_id_that_is_taken_is_numbered():
    found = plan("hub, 4 x M8, 9 N·m", "hub, 4 x M10, 40 N·m", "Hub!, 4 x M12, 80 N·m")

    assert [one.id for one in found.joints] == ["hub", "hub-2", "hub-3"]


def test_a_step_means_the_very_id_or_name_and_what_can_be_two_joints_is_asked():
    lines = ("Hub left, 4 x M12, 88 N·m, later", "hub/left, 4 x M12, 88 N·m, later")

    assert [step["torque"] for step in steps(*lines, "torque: hub/left")] == [["hub-left-2"], ["hub-left"]]
    assert [step["torque"] for step in steps(*lines, "torque: hub-left-2")] == [["hub-left-2"], ["hub-left"]]
    assert unclear(*lines, "torque: HUB LEFT") == ["`HUB LEFT` can be `hub-left` or `hub-left-2`; write its id"]
    (said,) = unclear("!!!, 4 x M12, 88 N·m, later", "torque: ???")
    assert said == "nothing before this line is called `???`; known here: `joint`"


def test_joints_that_are_only_torqued_in_turn_need_no_steps():
    assert steps("hub, 4 x M8, 9 N·m", "# a comment", "", "cap, 4 x M10, 40 N·m") is None


def test_all_that_a_joint_can_be_is_judged_by_the_model_as_it_stands():
    line = (
        "hub, six 1/2-13, 65 N·m, ±5 %, grade 5, dry, basis as prepared, snug 50 100, cross, start 2, prevailing nut,"
        " drag included, new each time, hold head 3/4 in, 3/4 in socket, turn the nut, left hand thread, critical, wheel,"
        " no paint, reopen joint, left and right, seen from outside, circle, wrench W-140, adapter length 50 mm, adapter angle 0"
    )

    assert joint(line) == {
        "tolerance": "±5 %", "grade": "grade 5", "prep": "dry", "basis": "as prepared", "stages": ["snug", "50", "100"],
        "order": "cross", "start": [2], "nut": "prevailing", "drag": "included", "hardware": "new each time",
        "counter_hold": "head 3/4 in", "socket": "3/4 in", "turn": "nut", "hand": "left", "critical": "yes", "wheel": "yes",
        "mark": "none", "reopen": "joint", "mirror": "left/right", "seen_from": "outside", "pattern": "circle",
        "wrench": ["W-140"], "adapter": {"length": "50 mm", "angle": "0"},
    }  # fmt: skip


def test_lines_with_the_word_of_a_step_are_steps_in_their_place():
    lines = (
        "caution: Chock the wheels, both",
        "hub, 4 x M8, 9 N·m, loose",
        "cap, 4 x M8, 9 N·m, later",
        "Wheel nuts, left and right, 5 x M12, 110 N·m",
        "DO : Lower it",
        "hold point: Loaded to ride height, axle centred; signed by the lead",
        "torque: hub and cap after loaded to ride height axle centred, wheel nuts",
        "open: hub, as found",
        "torque: hub",
        "recheck: Cap",
        "retorque: wheel-nuts, 40 to 80 km, do not slacken",
    )
    point = "loaded-to-ride-height-axle-centred"

    assert steps(*lines) == [
        {"caution": "Chock the wheels, both"},
        {"loose": ["hub"]},
        {"torque": ["wheel-nuts"]},
        {"do": "Lower it"},
        {"hold point": point, "ask": "Loaded to ride height, axle centred", "sign": "lead"},
        {"torque": ["hub", "cap"], "after": [point, "wheel-nuts"]},
        {"open": ["hub"], "as_found": "yes"},
        {"torque": ["hub"]},
        {"recheck": ["cap"]},
        {"retorque": ["wheel-nuts"], "from": "40 km", "method": "do not slacken", "to": "80 km"},
    ]
    echoes = [said.echo for said in hear(*lines)[1]]
    assert echoes[4:7] == [
        "do: Lower it",
        f"hold point: {point} (ask Loaded to ride height, axle centred, sign lead)",
        f"torque: hub cap (after {point} wheel-nuts)",
    ]


def test_what_was_opened_is_torqued_again_at_the_end_where_no_line_says_so():
    assert steps("hub, 4 x M8, 9 N·m", "open: hub") == [{"torque": ["hub"]}, {"open": ["hub"]}, {"torque": ["hub"]}]


def test_a_joint_may_be_fitted_in_parts():
    assert steps("hub, 4 x M8, 9 N·m, later", "fit: hub, positions 1 2", "fit: hub, positions: 3/4") == [
        {"fit": ["hub"], "positions": [1, 2]}, {"fit": ["hub"], "positions": [3, 4]}, {"torque": ["hub"]},
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "ask", "sign"),
    [
        ("Axle centred?", "Axle centred?", "fitter"),
        ("Axle centred, lead", "Axle centred", "lead"),
        ("Axle centred, second person signs", "Axle centred", "second person"),
        ("Axle centred sign fitter", "Axle centred", "fitter"),
        ("???", "???", "fitter"),
    ],
)
def test_a_hold_point_is_a_question_and_who_signs(text, ask, sign):
    found = steps("hub, 4 x M8, 9 N·m", f"hold point: {text}")[1]

    assert (found["ask"], found["sign"]) == (ask, sign)


def test_the_span_of_a_retorque_may_be_open_or_have_its_unit_once():
    lines = (
        "hub, 4 x M8, 9 N·m",
        "retorque: hub, after 50 km",
        "retorque: hub, from 24 h to 2 days",
        "retorque: hub, 40-80 km, back off a turn",
    )

    assert steps(*lines)[1:] == [
        {"retorque": ["hub"], "from": "50 km"},
        {"retorque": ["hub"], "from": "24 h", "to": "2 days"},
        {"retorque": ["hub"], "from": "40 km", "to": "80 km", "method": "back off a turn"},
    ]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        pytest.param("do:", "nothing stands behind `do:`; write what, or which joints", id="nothing"),
        pytest.param("torque: hubb", "nothing before this line is called `hubb`; did you mean `hub`?", id="unknown"),
        pytest.param("torque: hub, zz and qq", "nothing before this line is called `zz`; known here: `hub`", id="one-of-several"),
        pytest.param("torque: hub after noon", "nothing before this line is called `noon`; known here: `hub`", id="after"),
        pytest.param("torque: hub", "`hub` is torqued where its line stands; say `later` there, or `open:` it", id="again"),
        pytest.param(
            "retorque: hub", "from when on is it retorqued? write it behind the joints, as 40 km to 80 km, or 24 h", id="when"
        ),
        pytest.param("retorque: hub, 40", "nothing before this line is called `40`", id="no-unit"),
        pytest.param("fit: hub", "which of them are put in? write it behind the joint, as positions 5 6", id="positions"),
    ],
)
def test_a_step_that_is_not_understood_is_one_clear_line(line, says):
    spoken, said = hear("hub, 4 x M8, 9 N·m", line)

    assert any(what.startswith(says) for what in said[1].unclear)
    assert spoken.steps(whole=True) == spoken.copy().steps(whole=True) != ()


def test_a_joint_with_commas_in_its_name_is_found_by_its_whole_name():
    assert steps('"Hub, left", 4 x M8, 9 N·m, later', "torque: Hub, left") == [{"torque": ["hub-left"]}]


def test_a_copy_goes_on_by_itself():
    spoken, _ = hear("hub, 4 x M8, 9 N·m, loose")
    copy = spoken.copy()
    copy.add("cap, 4 x M8, 9 N·m", Place(2, ""))
    copy.add("torque: hub", Place(3, ""))

    assert [len(one.joints) for one in (spoken, copy)] == [1, 2]
    assert len(spoken.steps()) == 2


WORDS = [
    "hub",
    "4 x M8",
    "9 N·m",
    "88",
    "loose",
    "torque:",
    "hold point:",
    "fit:",
    "retorque:",
    ",",
    "1,5",
    '"',
    " and ",
    "after",
    "½",
    "/",
]


@given(st.lists(st.one_of(st.sampled_from(WORDS), st.text(max_size=6)), max_size=9))
def test_any_line_is_kept_or_told_in_printable_lines(words):
    spoken, said = hear("base, 4 x M8, 9 N·m", " ".join(words).replace("\n", " "))

    assert said[1].unclear == () or said[1].echo == ""
    assert all(what.isprintable() for what in said[1].unclear)
    try:
        plan_of(spoken)
    except PlanError as error:
        assert error.faults  # noqa: PT017  # either way of ending is right, but no other
