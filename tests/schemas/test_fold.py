"""The fold gives the same rows whether entries are taken one by one or all at once, and never a record complete that is not."""

import gc
import sqlite3
from contextlib import closing

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas import database as db
from schemas.bodies import (
    Calibrated,
    Decided,
    FrameKept,
    HabitsLearned,
    JobOpened,
    MatchKept,
    NotRead,
    PersonNamed,
    ReadingKept,
    SessionOpened,
    WrenchAdded,
    pack_body,
)
from schemas.database import PROJECTIONS, schema_sql
from schemas.entry import Entry
from schemas.errors import RecordError
from schemas.fastener_state import At
from schemas.fold import Fold, derived_rows, many_entries

AT = At(9, "2026-03-02T07:00:09.000000Z", "p-1")
WRENCH = WrenchAdded("W-140", "SN-90417", "click, ratchet", "20", "150", "lbf·ft", "27.1", "203.37", "click", 1)


def rows_of(fold):
    return {(table.name, values[: table.keys]): values for table, values in fold.take_rows()}


def fresh(job):
    fold = Fold()
    for at, body in job.entries:
        fold.apply(at, body)
    return rows_of(fold)


SPOTS = st.sampled_from([("hub", 1, 1), ("hub", 1, 2), ("hub", 2, 1), ("hub", 2, 2), ("shackle", 1, 1), ("shackle", 1, 2)])
KINDS = st.sampled_from(["tightening"] * 4 + ["short pull", "repeat", "recheck", "loosening"])
VERDICTS = st.sampled_from(["in band"] * 3 + ["under", "over", "marginal", None])
ACTS = st.one_of(
    st.tuples(st.just("pull"), SPOTS, KINDS, VERDICTS, st.sampled_from([None, "0.5", "0.99"])),
    st.tuples(st.just("revise"), st.integers(0, 20), st.none() | SPOTS, KINDS, VERDICTS),
    st.tuples(st.just("say"), st.sampled_from(["opened", "inspected", "replaced"]), SPOTS, st.booleans()),
    st.tuples(st.just("stripes"), st.sampled_from(["hub", "shackle"]), st.integers(1, 2)),
    st.tuples(st.just("other"), st.sampled_from(["hub", "shackle"])),
    st.tuples(st.just("sign"), st.sampled_from([("ride-height", None), (None, "hub"), (None, "shackle")])),
    st.tuples(st.just("link"), st.sampled_from(["lost", "back"]), st.sampled_from([None, "hub", "shackle"])),
    st.tuples(st.just("numbers"), st.integers(1, 9), st.sampled_from([None, "1", "2-4"])),
    st.tuples(st.just("not read"), st.sampled_from(["unreadable", "set aside"])),
)


def play(job, act):
    match act:
        case ("pull", spot, kind, verdict, p):
            job.match(job.read("50"), *spot, kind=kind, verdict=verdict, p=p)
        case ("revise", which, spot, kind, verdict):
            for pull in list(job.state.pulls.values())[which : which + 1]:
                where, kind, verdict = (spot, kind, verdict) if spot else ((None,) * 3, "stray", None)
                job.match(pull.seq, *where, kind=kind, verdict=verdict, revises=pull.match_seq)
        case ("say", said, (joint, _, position), whole):
            job.say(said, joint, None if whole else position)
        case ("stripes", joint, seen):
            job.stripes(joint, seen)
        case ("other", joint):
            job.say("other joint", joint)
        case ("sign", names):
            job.sign(*names)
        case ("link", link, joint):
            job.link(link, joint)
        case ("numbers", sequence, missing):
            job.read("50", sequence=sequence, missing=missing)
        case ("not read", fate):
            job.put(NotRead("1", fate, "no torque"))


@settings(max_examples=300, deadline=None)
@given(st.lists(ACTS, max_size=20))
def test_rows_taken_after_every_entry_are_those_of_a_fresh_fold_over_all_entries(new_job, acts):
    job = new_job()
    for act in acts:
        play(job, act)

    assert job.stored == fresh(job)


@settings(max_examples=100, deadline=None)
@given(st.lists(ACTS, max_size=12))
def test_every_row_fits_into_its_table_and_comes_back_as_it_was(new_job, acts):
    job = new_job()
    for act in acts:
        play(job, act)

    with closing(sqlite3.connect(":memory:")) as connection:
        for statement in schema_sql():
            connection.execute(statement)
        by_name = {table.name: table for table in PROJECTIONS}
        for (name, _), values in job.stored.items():
            connection.execute(by_name[name].upsert_sql(), values)
        stored = {
            (table.name, values[: table.keys]): values
            for table in PROJECTIONS
            for values in connection.execute(table.select_sql()).fetchall()
        }

    assert stored == job.stored


