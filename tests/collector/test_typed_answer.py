"""Answers typed as lines become the presses of the same meaning, and no line that was not meant so answers anything."""

import pytest

from collector.cli.line_answers import LineAnswers
from collector.cli.typed_answer import answers_to, typed_answer
from schemas.screen import Ask, AskWord, JointRow, Last, Press, PressWord, Screen
from schemas.words import Proof, Role

STRIPES = Ask(AskWord.STRIPES, "Stripes: 4 of 4?", joint="u-bolts", of=4)
HOLD_POINT = Ask(AskWord.HOLD_POINT, "Axle centred?", Role.LEAD, hold_point="ride-height-set")
MEASURED = Ask(AskWord.HOLD_POINT, "Ride height?", Role.LEAD, hold_point="ride-height-set", value_in="mm")
DRAG = Ask(AskWord.DRAG, "Drag?", joint="u-bolts", value_in="N·m")
PREPARED = Ask(AskWord.PREPARED, "Greased?", joint="u-bolts")
WHICH = Ask(AskWord.FASTENER, "Hub nuts: was reading 7 on fastener 3 of 5?", joint="hub", reading=41)
PULL = Last("in band", "", n=7)
NOISE = Last("unreadable", "")


def screen(ask: Ask | None = None, last: Last | None = None) -> Screen:
    row = JointRow(12, "shackles", "Shackles", 4, 0, 0, Proof.MISSED, confirmed=False, left_loose=False)
    return Screen("J", "Box trailer", False, None, ask, last, (row,), (), "open", True)


@pytest.mark.parametrize(
    ("line", "ask", "press"),
    [
        pytest.param("", STRIPES, Press(PressWord.YES, ask=STRIPES), id="alone-is-yes"),
        pytest.param("yes", STRIPES, Press(PressWord.YES, ask=STRIPES), id="yes"),
        pytest.param(" Yes ", STRIPES, Press(PressWord.YES, ask=STRIPES), id="spaces-and-capitals"),
        pytest.param("yes Li Lead", HOLD_POINT, Press(PressWord.YES, name="Li Lead", ask=HOLD_POINT), id="name"),
        pytest.param("yes 12.5", DRAG, Press(PressWord.YES, ask=DRAG, value="12.5"), id="value"),
        pytest.param(
            "yes 212 Li Lead", MEASURED, Press(PressWord.YES, name="Li Lead", ask=MEASURED, value="212"), id="value-and-name"
        ),
        pytest.param("lot 4711 b", PREPARED, Press(PressWord.YES, ask=PREPARED, value="4711 b"), id="lot"),
        pytest.param("no", STRIPES, Press(PressWord.NO, ask=STRIPES), id="no"),
        pytest.param("n", STRIPES, Press(PressWord.NO, ask=STRIPES), id="n"),
        pytest.param("same", None, Press(PressWord.SAME_AGAIN, n=7), id="same"),
        pytest.param("x", None, Press(PressWord.NOT_THIS_JOB, n=7), id="not-ours"),
        pytest.param("moved", None, Press(PressWord.MOVED, n=7), id="moved"),
        pytest.param("opened", None, Press(PressWord.OPENED, n=7), id="opened"),
        pytest.param("joint", None, Press(PressWord.OTHER_JOINT), id="next-joint"),
        pytest.param("joint 12", None, Press(PressWord.OTHER_JOINT, joint="shackles"), id="joint-by-number"),
        pytest.param("fastener 3", None, Press(PressWord.FASTENER, n=7, value="3"), id="fastener"),
        pytest.param("F 12", STRIPES, Press(PressWord.FASTENER, n=7, value="12"), id="fastener-while-something-is-asked"),
        pytest.param("f 3", WHICH, Press(PressWord.FASTENER, ask=WHICH, n=7, value="3"), id="fastener-as-asked"),
        pytest.param("quit", None, Press(PressWord.QUIT, n=7), id="quit"),
    ],
)
def test_a_line_means_its_press(line, ask, press):
    assert typed_answer(line, screen(ask, PULL)) == press


