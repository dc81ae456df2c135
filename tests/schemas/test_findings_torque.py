"""A torque that cannot be meant for its thread, grade and preparation is found from the joint alone; published ones are not."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from schemas.findings.check import Checked

Check = Callable[..., Checked]

# 75 % of the proof load by T = K d F at K 0.20 and 0.15, N·m: computed outside of this project.
PLAUSIBLE = {
    ("M5x0.8", "8.8"): ("6.2", "4.6"), ("M6x1", "8.8"): ("10.5", "7.9"), ("M8x1.25", "8.8"): ("25.5", "19.1"),
    ("M8x1.25", "10.9"): ("36.5", "27.3"), ("M10x1.5", "10.9"): ("72.2", "54.1"), ("M12x1.75", "8.8"): ("88.0", "66.0"),
    ("M12x1.25", "12.9"): ("160.8", "120.6"), ("M16x2", "8.8"): ("218.1", "163.6"), ("M18x2.5", "8.8"): ("311.8", "233.9"),
    ("M20x2.5", "8.8"): ("440.6", "330.5"), ("M22x1.5", "10.9"): ("912.2", "684.2"), ("M24x3", "12.9"): ("1230.9", "923.2"),
}  # fmt: skip
# lbf·ft, clean and dry, SAE grades 5 and 8: TM 10-6640-238-13, Table G-1 (read).
US_ARMY = {
    "1/4-20": (8, 12), "1/4-28": (10, 14), "5/16-18": (17, 24), "5/16-24": (19, 27), "3/8-16": (31, 44), "3/8-24": (35, 49),
    "7/16-14": (49, 70), "7/16-20": (55, 78), "1/2-13": (75, 105), "1/2-20": (85, 120), "9/16-12": (110, 155),
    "9/16-18": (120, 170), "5/8-11": (150, 210), "5/8-18": (170, 240), "3/4-10": (270, 375), "3/4-16": (295, 420),
    "7/8-9": (395, 605), "7/8-14": (435, 675), "1-8": (590, 910), "1-14": (660, 990),
}  # fmt: skip
# lbf·in, dry and lubricated, SAE grade 8: MSFC-STD-486B, Table I (read).
MSFC = {
    "1/4-20": (102, 90), "5/16-18": (225, 198), "3/8-16": (375, 330), "7/16-14": (610, 540), "1/2-13": (905, 790),
    "9/16-12": (1344, 1080), "5/8-11": (1836, 1620), "3/4-10": (3000, 2640), "7/8-9": (4800, 4200), "1-8": (7236, 6360),
}  # fmt: skip
# lbf·in, tension nut, the upper recommended value: FAA AC 43.13-1B, Table 7-1 (read on a public copy).
FAA = {
    "1/4-28": 70, "5/16-24": 140, "3/8-24": 190, "7/16-20": 500, "1/2-20": 690, "9/16-18": 1000, "5/8-18": 1300, "3/4-16": 2500,
    "7/8-14": 3000, "1-14": 5500, "1/4-20": 50, "5/16-18": 90, "3/8-16": 185, "7/16-14": 255, "1/2-13": 480, "9/16-12": 700,
    "5/8-11": 900, "3/4-10": 1600, "7/8-9": 3000,
}  # fmt: skip
PUBLISHED = [
    *((thread, grade, "dry", dry, "N·m") for (thread, grade), (dry, _) in PLAUSIBLE.items()),
    *((thread, grade, "oil", lubricated, "N·m") for (thread, grade), (_, lubricated) in PLAUSIBLE.items()),
    *((thread, "grade 5", "dry", value, "lbf·ft") for thread, (value, _) in US_ARMY.items()),
    *((thread, "grade 8", "dry", value, "lbf·ft") for thread, (_, value) in US_ARMY.items()),
    *((thread, "grade 8", "dry", dry, "lbf·in") for thread, (dry, _) in MSFC.items()),
    *((thread, "grade 8", "oil", wet, "lbf·in") for thread, (_, wet) in MSFC.items()),
]


def joint(thread: str, grade: str, prep: str, torque: object, unit: str, number: int = 1) -> str:
    return f'id: j{number}, torque: {torque}, unit: {unit}, thread: {thread}, grade: "{grade}", prep: {prep}'


def strange(checked: Checked) -> list[tuple[str, str | None]]:
    return [(found.id, found.joint) for found in checked.open if found.id in ("over-proof-load", "far-below-usual")]


def test_published_torques_are_plausible(check: Check) -> None:
    assert strange(check(*(joint(*row, number=number) for number, row in enumerate(PUBLISHED)))) == []


def test_the_lowest_published_torques_are_never_over_proof(check: Check) -> None:
    joints = (joint(thread, "grade 5", "dry", torque, "lbf·in", number) for number, (thread, torque) in enumerate(FAA.items()))

    assert strange(check(*joints)) == []


@pytest.mark.parametrize(
    ("factor", "found"),
    [pytest.param(10, "over-proof-load", id="ten-times"), pytest.param("0.1", "far-below-usual", id="a-tenth")],
)
def test_a_slipped_decimal_point_is_found_from_the_joint_alone(check: Check, factor: object, found: str) -> None:
    for row in PUBLISHED:
        thread, grade, prep, torque, unit = row
        slipped = Decimal(str(torque)) * Decimal(str(factor))
        assert strange(check(joint(thread, grade, prep, slipped, unit))) == [(found, "j1")], row


@pytest.mark.parametrize("unit", ["lbf·in", "kgf·m"])
def test_a_unit_about_ten_times_off_is_found_from_the_joint_alone(check: Check, unit: str) -> None:
    for thread, grade in PLAUSIBLE:
        assert len(strange(check(joint(thread, grade, "dry", PLAUSIBLE[thread, grade][0], unit)))) == 1


def test_the_text_says_how_much_with_which_k_and_what_would_be_usual(check: Check) -> None:
    # Worked by hand from T = K d F: M8x1.25 has 36.61 mm², class 8.8 580 MPa, so 21.23 kN; at K 0.16 that is 27.2 N·m, at 0.30
    # 51.0 N·m; 250 N·m are 920 and 490 % of the proof load.
    [found] = check(joint("M8x1.25", "8.8", "dry", 250, "N·m")).open

    assert found.what == (
        "250 N·m on M8x1.25, class 8.8, dry, gives 491 to 920 % of the proof load, with K from 0.30 to 0.16; 75 % of it takes "
        "20.4 to 38.2 N·m; 250 lbf·in or 25 N·m would be usual"
    )
    assert (found.level, found.line) == ("warning", 8)
    assert "the maker's value rules" in found.remedy
    assert "not joint design" in found.why


def test_a_torque_that_nothing_explains_gets_no_hint(check: Check) -> None:
    for torque in (100000, 90):
        # 90 lbf·in are 10.2 N·m: plausible, but no more than 37 % of the proof load.
        [found] = check(joint("M8x1.25", "8.8", "dry", torque, "N·m")).open
        assert "would be usual" not in found.what


def test_edges_are_judged_by_their_middle_and_told_as_edges(check: Check) -> None:
    assert strange(check('id: a, low: 20, high: 30, thread: M8, grade: "8.8"')) == []
    [found] = check('id: a, low: 200, high: 300, thread: M8, grade: "8.8"').open
    assert found.what.startswith("200 to 300 N·m on M8x1.25, class 8.8, preparation not stated, gives")


def test_a_drag_that_is_added_does_not_stretch_the_fastener(check: Check) -> None:
    # 33 N·m is above 1.1 times the 27.2 N·m at the lowest K, 25 N·m is not.
    text = 'id: a, torque: 25, thread: M8, grade: "8.8", prep: dry, nut: prevailing, drag: 8 N·m'

    assert strange(check(text, head="small_drag: add\n")) == []
    assert strange(check(text.replace("torque: 25", "torque: 33"), head="small_drag: add\n")) == [("over-proof-load", "a")]


def test_wetness_lowers_what_a_thread_stands(check: Check) -> None:
    # M8 8.8, 25 N·m: 0.736 of proof at K 0.20 and 1.226 at 0.12 (computed outside of this project).
    assert strange(check(joint("M8x1.25", "8.8", "dry", 25, "N·m"))) == []
    assert strange(check(joint("M8x1.25", "8.8", "anti-seize", 25, "N·m"))) == [("over-proof-load", "j1")]


def test_a_shops_own_k_goes_before_ours_and_can_stand_for_a_free_text(check: Check) -> None:
    oiled = joint("M8x1.25", "8.8", "oil", 25, "N·m")
    waxed = joint("M8x1.25", "8.8", "wax", 25, "N·m")

    assert strange(check(oiled)) == []
    assert strange(check(oiled, k={"oil": "0.08 to 0.12"})) == [("over-proof-load", "j1")]
    assert strange(check(waxed, k={"wax": "0.08 to 0.12"})) == [("over-proof-load", "j1")]
    with pytest.raises(ValueError, match="no range of K"):
        check(oiled, k={"oil": "slippery"})


def test_a_torque_that_only_begins_an_angle_may_be_low_but_not_high(check: Check) -> None:
    low = 'id: a, torque: 3, thread: M8, grade: "10.9", then_angle: 90, angle_tolerance: 10, hardware: new'
    checked = check(low)

    assert strange(checked) == []
    assert any("preload after a turn by an angle, a" in line for line in checked.not_checked)
    assert strange(check(low.replace("torque: 3", "torque: 300"))) == [("over-proof-load", "a")]


@pytest.mark.parametrize(
    "thread", [pytest.param("M8x1.4", id="pitch"), pytest.param("M13", id="diameter"), pytest.param("1/2-12", id="unified")]
)
def test_a_thread_that_there_is_not_is_an_error_with_those_that_there_are(check: Check, thread: str) -> None:
    [found] = check(f"id: a, torque: 20, thread: {thread}").open

    assert (found.id, found.level, found.joint, found.line) == ("unknown-thread", "error", "a", 8)
    assert thread in found.what
    assert "write " in found.remedy


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        pytest.param('torque: 20, grade: "8.8"', "`thread` is not stated", id="no-thread"),
        pytest.param('torque: 20, thread: 7/16, grade: "8.8"', "thread `7/16` leaves the pitch open", id="no-pitch"),
        pytest.param("torque: 20, thread: M8", "`grade` is not stated", id="no-grade"),
        pytest.param("torque: 20, thread: M8, grade: A2-70", "grade `A2-70` is none that we know", id="unknown-grade"),
        pytest.param("torque: 20, thread: M8, grade: grade 5", "SAE grade 5 does not cover M8x1.25", id="another-standard"),
        pytest.param('torque: 20, thread: M8, grade: "8.8", prep: honey', "no K is known for prep `honey`", id="free-text"),
        pytest.param('torque: "not stated", thread: M8, grade: "8.8"', "no torque is stated", id="no-torque"),
    ],
)
def test_what_could_not_be_checked_is_said_and_is_no_finding(check: Check, fields: str, said: str) -> None:
    checked = check(f"id: a, {fields}")

    assert checked.findings == ()
    [line] = [line for line in checked.not_checked if line.startswith("torque against the strength of the thread, a: ")]
    assert said in line
