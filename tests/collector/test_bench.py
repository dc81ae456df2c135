"""What a bench records of a frame and of a value: raw bytes, exact torque, and whether the wrench was fit at that moment."""

from dataclasses import replace
from decimal import Decimal

import pytest

from collector.bench import Feed
from collector.record.jobs import measure_wrench
from collector.wrench_told import news_of_wrench
from schemas.bodies import FrameKept, NotRead, ReadingKept, WrenchMeasured, parse_body
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.words import Measures

VALUE = Reading("95.2", "N·m", Decimal("95.2"), wrench="W-7", sequence=42, tool_time="2026-03-02T08:15:30+01:00")


@pytest.fixture
def bench(floor, recorder):
    return floor.bench(recorder)


@pytest.fixture
def keep(bench, floor):
    """Records a value at the bench and gives the body of its entry."""

    def keep(reading: Reading, frame: Frame | None = None) -> ReadingKept:
        with bench.recorder.transaction():
            seq = bench.keep_reading(frame or floor.frame(b"raw"), None if bench.log else 1, reading)
        return bench.job.pulls[seq].reading

    return keep


def last_body(bench):
    ((_, entry),) = bench.recorder.entries("seq = (SELECT max(seq) FROM ledger)")
    return entry, parse_body(entry.kind, entry.body)


def test_raw_bytes_are_kept_in_hex_with_the_time_of_their_last_byte(bench, floor):
    frame = floor.frame(b"@\x00\xffW-7")

    with bench.recorder.transaction():
        bench.keep_frame(frame)

    entry, body = last_body(bench)
    assert body == FrameKept("1", "serial:/dev/bench", "4000ff572d37", "plain-line")
    assert (entry.by, entry.mono_ns) == (bench.by, frame.mono_ns)
    assert entry.at == frame.received_at.strftime("%Y-%m-%dT%H:%M:%S.%fZ")


@pytest.mark.parametrize("mark", ["after_open", "overlong", "cut"])
def test_the_marks_of_a_frame_are_kept(bench, floor, mark):
    with bench.recorder.transaction():
        bench.keep_frame(replace(floor.frame(b"x"), **{mark: True}))

    _, body = last_body(bench)
    assert {name for name in ("after_open", "overlong", "cut") if getattr(body, name)} == {mark}


def test_everything_at_a_simulated_bench_says_so(floor, recorder):
    bench = floor.bench(recorder, simulated=True)
    with bench.recorder.transaction():
        bench.keep_frame(floor.frame(b"x"))
        bench.keep_reading(floor.frame(b"x"), 1, VALUE)
        bench.keep_not_read(floor.frame(b"x"), 1, FrameError("no", Fate.UNREADABLE))

    marks = [entry.body.get("simulated") for _, entry in recorder.entries("seq > (SELECT max(seq) FROM ledger) - 3")]
    assert marks == [1, 1, 1]


def test_a_value_is_kept_as_sent_and_exact_in_newton_metres(keep):
    # 1 ft is exactly 0.3048 m and 1 lbf exactly 4.4482216152605 N (NIST SP 811, appendix B); multiplied by hand in Decimal.
    exact = Decimal("70.10") * Decimal("0.3048") * Decimal("4.4482216152605")

    kept = keep(replace(VALUE, torque="70.10", unit="lbf·ft", torque_nm=exact, angle_deg="31.5", notes=("battery low",)))

    assert (kept.torque, kept.unit, Decimal(kept.torque_nm)) == ("70.10", "lbf·ft", exact)
    assert (kept.sequence, kept.tool_time, kept.angle_deg, kept.notes) == (42, VALUE.tool_time, "31.5", ("battery low",))
    assert (kept.measures, kept.fit, kept.unfit) == ("highest", 1, None)
    assert (kept.log, kept.line, kept.raw, kept.identity) == (None,) * 4


def test_what_passed_the_range_has_no_value_and_is_kept(keep):
    kept = keep(replace(VALUE, torque=None, torque_nm=None, over_range=True))

    assert (kept.torque, kept.torque_nm, kept.over_range) == (None, None, 1)
    assert kept.unfit == "outside the calibrated span of wrench W-7 (10 to 200 N·m)"


