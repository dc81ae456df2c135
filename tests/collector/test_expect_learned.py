"""The habits that matching goes by: the program's own, or those that the shop has learned over them."""

from dataclasses import replace

from collector.expect.habits import USUAL
from collector.expect.learned import Set, habits_for, habits_of
from schemas.bodies import HabitsLearned, JobOpened
from schemas.fastener_state import At
from schemas.job_state import JobState
from schemas.plan.load import load_plan

PLAN = """
plan: made-up
title: Made-up trailer
revision: "1"
source: Shop procedure 1
unit: N·m
tolerance: 8 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 95}
"""
OPENED = 20


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


def test_a_job_goes_by_the_last_set_that_was_learned_before_it_was_opened():
    sets = [(OPENED - 2, learned("7")), (OPENED - 1, learned("9")), (OPENED + 1, learned("30"))]

    assert habits_for(job(), sets) == Set(replace(USUAL, next_s=9.0), OPENED - 1)
    assert habits_for(job(), sets[2:]) == Set(USUAL)


def test_a_set_of_simulated_jobs_is_for_simulated_jobs_alone():
    sets = [(OPENED - 1, replace(learned("9"), simulated=1))]

    assert habits_for(job(simulated=1), sets).seq == OPENED - 1
    assert habits_for(job(), sets) == Set(USUAL)


def job(simulated=None):
    opened = JobOpened("1", 1, "0" * 64, "", "person-1", "made-up", simulated)
    return JobState(opened, At(OPENED, "2026-03-02T06:00:00Z", "person-1"), load_plan(PLAN.encode(), "made-up.yaml"))


def learned(next_s):
    return HabitsLearned(1, {"next_s": next_s}, ("1",), "made up")
