"""Typed characters become presses; a name or a number is typed in between, and no stray key answers anything."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.cli.keys import KeyReader
from schemas.screen import Ask, AskWord, JointRow, Last, Press, PressWord, Screen
from schemas.words import Proof, Role

STRIPES = Ask(AskWord.STRIPES, "Stripes: 4 of 4?", joint="u-bolts-left", of=4)
HOLD_POINT = Ask(AskWord.HOLD_POINT, "Axle centred?", Role.LEAD, hold_point="ride-height-set")


def row(number: int, joint: str) -> JointRow:
    return JointRow(number, joint, joint, 4, 0, 0, Proof.MISSED, confirmed=False, left_loose=False)


def screen(ask: Ask | None = None) -> Screen:
    rows = (row(1, "u-bolts-left"), row(12, "shackle-bolts"))
    return Screen("J", "Box trailer", False, None, ask, None, rows, (), "link", True)


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        pytest.param("\r", PressWord.YES, id="enter"),
        pytest.param("\n", PressWord.YES, id="line-feed"),
        pytest.param("\r\n", PressWord.YES, id="both-are-one-enter"),
        pytest.param("n", PressWord.NO, id="n"),
        pytest.param("N", PressWord.NO, id="capital-n"),
        pytest.param("s", PressWord.SAME_AGAIN, id="s"),
        pytest.param("X", PressWord.NOT_THIS_JOB, id="capital-x"),
        pytest.param("m", PressWord.MOVED, id="m"),
        pytest.param("o", PressWord.OPENED, id="o"),
        pytest.param("q", PressWord.QUIT, id="q"),
    ],
)
def test_each_key_gives_its_press(typed, word):
    reader = KeyReader()

    asked = STRIPES if word in (PressWord.YES, PressWord.NO) else None
    assert reader.feed(typed, screen(STRIPES)) == (Press(word, ask=asked),)
    assert reader.prompt == ""


def test_a_word_about_a_pull_names_the_reading_that_was_on_the_picture():
    shown = replace(screen(), last=Last("in band", "", n=7))

    assert KeyReader().feed("s", shown) == (Press(PressWord.SAME_AGAIN, n=7),)


@pytest.mark.parametrize("typed", ["\r", "n"])
@pytest.mark.parametrize("shown", [pytest.param(screen(), id="nothing-asked"), pytest.param(None, id="no-picture-yet")])
def test_an_answer_to_nothing_gives_nothing_and_says_so(typed, shown):
    reader = KeyReader()

    assert reader.feed(typed, shown) == ()
    assert reader.prompt == "nothing is asked"


def test_an_unknown_key_lists_the_keys_and_the_next_key_clears_the_list():
    reader = KeyReader()

    assert reader.feed("z", screen()) == ()
    for listed in ("Enter yes", "n no", "s same", "x not ours", "m moved", "o opened", "f which", "j joint", "q quit"):
        assert listed in reader.prompt
    assert reader.feed("s", screen()) == (Press(PressWord.SAME_AGAIN),)
    assert reader.prompt == ""


@pytest.mark.parametrize(
    "typed",
    [
        pytest.param("\x1bOA", id="arrow-in-application-mode"),
        pytest.param("\x1b[A", id="arrow"),
        pytest.param("\x1bOP", id="f1"),
        pytest.param("\x1b[15~", id="f5"),
        pytest.param("\x1b[1;5n", id="ends-in-n"),
        pytest.param("\x1bo", id="alt-o"),
        pytest.param("\x1b\r\n", id="alt-enter"),
        pytest.param("\x1b", id="escape-alone"),
    ],
)
def test_a_special_key_is_no_press(typed):
    """Sequences as xterm sends them, from memory."""
    reader = KeyReader()

    assert reader.feed(typed, screen(STRIPES)) == ()
    assert reader.prompt == ""


def test_another_joint_is_chosen_by_its_number():
    reader = KeyReader()

    assert reader.feed("j", screen()) == ()
    assert reader.prompt == "other joint: number, or Enter for the next: _"
    assert reader.feed("13", screen()) == ()
    assert reader.feed("\x7f", screen()) == ()
    assert reader.feed("z2", screen()) == ()
    assert reader.prompt == "other joint: number, or Enter for the next: 12_"
    assert reader.feed("\r", screen()) == (Press(PressWord.OTHER_JOINT, joint="shackle-bolts"),)
    assert reader.prompt == ""


def test_enter_at_once_chooses_the_next_joint_even_while_something_is_asked():
    assert KeyReader().feed("J\r", screen(STRIPES)) == (Press(PressWord.OTHER_JOINT, joint=None),)


@pytest.mark.parametrize("shown", [pytest.param(screen(), id="not-in-the-list"), pytest.param(None, id="no-list-yet")])
def test_an_unknown_number_is_said_and_a_further_enter_chooses_nothing(shown):
    reader = KeyReader()

    assert reader.feed("j7\r", shown) == ()
    assert reader.prompt == "no joint has the number 7; press j and give a number from the list"
    assert reader.feed("\r", shown) == ()


def test_escape_ends_the_choice_of_a_joint():
    reader = KeyReader()

    assert reader.feed("j1", screen(STRIPES)) == ()
    assert reader.feed("\x1b", screen(STRIPES)) == ()
    assert reader.prompt == ""
    assert reader.feed("\r", screen(STRIPES)) == (Press(PressWord.YES, ask=STRIPES),)


def test_a_number_stops_growing_at_four_digits():
    reader = KeyReader()
    reader.feed("j" + "9" * 50, screen())

    assert reader.prompt.endswith(": 9999_")


def test_the_lead_signs_by_name_with_letters_that_are_keys_elsewhere():
    reader = KeyReader()

    assert reader.feed("\r", screen(HOLD_POINT)) == ()
    assert reader.prompt == "name of the lead (Enter signs, Esc cancels): _"
    assert reader.feed(" Jonas Qx", screen(HOLD_POINT)) == ()
    assert reader.feed("\b\x00ö", screen(HOLD_POINT)) == ()
    assert reader.prompt == "name of the lead (Enter signs, Esc cancels):  Jonas Qö_"
    assert reader.feed("\r", screen(HOLD_POINT)) == (Press(PressWord.YES, name="Jonas Qö", ask=HOLD_POINT),)
    assert reader.prompt == ""


def test_no_name_signs_nothing_and_can_still_be_typed():
    reader = KeyReader()

    assert reader.feed("\r  \r", screen(HOLD_POINT)) == ()
    assert reader.prompt == "a name is needed; name of the lead (Enter signs, Esc cancels):   _"
    assert reader.feed("Ida\r", screen(HOLD_POINT)) == (Press(PressWord.YES, name="Ida", ask=HOLD_POINT),)


def test_escape_ends_the_typing_of_a_name():
    reader = KeyReader()
    reader.feed("\rIda", screen(HOLD_POINT))

    assert reader.feed("\x1b", screen(HOLD_POINT)) == ()
    assert reader.prompt == ""
    assert reader.feed("n", screen(HOLD_POINT)) == (Press(PressWord.NO, ask=HOLD_POINT),)


@pytest.mark.parametrize(
    "then",
    [
        pytest.param(screen(STRIPES), id="another-question"),
        pytest.param(screen(), id="nothing-asked"),
        pytest.param(None, id="no-picture"),
    ],
)
def test_a_name_never_signs_another_question_than_it_was_typed_for(then):
    reader = KeyReader()
    reader.feed("\rIda", screen(HOLD_POINT))

    assert reader.feed("\r", then) == ()
    assert reader.prompt == "the question changed while the answer was typed; nothing was recorded"


def test_a_name_stops_growing():
    reader = KeyReader()
    reader.feed("\r" + "a" * 500, screen(HOLD_POINT))

    (press,) = reader.feed("\r", screen(HOLD_POINT))

    assert press.name == "a" * 80


@given(st.lists(st.text(st.sampled_from("\r\n\x1b\x7fnsxoqj019[OA ä\x00"))))
def test_no_typing_fails_or_signs_without_a_name(texts):
    reader = KeyReader()
    for text in texts:
        for press in reader.feed(text, screen(HOLD_POINT)):
            assert press.word is not PressWord.YES or press.name


@pytest.mark.parametrize("key", ["s", "x", "o"])
def test_after_a_line_without_a_reading_nothing_is_said_of_the_pull_before(key):
    reader = KeyReader()

    assert reader.feed(key, replace(screen(), last=Last("unreadable", "no start mark"))) == ()
    assert "gave no reading" in reader.prompt


MEASURED = Ask(AskWord.HOLD_POINT, "Gap at the axle", Role.LEAD, hold_point="gap", value_in="mm", step=6)
DRAG = Ask(AskWord.DRAG, "Drag of the nut", joint="dampers", value_in="N·m")
PREPARED = Ask(AskWord.PREPARED, "anti-seize on all 4?", joint="u-bolts-left")


def typed(reader: KeyReader, text: str, asked: Ask) -> tuple[Press, ...]:
    return tuple(press for sign in text for press in reader.feed(sign, screen(asked)))


def test_a_measured_value_is_typed_before_the_name_of_who_signs():
    reader = KeyReader()

    assert typed(reader, "\r2.5\r", MEASURED) == ()
    assert reader.prompt == "name of the lead (Enter signs, Esc cancels): _"
    assert typed(reader, "Leo\r", MEASURED) == (Press(PressWord.YES, name="Leo", ask=MEASURED, value="2.5"),)
    assert reader.prompt == ""


def test_a_value_of_the_fitters_own_needs_no_name():
    assert typed(KeyReader(), "\r4.25\r", DRAG) == (Press(PressWord.YES, ask=DRAG, value="4.25"),)


@pytest.mark.parametrize("bad", ["", "4,5", "four", "1e3", ".", "--4"])
def test_what_is_no_plain_number_is_asked_for_again_and_recorded_nowhere(bad):
    reader = KeyReader()

    assert typed(reader, f"\r{bad}\r", DRAG) == ()
    assert reader.prompt.startswith("plain digits are needed, with a point before the decimals; value in N·m")


def test_a_lot_may_be_typed_with_a_preparation_and_nowhere_else():
    assert typed(KeyReader(), "\r", PREPARED) == (Press(PressWord.YES, ask=PREPARED),)
    assert typed(KeyReader(), "lB 77\r", PREPARED) == (Press(PressWord.YES, ask=PREPARED, value="B 77"),)
    assert typed(KeyReader(), "l\r", PREPARED) == (Press(PressWord.YES, ask=PREPARED),)
    reader = KeyReader()
    assert typed(reader, "l", STRIPES) == ()
    assert reader.prompt == "a lot belongs to a preparation, and none is asked for now"


@pytest.mark.parametrize(
    ("begun", "asked"),
    [
        pytest.param("\r3", MEASURED, id="value"),
        pytest.param("l7", PREPARED, id="lot"),
        pytest.param("\r3\rLeo", MEASURED, id="name-after-a-value"),
    ],
)
def test_what_is_typed_never_answers_another_question(begun, asked):
    reader = KeyReader()
    typed(reader, begun, asked)

    assert reader.feed("\r", screen(STRIPES)) == ()
    assert reader.prompt == "the question changed while the answer was typed; nothing was recorded"


@pytest.mark.parametrize(("begun", "asked"), [("\r3", MEASURED), ("l7", PREPARED), ("\r3\rL", MEASURED)])
def test_escape_leaves_what_is_being_typed(begun, asked):
    reader = KeyReader()
    typed(reader, begun, asked)

    assert reader.feed("\x1b", screen(asked)) == ()
    assert reader.prompt == ""
    assert typed(reader, "n", asked) == (Press(PressWord.NO, ask=asked),)


def test_a_value_can_be_mended_and_is_not_longer_than_a_number():
    reader = KeyReader()

    assert typed(reader, "\r42\x7f.5\r", DRAG) == (Press(PressWord.YES, ask=DRAG, value="4.5"),)
    typed(reader, "\r" + "1" * 50, DRAG)
    assert reader.prompt.endswith(f": {'1' * 20}_")


WHICH = Ask(AskWord.FASTENER, "Hub nuts: was reading 7 on fastener 3 of 5?", joint="hub", reading=41)
SEEN = replace(screen(), last=Last("in band", "", n=7))


def test_a_key_and_a_number_say_which_fastener_the_pull_on_the_picture_was_on():
    reader = KeyReader()

    assert reader.feed("f", SEEN) == ()
    assert reader.prompt == "fastener of its joint that reading 7 was on (Enter records, Esc cancels): _"
    assert reader.feed("1z2\x7f", SEEN) == ()
    assert reader.prompt.endswith(": 1_")
    # A pull that comes while it is typed is not meant.
    later = replace(SEEN, last=Last("in band", "", n=8))
    assert reader.feed("4\r", later) == (Press(PressWord.FASTENER, n=7, value="14"),)
    assert reader.prompt == ""


@pytest.mark.parametrize("shown", [pytest.param(screen(), id="no-reading-yet"), pytest.param(None, id="no-picture-yet")])
def test_before_a_pull_is_seen_the_number_is_of_the_last_one(shown):
    reader = KeyReader()
    reader.feed("F", shown)

    assert reader.prompt == "fastener of its joint that the last pull was on (Enter records, Esc cancels): _"
    assert reader.feed("2\r", shown) == (Press(PressWord.FASTENER, value="2"),)


@pytest.mark.parametrize(
    ("typed_in", "prompt"),
    [
        pytest.param("f\r", "no number was typed; nothing was recorded", id="enter-alone"),
        pytest.param("f3\x1b", "", id="escape"),
        pytest.param("3", "keys:", id="a-digit-that-nobody-asked-for"),
    ],
)
def test_without_a_key_and_a_number_nothing_is_said_of_a_fastener(typed_in, prompt):
    reader = KeyReader()

    assert [press for key in typed_in for press in reader.feed(key, SEEN)] == []
    assert reader.prompt.startswith(prompt)
    assert reader.feed("s", SEEN) == (Press(PressWord.SAME_AGAIN, n=7),)


def test_where_the_fastener_is_asked_for_its_number_alone_answers_and_enter_is_yes():
    asked = replace(SEEN, ask=WHICH)

    assert KeyReader().feed("12\r", asked) == (Press(PressWord.FASTENER, ask=WHICH, n=7, value="12"),)
    assert KeyReader().feed("f4\r", asked) == (Press(PressWord.FASTENER, ask=WHICH, n=7, value="4"),)
    assert KeyReader().feed("\r", asked) == (Press(PressWord.YES, ask=WHICH),)
    assert KeyReader().feed("n", asked) == (Press(PressWord.NO, ask=WHICH),)


def test_after_a_line_without_a_reading_a_number_is_taken_only_where_it_is_asked_for():
    noise = replace(screen(), last=Last("unreadable", "no start mark"))
    reader = KeyReader()

    assert reader.feed("f", noise) == ()
    assert "gave no reading" in reader.prompt
    assert reader.feed("4\r", replace(noise, ask=WHICH)) == (Press(PressWord.FASTENER, ask=WHICH, value="4"),)
