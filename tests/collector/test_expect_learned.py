"""The habits that matching goes by: the program's own, or those that the shop has learned over them."""

from collector.expect.habits import USUAL
from collector.expect.learned import habits_of
from schemas.bodies import HabitsLearned


def test_a_shop_that_has_learned_nothing_goes_by_what_is_usual():
    found = habits_of(None)

    assert (found.figures, found.seq) == (USUAL, None)


def test_a_learned_figure_takes_the_place_of_the_usual_one_and_the_others_stay():
    found = habits_of((41, HabitsLearned(1, {"next_s": "5.5"}, ("1",), "counted")))

    assert (found.figures.next_s, found.figures.again_s, found.seq) == (5.5, USUAL.again_s, 41)


def test_a_figure_that_this_program_does_not_know_is_left_out():
    found = habits_of((7, HabitsLearned(9, {"tea_s": "900", "stray": "0.02"}, (), "counted")))

    assert found.figures.stray == 0.02
    assert not hasattr(found.figures, "tea_s")