@pytest.mark.parametrize(
    ("change", "unfit"),
    [
        pytest.param({"wrench": None}, "the record names no wrench", id="no-wrench-named"),
        pytest.param({"wrench": "W-8"}, "wrench W-8 is not in the register", id="not-registered"),
        pytest.param({"torque_nm": Decimal("200")}, None, id="on-the-upper-end-of-the-span"),
        pytest.param({"torque_nm": Decimal("10")}, None, id="on-the-lower-end-of-the-span"),
        pytest.param(
            {"torque_nm": Decimal("200.01")}, "outside the calibrated span of wrench W-7 (10 to 200 N·m)", id="above-the-span"
        ),
        pytest.param({"torque_nm": Decimal("-50")}, "outside the calibrated span of wrench W-7 (10 to 200 N·m)", id="loosening"),
    ],
)
def test_whether_the_wrench_was_fit(keep, change, unfit):
    kept = keep(replace(VALUE, **change))

    assert kept.unfit == unfit
    assert kept.fit == (None if unfit else 1)


def test_the_wrench_in_use_stands_in_where_the_record_names_none(bench, keep):
    bench.wrench = "W-7"

    assert keep(replace(VALUE, wrench=None)).wrench == "W-7"
    assert keep(replace(VALUE, wrench="W-8")).wrench == "W-8"


@pytest.mark.parametrize(
    ("day", "unfit"),
    [
        pytest.param((2025, 12, 31), "the pull is older than the calibration of wrench W-7 (2026-01-01)", id="before"),
        pytest.param((2026, 1, 1), None, id="the-first-day"),
        pytest.param((2026, 12, 31), None, id="the-last-day"),
        pytest.param((2027, 1, 1), "calibration of wrench W-7 ran out on 2026-12-31", id="after"),
    ],
)
def test_live_the_day_is_ours_whatever_the_tool_says(keep, floor, day, unfit):
    year, month, of_month = day
    frame = floor.frame(b"x")
    frame = replace(frame, received_at=frame.received_at.replace(year=year, month=month, day=of_month))

    assert keep(replace(VALUE, tool_time="1999-01-01T00:00:00Z"), frame).unfit == unfit


@pytest.mark.parametrize(
    ("tool_time", "unfit"),
    [
        pytest.param("2026-12-31T23:59:00+01:00", None, id="in-date"),
        pytest.param("2027-01-01T00:01:00+01:00", "calibration of wrench W-7 ran out on 2026-12-31", id="out-of-date-over-there"),
        pytest.param(None, "no certain time was sent, so whether wrench W-7 was in date is not known", id="no-time"),
        pytest.param(
            "2026-03-02T08:15:30", "no certain time was sent, so whether wrench W-7 was in date is not known", id="no-offset"
        ),
        pytest.param("yesterday", "no certain time was sent, so whether wrench W-7 was in date is not known", id="no-iso-8601"),
    ],
)
def test_of_a_log_the_day_is_the_tools_where_it_is_certain(bench, keep, tool_time, unfit):
    bench.log = 1

    assert keep(replace(VALUE, tool_time=tool_time)).unfit == unfit


def test_what_gave_no_reading_is_kept_with_its_reason(bench, floor):
    with bench.recorder.transaction():
        kept = bench.keep_frame(floor.frame(b"@half"))
        bench.keep_not_read(floor.frame(b"@half"), kept, FrameError("1 field where the format has 6", Fate.UNREADABLE))

    _, body = last_body(bench)
    assert body == NotRead("1", "unreadable", "1 field where the format has 6", kept)
    assert bench.recorder.query("SELECT unreadable, set_aside FROM job") == [(1, 0)]


def test_of_a_log_the_raw_row_lies_in_the_entry_of_its_reading(bench, keep, floor):
    bench.log = 3
    frame = replace(floor.frame("W-7,95.2,N·m".encode()), line=7)

    kept = keep(VALUE, frame)

    assert (kept.frame, kept.log, kept.line, kept.raw) == (None, 3, 7, frame.raw.hex())
    assert bytes.fromhex(kept.raw).decode() == "W-7,95.2,N·m"


def test_a_reading_is_kept_with_the_length_that_the_register_has_of_its_wrench(floor, recorder):
    bench = floor.bench(recorder)
    floor.run(bench, floor.pull(50))
    measure_wrench(recorder, WrenchMeasured("W-7", "412.5"), bench.by)
    floor.run(bench, floor.pull(50))

    assert recorder.query("SELECT length_mm FROM reading ORDER BY n") == [(None,), ("412.5",)]


