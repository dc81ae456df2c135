"""The lines of the terminal say what is so, and nothing that a plan or a wrench wrote can do more than be read."""

from dataclasses import replace
from decimal import Decimal

import pytest

from collector.cli import wording
from schemas.route import Adapter, AngleBand, Band, Joint, Stage
from schemas.screen import Ask, AskWord, JointRow, Last, Screen, Target
from schemas.words import Kind, Proof, Role, StageWord, Verdict


def band(low: str, target: str, high: str, *, closed: bool = True) -> Band:
    low_d, target_d, high_d = Decimal(low), Decimal(target), Decimal(high)
    return Band(low_d, target_d, high_d, low_d, target_d, high_d, closed)


STAGES = (
    Stage(1, Decimal(50), band("42.75", "47.5", "85.5", closed=False)),
    Stage(2, Decimal(100), band("85.5", "95", "104.5")),
)
JOINT = Joint("u-bolts-left", "Spring U-bolt nuts, left", 4, STAGES, (1, 3, 2, 4), "cross", "N·m")
ROW = JointRow(1, "u-bolts-left", "Spring U-bolt nuts, left", 4, 2, 0, Proof.MISSED, confirmed=False, left_loose=False)
PULL = Last("in band", "a line", 1, Kind.TIGHTENING, Verdict.IN_BAND, torque="95.2", unit="N·m", torque_shown="95.2 N·m")
SCREEN = Screen("J", "Box trailer", False, None, None, None, (ROW,), (), "port open", True)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        pytest.param("two\nlines\tand\x00more", "two lines and more", id="control"),
        pytest.param("\x1b[2Jgone", "[2Jgone", id="escape-sequence"),
        pytest.param("a\u202eb\u2066c", "a b c", id="writing-direction"),
        pytest.param("a\u2028b", "a b", id="line-separator"),
        pytest.param("a\udc80b", "a b", id="lone-surrogate"),
        pytest.param("[red]95[/red] N·m ±5", "[red]95[/red] N·m ±5", id="markup-is-text"),
    ],
)
def test_text_of_unknown_origin_is_one_harmless_line(text, shown):
    assert wording.plain(text) == shown


@pytest.mark.parametrize(
    ("last", "headline"),
    [
        pytest.param(PULL, "● IN BAND  95.2 N·m", id="in-band"),
        pytest.param(replace(PULL, word="under", verdict=Verdict.UNDER), "▼ UNDER  95.2 N·m", id="under"),
        pytest.param(replace(PULL, word="over", verdict=Verdict.OVER, stop=True), "▲ OVER  95.2 N·m", id="over"),
        pytest.param(replace(PULL, word="marginal", verdict=Verdict.MARGINAL), "◆ MARGINAL  95.2 N·m", id="marginal"),
        pytest.param(replace(PULL, word="repeat", kind=Kind.REPEAT), "◎ REPEAT, IN BAND  95.2 N·m", id="repeat"),
        pytest.param(
            replace(PULL, word="recheck", kind=Kind.RECHECK, verdict=Verdict.OVER, stop=True),
            "▲ RECHECK, OVER  95.2 N·m",
            id="over-whatever-its-kind",
        ),
        pytest.param(replace(PULL, word="stray", kind=Kind.STRAY, verdict=None), "✕ STRAY  95.2 N·m", id="stray"),
        pytest.param(Last("unreadable", "checksum"), "? UNREADABLE", id="no-value"),
    ],
)
def test_a_headline_has_shape_word_and_torque(last, headline):
    assert wording.last_headline(last) == headline


def test_where_the_text_is_only_to_stop_the_fastener_is_named_instead():
    stop = Last("over", "STOP: ask the lead", joint_name="Hub\nnuts", stage=2, position=3, stop=True)

    assert wording.last_text(stop) == "Hub nuts, position 3, stage 2"
    assert wording.last_text(replace(stop, text="Hub nuts: over")) == "Hub nuts: over"
    assert wording.last_text(replace(stop, joint_name=None)) == "STOP: ask the lead"


