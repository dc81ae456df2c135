"""The readings of a job in the order in which they were pulled, as far as that is known, and what the model sees of each."""

import pytest

from collector.expect.job_clicks import click_of, clicks_of
from schemas.bodies import ReadingKept
from schemas.fastener_state import Pull

ARRIVED = "2026-03-02T07:00:00.000000Z"


def pull(n, wrench="W-1", *, seq=None, time=None, log=7, **more):
    return Pull(10 + n, ARRIVED, "p-1", n, ReadingKept("1", wrench=wrench, sequence=seq, tool_time=time, log=log, **more))


def at(minute):
    return f"2026-03-02T08:{minute:02d}:00+01:00"


def order(*pulls):
    return [one.pull.n for one in clicks_of(pulls)]


def test_no_reading_has_no_order():
    assert clicks_of([]) == []


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        pytest.param([(3, None), (1, None), (2, None)], [2, 3, 1], id="by-memory-number"),
        pytest.param([(3, at(3)), (1, at(1)), (2, at(2))], [2, 3, 1], id="number-and-time-agree"),
        pytest.param([(8, at(1)), (9, at(2)), (1, at(3))], [1, 2, 3], id="a-counter-that-began-again"),
        pytest.param([(2, at(5)), (1, at(9)), (3, at(1))], [2, 1, 3], id="a-clock-that-runs-backwards-either-way"),
        pytest.param([(1, at(3)), (1, at(1)), (2, at(2))], [2, 3, 1], id="equal-numbers-so-by-time"),
        pytest.param([(None, at(3)), (5, at(1))], [2, 1], id="not-all-numbered-so-by-time"),
        pytest.param([(None, at(3)), (None, None), (None, at(1))], [1, 2, 3], id="not-all-timed-so-by-arrival"),
        pytest.param([(None, at(1)), (None, at(1))], [1, 2], id="equal-times-in-order-of-arrival"),
        pytest.param([(None, "2026-03-02T08:09:00"), (None, "2026-03-02T08:01:00")], [2, 1], id="times-without-a-zone"),
    ],
)
def test_within_a_wrench_by_number_else_time_else_arrival(rows, expected):
    assert order(*(pull(n, seq=seq, time=time) for n, (seq, time) in enumerate(rows, 1))) == expected


def test_between_wrenches_by_time_where_all_have_one():
    rows = [pull(1, time=at(1)), pull(2, time=at(5)), pull(3, "W-2", time=at(3)), pull(4, "W-2", time=at(9))]

    assert order(*rows) == [1, 3, 2, 4]


def test_between_wrenches_by_arrival_where_one_has_no_time_each_in_its_own_order():
    rows = [pull(1, seq=2, time=at(9)), pull(2, "W-2"), pull(3, seq=1, time=at(1)), pull(4, "W-2")]

    assert order(*rows) == [3, 2, 1, 4]


def test_what_came_live_has_our_time_and_what_came_in_a_log_the_tools_own():
    live, logged = pull(1, log=None, time=at(30)), pull(2, time=at(30))

    assert click_of(logged).at_s - click_of(live).at_s == 30 * 60


@pytest.mark.parametrize("time", [None, "", "noon"])
def test_a_time_that_is_none_gives_none(time):
    assert click_of(pull(1, time=time)).at_s is None


def test_the_model_sees_plain_numbers_and_keeps_apart_what_was_not_sent():
    full = click_of(pull(4, torque_nm="101.50", angle_deg="-30.5", length_mm="400"))
    bare = click_of(pull(5, None))

    assert (full.n, full.torque_nm, full.wrench, full.angle_deg, full.length_mm) == (4, 101.5, "W-1", -30.5, 400.0)
    assert (bare.torque_nm, bare.wrench, bare.at_s, bare.angle_deg, bare.length_mm) == (None,) * 5
