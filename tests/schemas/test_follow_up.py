"""What became of a retorque, and from when to when it is due."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from schemas.follow_up import Followed, FollowUp, followed, window_of
from schemas.plan.load import load_plan

PLAN = """\
plan: hubs
title: Hubs
revision: "1"
source: Shop procedure 9
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100}
steps:
  - torque: hub
  - {retorque: hub, SPAN}
"""
SINCE = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def window(span):
    return window_of(load_plan(PLAN.replace("SPAN", span).encode(), "plan.yaml").steps[-1])


OPEN = FollowUp("2", closed=False, complete=False, untouched=3)
DONE = FollowUp("3", closed=False, complete=True, untouched=0)
MOVED = FollowUp("4", closed=True, complete=False, untouched=0)
CUT_SHORT = FollowUp("5", closed=True, complete=False, untouched=1)
REFUSED = FollowUp("6", closed=True, complete=False, untouched=3, outcome="offered, not done", reason="sold")


@pytest.mark.parametrize(
    ("short", "state"),
    [
        pytest.param(OPEN, "open", id="open"),
        pytest.param(DONE, "done", id="complete"),
        pytest.param(MOVED, "done", id="closed-after-every-fastener-was-pulled"),
        pytest.param(CUT_SHORT, "closed unfinished", id="closed-with-one-left"),
        pytest.param(REFUSED, "offered, not done", id="offered"),
        pytest.param(FollowUp("7", closed=False, complete=False, untouched=0), "open", id="all-pulled-not-closed"),
    ],
)
def test_a_short_job_is_done_once_it_is_complete_or_closed_with_nothing_left(short, state):
    assert short.state == state


@pytest.mark.parametrize(
    ("short", "remarks"),
    [
        pytest.param(DONE, "", id="all-proven"),
        pytest.param(MOVED, ", its record not complete", id="not-complete"),
        pytest.param(
            FollowUp("8", closed=True, complete=True, untouched=0, declared=4, not_fitted=1),
            ", 4 declared, 1 not fitted",
            id="answered-for",
        ),
        pytest.param(FollowUp("9", closed=False, complete=False, untouched=1, declared=3), "", id="not-done-yet"),
    ],
)
def test_what_is_done_says_what_no_wrench_has_proven(short, remarks):
    assert short.remarks == remarks


@pytest.mark.parametrize(
    ("shorts", "state"),
    [
        pytest.param((), Followed.DUE, id="none"),
        pytest.param((REFUSED, OPEN), Followed.OPEN, id="taken-up-after-all"),
        pytest.param((DONE, OPEN), Followed.OPEN, id="again-after-it-was-done"),
        pytest.param((CUT_SHORT, REFUSED), Followed.NOT_DONE, id="the-last-word"),
        pytest.param((REFUSED, CUT_SHORT), Followed.UNFINISHED, id="the-last-word-is-unfinished"),
    ],
)
def test_of_several_the_last_one_decides(shorts, state):
    assert followed(shorts) is state


@pytest.mark.parametrize(
    ("span", "due", "late"),
    [
        pytest.param("from: 30 min", timedelta(minutes=30), timedelta(minutes=30), id="no-end"),
        pytest.param("from: 1 week, to: 2 weeks", timedelta(days=7), timedelta(days=14), id="weeks"),
        pytest.param("from: 40 km, to: 80 km", None, None, id="distance"),
    ],
)
def test_a_time_counts_from_the_last_tightening_and_a_distance_gives_no_day(span, due, late):
    told = window(span)

    assert told.due_at(SINCE) == (due and SINCE + due)
    assert told.late_at(SINCE) == (late and SINCE + late)


@pytest.mark.parametrize(
    ("span", "km", "inside"),
    [
        pytest.param("from: 40 km, to: 80 km", "40", True, id="at-its-beginning"),
        pytest.param("from: 40 km, to: 80 km", "80", True, id="at-its-end"),
        pytest.param("from: 40 km, to: 80 km", "39.9", False, id="before"),
        pytest.param("from: 40 km, to: 80 km", "80.1", False, id="beyond"),
        pytest.param("from: 40 km", "900", True, id="no-end"),
        # 1 mile = 1.609344 km exactly (international mile, 1959).
        pytest.param("from: 50 miles, to: 100 miles", "80.4672", True, id="miles"),
        pytest.param("from: 50 miles, to: 100 miles", "80.4671", False, id="just-below-in-miles"),
        pytest.param("from: 2 weeks", "50", None, id="time"),
    ],
)
def test_a_distance_is_inside_with_both_ends(span, km, inside):
    assert window(span).has_km(Decimal(km)) is inside