def test_every_verdict_and_kind_has_a_shape_of_its_own():
    verdicts = [wording.shape(replace(PULL, verdict=verdict)) for verdict in Verdict]
    kinds = [wording.shape(replace(PULL, kind=kind)) for kind in Kind if kind is not Kind.TIGHTENING]
    none = wording.shape(Last("set aside", ""))

    assert len({*verdicts, *kinds, none}) == len(verdicts) + len(kinds) + 1


@pytest.mark.parametrize(
    ("torque", "unit", "shown", "text"),
    [
        pytest.param("70.1", "lbf·ft", "95.04 N·m", "95.04 N·m (sent: 70.1 lbf·ft)", id="both-units"),
        pytest.param("95.2", "N·m", "95.2 N·m", "95.2 N·m", id="said-once"),
        pytest.param("70.1", "lbf·ft", "95.04", "70.1 lbf·ft", id="digits-without-a-unit-are-not-shown"),
        pytest.param("70.1", "lbf·ft", None, "70.1 lbf·ft", id="as-sent"),
        pytest.param(None, None, "95 N·m", "95 N·m", id="only-shown"),
        pytest.param(None, None, None, "", id="none"),
    ],
)
def test_a_torque_never_stands_without_its_unit(torque, unit, shown, text):
    assert wording.last_torque(replace(PULL, torque=torque, unit=unit, torque_shown=shown)) == text


@pytest.mark.parametrize(
    ("ask", "line"),
    [
        pytest.param(Ask(AskWord.STRIPES, "Stripes: 4 of 4?"), "Stripes: 4 of 4? Enter = yes, n = no", id="fitter"),
        pytest.param(Ask(AskWord.SNUG, "Snug? Enter = yes"), "Snug? Enter = yes", id="names-its-keys-itself"),
        pytest.param(
            Ask(AskWord.HOLD_POINT, "Axle centred?", Role.SECOND_PERSON),
            "Axle centred? For the second person: Enter, then the name; n = no",
            id="somebody-else",
        ),
        pytest.param(
            Ask(AskWord.HOLD_POINT, "Gap?", Role.LEAD, value_in="mm"),
            "Gap? For the lead: Enter, then the value in mm, then the name; n = no",
            id="a-value-and-a-name",
        ),
        pytest.param(
            Ask(AskWord.DRAG, "Drag?", value_in="N·m"), "Drag? Enter, then the value in N·m, n = no", id="a-value-alone"
        ),
        pytest.param(
            Ask(AskWord.FASTENER, "On fastener 3 of 5?"),
            "On fastener 3 of 5? Enter = yes, else its number and Enter; n = not known",
            id="which-fastener",
        ),
        pytest.param(
            Ask(AskWord.PREPARED, "Oil on all 4?"), "Oil on all 4? Enter = yes, l = yes with the lot, n = no", id="with-a-lot"
        ),
    ],
)
def test_a_question_names_the_keys_that_answer_it(ask, line):
    assert wording.ask_line(ask) == line


def test_the_place_says_fastener_stage_share_and_order():
    assert wording.place(Target(JOINT, STAGES[0], 3, 1, STAGES[0].band)) == "fastener 3 of 4 · stage 1 of 2 (50 %) · order cross"


def test_a_round_that_is_gone_again_a_check_and_an_angle_say_so():
    full = STAGES[1]
    again = replace(full, number=3)
    edges = AngleBand(*map(Decimal, (80, 90, 100)))
    check, angle = replace(full, word=StageWord.RECHECK), replace(full, word=StageWord.ANGLE, angle=edges)
    joint = replace(JOINT, stages=(*STAGES, again))

    assert "stage 3 of 3 (100 %, again)" in wording.place(Target(joint, again, 1, 1, again.band))
    assert "(recheck)" in wording.place(Target(JOINT, check, 1, 1, check.band))
    assert wording.aim_text(Target(JOINT, full, 1, 1, full.band)) == ("95 N·m", "85.5 to 104.5 N·m")
    assert wording.aim_text(Target(JOINT, check, 1, 1, check.band)) == ("hold 95 N·m", "85.5 to 104.5 N·m")
    assert wording.aim_text(Target(JOINT, angle, 1, 1, angle.band)) == ("turn 90°", "80 to 100°")


