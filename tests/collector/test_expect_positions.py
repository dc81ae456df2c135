"""Which fastener each reading was on, counted in the order of the stage, and what it was where a person opened in between."""

from dataclasses import replace

import pytest

from collector.expect.click import Click
from collector.expect.habits import USUAL
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import places_of
from collector.expect.positions import kept_of, positions_of, story_of
from collector.expect.reading_odds import odds_of
from collector.expect.within import Within
from schemas.plan.load import load_plan
from schemas.words import Kind
from tests.rigs.made_plans import HEAD

T, S, R, C, L = Kind.TIGHTENING, Kind.SHORT_PULL, Kind.REPEAT, Kind.RECHECK, Kind.LOOSENING
CROSS = (1, 3, 2, 4)
PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, order: cross}
  - {id: arm, name: Arm bolts, fasteners: 2, torque: 60, hand: left}
  - {id: cap, name: Cap bolts, fasteners: 3, torque: 100, reopen: joint}
"""
HUB, ARM, CAP = places_of(load_plan(PLAN.encode(), "hub.yaml"))


@pytest.mark.parametrize(
    ("kinds", "expected"),
    [
        pytest.param([], (), id="nothing"),
        pytest.param([T, T, T, T], (1, 3, 2, 4), id="one-after-the-other"),
        pytest.param([T, S, S, T, T], (1, 3, 3, 3, 2), id="strokes-stay-on-their-fastener"),
        pytest.param([T, R, T], (1, 1, 3), id="a-second-click-is-on-the-one-before"),
        pytest.param([T, T, C, C, C], (1, 3, 1, 3, 2), id="a-round-over-tight-ones-begins-at-the-first"),
        pytest.param([T, T, T, T, C, C, R, C, C, C], (1, 3, 2, 4, 1, 3, 3, 2, 4, 1), id="a-second-click-in-a-round"),
        pytest.param([T, C, T, C], (1, 1, 3, 1), id="a-round-after-a-tightening-begins-anew"),
        pytest.param([T, T, L, T, T], (1, 3, 3, 3, 2), id="one-loosened-is-done-again"),
        pytest.param([T, T, T, T, T], (1, 3, 2, 4, 4), id="more-than-there-are-stay-on-the-last"),
    ],
)
def test_positions_are_counted_in_the_order_of_the_stage(kinds, expected):
    assert positions_of(CROSS, kinds) == expected


@pytest.mark.parametrize(
    ("opened", "expected"),
    [
        pytest.param({2: [3]}, (1, 3, 3, 2, 4), id="one-is-done-again-first"),
        pytest.param({2: [None]}, (1, 3, 1, 3, 2), id="the-joint-begins-anew"),
        pytest.param({2: [3, 1]}, (1, 3, 1, 3, 2), id="two-words-before-one-reading"),
        pytest.param({2: [4]}, (1, 3, 2, 4, 4), id="one-that-was-not-done"),
        pytest.param({5: [None]}, (1, 3, 2, 4, 4), id="after-the-last-reading"),
    ],
)
def test_what_a_person_opened_comes_again(opened, expected):
    assert positions_of(CROSS, [T] * 5, opened) == expected


@pytest.mark.parametrize(
    ("kinds", "kept", "expected"),
    [
        pytest.param([T, T, T, T], {1: 3}, (1, 3, 2, 4), id="where-it-was-counted-anyhow"),
        pytest.param([T, T, T, T], {2: 4}, (1, 3, 4, 2), id="out-of-order-and-the-next-goes-back"),
        pytest.param([T, T, T, T], {2: 3}, (1, 2, 3, 4), id="the-one-before-goes-on"),
        pytest.param([T, T, T, T], {3: 1}, (3, 2, 4, 1), id="all-before-go-on"),
        pytest.param([T, T, T, T], {0: 4, 3: 1}, (4, 3, 2, 1), id="two-of-them"),
        pytest.param([T, T, R, T], {2: 3}, (1, 3, 3, 2), id="a-second-click-takes-no-fastener"),
        pytest.param([T, R, T, T], {0: 2}, (2, 2, 1, 3), id="a-second-click-follows-it"),
        pytest.param([T, S, S, T, T], {3: 2}, (1, 2, 2, 2, 3), id="strokes-end-on-it"),
        pytest.param([T, S, T, T], {1: 4}, (1, 4, 4, 3), id="a-stroke-is-continued-there"),
        pytest.param([T, S, S], {0: 3}, (3, 1, 1), id="strokes-that-end-nowhere"),
        pytest.param([T, T, L, T, T], {3: 3}, (1, 3, 3, 3, 2), id="done-again-after-a-loosening"),
        pytest.param([T, T, L, T, T], {2: 3, 4: 1}, (3, 2, 3, 3, 1), id="and-it-is-known-what-was-loosened"),
        pytest.param([T, T, T, T, T], {4: 1}, (3, 2, 4, 4, 1), id="one-more-than-there-are"),
        pytest.param([T, T, C, C, C], {3: 4}, (1, 3, 1, 4, 3), id="a-round-over-tight-ones"),
    ],
)
def test_what_a_person_has_named_stays_and_the_others_are_counted_over_what_is_left(kinds, kept, expected):
    assert positions_of(CROSS, kinds, None, kept) == expected


@pytest.mark.parametrize(
    ("opened", "expected"),
    [
        pytest.param({2: [3]}, (1, 3, 2, 3), id="that-one-was-opened-in-between"),
        pytest.param({2: [None]}, (1, 3, 1, 3), id="the-joint-was"),
        pytest.param({2: [1]}, (1, 2, 1, 3), id="another-one-was"),
    ],
)
def test_what_was_opened_in_between_may_have_been_done_before_as_well(opened, expected):
    assert positions_of(CROSS, [T] * 4, opened, {3: 3}) == expected


def seen(torque, gap_s=8.0):
    return Seen(Click(1, torque, "W-1", 0.0), gap_s, 100.0)


def story(torques, opened=(), gaps=None, place=HUB, kept=None):
    """Kind and position of pulls one after the other at one place, 8 s apart unless said."""
    own = Own(USUAL)
    gaps = gaps or [8.0] * len(torques)
    odds = [odds_of(seen(torque, gap_s), place, own) for torque, gap_s in zip(torques, gaps, strict=True)]
    begins = [rank == 0 for rank in range(len(torques))]
    return story_of(place, Within(place.fasteners, USUAL), odds, begins, dict(opened), kept)


def test_without_openings_a_round_after_the_last_fastener_is_a_check():
    told = story([100.0] * 8)

    assert told == [(kind, at) for kind in (T, C) for at in CROSS]


def test_after_a_joint_was_opened_every_pull_tightens_again():
    assert story([100.0] * 8, {4: [None]}.items()) == [(T, at) for at in CROSS * 2]


def test_after_one_fastener_was_opened_the_next_pull_tightens_that_one():
    assert story([100.0] * 5, {4: [2]}.items()) == [*((T, at) for at in CROSS), (T, 2)]


def test_opened_before_all_were_done_begins_the_joint_anew():
    assert story([100.0] * 6, {2: [None]}.items()) == [(T, at) for at in (1, 3, *CROSS)]


def test_a_short_pull_before_an_opening_was_not_continued():
    assert [kind for kind, _ in story([100.0, 60.0, 100.0], {2: [None]}.items())] == [T, T, T]


def test_a_loosening_opens_the_fastener_before_it():
    assert story([100.0, 100.0, -40.0, 100.0]) == [(T, 1), (T, 3), (L, 3), (T, 3)]


def test_a_loosening_opens_all_of_a_joint_that_is_done_again_as_a_whole():
    assert story([100.0, 100.0, -40.0, 100.0, 100.0, 100.0], place=CAP) == [
        (T, 1), (T, 2), (L, 2), (T, 1), (T, 2), (T, 3),
    ]  # fmt: skip


def test_a_second_click_at_once_is_a_repeat_and_strokes_are_short_pulls():
    assert story([100.0] * 5, gaps=[8.0, 8.0, 0.8, 8.0, 8.0]) == [(T, 1), (T, 3), (R, 3), (T, 2), (T, 4)]
    assert story([100.0, 60.0, 100.0], gaps=[8.0, 8.0, 2.0])[1:] == [(S, 3), (T, 3)]


def test_what_stays_is_told_from_the_record_once_a_person_named_the_fastener_of_one_there(new_job):
    job = new_job(PLAN)
    for joint, position, more in (
        ("hub", 1, {}), ("hub", 3, {"verdict": "over"}), ("hub", 3, {"kind": "loosening", "verdict": None}), ("cap", 2, {}),
        ("hub", 2, {"kind": "repeat"}),
    ):  # fmt: skip
        job.match(job.read("100"), joint, 1, position, position_by="order", **more)
    job.say("inspected", "cap", 2)
    pulls = list(job.state.pulls.values())
    unmatched = job.state.pulls[job.read("100")]
    assert kept_of(job.state, HUB, pulls) == {}, "nobody has named one"

    job.put(replace(pulls[4].match, position_by="confirmed", revises=pulls[4].match_seq))

    assert kept_of(job.state, HUB, [*pulls, unmatched]) == {1: (T, 3), 2: (L, 3), 4: (R, 2)}
    assert kept_of(job.state, HUB, pulls[:4]) == {}


def test_only_a_pull_to_the_left_on_a_right_hand_thread_is_a_loosening():
    own = Own(USUAL)

    assert odds_of(seen(-60.0), HUB, own) is None
    assert odds_of(seen(-60.0), ARM, own) is not None
    assert odds_of(seen(None), HUB, own) is not None
    assert odds_of(seen(0.0), HUB, own) is not None


def test_a_pull_to_the_left_tightens_a_left_hand_thread():
    assert story([-60.0, -60.0], place=ARM) == [(T, 1), (T, 2)]


def test_a_pull_that_a_person_named_counts_as_on_record_however_it_looks():
    clicks = [8.0, 8.0, 0.8, 8.0, 8.0]

    assert story([100.0] * 5, gaps=clicks) == [(T, 1), (T, 3), (R, 3), (T, 2), (T, 4)]
    assert story([100.0] * 5, gaps=clicks, kept={2: (T, 2)}) == [(T, 1), (T, 3), (T, 2), (T, 4), (T, 4)]
    assert story([100.0] * 4, kept={2: (R, 1)}) == [(T, 1), (T, 3), (R, 1), (T, 2)]


def test_whether_a_pull_that_a_person_named_was_continued_is_told_by_the_readings():
    assert story([100.0, 60.0, 100.0], gaps=[8.0, 8.0, 2.0], kept={1: (T, 4)}) == [(T, 1), (S, 4), (T, 4)]
