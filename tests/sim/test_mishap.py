"""The day's mishaps: the same for the same seed, each on a joint of its own where it can happen."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.plan.load import load_plan
from schemas.words import StepWord
from sim.mishap import Mishap, Spot, choose_mishaps
from sim.workshop import facts

ROUTE = load_plan(facts.plan_bytes(), facts.PLAN_FILE)
SHORT = b"""
plan: short
title: Short
revision: "1"
source: made up
unit: N\xc2\xb7m
tolerance: 8 %
joints:
  - {id: first, name: First, fasteners: 5, torque: 50}
  - {id: second, name: Second, fasteners: 3, torque: 50}
"""

seeds = st.integers(min_value=0, max_value=10_000)


def of(chosen: dict[Spot, Mishap], mishap: Mishap) -> Spot:
    return next(spot for spot, what in chosen.items() if what is mishap)


@given(seeds)
def test_all_five_happen_on_different_joints_at_a_final_stage(seed: int) -> None:
    chosen = choose_mishaps(ROUTE, seed)

    assert sorted(chosen.values()) == sorted(Mishap)
    assert len({spot.joint for spot in chosen}) == len(Mishap)
    assert all(spot.stage == ROUTE.joint(spot.joint).final.number for spot in chosen)


@given(seeds)
def test_the_same_seed_gives_the_same_mishaps(seed: int) -> None:
    assert choose_mishaps(ROUTE, seed) == choose_mishaps(ROUTE, seed)


@given(seeds)
def test_the_missed_one_is_the_last_of_its_round_and_no_question_stops_the_fitter(seed: int) -> None:
    spot = of(choose_mishaps(ROUTE, seed), Mishap.MISSED)
    words = [(step.word, name) for step in ROUTE.steps for name in step.joints or ("",)]
    at = words.index((StepWord.TORQUE, spot.joint))
    following = [word for word, _name in words[at + 1 :] if word in (StepWord.TORQUE, StepWord.HOLD_POINT)]

    assert spot.position == ROUTE.joint(spot.joint).order[-1]
    assert following[0] is StepWord.TORQUE


@given(seeds)
def test_a_second_click_and_an_over_pull_leave_two_fasteners_of_the_joint_to_do(seed: int) -> None:
    chosen = choose_mishaps(ROUTE, seed)

    for mishap in (Mishap.TWICE, Mishap.OVER):
        spot = of(chosen, mishap)
        assert ROUTE.joint(spot.joint).order.index(spot.position) <= ROUTE.joint(spot.joint).fasteners - 3


def test_seeds_give_different_days() -> None:
    assert len({tuple(sorted(choose_mishaps(ROUTE, seed).items())) for seed in range(20)}) > 15


def test_a_short_plan_has_as_many_mishaps_as_fit() -> None:
    chosen = choose_mishaps(load_plan(SHORT, "short.yaml"), seed=1)

    assert chosen == {Spot("first", 1, 5): Mishap.MISSED}


@pytest.mark.parametrize("mishap", [pytest.param(mishap, id=mishap.name.lower()) for mishap in Mishap])
def test_a_mishap_reads_as_a_sentence(mishap: Mishap) -> None:
    assert mishap.value.startswith("one ")
