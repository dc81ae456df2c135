"""A tool's clock: its time is kept as sent, placed by what is certain, and marked where it tells nothing."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from collector.acquire import log_file
from collector.acquire.log_file import LogSource
from collector.decode import decode_frame
from schemas.errors import SourceError
from schemas.frame import Reading
from schemas.log_layout import LogLayout
from schemas.log_time import TimeRule

BERLIN = LogLayout(time=TimeRule(zone="Europe/Berlin"))
HEADER = "seq,device_time,torque,unit\n"


class StillClock:
    def now(self) -> datetime:
        return datetime(2026, 11, 2, 9, tzinfo=UTC)

    def monotonic_ns(self) -> int:
        return 7


@pytest.fixture(name="read")
def _read(tmp_path: Path):
    """The readings of a log with rows (number, time), all of them 25 N·m; and how it was read."""

    def read(rows: list[tuple[int, str]], layout: LogLayout | None = None, header: str = HEADER) -> tuple[list[Reading], str]:
        path = tmp_path / "day.csv"
        path.write_text(header + "".join(f"{number},{time},25,Nm\n" for number, time in rows), encoding="utf-8")
        source = LogSource(path, StillClock(), layout=layout or LogLayout())
        source.open()
        readings = [decode_frame(source.wire_format, frame) for frame in source.rows()]
        assert [reading.tool_time for reading in readings] == [time or None for _, time in rows]
        return readings, "\n".join(one.what for one in source.told)

    return read


def utc(readings: list[Reading]) -> list[str]:
    return [
        "" if one.pulled_at in (None, "unknown") else f"{datetime.fromisoformat(one.pulled_at).astimezone(UTC):%Y-%m-%d %H:%M:%S}"
        for one in readings
    ]  # fmt: skip


def noted(readings: list[Reading], words: str) -> list[int | None]:
    return [one.sequence for one in readings if any(words in note for note in one.notes)]


def test_times_with_their_offset_stand_for_themselves(read):
    readings, told = read([(1, "2026-03-02T09:00:05+01:00"), (2, "2026-03-02T09:00:21+01:00"), (3, "")])

    assert [one.pulled_at for one in readings] == [None] * 3
    assert "times as they stand (standard)" in told


def test_a_time_without_zone_stays_a_wall_clock_and_that_is_told(read):
    readings, told = read([(1, "2026-03-02 09:00:05"), (2, "09:01"), (3, "yesterday")])

    assert [(one.pulled_at, one.notes) for one in readings] == [(None, ())] * 3
    assert "zone not stated" in told


@pytest.mark.parametrize("zone_here", ["UTC", "America/Chicago", "Asia/Tokyo"])
def test_a_declared_zone_places_times_whatever_zone_this_machine_has(read, monkeypatch, zone_here):
    monkeypatch.setenv("TZ", zone_here)

    readings, told = read([(1, "2026-03-02 09:00:05"), (2, "2026-07-02 09:00:05")], BERLIN)

    assert [one.pulled_at for one in readings] == ["2026-03-02T09:00:05+01:00", "2026-07-02T09:00:05+02:00"]
    assert "zone Europe/Berlin (declared), assumed" in told


def test_the_repeated_hour_is_told_apart_by_the_order_of_the_numbers(read):
    times = ["02:10", "02:40", "02:05", "02:35", "03:00"]

    readings, _ = read([(n, f"2025-10-26 {time}:00") for n, time in enumerate(times, 1)], BERLIN)

    assert [time[11:16] for time in utc(readings)] == ["00:10", "00:40", "01:05", "01:35", "02:00"]
    assert [one.notes for one in readings] == [()] * 5


def test_the_repeated_hour_is_told_apart_in_a_log_that_begins_with_the_newest(read):
    times = [(5, "03:00"), (4, "02:35"), (3, "02:05"), (2, "02:40"), (1, "02:10")]

    readings, _ = read([(n, f"2025-10-26 {time}:00") for n, time in times], BERLIN)

    assert [time[11:16] for time in utc(readings)] == ["02:00", "01:35", "01:05", "00:40", "00:10"]


@pytest.mark.parametrize(
    "times",
    [
        pytest.param(["02:20"], id="alone"),
        pytest.param(["01:50", "02:20", "02:30", "03:10"], id="one-way-through"),
        pytest.param(["02:20", "02:10", "02:30", "02:05"], id="two-steps-back"),
    ],
)
def test_the_repeated_hour_stays_open_with_both_instants_where_nothing_tells_it(read, times):
    readings, _ = read([(n, f"2025-10-26 {time}:00") for n, time in enumerate(times, 1)], BERLIN)

    hour = [n for n, time in enumerate(times, 1) if time.startswith("02")]
    assert noted(readings, "ambiguous hour") == hour
    assert [one.pulled_at for one in readings if one.sequence in hour] == ["unknown"] * len(hour)
    assert "2025-10-26T00:20:00Z or 2025-10-26T01:20:00Z" in str([one.notes for one in readings])


def test_a_time_that_never_was_and_one_that_goes_back_tell_no_instant(read):
    times = ["01:50", "02:30", "03:40", "03:02", "03:10", "03:41"]

    readings, _ = read([(n, f"2026-03-29 {time}:00") for n, time in enumerate(times, 1)], BERLIN)

    assert [one[11:16] for one in utc(readings)] == ["00:50", "", "01:40", "", "", "01:41"]
    assert noted(readings, "in the missing hour of Europe/Berlin: tool clock not switched?") == [2]
    assert noted(readings, "clock set back") == [4, 5]


@pytest.mark.parametrize(
    "times",
    [
        pytest.param(("2026-03-02 09:05:00", "2026-03-02 09:01:00"), id="without-zone"),
        pytest.param(("2026-03-02T09:05:00+01:00", "2026-03-02T09:01:00+01:00"), id="with-offset"),
        pytest.param(("2026-03-02T09:05:00+01:00", "2026-03-02T09:05:00+02:00"), id="offsets-differ"),
    ],
)
def test_where_numbers_and_clock_disagree_the_numbers_hold_and_the_clock_is_marked(read, times):
    readings, _ = read(list(enumerate(times, 1)))

    assert noted(readings, "clock set back: number 2") == [2]
    assert [one.pulled_at for one in readings] == [None, "unknown"]


def test_a_shuffled_log_whose_numbers_and_times_agree_is_in_order(read):
    readings, _ = read([(3, "2026-03-02 09:02:00"), (1, "2026-03-02 09:00:05"), (2, "2026-03-02 09:01:00")])

    assert [(one.pulled_at, one.notes) for one in readings] == [(None, ())] * 3


def test_numbers_that_begin_anew_are_no_clock_that_went_back(read):
    rows = [(998, "08:00"), (999, "08:01"), (1, "08:02"), (2, "08:03")]

    readings, _ = read([(n, f"2026-03-02 {time}:00") for n, time in rows])

    assert [one.notes for one in readings] == [()] * 4


def test_numbers_that_repeat_are_no_order(read):
    readings, _ = read([(1, "2026-03-02 09:05:00"), (1, "2026-03-02 09:01:00")])

    assert [one.notes for one in readings] == [()] * 2


def test_each_wrench_has_a_clock_of_its_own(read):
    rows = [("1,A", "09:05"), ("1,B", "08:00"), ("2,A", "09:06"), ("2,B", "07:59")]

    readings, _ = read([(n, f"2026-03-02 {time}:00") for n, time in rows], header="seq,tool,device_time,torque,unit\n")

    assert [one.wrench for one in readings if one.notes] == ["B"]


@pytest.mark.parametrize("layout", [None, BERLIN], ids=["no-zone", "with-zone"])
def test_a_clock_that_was_never_set_is_marked_and_every_row_stays(read, layout):
    times = ["2026-03-02 09:00:05", "2000-01-01 00:00:10", "1970-01-01 00:00:40", "2000-01-01 00:00:10", "2026-03-02 10:00:00"]

    readings, _ = read(list(enumerate(times, 1)), layout)

    assert noted(readings, "clock not set: the tool says `") == [2, 3, 4]
    assert [one.pulled_at == "unknown" for one in readings] == [False, True, True, True, False]


@pytest.mark.parametrize("ahead", ["2027-03-02 09:00:40", "9999-12-31 23:59:59"], ids=["a-year", "end-of-all-time"])
def test_one_time_that_is_still_to_come_spoils_no_other(read, ahead):
    rows = [(1, "2026-03-02 09:00:05"), (2, ahead), (3, "2026-03-02 09:01:00"), (4, "2026-03-02 09:01:30")]

    readings, _ = read(rows, BERLIN)

    assert [one.pulled_at == "unknown" for one in readings] == [False, True, False, False]


@pytest.mark.parametrize(
    "time",
    [
        pytest.param("9999-12-31 23:59:59-14:00", id="last-year-with-offset"),
        pytest.param("9999-12-31 23:59:59", id="last-year-in-a-zone"),
        pytest.param("0001-01-01 00:00:00+14:00", id="first-year"),
    ],
)
def test_a_time_that_no_zone_can_be_reckoned_with_is_noted_and_costs_no_reading(read, time):
    readings, _ = read([(1, time), (2, "2026-03-02 09:00:05")], LogLayout(time=TimeRule(zone="America/New_York")))

    assert noted(readings, "it is not used") == [1]
    assert [one.pulled_at for one in readings] == ["unknown", "2026-03-02T09:00:05-05:00"]


@pytest.mark.parametrize(
    ("time", "layout", "is_marked"),
    [
        pytest.param("2026-11-03T09:00:01+00:00", None, True, id="more-than-a-day-ahead"),
        pytest.param("2026-11-03T09:00:00+00:00", None, False, id="a-day-ahead"),
        pytest.param("2026-11-03 23:30:00", None, True, id="wall-clock-beyond-any-zone"),
        pytest.param("2026-11-03 22:30:00", None, False, id="wall-clock-within-some-zone"),
        pytest.param("2026-11-03 10:30:00", BERLIN, True, id="in-a-zone"),
    ],
)
def test_a_time_that_is_still_to_come_is_marked(read, time, layout, is_marked):
    readings, _ = read([(1, time)], layout)

    assert noted(readings, "which is still to come") == [1] * is_marked
    assert (readings[0].pulled_at == "unknown") == is_marked


def test_one_day_above_twelve_proves_the_order_for_the_whole_file(read):
    days_first, told = read([(1, "03/03/2026 09:00"), (2, "14/03/2026 09:00"), (3, "03/04/2026 09:00")])
    months_first, _ = read([(1, "03.04.2026 9:00:05 PM"), (2, "03.14.2026 12:30 am")])

    assert [one.pulled_at for one in days_first] == ["2026-03-03T09:00:00", "2026-03-14T09:00:00", "2026-04-03T09:00:00"]
    assert "days and months day first (proved by line 3)" in told
    assert [one.pulled_at for one in months_first] == ["2026-03-04T21:00:05", "2026-03-14T00:30:00"]


@pytest.mark.parametrize(
    ("times", "says"),
    [
        pytest.param(["03/04/2026 09:00", "05/04/2026 09:00"], "no row proves whether the day comes first; declare", id="open"),
        pytest.param(["14/03/2026 09:00", "03/14/2026 09:00"], r"day first in line 2 .* the month first in line 3", id="mixed"),
        pytest.param(["14/03/26 09:00"], "two-digit years, such as `14/03/26 09:00` in line 2", id="two-digit-year"),
        pytest.param(["1772438405", "1772438405000"], "counts seconds in line 2 .* and milliseconds in line 3", id="counts"),
    ],
)
def test_times_that_can_be_read_in_two_ways_refuse_the_file(read, times, says):
    with pytest.raises(SourceError, match=says):
        read(list(enumerate(times, 1)))


@pytest.mark.parametrize(
    ("order", "time", "read_as"),
    [
        pytest.param("day first", "03/04/2026 09:00", "2026-04-03T09:00:00", id="day-first"),
        pytest.param("month first", "03/04/2026 09:00", "2026-03-04T09:00:00", id="month-first"),
        pytest.param("day first", "03.04.26 09:00:07.25", "2026-04-03T09:00:07", id="two-digit-year-behind"),
        pytest.param("year first", "26-04-03 09:00", "2026-04-03T09:00:00", id="two-digit-year-in-front"),
    ],
)
def test_a_declared_order_settles_it(read, order, time, read_as):
    (one,), told = read([(1, time)], LogLayout(time=TimeRule(order=order)))

    assert one.pulled_at == read_as
    assert f"days and months {order} (declared)" in told


@pytest.mark.parametrize(
    "time",
    [
        pytest.param("14/13/2026 09:00", id="no-such-month"),
        pytest.param("14/03/2026 13:00 pm", id="no-such-hour"),
        pytest.param("12345", id="count-of-something"),
    ],
)
def test_a_time_that_does_not_fit_the_files_form_is_noted_and_costs_no_reading(read, time):
    readings, _ = read([(1, "14/03/2026 09:00"), (2, time)])

    assert readings[1].pulled_at == "unknown"
    assert noted(readings, "is none in the form that this file's times have") == [2]


def test_an_order_that_was_declared_wrongly_is_noted_row_by_row(read):
    readings, _ = read([(1, "03/04/2026 09:00"), (2, "14/03/2026 09:00")], LogLayout(time=TimeRule(order="month first")))

    assert noted(readings, "none in the form") == [2]


def test_a_date_with_the_year_in_front_needs_no_proof(read):
    readings, _ = read([(1, "2026/03/04 09:00")])

    assert readings[0].pulled_at == "2026-03-04T09:00:00"


@pytest.mark.parametrize(
    ("time", "unit"), [pytest.param("1772438405", "seconds", id="s"), pytest.param("1772438405000", "milliseconds", id="ms")]
)
def test_counts_of_one_length_are_read_by_it_and_that_is_told(read, time, unit):
    readings, told = read([(1, time)], header="seq,epoch,torque,unit\n")

    assert utc(readings) == ["2026-03-02 08:00:05"]
    assert f"times count {unit} from 1970 UTC (proved by their length, all rows alike)" in told


def test_declared_counts_are_read_so_and_a_short_one_is_a_clock_that_was_not_set(read):
    readings, told = read([(1, "1772438405"), (2, "10")], LogLayout(time=TimeRule(counts="seconds", zone="Europe/Berlin")))

    assert readings[0].pulled_at == "2026-03-02T09:00:05+01:00"
    assert noted(readings, "clock not set") == [2]
    assert "times count seconds from 1970 UTC (declared)" in told


def checks(*pairs: tuple[str, str]) -> LogLayout:
    times = [tuple(datetime.fromisoformat(f"2026-03-02T{time}+01:00") for time in pair) for pair in pairs]
    return LogLayout(time=TimeRule(zone="+01:00", checks=tuple(times)))


@pytest.mark.parametrize(
    ("time", "placed", "noted_as"),
    [
        pytest.param("12:30:00", "12:32:15", "corrected by +135 s", id="between"),
        pytest.param("07:00:00", "07:00:00", "+0 s, beyond the moments", id="before"),
        pytest.param("18:00:00", "18:04:30", "+270 s, beyond the moments", id="after"),
    ],
)
def test_a_clock_that_drifts_evenly_is_corrected_and_both_times_are_kept(read, time, placed, noted_as):
    (one,), _ = read([(1, f"2026-03-02 {time}")], checks(("08:00:00", "08:00:00"), ("17:00:00", "17:04:30")))

    assert one.pulled_at == f"2026-03-02T{placed}+01:00"
    assert noted_as in one.notes[0]


def test_a_clock_that_runs_unevenly_is_not_corrected_but_marked(read):
    (one,), _ = read([(1, "2026-03-02 12:30:00")], checks(("08:00:00", "08:00:00"), ("08:25:00", "10:30:00")))

    assert one.pulled_at == "unknown"
    assert "clock unusable" in one.notes[0]


def test_a_log_too_long_to_compare_is_read_without_and_says_so(read, monkeypatch):
    monkeypatch.setattr(log_file, "MOST_ROWS", 1)

    readings, told = read([(1, "2026-03-02 09:05:00"), (2, "2026-03-02 09:01:00")])

    assert [one.notes for one in readings] == [()] * 2
    assert "their times are not compared with their numbers" in told


def test_rows_that_are_no_rows_do_not_hinder_the_look_at_the_clock(tmp_path):
    path = tmp_path / "day.csv"
    odd = ['2,"2026,25,Nm', "x,2026-03-02 09:00,25,Nm", "3,,25,Nm", "4,5"]
    rows = ["1,2026-03-02 09:05,25,Nm", *odd, "5,2026-03-02 09:01,25,Nm"]
    path.write_text("\n".join([HEADER.strip(), *rows]), encoding="utf-8")
    source = LogSource(path, StillClock())

    source.open()

    assert source.wire_format.log is not None
    assert list(source.wire_format.log.doubts) == [7]