def test_a_reading_is_kept_with_the_serial_number_and_the_battery_of_its_wrench(keep):
    kept = keep(replace(VALUE, serial="SN-7", battery="20", battery_low=True, notes=("battery low", "odd")))

    assert (kept.serial, kept.battery, kept.battery_low) == ("SN-7", "20", 1)
    assert kept.notes == ("battery low: change after this joint", "odd")
    assert (kept.fit, kept.torque_nm) == (1, "95.2")


def test_of_a_log_nobody_is_told_to_change_a_battery_now(bench, keep):
    bench.log = 1

    assert keep(replace(VALUE, battery_low=True, notes=("battery low",))).notes == ("battery low",)


def test_a_record_without_serial_number_and_battery_has_neither(bench, keep):
    kept = keep(VALUE)

    assert (kept.serial, kept.battery, kept.battery_low) == (None, None, None)
    entry, _ = last_body(bench)
    assert not {"serial", "battery", "battery_low"} & set(entry.body)


def test_a_wrench_that_names_another_serial_number_than_the_register_is_not_fit(bench, keep):
    kept = keep(replace(VALUE, serial="SN-8"))

    assert (kept.fit, kept.unfit) == (None, "serial number differs (SN-8 sent, SN-7 in the register): is this wrench W-7?")
    assert kept.torque == "95.2"


def test_a_serial_number_of_a_wrench_that_is_not_registered_proves_nothing(keep):
    assert keep(replace(VALUE, wrench="W-8", serial="SN-7")).unfit == "wrench W-8 is not in the register"


@pytest.mark.parametrize(
    ("said", "kept_as", "notes"),
    [
        pytest.param(None, "highest", None, id="the-record-does-not-say"),
        pytest.param(Measures.HIGHEST, "highest", None, id="the-record-says-the-same"),
        pytest.param(
            Measures.CLICK,
            "click",
            ("the record says that its value is `click`, the register has `highest`",),
            id="the-record-says-otherwise",
        ),
    ],
)
def test_what_a_value_is_the_record_says_before_the_register(keep, said, kept_as, notes):
    kept = keep(replace(VALUE, measures=said))

    assert (kept.measures, kept.notes) == (kept_as, notes)


@pytest.mark.parametrize(
    ("change", "news"),
    [
        pytest.param({}, "", id="nothing"),
        pytest.param({"battery_low": True}, "W-7: battery low: change after this joint", id="battery"),
        pytest.param(
            {"serial": "SN-8"}, "serial number differs (SN-8 sent, SN-7 in the register): is this wrench W-7?", id="serial-number"
        ),
        pytest.param(
            {"wrench": "W-9"}, "wrench W-9 is not in the register: what it pulls stays doubtful", id="wrench-not-registered"
        ),
        pytest.param({"wrench": None}, "the record names no wrench: what it pulls stays doubtful", id="no-wrench"),
        pytest.param({"torque_nm": Decimal(900)}, "", id="what-is-no-news-of-the-wrench"),
    ],
)
def test_the_fitter_is_told_of_the_wrench(bench, floor, change, news):
    with bench.recorder.transaction():
        seq = bench.keep_reading(floor.frame(b"raw"), 1, replace(VALUE, **change))

    assert news_of_wrench(bench.job.pulls[seq]) == news


def test_each_source_has_its_own_format_and_its_own_wrench_in_use(bench, floor):
    other = replace(bench.wire, name="other")
    bench.feeds = {"serial:/dev/other": Feed(other, "W-9")}
    bench.wrench = "W-7"
    frames = [floor.frame(b"raw"), replace(floor.frame(b"raw"), source="serial:/dev/other")]

    with bench.recorder.transaction():
        kept = [bench.keep_frame(frame) for frame in frames]
        pulls = [bench.job.pulls[bench.keep_reading(frame, 1, replace(VALUE, wrench=None))] for frame in frames]

    wires = [entry.body["wire"] for seq, entry in bench.recorder.entries("seq >= ?", kept[0]) if seq in kept]
    assert wires == ["plain-line", "other"]
    assert [pull.reading.wrench for pull in pulls] == ["W-7", "W-9"]
