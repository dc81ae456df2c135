"""The flow: bytes first, verdict after the commit, no event lost; a log a thousand rows a commit and only what is new."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from analysis.verify import verify_file
from collector.bench import Feed
from collector.expect.in_order import InOrder
from collector.run import LOG_ROWS_A_COMMIT, run, run_log
from schemas.errors import RecordError
from schemas.frame import LinkChange
from schemas.screen import Press, PressWord
from schemas.words import Kind, Link, Proof, Verdict

YES = Press(PressWord.YES)
QUIT = Press(PressWord.QUIT)


@pytest.fixture
def bench(floor, recorder):
    return floor.bench(recorder)


def link(floor, state: Link, detail: str = "") -> LinkChange:
    return LinkChange("serial:/dev/bench", state, floor.clock.now(), floor.clock.monotonic_ns(), detail)


def kinds(recorder, after: int = 0) -> list[str]:
    return [entry.kind for _, entry in recorder.entries("seq > ?", after)]


def test_a_pull_becomes_frame_reading_and_match_in_this_order(floor, bench):
    before = bench.recorder.query("SELECT max(seq) FROM ledger")[0][0]

    screen = floor.run(bench, floor.pull("50.0"))

    (_, frame), (seq, reading), (_, match) = bench.recorder.entries("seq > ?", before)
    assert (frame.kind, reading.kind, match.kind) == ("frame", "reading", "match")
    assert bytes.fromhex(frame.body["raw"]) == b"@W-7;0001;50.0;Nm;2026-03-02T08:15:30+01:00;ok"
    assert (reading.body["frame"], reading.body["torque"]) == (before + 1, "50.0")
    assert (match.body["reading"], match.body["verdict"], match.body["low"], match.body["high"]) == (seq, "in band", "45", "90")
    assert (screen.last.verdict, screen.last.torque_shown, screen.readings) == (Verdict.IN_BAND, "50.0 N·m", 1)
    assert (screen.target.joint.id, screen.target.position) == ("clamp", 2)


def test_what_is_shown_can_be_read_by_others_already(floor, bench):
    seen = []

    with closing(sqlite3.connect(f"{floor.path.as_uri()}?mode=ro", uri=True)) as other:

        def show(screen):
            in_file = other.execute(
                "SELECT (SELECT count(*) FROM reading WHERE verdict IS NOT NULL), (SELECT count(*) FROM link), "
                "(SELECT count(*) FROM decision)"
            ).fetchone()
            seen.append((screen.readings, *in_file))

        events = [link(floor, Link.OPEN), *(floor.pull(torque) for torque in (50, 50, 100, 100)), YES]
        run(events, bench, show)

    assert seen == [(0, 0, 0, 0), (0, 0, 1, 0), (1, 1, 1, 0), (2, 2, 1, 0), (3, 3, 1, 0), (4, 4, 1, 0), (4, 4, 1, 1)]


def test_an_event_is_one_commit(floor, bench):
    before = bench.recorder.query("SELECT count(*) FROM tree_head")[0][0]

    floor.run(bench, link(floor, Link.OPEN), floor.pull(50), floor.pull(40), floor.pull(60), floor.frame(b"@half"), QUIT)

    assert bench.recorder.query("SELECT count(*) FROM tree_head") == [(before + 5,)]


def test_bytes_that_cannot_be_read_are_there_all_the_same(floor, bench):
    screen = floor.run(bench, floor.frame(b"@W-7;\xff\x00"))

    assert bench.recorder.query("SELECT json_extract(entry, '$.body.raw') FROM ledger ORDER BY seq DESC LIMIT 1 OFFSET 1") == [
        (b"@W-7;\xff\x00".hex(),)
    ]
    assert bench.recorder.query("SELECT fate, reason FROM not_read") == [("unreadable", "byte 0xFF at 5 is not ascii")]
    assert (screen.last.word, screen.last.text) == ("unreadable", "unreadable: byte 0xFF at 5 is not ascii")
    assert screen.readings == 0


def test_a_value_that_cannot_be_decided_is_set_aside(floor, bench):
    screen = floor.run(bench, floor.pull("----"))

    assert screen.last.word == "set aside"
    assert bench.recorder.query("SELECT unreadable, set_aside, readings FROM job") == [(0, 1, 0)]


def test_a_decoder_that_fails_does_not_cost_the_bytes(floor, bench, monkeypatch):
    def decode_frame(wire, frame):
        raise ZeroDivisionError("a fault of ours")

    monkeypatch.setattr("collector.run.decode_frame", decode_frame)

    screen = floor.run(bench, floor.pull(50))

    assert screen.last.text == "unreadable: decoding failed (ZeroDivisionError('a fault of ours')); look at these bytes"
    assert kinds(bench.recorder)[-2:] == ["frame", "not read"]
    monkeypatch.undo()
    assert floor.run(bench, floor.pull(50)).last.verdict is Verdict.IN_BAND


class Failing(InOrder):
    def match_reading(self, so_far, pull):
        raise ZeroDivisionError("a fault of ours")


def test_a_matcher_that_fails_does_not_cost_the_frame(floor, bench):
    bench.matcher = Failing()

    screen = floor.run(bench, floor.pull(50))

    assert (screen.last.kind, screen.readings) == (Kind.STRAY, 1)
    assert bench.recorder.query("SELECT torque, kind, reason, verdict FROM reading") == [
        ("50", "stray", "matching failed (ZeroDivisionError('a fault of ours')); look at this pull", None)
    ]
    assert kinds(bench.recorder)[-3:] == ["frame", "reading", "match"]
    bench.matcher = InOrder()
    assert floor.run(bench, floor.pull(50)).last.position == 1


def test_a_pull_below_the_band_is_put_right_by_the_next(floor, bench):
    first = floor.run(bench, floor.pull(44)).last
    floor.run(bench, floor.pull(46))

    assert first.verdict is Verdict.UNDER
    assert bench.recorder.query("SELECT n, position, kind, verdict, reason, revisions FROM reading ORDER BY n") == [
        (1, 1, "short pull", "under", "put right by reading 2", 1),
        (2, 1, "tightening", "in band", "matched by order only", 0),
    ]


def test_a_pull_above_the_band_stops_and_the_flow_goes_on(floor, bench):
    screen = floor.run(bench, floor.pull(91))

    assert screen.last.stop
    assert bench.job.joints["clamp"].proof(1)[0] is Proof.FAILED
    assert screen.target.position == 2


def test_a_link_that_was_lost_puts_the_joint_in_hand_in_doubt(floor, bench):
    floor.run(bench, *(floor.pull(torque) for torque in (50, 50, 100, 101)))
    lost = floor.run(bench, link(floor, Link.LOST, "the cable is out"))
    back = floor.run(bench, link(floor, Link.BACK))

    assert (lost.link_ok, lost.notice) == (False, "lost: the cable is out")
    assert (back.link_ok, back.notice) == (True, "back")
    assert bench.recorder.query("SELECT link, joint, detail FROM link") == [
        ("lost", "clamp", "the cable is out"),
        ("back", None, None),
    ]
    assert "the link was lost while this joint was in hand" in bench.job.joints["clamp"].proof(1)[1]
    floor.run(bench, YES)
    assert bench.job.joints["clamp"].proof(1) == (Proof.PROVEN, ())


def test_a_link_lost_with_no_joint_in_hand_names_none(floor, bench):
    floor.run(bench, link(floor, Link.LOST))

    assert bench.recorder.query("SELECT joint FROM link") == [(None,)]


def test_the_end_of_the_source_ends_the_run_and_what_comes_after_is_not_taken(floor, bench):
    screen = floor.run(bench, floor.pull(50), link(floor, Link.ENDED, "unplugged"), floor.pull(50))

    assert (screen.ended, screen.notice, screen.readings) == (True, "ended: unplugged", 1)
    assert [picture.ended for picture in floor.screens] == [False, False, True]


def test_quit_ends_the_run_and_the_job_stays_open(floor, bench):
    screen = floor.run(bench, floor.pull(50), QUIT, floor.pull(50))

    assert (screen.ended, screen.readings) == (True, 1)
    assert bench.recorder.query("SELECT closed_at FROM job") == [(None,)]


def test_a_source_that_is_over_ends_the_run(floor, bench):
    assert not floor.run(bench, floor.pull(50)).ended


def test_the_last_pull_is_shown_as_a_press_has_changed_it(floor, bench):
    screen = floor.run(bench, floor.pull(50), floor.pull(51), Press(PressWord.SAME_AGAIN))
    stray = floor.run(bench, floor.pull(52), Press(PressWord.NOT_THIS_JOB))
    noise = floor.run(bench, floor.pull(53), floor.frame(b"@half"), Press(PressWord.OTHER_JOINT, "guard"))

    assert (screen.last.word, screen.last.n) == ("repeat", 2)
    assert stray.last.kind is Kind.STRAY
    assert noise.last.word == "unreadable"


def test_a_job_done_to_the_end_is_complete(floor, bench):
    clamp = [floor.pull(torque) for torque in (50, 50, 100, 101)]
    lead = Press(PressWord.YES, name="Runa Veld")
    eye = [floor.pull(torque) for torque in (80, 81)]
    guard = [floor.pull("18"), floor.pull("22.0")]

    screen = floor.run(bench, *clamp, YES, lead, YES, *eye, YES, *guard, YES)

    assert (screen.complete, screen.target, screen.ask) == (True, None, None)
    assert bench.recorder.query("SELECT complete, proven, missing_numbers, unsigned FROM job") == [(1, 6, 0, 0)]
    assert floor.run(bench, floor.pull(20)).last.kind is Kind.STRAY
    assert bench.recorder.query("SELECT complete, strays FROM job") == [(1, 1)]


def test_a_write_that_fails_is_not_shown(floor, bench):
    floor.run(bench, floor.pull(50))
    shown = len(floor.screens)
    bench.recorder.query("PRAGMA query_only = ON")

    with pytest.raises(RecordError, match="this pull is NOT recorded"):
        floor.run(bench, floor.pull(50), floor.pull(50))

    assert len(floor.screens) == shown + 1  # the picture of the beginning, and none of the pull
    assert floor.screens[-1].readings == 1


# --- several wrenches

A, B = "serial:/dev/a", "serial:/dev/b"


@pytest.fixture
def two(floor, bench):
    """A bench with two links, and what comes over one of them."""
    bench.feeds = {A: Feed(bench.wire), B: Feed(replace(bench.wire, begins="", delimiter=",", fields=("torque", "unit")), "W-7")}

    class Two:
        def pull(self, source, raw):
            return replace(floor.frame(raw), source=source)

        def link(self, source, state, detail=""):
            return replace(link(floor, state, detail), source=source)

        def run(self, *events):
            return floor.run(bench, *events)

    return Two()


def test_two_wrenches_of_different_formats_work_on_one_job(two, bench):
    screen = two.run(two.pull(A, b"@W-7;1;50;Nm;;ok"), two.pull(B, b"51,Nm"))

    assert (screen.readings, screen.last.wrench) == (2, "W-7")
    assert bench.recorder.query("SELECT torque, wrench, verdict FROM reading ORDER BY n") == [
        ("50", "W-7", "in band"),
        ("51", "W-7", "in band"),
    ]


def test_the_link_that_is_lost_is_named_and_a_pull_over_the_other_does_not_hide_it(two):
    lost = two.run(two.link(A, Link.OPEN), two.link(B, Link.OPEN), two.link(B, Link.LOST, "the cable is out"))
    assert (lost.link_ok, lost.link, lost.notice) == (False, f"{B} lost; 1 of 2 up", f"{B} lost: the cable is out")

    still = two.run(two.link(B, Link.LOST), two.pull(A, b"@W-7;1;50;Nm;;ok"))
    back = two.run(two.link(B, Link.LOST), two.link(B, Link.BACK))

    assert (still.link_ok, still.readings) == (False, 1)
    assert (back.link_ok, back.link) == (True, "2 of 2 up")


def test_a_lost_link_puts_in_doubt_what_its_own_wrench_had_in_hand(two, bench):
    two.run(*(two.pull(A, f"@W-7;{n};{torque};Nm;;ok".encode()) for n, torque in enumerate((50, 50, 100, 100), 1)))
    two.run(two.pull(B, b"80,Nm"), two.link(A, Link.LOST), two.link(B, Link.LOST))

    assert bench.job.joint_in_hand == "eye"
    assert bench.recorder.query("SELECT source, joint FROM link") == [(A, "clamp"), (B, "eye")]


def test_a_link_that_brought_nothing_yet_may_have_lost_a_pull_on_the_joint_in_hand(two, bench):
    two.run(two.pull(A, b"@W-7;1;50;Nm;;ok"), two.link(B, Link.LOST))

    assert bench.recorder.query("SELECT source, joint FROM link") == [(B, "clamp")]


def test_a_wrench_whose_joint_is_confirmed_has_nothing_in_hand(two, bench):
    two.run(*(two.pull(A, f"@W-7;{n};{torque};Nm;;ok".encode()) for n, torque in enumerate((50, 50, 100, 100), 1)), YES)
    two.run(two.pull(B, b"80,Nm"), two.link(A, Link.LOST))

    assert bench.recorder.query("SELECT source, joint FROM link") == [(A, None)]


def test_the_run_ends_with_the_last_of_its_links(two):
    screen = two.run(two.link(A, Link.ENDED), two.pull(B, b"50,Nm"), two.link(B, Link.ENDED), two.pull(B, b"50,Nm"))

    assert (screen.ended, screen.readings) == (True, 1)


def test_a_typed_line_of_another_layout_is_set_aside_with_a_hint(floor, bench):
    typed = replace(bench.wire, begins="", delimiter=" ", fields=("wrench", "torque"), unit="N·m")
    bench.feeds = {"serial:/dev/bench": Feed(typed, is_typed=True)}

    screen = floor.run(bench, floor.frame(b"W'7 50"))

    assert bench.recorder.query("SELECT fate FROM not_read") == [("set aside",)]
    assert screen.last.text.endswith("keyboard layout mismatch?")


# --- what the wrench says of itself


def test_a_low_battery_is_told_and_the_value_counts(floor, bench):
    screen = floor.run(bench, floor.frame(b"@W-7;1;50;Nm;;lb"))

    assert (screen.notice, screen.last.verdict) == ("W-7: battery low: change after this joint", Verdict.IN_BAND)
    assert floor.run(bench, floor.frame(b"@W-7;1;50;Nm;;lb"), floor.frame(b"@W-7;2;50;Nm;;ok")).notice == ""


def test_a_value_between_peaks_is_kept_and_changes_nothing_on_the_screen(floor, bench):
    bench.wire = replace(bench.wire, fields=("wrench", "sequence", "torque", "unit", "kind", "status"), peak=("P",), live=("L",))
    before = floor.run(bench, floor.frame(b"@W-7;1;50;Nm;P;lb"))

    after = floor.run(bench, floor.frame(b"@W-7;2;50;Nm;P;lb"), floor.frame(b"@W-7;3;30;Nm;L;ok"))

    assert (after.last.verdict, after.notice) == (Verdict.IN_BAND, before.notice)
    assert before.notice
    aside = ("set aside", "a value between peaks; only the peak counts")
    assert bench.recorder.query("SELECT fate, reason FROM not_read") == [aside]


LINE = b"@W-7;41;50;Nm;;ok"


def test_a_line_that_comes_twice_at_once_is_one_pull_and_its_verdict_stays(floor, bench):
    screen = floor.run(bench, floor.frame(LINE), floor.frame(LINE))

    assert (screen.last.verdict, len(bench.job.pulls)) == (Verdict.IN_BAND, 1)
    what = "number 41 of wrench W-7 came again with the same value; not counted twice"
    assert bench.recorder.query("SELECT fate, reason FROM not_read") == [("set aside", what)]


def test_a_number_that_comes_again_later_with_the_same_value_is_no_pull_and_the_fitter_is_told(floor, bench):
    first, second = floor.frame(LINE), floor.frame(LINE)

    screen = floor.run(bench, first, replace(second, mono_ns=first.mono_ns + 2_000_000_000))

    assert screen.last.text.startswith("set aside: number 41 of wrench W-7 came again with the same value; not counted")
    assert len(bench.job.pulls) == 1


@pytest.mark.parametrize(
    "second",
    [
        pytest.param(b"@W-7;41;50.1;Nm;;ok", id="other-value"),
        pytest.param(b"@W-7;42;50;Nm;;ok", id="other-number"),
        pytest.param(b"@W-8;41;50;Nm;;ok", id="other-wrench"),
    ],
)
def test_what_differs_from_the_line_before_is_a_pull_of_its_own(floor, bench, second):
    floor.run(bench, floor.frame(LINE), floor.frame(second))

    assert len(bench.job.pulls) == 2


def test_lines_without_a_number_are_pulls_of_their_own(floor, bench):
    floor.run(bench, *(floor.frame(b"@W-7;;50;Nm;;ok") for _ in range(2)))

    assert len(bench.job.pulls) == 2


def test_a_wrench_that_is_read_over_two_links_counts_once(floor, bench):
    bench.feeds = {A: Feed(bench.wire), B: Feed(bench.wire)}

    floor.run(bench, *(replace(floor.frame(LINE), source=source) for source in (A, B)))

    assert len(bench.job.pulls) == 1


@pytest.mark.parametrize("between", ["again", "live"])
def test_what_is_no_pull_of_its_own_stands_for_no_number_that_is_missing(floor, bench, between):
    bench.wire = replace(bench.wire, live=("live",))
    line = "@W-7;{};50;Nm;2026-03-02T08:15:{:02}+01:00;{}"
    not_pulls = [line.format(2, 2, "ok")] * 2 if between == "again" else [line.format(3, 3, "live")] * 2

    floor.run(bench, *(floor.frame(text.encode()) for text in (line.format(1, 1, "ok"), line.format(2, 2, "ok"), *not_pulls)))
    floor.run(bench, floor.frame(line.format(5, 5, "ok").encode()))

    assert bench.job.missing == [("W-7", 3, 4)]


# --- a log


HEADER = "time,wrench,torque,unit,seq\n"


def row(number: int, torque: object = 50, time: str | None = None, wrench: str = "W-7") -> str:
    time = f"2026-03-02T08:{number // 60:02d}:{number % 60:02d}+01:00" if time is None else time
    return f"{time},{wrench},{torque},Nm,{number}\n"


def rows(*numbers: int) -> str:
    return HEADER + "".join(row(number) for number in numbers)


def test_a_log_is_read_in_a_thousand_rows_a_commit(floor, bench, recorder):
    bench.log = 1
    frames = [replace(floor.frame(b"50,Nm"), line=number) for number in range(2, 2 * LOG_ROWS_A_COMMIT + 7)]
    bench.wire = replace(bench.wire, begins="", delimiter=",", fields=("torque", "unit"))
    heads = recorder.query("SELECT count(*) FROM tree_head")[0][0]
    told = []

    def progress(done: int) -> None:
        with closing(sqlite3.connect(f"{floor.path.as_uri()}?mode=ro", uri=True)) as other:
            told.append((done, *other.execute("SELECT count(*) FROM reading").fetchone()))

    run_log(iter(frames), bench, progress)

    assert told == [(1000, 1000), (2000, 2000), (2005, 2005)]
    assert recorder.query("SELECT count(*) FROM tree_head") == [(heads + 3,)]


def test_of_a_log_one_row_is_one_entry_with_its_raw_text(floor, recorder):
    bench = floor.import_log(recorder, HEADER + row(1) + "no comma at all\n")

    assert "frame" not in kinds(recorder)
    of_rows = [kind for kind in kinds(recorder) if kind != "count"]
    assert of_rows[-4:] == ["log", "reading", "not read", "match"], "placed once all rows are kept"
    assert recorder.query("SELECT line, log FROM reading") == [(2, bench.log)]
    ((_, reading),) = recorder.entries("json_extract(entry, '$.kind') = 'reading'")
    assert bytes.fromhex(reading.body["raw"]) == row(1).rstrip().encode()
    assert recorder.query("SELECT line, raw FROM not_read") == [(3, b"no comma at all".hex())]


def test_a_log_read_in_again_adds_nothing(floor):
    text = rows(1, 2, 3) + "W-7 no comma at all\n" + row(5, "----") + row(6)
    with floor.recorder() as recorder:
        first = floor.import_log(recorder, text)
        counts = recorder.query("SELECT readings, unreadable, set_aside, missing_numbers FROM job")
        second = floor.import_log(recorder, text, "1")
        again = recorder.query("SELECT readings, unreadable, set_aside, missing_numbers FROM job")
    with floor.recorder() as recorder:
        third = floor.import_log(recorder, text, "1", "renamed.csv")

    assert (first.already_stored, second.already_stored, third.already_stored) == (0, 6, 6)
    assert counts == again == [(4, 1, 1, 0)]
    assert verify_file(floor.path).findings == []


def test_a_longer_log_adds_only_what_is_new(floor, recorder):
    floor.import_log(recorder, rows(1, 2))
    bench = floor.import_log(recorder, rows(1, 2, 3, 4), "1")

    assert bench.already_stored == 2
    assert recorder.query("SELECT n, sequence FROM reading ORDER BY n") == [(1, 1), (2, 2), (3, 3), (4, 4)]
    assert bench.job.missing == []


def test_the_same_pull_twice_in_a_log_or_from_a_wrench_read_live_counts_once(floor, recorder):
    bench = floor.import_log(recorder, HEADER + row(1) * 2)
    again = bench.recorder.query("SELECT sequence, tool_time FROM reading")

    assert (bench.already_stored, len(again)) == (1, 1)


def test_noise_that_names_no_wrench_stands_for_no_number(floor, recorder):
    bench = floor.import_log(recorder, rows(1, 2) + "noise\n" + row(4))

    assert bench.job.missing == [("W-7", 3, 3)]


def test_equal_rows_without_a_time_are_two_real_clicks(floor, recorder):
    twice = HEADER + row(1, time="") * 2
    first = floor.import_log(recorder, twice)
    second = floor.import_log(recorder, twice + row(1, time=""), "1")

    assert (first.already_stored, second.already_stored) == (0, 2)
    assert recorder.query("SELECT count(*), count(DISTINCT identity) FROM reading") == [(3, 3)]


def test_a_changed_value_under_a_known_number_is_kept_beside_the_first_and_not_counted(floor, recorder):
    floor.import_log(recorder, HEADER + row(1, "50"))
    bench = floor.import_log(recorder, HEADER + row(1, "51"), "1")

    again = floor.import_log(recorder, HEADER + row(1, "51"), "1")

    assert (bench.already_stored, again.already_stored) == (0, 1)
    assert recorder.query("SELECT sequence, torque FROM reading ORDER BY n") == [(1, "50")]
    ((fate, reason),) = recorder.query("SELECT fate, reason FROM not_read")
    assert fate == "set aside"
    assert "is stored with 50 N·m, here it has 51 N·m: both are kept" in reason


def test_a_row_with_a_time_is_the_same_in_another_job(floor, recorder):
    floor.import_log(recorder, rows(1, 2))
    other = floor.import_log(recorder, rows(1, 2))

    assert (other.job.opened.job, other.already_stored, len(other.job.pulls)) == ("2", 2, 0)


@pytest.mark.parametrize("text", [row(1, time=""), "no comma at all\n"], ids=["no-time", "no-reading"])
def test_a_row_without_a_time_is_the_same_within_its_job_only(floor, recorder, text):
    floor.import_log(recorder, HEADER + text)
    same = floor.import_log(recorder, HEADER + text, "1")
    other = floor.import_log(recorder, HEADER + text)

    assert (same.already_stored, other.already_stored) == (1, 0)
    assert recorder.query("SELECT readings + unreadable FROM job ORDER BY seq") == [(1,), (1,)]


def test_numbers_passed_over_in_a_log_are_missing_until_they_come_late(floor, recorder):
    bench = floor.import_log(recorder, rows(1, 2, 5))
    missing = list(bench.job.missing)
    reading = list(bench.job.pulls.values())[-1].reading
    floor.import_log(recorder, rows(1, 2, 5, 3, 4, 6), "1")

    assert (missing, reading.missing) == ([("W-7", 3, 4)], "3-4")
    assert bench.job.missing == []
    assert recorder.query("SELECT missing_numbers FROM job") == [(0,)]


def test_an_unreadable_row_stands_for_one_number_passed_over(floor, recorder):
    bench = floor.import_log(recorder, rows(1, 2) + "W-7 no comma\n" + row(4) + "W-7 no comma\n" + row(7))

    assert bench.job.missing == [("W-7", 5, 6)]


@pytest.mark.parametrize(
    ("first", "more", "missing"),
    [
        pytest.param(rows(1, 2) + "W-7 noise\n", row(4), [], id="a-stored-row-just-before"),
        pytest.param(rows(1) + "W-7 noise\n" + row(3), row(5), [("W-7", 4, 4)], id="a-stored-row-long-before"),
        pytest.param(rows(1) + "W-7 noise\n" + row(3), row(4), [], id="nothing-passed-over"),
    ],
)
def test_an_unreadable_row_that_is_stored_stands_for_its_number_too(floor, first, more, missing):
    with floor.recorder() as recorder:
        floor.import_log(recorder, first)
    with floor.recorder() as recorder:
        bench = floor.import_log(recorder, first + more, "1")

    assert bench.job.missing == missing


def test_a_pull_read_live_is_not_counted_again_when_it_is_sent_again_or_downloaded(floor, recorder):
    bench = floor.bench(recorder)
    frame = floor.pull(50)
    floor.run(bench, frame, frame)
    number, time = recorder.query("SELECT sequence, tool_time FROM reading")[0]
    download = floor.import_log(recorder, f"{HEADER}{time},W-7,50,Nm,{number}\n", bench.job.opened.job)

    assert recorder.query("SELECT count(*) FROM reading") == [(1,)]
    assert recorder.query("SELECT fate, reason FROM not_read") == [
        ("set aside", "the wrench sent a pull again that is stored already; not counted twice")
    ]
    assert download.already_stored == 1
