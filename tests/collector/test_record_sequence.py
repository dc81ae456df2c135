"""Gaps in a wrench's memory numbers: found once, filled by what comes late, never invented."""

import pytest

from collector.record.sequence import Sequences


def none_stored(sql: str, *values: object) -> list[tuple[object, ...]]:
    return []


def passed(*numbers: int | None, wrench: str | None = "W-7") -> list[str | None]:
    sequences = Sequences(none_stored)
    return [sequences.passed_over(wrench, "1", number) for number in numbers]


@pytest.mark.parametrize(
    ("numbers", "missing"),
    [
        pytest.param((41,), [None], id="the-first-ever"),
        pytest.param((1, 2, 3), [None] * 3, id="one-after-the-other"),
        pytest.param((1, 3), [None, "2"], id="one-missing"),
        pytest.param((1, 2, 5), [None, None, "3-4"], id="two-missing"),
        pytest.param((1, 1, 2), [None] * 3, id="the-same-twice"),
        pytest.param((1, None, 2), [None] * 3, id="a-reading-without-a-number"),
        pytest.param((7, 8, 1, 2, 4), [None, None, None, None, "3"], id="memory-cleared"),
        pytest.param((3, 2, 1), [None] * 3, id="newest-first"),
        pytest.param((1, 2, 5, 3, 4), [None, None, "3-4", None, None], id="late"),
        pytest.param((1, 2, 5, 3, 4, 6), [None, None, "3-4", None, None, None], id="late-then-on"),
        pytest.param((1, 2, 5, 4, 3, 7), [None, None, "3-4", None, None, "6"], id="late-then-a-new-gap"),
        pytest.param((1, 5, 9, 7, 3, 10), [None, "2-4", "6-8", None, None, None], id="late-into-two-gaps"),
        pytest.param((1, 2, 9, 1, 2, 4), [None, None, "3-8", None, None, "3"], id="memory-cleared-after-a-gap"),
        pytest.param((1, 2, 9, 1, 2, 3, 4, 5, 3, 5), [None, None, "3-8", *[None] * 6, "4"], id="memory-cleared-twice"),
    ],
)
def test_what_is_missing_before_each_number(numbers, missing):
    assert passed(*numbers) == missing


def test_each_wrench_counts_for_itself():
    sequences = Sequences(none_stored)

    told = [sequences.passed_over(wrench, "1", number) for wrench, number in (("A", 1), ("B", 7), ("A", 2), ("B", 9))]

    assert told == [None, None, None, "8"]


def test_a_wrench_counts_on_from_job_to_job_and_one_without_a_name_does_not():
    sequences = Sequences(none_stored)

    assert [sequences.passed_over("A", job, number) for job, number in (("1", 1), ("2", 3))] == [None, "2"]
    assert [sequences.passed_over(None, job, number) for job, number in (("1", 1), ("2", 3), ("1", 2))] == [None] * 3


@pytest.mark.parametrize(
    ("not_read", "number", "missing"),
    [
        pytest.param(1, 3, None, id="one-line-one-number"),
        pytest.param(1, 4, "2-3", id="one-line-two-numbers"),
        pytest.param(2, 4, None, id="two-lines-two-numbers"),
        pytest.param(2, 3, None, id="two-lines-one-number"),
    ],
)
def test_a_line_that_gave_no_reading_stands_for_a_number_passed_over(not_read, number, missing):
    sequences = Sequences(none_stored)
    sequences.passed_over("A", "1", 1)

    for _ in range(not_read):
        sequences.count_not_read(b"@A;?;;")

    assert sequences.passed_over("A", "1", number) == missing


def test_a_line_that_gave_no_reading_stands_for_one_number_only():
    sequences = Sequences(none_stored)
    sequences.passed_over("A", "1", 1)
    sequences.count_not_read(b"@A;?;;")

    assert [sequences.passed_over("A", "1", number) for number in (3, 5)] == [None, "4"]


def test_a_number_that_a_line_stood_for_may_still_come():
    sequences = Sequences(none_stored)
    sequences.passed_over("A", "1", 1)
    sequences.count_not_read(b"@A;?;;")

    assert [sequences.passed_over("A", "1", number) for number in (3, 2, 4)] == [None] * 3


def test_a_line_before_a_stored_reading_stands_for_no_number_after_it():
    sequences = Sequences(none_stored)
    sequences.passed_over("A", "1", 1)
    sequences.count_not_read(b"@A;?;;")
    sequences.skip_stored()

    assert sequences.passed_over("A", "1", 3) == "2"


def test_a_gap_is_stored_with_the_reading_after_it_and_filled_by_late_ones(floor, recorder):
    bench = floor.bench(recorder)

    floor.run(bench, *(floor.pull(50, number) for number in (1, 2, 5)))
    with_gap = bench.job.missing, recorder.query("SELECT missing_numbers FROM job")
    floor.run(bench, floor.pull(95, 4), floor.pull(95, 3), floor.pull(75, 6))

    assert with_gap == ([("W-7", 3, 4)], [(2,)])
    assert [pull.reading.missing for pull in bench.job.pulls.values()] == [None, None, "3-4", None, None, None]
    assert (bench.job.missing, recorder.query("SELECT missing_numbers FROM job")) == ([], [(0,)])


@pytest.mark.parametrize("until", [3, 4, 5])
def test_the_next_run_counts_on_where_the_last_one_was(floor, until):
    numbers = (1, 2, 5, 3, 4, 6, 8)
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder), *(floor.pull(50, number) for number in numbers[:until]))
    with floor.recorder() as recorder:
        bench = floor.bench(recorder, recorder.load_job("1"))
        floor.run(bench, *(floor.pull(50, number) for number in numbers[until:]))

    assert bench.job.missing == [("W-7", 7, 7)]


def test_the_next_run_looks_at_the_last_numbers_only(floor, monkeypatch):
    monkeypatch.setattr("collector.record.sequence.LOOK_BACK", 2)
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder), *(floor.pull(50, number) for number in (1, 2, 3, 6)))
    with floor.recorder() as recorder:
        bench = floor.bench(recorder, recorder.load_job("1"))
        floor.run(bench, *(floor.pull(50, number) for number in (5, 4, 7)))

    assert bench.job.missing == []


def test_a_wrench_without_a_name_counts_on_within_its_job(floor):
    line = b"@;%04d;50;Nm;2026-03-02T08:15:30+01:00;ok"
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder), floor.frame(line % 1))
    with floor.recorder() as recorder:
        bench = floor.bench(recorder, recorder.load_job("1"))
        floor.run(bench, floor.frame(line % 3))
        other = floor.bench(recorder)
        floor.run(other, floor.frame(line % 9))

    assert bench.job.missing == [("", 2, 2)]
    assert other.job.missing == []


def test_a_line_of_another_source_stands_for_no_number_of_this_one():
    sequences = Sequences(lambda *_: [])
    sequences.passed_over("A", "1", 1, "serial:A")
    sequences.count_not_read(b"@A;?;;", "serial:B")

    assert sequences.passed_over("A", "1", 3, "serial:A") == "2"


def test_readings_of_another_source_leave_a_line_that_could_not_be_read_standing_for_its_number():
    sequences = Sequences(lambda *_: [])
    sequences.passed_over("A", "1", 1, "serial:A")
    sequences.count_not_read(b"@A;?;;", "serial:A")
    sequences.passed_over("B", "1", 1, "serial:B")

    assert sequences.passed_over("A", "1", 3, "serial:A") is None
