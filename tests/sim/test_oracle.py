"""The oracle: sure where the day is plain, in doubt where it must be, and as often right as it says."""

from dataclasses import replace
from statistics import mean

import pytest

from benchmarks.oracle import ask_oracle
from schemas.words import Kind
from sim.shop.day import live_day


def without(day, index):
    """The day as its log would be if one reading had never been."""
    secret = day.secret
    lump = tuple(edge - (edge > index) for edge in secret.lump)
    return replace(
        day,
        readings=day.readings[:index] + day.readings[index + 1 :],
        truth=day.truth[:index] + day.truth[index + 1 :],
        secret=replace(secret, stream_of=secret.stream_of[:index] + secret.stream_of[index + 1 :], lump=lump),
    )


@pytest.fixture(name="plain")
def _plain():
    """A day on which all was done, in a shop where little else happens."""
    return next(day for day in (live_day("tidy", seed, angle=True, times=True) for seed in range(50)) if not day.missed)


def test_a_plain_day_is_complete_everywhere(plain):
    answer = ask_oracle(plain)

    assert answer.p_complete > 0.99
    assert set(answer.p_places) == set(plain.secret.places)
    assert min(answer.p_places.values()) > 0.99


def test_taking_one_tightening_away_makes_its_place_and_the_day_incomplete_and_no_other_place(plain):
    joint, stage = next(key for key, place in plain.secret.places.items() if len(place.slots) > 2)
    at = next(n for n, touch in enumerate(plain.truth) if (touch.joint, touch.stage) == (joint, stage))
    assert plain.truth[at].kind is Kind.TIGHTENING

    answer = ask_oracle(without(plain, at))

    assert answer.p_complete < 0.01
    assert answer.p_places[joint, stage] < 0.01
    assert min(p for key, p in answer.p_places.items() if key != (joint, stage)) > 0.95


def test_the_oracle_is_told_joint_and_stage_but_neither_kind_nor_position():
    day = live_day("rough", 4, angle=True, times=True)
    blind = tuple(
        touch if touch.kind is Kind.STRAY else replace(touch, kind=Kind.TIGHTENING, position=1) for touch in day.truth
    )  # fmt: skip

    assert ask_oracle(replace(day, truth=blind, missed=())) == ask_oracle(day)


def test_it_is_surer_of_whole_days_with_angles_and_times_than_without():
    whole = [seed for seed in range(6) if not live_day("usual", seed, angle=True, times=True).missed]
    told, untold = (
        [ask_oracle(live_day("usual", seed, angle=tells, times=tells)).p_complete for seed in whole] for tells in (True, False)
    )

    assert mean(told) > 0.99
    assert mean(untold) < mean(told)


def test_over_some_days_it_is_right_as_often_as_it_says():
    days = [live_day("usual", seed, angle=True, times=True) for seed in range(16)]
    missed = [{(joint, stage) for joint, stage, _ in day.missed} for day in days]
    answers = [ask_oracle(day) for day in days]

    assert mean(answer.p_complete for answer in answers) == pytest.approx(mean(not one for one in missed), abs=0.05)
    assert all(answer.p_complete < 0.5 for answer, one in zip(answers, missed, strict=True) if one)
    doubted = [1 - p for answer in answers for p in answer.p_places.values()]
    assert sum(doubted) == pytest.approx(sum(len(one) for one in missed), rel=0.05)


def test_a_day_of_another_maker_is_refused(plain):
    with pytest.raises(TypeError, match="that `live_day` made"):
        ask_oracle(replace(plain, secret=None))