def since(events):
    """What was done on one fastener after it was last opened, and whether an over-torque stands."""
    stages, over, lacks = {}, False, set()
    for what, stage in events:
        if what in ("opened", "loosening"):
            stages = {}
            lacks -= {"opened"}
        elif what == "decided":
            lacks -= {"decided"}
        else:
            if what == "over":
                over, lacks = True, {"opened", "decided"}
            if stage is not None:
                stages[stage] = what
    return stages, over and bool(lacks)


def told(job, joint, position):
    """The events of one fastener by the order of their entries, from the entries alone."""
    latest = {body.reading: body for _, body in job.entries if isinstance(body, MatchKept)}
    for at, body in job.entries:
        if isinstance(body, Decided) and body.joint == joint and body.position in (None, position):
            yield from [("opened", None)] if body.said == "opened" else [("decided", None)] if body.said != "stripes" else []
        match = latest.get(at.seq) if isinstance(body, ReadingKept) else None
        if match is None or (match.joint, match.position) != (joint, position):
            continue
        if match.kind == "loosening":
            yield "loosening", None
        elif match.kind == "tightening":
            yield match.verdict, match.stage
        elif match.verdict == "over":
            yield "over", None


@settings(max_examples=500, deadline=None)
@given(st.lists(ACTS, max_size=10), st.booleans(), st.randoms(use_true_random=False))
def test_rule_2_complete_means_an_in_band_final_on_every_fastener_and_every_hold_point_signed(new_job, acts, signs, random):
    job = new_job()
    done = [("sign", ("ride-height", None))] if signs else []
    done += [("pull", ("hub", stage, place), "tightening", "in band", "0.99") for stage in (1, 2) for place in (1, 2)]
    done += [("pull", ("shackle", 1, place), "tightening", "in band", "0.99") for place in (1, 2)]
    done += [("stripes", "hub", 2), ("stripes", "shackle", 2)]
    for act in acts:
        done.insert(random.randint(0, len(done)), act)
    for act in done:
        play(job, act)

    if job.stored["job", ("1",)][db.JOB.names.index("complete")]:
        for joint, stages in (("hub", (1, 2)), ("shackle", (1,))):
            for position in (1, 2):
                counted, over_stands = since(told(job, joint, position))
                assert counted == dict.fromkeys(stages, "in band")
                assert not over_stands
        assert "ride-height" in job.state.hold_points
        assert not job.state.missing


def test_rows_are_handed_out_once_and_only_those_that_changed(new_job):
    job = new_job()
    assert job.fold.take_rows() == []

    job.fold.apply(At(9, AT.at, "p-1"), ReadingKept("1"))
    job.fold.apply(At(10, AT.at, "p-1"), MatchKept("1", 9, "tightening", "by order", "hub", 1, 1, verdict="in band"))
    changed = [(table.name, values[: table.keys]) for table, values in job.fold.take_rows()]

    # One pull of an intermediate stage: the fastener is missed as before, so its row stays as it is.
    assert sorted(changed) == [("job", ("1",)), ("joint", ("1", "hub", 1)), ("reading", (9,)), ("tightening", ("1", "hub", 1, 1))]
    assert job.fold.take_rows() == []


def test_a_job_that_was_only_opened_has_all_its_rows(new_job):
    job = new_job()
    names = sorted(name for name, _ in job.stored)

    assert names.count("fastener") == 4
    assert names.count("joint") == 3
    assert names.count("tightening") == 6
    assert job.stored["plan", (1,)] == (
        1, "box-trailer", "Box trailer, hubs and shackles", "1", "Shop procedure 9, section 2", job.route.content_sha256,
        "plan.yaml",
    )  # fmt: skip


def test_two_jobs_of_one_plan_do_not_touch_each_other(new_job):
    job = new_job()
    job.put(JobOpened("2", 1, "1" * 64, "4712", "p-1", "Tannwald Trailers"))
    before = {key: values for key, values in job.stored.items() if key[1][0] == "2"}
    job.pull("hub", 1, 1)

    assert {key: values for key, values in job.stored.items() if key[1][0] == "2"} == before
    assert job.stored == fresh(job)


