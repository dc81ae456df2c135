"""The picture is a value: whoever draws it cannot change it, and a press says no more than what was pressed."""

from dataclasses import FrozenInstanceError, fields

import pytest

from schemas.screen import Ask, AskWord, JointRow, Last, Press, PressWord, Screen, Target
from schemas.words import Role


@pytest.mark.parametrize("shape", [Ask, Target, Last, JointRow, Screen, Press])
def test_nobody_who_is_handed_a_picture_can_change_it(shape):
    values = dict.fromkeys((field.name for field in fields(shape)), "x")

    with pytest.raises(FrozenInstanceError, match="cannot assign to field"):
        setattr(shape(**values), fields(shape)[0].name, "y")


def test_a_press_alone_chooses_no_joint_and_signs_for_nobody_else():
    press = Press(PressWord("opened"))

    assert (press.word, press.joint, press.name, press.value) == (PressWord.OPENED, None, None, None)


def test_a_question_is_for_the_fitter_where_nothing_else_is_said():
    assert Ask(AskWord("snug"), "Hub nuts: all 4 snug?").role is Role.FITTER


def test_every_press_and_question_has_its_word():
    assert {str(word) for word in PressWord} == {
        "yes", "no", "same again", "not this job", "moved", "opened", "other joint", "fastener", "quit",
    }  # fmt: skip
    assert {str(word) for word in AskWord} == {
        "stripes", "hold point", "snug", "prepared", "drag", "turned", "second", "declared", "opened", "covered",
        "taken back", "fastener",
    }  # fmt: skip
