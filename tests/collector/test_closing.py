"""The closing pass: all readings of a job placed and counted at once; what a person settled stays, a second pass adds nothing."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest

from collector.acquire.log_file import LogSource
from collector.closing import REASON, place_all
from collector.expect.habits import USUAL
from collector.expect.later import Later
from collector.expect.learned import habits_of
from collector.expect.probable import Probable
from collector.run import run_log
from schemas.bodies import Decided, HabitsLearned, LogTaken, MatchKept
from schemas.database import PROJECTIONS

PLAN = """\
plan: drawbar
title: Box trailer, drawbar
revision: "1"
source: Shop procedure 7, section 2
unit: N·m
tolerance: 10 %
joints:
  - {id: clamp, name: Drawbar clamp, fasteners: 3, torque: 100, stages: [50, 100]}
  - {id: eye, name: Towing eye, fasteners: 2, torque: 80}
  - {id: guard, name: Guard, fasteners: 2, torque: 20}
"""
DAY = ("50", "50", "50", "100", "101", "99", "80", "80.5", "20", "20.2")
WHERE = [
    *(("clamp", 1, n) for n in (1, 2, 3)), *(("clamp", 2, n) for n in (1, 2, 3)),
    *(("eye", 1, n) for n in (1, 2)), *(("guard", 1, n) for n in (1, 2)),
]  # fmt: skip
COUNTED = {("clamp", 1), ("clamp", 2), ("eye", 1), ("guard", 1), (None, None)}


@pytest.fixture(name="floor")
def _floor(floor):
    floor.text = PLAN
    return floor


def log(*torques, times=True):
    """A log, ten seconds between pulls and two minutes before each new torque."""
    rows, at_s, before = [], 0, None
    for n, torque in enumerate(torques, 1):
        at_s += 10 if before is None or abs(float(torque or 0) - before) < 5 else 120
        before = float(torque or 0)
        time = f"2026-03-02T08:{at_s // 60:02d}:{at_s % 60:02d}+01:00" if times else ""
        rows.append(f"{time},W-7,{torque or 'OL'},Nm,{n}\n")
    return "time,wrench,torque,unit,seq\n" + "".join(rows)


def read_in(floor, recorder, text):
    """A job with a log read in whose rows nobody has placed."""
    path = floor.path.with_name("day.csv")
    path.write_text(text, encoding="utf-8")
    source = LogSource(path, floor.clock)
    source.open()
    bench = floor.bench(recorder)
    bench.wire, bench.matcher = source.wire_format, Later()
    with recorder.transaction():
        bench.log = recorder.append(LogTaken(bench.job.opened.job, path.name, source.sha256), bench.by)
    run_log(source.rows(), bench, lambda rows: None)
    return bench.job


def where(job):
    return [(pull.match.joint, pull.match.stage, pull.match.position) for pull in job.pulls.values()]


def size(recorder):
    return recorder.query("SELECT count(*) FROM ledger")[0][0]


def bodies(recorder, kind, after=0):
    return [entry.body for _, entry in recorder.entries("seq > ?", after) if entry.kind == kind]


def tables(path):
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as db:
        return {table.name: [tuple(row) for row in db.execute(table.select_sql())] for table in PROJECTIONS}


def test_a_log_is_placed_and_counted_at_once(floor, recorder):
    job = read_in(floor, recorder, log(*DAY))
    assert [pull.match for pull in job.pulls.values()] == [None] * len(DAY)

    revised = place_all(recorder, job)

    assert revised == 0, "nothing was placed before"
    assert where(job) == WHERE
    matches = [pull.match for pull in job.pulls.values()]
    assert {(match.kind, match.verdict, match.reason, match.position_by) for match in matches} == {
        ("tightening", "in band", REASON, "order")
    }
    assert all(float(match.p) > 0.9 for match in matches)
    assert set(job.counted) == COUNTED
    assert all(float(p) > 0.9 for _, p in job.counted.values())


def test_a_second_pass_records_nothing_new(floor, recorder):
    job = read_in(floor, recorder, log(*DAY, "33", None, "-20", "110"))
    place_all(recorder, job)
    before = size(recorder)

    assert place_all(recorder, job) == 0
    assert size(recorder) == before


def test_the_derived_tables_are_the_same_after_they_are_made_anew(floor, recorder):
    job = read_in(floor, recorder, log(*DAY[:5], "60", "99", *DAY[6:], "140"))
    place_all(recorder, job)
    kept = tables(floor.path)
    assert len(kept["reading"]) == 12
    recorder.rebuild()

    assert tables(floor.path) == kept


def test_what_was_read_in_later_changes_what_was_placed_before_and_says_how_many(floor, recorder):
    job = read_in(floor, recorder, log(*DAY))
    place_all(recorder, job)
    first = next(iter(job.pulls.values()))
    with recorder.transaction():
        recorder.append(MatchKept("1", first.seq, "stray", "by hand of a test", p="0.5000", revises=first.match_seq))

    revised = place_all(recorder, job)

    assert revised == 1
    assert where(job) == WHERE


def test_the_habits_that_the_shop_has_learned_are_named_in_the_counts(floor, recorder):
    floor.register(recorder)
    with recorder.transaction():
        seq = recorder.append(HabitsLearned(1, {"next_s": "10"}, (), "counted"))
    job = read_in(floor, recorder, log(*DAY))

    place_all(recorder, job)

    assert {body["habits"] for body in bodies(recorder, "count")} == {seq}


def test_a_job_without_a_reading_counts_nothing(floor, recorder):
    job = floor.job(recorder)
    before = size(recorder)

    assert place_all(recorder, job) == 0
    assert size(recorder) == before


def test_one_reading_alone_is_placed_and_counts_as_far_from_whole(floor, recorder):
    job = read_in(floor, recorder, log("80"))
    place_all(recorder, job)

    assert where(job)[0][0] == "eye"
    assert float(job.counted[None, None][1]) < 0.01


def test_readings_of_nothing_in_the_plan_are_strays(floor, recorder):
    job = read_in(floor, recorder, log("400", "410", "405"))
    place_all(recorder, job)

    assert job.strays == 3
    assert {pull.verdict for pull in job.pulls.values()} == {None}
    assert all(joint.worst() == "missed" for joint in job.joints.values())


def test_a_count_is_said_anew_where_it_holds_no_longer(floor, recorder):
    job = read_in(floor, recorder, log(*DAY))
    place_all(recorder, job)
    assert job.joints["eye"].p_counted(1) is not None
    with recorder.transaction():
        recorder.append(Decided("1", "opened", "eye", 1))
    assert job.joints["eye"].p_counted(1) is None
    before = size(recorder)
    place_all(recorder, job)

    assert ("eye", 1) in {(body.get("joint"), body.get("stage")) for body in bodies(recorder, "count", before)}
    assert float(job.joints["eye"].p_counted(1)) < 0.5


def test_a_count_that_holds_no_longer_is_said_anew_though_its_value_is_the_same(floor, recorder):
    job = read_in(floor, recorder, log(*DAY))
    place_all(recorder, job)
    pull = next(pull for pull in job.pulls.values() if pull.match.joint == "eye")
    p = job.joints["eye"].p_counted(1)
    with recorder.transaction():
        recorder.append(replace(pull.match, revises=pull.match_seq))
    assert job.joints["eye"].p_counted(1) is None
    place_all(recorder, job)

    assert job.joints["eye"].p_counted(1) == p


# A day that was lived before it is closed.


def lived(floor, recorder, *torques, pause_s=8):
    bench = floor.bench(recorder)
    bench.matcher = Probable(habits_of(None))
    before = None
    for torque in torques:
        floor.clock.instant += timedelta(seconds=pause_s - 2 if before is None or torque == before else 60)
        before = torque
        floor.run(bench, floor.pull(torque))
    return bench


def test_a_clean_day_that_was_matched_live_stays_as_it_is(floor, recorder):
    bench = lived(floor, recorder, 50, 50, 50, 100, 100, 100, 80, 80, 20, 20)
    before = where(bench.job)

    assert place_all(recorder, bench.job) == 0, "only how sure it is may be news"
    assert where(bench.job) == before == WHERE


def test_what_a_person_counted_is_not_revised(floor, recorder):
    bench = lived(floor, recorder, 50, 50, 50, 100, 100, 100, 80, 80)
    by = bench.by
    clamp = [pull for pull in bench.job.pulls.values() if pull.match.joint == "clamp"]
    first = clamp[0]
    with recorder.transaction():
        place = ("eye", 1, 2, "order", "under")
        recorder.append(MatchKept("1", first.seq, "tightening", "by hand of a test", *place, revises=first.match_seq))
        recorder.append(Decided("1", "stripes", "eye", count=2, of=2), by)

    place_all(recorder, bench.job)

    assert (first.match.joint, first.match.reason) == ("eye", "by hand of a test")


@pytest.mark.parametrize("said", ["same again", "not this job"])
def test_what_a_person_placed_is_not_revised(floor, recorder, said):
    bench = lived(floor, recorder, 50, 50, 50)
    last = bench.job.last_pull
    decided = Decided("1", said, reading=last.seq)
    (match,) = bench.matcher.match_said(bench.job, decided)
    with recorder.transaction():
        recorder.append(decided, bench.by)
        recorder.append(match)

    place_all(recorder, bench.job)

    assert last.match == match


def test_an_over_pull_is_not_moved_to_where_it_would_be_good(floor, recorder):
    job = read_in(floor, recorder, log(*DAY))
    pull = list(job.pulls.values())[6]
    with recorder.transaction():
        recorder.append(MatchKept("1", pull.seq, "tightening", "by torque", "guard", 1, 1, verdict="over", p="0.7000"))

    place_all(recorder, job)
    assert (pull.match.joint, pull.verdict) == ("guard", "over"), "as an eye bolt's it would be in band"
    assert job.joints["guard"].proof(1)[0] == "failed"
    before = size(recorder)
    assert place_all(recorder, job) == 0
    assert size(recorder) == before


def test_an_over_pull_of_a_log_fails_its_fastener(floor, recorder):
    job = read_in(floor, recorder, log(*DAY[:6], "80", "93", *DAY[8:]))
    place_all(recorder, job)

    over = list(job.pulls.values())[7]
    assert (over.match.joint, over.verdict) == ("eye", "over")
    assert job.joints["eye"].proof(2)[0] == "failed"


def test_a_log_without_times_is_placed_by_torque_and_order(floor, recorder):
    job = read_in(floor, recorder, log(*DAY, times=False))
    place_all(recorder, job)

    assert where(job) == WHERE


def test_what_is_usual_is_used_where_nothing_was_learned(floor, recorder):
    assert habits_of(recorder.fold.habits).figures == USUAL


def test_an_over_pull_alone_is_held_and_a_burst_of_another_vehicle_is_not(floor, recorder):
    alone, burst = (read_in(floor, recorder, log(*DAY, *["27"] * count)) for count in (1, 6))

    for job in (alone, burst):
        place_all(recorder, job)

    assert [(pull.match.kind, pull.match.joint) for pull in alone.pulls.values()][-1] == ("recheck", "guard")
    assert {pull.match.kind for pull in list(burst.pulls.values())[-5:]} == {"stray"}