@pytest.mark.parametrize(
    ("line", "ask", "last", "why"),
    [
        pytest.param("", None, PULL, "nothing is asked", id="yes-to-nothing"),
        pytest.param("no", None, PULL, "nothing is asked", id="no-to-nothing"),
        pytest.param("", HOLD_POINT, PULL, "type /yes NAME of the lead, /no for no", id="no-name"),
        pytest.param("yes", MEASURED, PULL, "type /yes VALUE in mm and the NAME of the lead", id="no-value-and-name"),
        pytest.param("yes 212", MEASURED, PULL, "type /yes VALUE in mm and the NAME of the lead", id="no-name-behind-the-value"),
        pytest.param("yes Li Lead", STRIPES, PULL, "nothing was recorded: type / alone for yes", id="a-name-where-none-is-asked"),
        pytest.param("no maybe", STRIPES, PULL, "`/no maybe` is no answer", id="more-behind-a-no"),
        pytest.param("nonsense", STRIPES, PULL, "`/nonsense` is no answer", id="a-word-that-begins-like-one"),
        pytest.param("lot 4711", STRIPES, PULL, "a lot belongs to a preparation", id="a-lot-elsewhere"),
        pytest.param("lot", PREPARED, PULL, "type /lot and what stands on", id="no-lot"),
        pytest.param("joint 3", None, PULL, "no joint has the number 3", id="a-joint-that-is-not-there"),
        pytest.param("same", None, NOISE, "the last line gave no reading", id="a-word-on-noise"),
        pytest.param("fastener 3", None, NOISE, "the last line gave no reading", id="a-fastener-on-noise"),
        pytest.param("fastener", None, PULL, "type /fastener and the number", id="no-fastener"),
        pytest.param("fastener three", WHICH, PULL, "type /fastener and the number", id="a-fastener-in-words"),
        pytest.param("fastener ²", None, PULL, "type /fastener and the number", id="no-digit"),
    ],
)
def test_a_line_that_means_no_press_says_why(line, ask, last, why):
    assert why in typed_answer(line, screen(ask, last))


def test_before_the_first_picture_nothing_is_asked_and_no_joint_is_known():
    assert typed_answer("quit", None) == Press(PressWord.QUIT)
    assert typed_answer("", None) == "nothing is asked"
    assert "no joint" in typed_answer("joint 1", None)
    assert typed_answer("fastener 2", None) == Press(PressWord.FASTENER, value="2")


def test_after_noise_the_number_of_a_fastener_is_taken_where_it_is_asked_for():
    assert typed_answer("fastener 2", screen(WHICH, NOISE)) == Press(PressWord.FASTENER, ask=WHICH, value="2")


class Front:
    def __init__(self):
        self.screen = screen(STRIPES, PULL)
        self.pressed = []
        self.listeners = []

    def put(self, press):
        self.pressed.append(press)


def test_answers_reach_the_run_only_while_it_goes_on(capsys):
    front, answers = Front(), LineAnswers()

    answers.take("yes")
    answers.start(front)
    answers.take("yes")
    answers.take("perhaps")
    answers.stop()
    answers.take("no")

    assert front.pressed == [Press(PressWord.YES, ask=STRIPES)]
    assert capsys.readouterr().err.startswith("`/perhaps` is no answer; answers are: /yes")


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        pytest.param(STRIPES, "type / alone for yes, /no for no", id="yes-or-no"),
        pytest.param(HOLD_POINT, "type /yes NAME of the lead, /no for no", id="name"),
        pytest.param(WHICH, "type / alone for yes, /fastener NUMBER for another one, /no for not known", id="fastener"),
        pytest.param(DRAG, "type /yes VALUE in N·m, /no for no", id="value"),
        pytest.param(PREPARED, "type / alone for yes, /lot TEXT for yes with the lot, /no for no", id="lot"),
    ],
)
def test_how_a_question_is_answered_by_a_line_is_said(ask, said):
    assert answers_to(ask) == said


def test_of_each_question_it_is_said_once_how_it_is_answered(capsys):
    front = Front()
    LineAnswers().start(front)
    (look,) = front.listeners

    for ask in (None, STRIPES, STRIPES, None, STRIPES):
        look(screen(ask))

    assert capsys.readouterr().err == "type / alone for yes, /no for no\n" * 2
