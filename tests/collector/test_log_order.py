"""What the matcher sees of a log's times: the moment that is certain, else the wall clock, and nothing of a bad clock."""

from collector.expect.gaps import see
from collector.expect.job_clicks import click_of, clicks_of
from schemas.bodies import ReadingKept
from schemas.fastener_state import Pull


def pull(n: int, time: str, pulled_at: str | None = None, seq: int | None = None) -> Pull:
    reading = ReadingKept("1", log=7, wrench="W", torque_nm="25", sequence=seq, tool_time=time, pulled_at=pulled_at)
    return Pull(10 + n, "2026-11-02T07:00:00.000000Z", "p-1", n, reading)


def pauses(*pulls: Pull) -> list[float | None]:
    return [seen.gap_s for seen in see([one.click for one in clicks_of(pulls)])]


def test_a_certain_moment_goes_before_the_time_as_sent():
    change = [
        pull(1, "2025-10-26 02:40:00", "2025-10-26T02:40:00+02:00"),
        pull(2, "2025-10-26 02:05:00", "2025-10-26T02:05:00+01:00"),
    ]

    assert pauses(*change) == [None, 25 * 60]


def test_a_form_that_only_the_layout_reads_gives_its_pauses_too():
    assert pauses(pull(1, "14/03/2026 09:00", "2026-03-14T09:00:00"), pull(2, "x", "2026-03-14T09:00:20")) == [None, 20]


def test_no_pause_reaches_over_a_reset_of_the_clock_and_no_order_is_made_of_it():
    rows = [
        pull(1, "2026-03-02T09:00:00"), pull(2, "2000-01-01T00:00:10", "unknown"), pull(3, "2000-01-01T00:00:30", "unknown"),
        pull(4, "2026-03-02T09:20:00"),
    ]  # fmt: skip

    assert [one.pull.n for one in clicks_of(rows)] == [1, 2, 3, 4]
    assert pauses(*rows) == [None, None, None, None]


def test_an_unknown_moment_is_no_time():
    assert click_of(pull(1, "2025-10-26 02:20:00", "unknown")).at_s is None