def test_a_wrench_has_one_row_with_its_last_calibration():
    fold = Fold()
    fold.apply(At(1, AT.at, "p-1"), PersonNamed("p-1", "0" * 64))
    fold.apply(At(2, AT.at, "p-1"), WRENCH)
    assert rows_of(fold) == {
        ("person", ("p-1",)): ("p-1", 1),
        ("wrench", ("W-140",)): (
            "W-140", 2, "SN-90417", "click, ratchet", "20", "150", "lbf·ft", "click", None, None, None, None, None, 1, "4", None,
            None,
        ),
    }  # fmt: skip

    fold.apply(At(3, AT.at, "p-1"), Calibrated("W-140", "K-1", "2025-01-10", "2026-01-09", "30", "190"))
    fold.apply(At(4, AT.at, "p-1"), Calibrated("W-140", "K-2", "2026-01-10", "2027-01-09", "40.0", "200.0"))

    assert rows_of(fold)["wrench", ("W-140",)][8:] == (
        "K-2", "2026-01-10", "2027-01-09", "40.0", "200.0", 1, "4", None, None,
    )  # fmt: skip
    assert fold.wrenches["W-140"].certificate == "K-2"


def test_an_entry_of_no_job_and_no_register_changes_no_row():
    fold = Fold()
    fold.apply(At(1, AT.at, "program"), SessionOpened("witnessmark 0.1.0", 1, 1, "3.11.7", "3.40.1"))

    assert fold.take_rows() == []


@pytest.mark.parametrize(
    ("body", "what"),
    [
        pytest.param(Calibrated("W-9", "K-1", "2026-01-10", "2027-01-09", "30", "190"), "wrench W-9, which was", id="wrench"),
        pytest.param(JobOpened("2", 7, "0" * 64, "", "p-1", ""), "opens job 2 without its plan, or twice", id="plan"),
        pytest.param(JobOpened("1", 1, "0" * 64, "", "p-1", ""), "opens job 1 without its plan, or twice", id="job-twice"),
        pytest.param(FrameKept("3", "serial:tty", "00", "plain-line"), "speaks of job 3, or of a reading in it", id="job"),
        pytest.param(MatchKept("1", 77, "stray", "late"), "speaks of job 1, or of a reading in it", id="reading"),
    ],
)
def test_an_entry_before_what_it_speaks_of_is_refused(new_job, body, what):
    with pytest.raises(RecordError, match=f"{what}.*run `verify`"):
        new_job().put(body)


def ledger_of(job, at_seq, **changed):
    """The job's entries as the ledger holds them, with other values in the body of one."""
    for at, body in job.entries:
        packed = pack_body(body) | (changed if at.seq == at_seq else {})
        yield at.seq, Entry(body.KIND, at.at, 1, at.by, "00" * 16, packed).encode().decode()


def test_rows_made_once_over_the_whole_ledger_are_those_that_were_written_commit_by_commit(new_job):
    job = new_job()
    for stage in (1, 2):
        for position in (1, 2):
            job.pull("hub", stage, position)
    job.sign("ride-height")
    job.stripes("hub")
    job.pull("shackle", 1, 1)

    rows = derived_rows(ledger_of(job, at_seq=0))

    assert {(table.name, values[: table.keys]): values for table, values in rows} == job.stored
    assert len(rows) == len(job.stored)


@pytest.mark.parametrize(
    ("changed", "what"),
    [
        pytest.param({"torque_nm": "much"}, "an entry cannot be what was recorded .ValueError", id="no-row-of-a-reading"),
        pytest.param({"unfit": 7}, "an entry cannot be what was recorded .TypeError", id="no-row-of-a-fastener"),
    ],
)
def test_entries_that_make_no_rows_are_refused(new_job, changed, what):
    job = new_job()
    reading = job.pull("hub", 1, 1)
    job.pull("hub", 2, 1)

    with pytest.raises(RecordError, match=f"{what}.*run `witnessmark verify`"):
        derived_rows(ledger_of(job, reading, **changed))


def test_an_entry_that_cannot_be_taken_is_refused_by_its_number(new_job):
    job = new_job()
    reading = job.pull("hub", 1, 1)

    with pytest.raises(RecordError, match=f"entry {reading + 1} cannot be what was recorded .*run `witnessmark verify`"):
        derived_rows(ledger_of(job, reading + 1, position=99))


@pytest.mark.parametrize("was_on", [pytest.param(True, id="on"), pytest.param(False, id="off")])
def test_after_many_entries_circles_are_looked_for_as_they_were_before(was_on):
    (gc.enable if was_on else gc.disable)()
    try:
        with many_entries():
            assert not gc.isenabled()

        assert gc.isenabled() is was_on
    finally:
        gc.enable()


def test_the_habits_that_were_learned_last_are_known_with_their_entry(new_job):
    job = new_job()
    assert job.fold.habits is None

    job.put(HabitsLearned(1, {"next_s": "8.0"}, ("1",), "median of gaps"))
    last = HabitsLearned(1, {"next_s": "7.2"}, ("1", "2"), "median of gaps")
    seq = job.put(last)

    assert job.fold.habits == (seq, last)