def test_a_drag_that_was_measured_moves_what_is_to_be_reached():
    moved = replace(STAGES[1].band, low=Decimal("89.5"), target=Decimal(99), high=Decimal("108.5"))

    assert wording.aim_text(Target(JOINT, STAGES[1], 1, 1, moved)) == ("99 N·m", "89.5 to 108.5 N·m")


def test_an_edge_that_is_over_already_reads_under():
    assert wording.band_text(STAGES[0].band, "N·m") == ("47.5 N·m", "42.75 to under 85.5 N·m")
    assert wording.band_text(STAGES[1].band, "N·m") == ("95 N·m", "85.5 to 104.5 N·m")


def test_what_the_plan_does_not_state_is_left_out():
    full = replace(
        JOINT, wrenches=("W-140", "W-200"), adapter=Adapter(Decimal(50), Decimal(45)), socket="22 mm", counter_hold="bolt head",
        thread="M14x2", grade="8.8", prep="dry", basis="dry", nut="prevailing", drag="included", hardware="new", turn="nut",
        left_hand=True, mark=False, critical=True,
    )  # fmt: skip

    assert wording.fitting(JOINT) == ("wrench any registered",)
    assert wording.fitting(replace(JOINT, grade="grade 5"))[1] == "grade 5"
    assert wording.fitting(full) == (
        "wrench W-140 or W-200", "adapter 50 mm at 45°", "socket 22 mm", "turn the nut", "LEFT-HAND THREAD",
        "counter-hold bolt head", "thread M14x2", "grade 8.8", "preparation dry", "torque for dry threads", "nut prevailing",
        "drag included", "hardware new", "no paint", "a second person signs",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("row", "ended", "state"),
    [
        pytest.param(ROW, False, "to do", id="not-reached-yet"),
        pytest.param(ROW, True, "missed", id="missed-at-the-end"),
        pytest.param(replace(ROW, done=4), False, "missed", id="all-done-and-still-missed"),
        pytest.param(replace(ROW, done=4, proof=Proof.PROVEN, confirmed=True), False, "proven, striped", id="proven"),
        pytest.param(replace(ROW, proof=Proof.FAILED, failed=2), False, "2 failed", id="failed"),
        pytest.param(replace(ROW, failed=1), False, "to do, 1 failed", id="failed-and-to-do"),
        pytest.param(replace(ROW, proof=Proof.LEFT_LOOSE, left_loose=True), False, "left loose", id="loose-said-once"),
        pytest.param(replace(ROW, left_loose=True), False, "to do, loose", id="loose"),
    ],
)
def test_the_state_of_a_joint_in_words(row, ended, state):
    assert wording.row_state(row, ended) == state


@pytest.mark.parametrize(
    ("screen", "line"),
    [
        pytest.param(SCREEN, "Nothing left to pull", id="done"),
        pytest.param(
            replace(SCREEN, ask=Ask(AskWord.SNUG, "Snug?")), "Nothing to pull before the question is answered", id="asked"
        ),
        pytest.param(
            replace(SCREEN, ended=True), "Ended. The torque record is NOT complete: 2 of 4 fasteners done", id="incomplete"
        ),
        pytest.param(
            replace(SCREEN, ended=True, complete=True),
            "Ended. The torque record is complete; it does not say that the vehicle is safe to drive",
            id="complete",
        ),
    ],
)
def test_without_a_next_fastener_it_says_why(screen, line):
    assert wording.no_target(screen) == line


def test_loose_joints_are_named_until_none_is_left():
    loose = replace(ROW, number=3, name="Shackle\nbolts", left_loose=True)

    assert wording.loose_line(SCREEN) == ""
    assert wording.loose_line(replace(SCREEN, rows=(ROW, loose, loose))) == "STILL LOOSE: 3 Shackle bolts; 3 Shackle bolts"


def test_a_lost_link_is_said_in_words():
    assert wording.link_line(SCREEN) == "link: port open"
    assert wording.link_line(replace(SCREEN, link="unplugged", link_ok=False)) == "✕ NO LINK: unplugged"
