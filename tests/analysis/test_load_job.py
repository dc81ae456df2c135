"""One job as it is read back: who, what, with which wrench, how sure, and why it is not complete."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from analysis.load import JobRecord, job_json, load_job, open_audit
from schemas.bodies import Calibrated, Decided, LinkKept, LogTaken, NotRead, ReadingKept, Signed
from schemas.errors import RecordError
from schemas.words import Proof


@pytest.fixture
def load(path: Path):
    def load(job: str = "2026-0001") -> JobRecord:
        with closing(open_audit(path)) as db:
            return load_job(db, job)

    return load


def test_a_whole_job_is_complete_and_gives_no_reason(shop, load) -> None:
    shop.do_all()
    shop.append(Signed(shop.job, "lead", "ride-height"))

    record = load()

    assert record.complete
    assert record.reasons == ()
    assert record.proof_counts[Proof.PROVEN] == 6


def test_one_missed_fastener_is_named_and_keeps_the_job_from_being_complete(shop, load) -> None:
    shop.do_all(without=(("hub-nuts", 4),))
    shop.append(Signed(shop.job, "lead", "ride-height"))

    record = load()

    assert not record.complete
    assert record.reasons[0] == "1 fastener missed: Hub nuts, left, 4"


def test_an_unsigned_hold_point_is_a_reason(shop, load) -> None:
    shop.do_all()

    assert load().reasons == ("hold point `ride-height` is not signed",)


def test_missing_numbers_are_a_reason_by_wrench_and_number(shop, load) -> None:
    shop.do_all(without=(("guard", 2),))
    shop.pull("guard", 1, 2, "20.2", sequence=5, missing="3-4")
    shop.append(Decided(shop.job, "stripes", "guard", count=2, of=2))
    shop.append(Signed(shop.job, "lead", "ride-height"))

    assert load().reasons == ("readings missing: W-140 numbers 3-4",)


def test_numbers_that_came_later_are_not_missing(shop, load) -> None:
    shop.pull("hub-nuts", 1, 1, "50", sequence=5, missing="3-4")
    shop.pull("hub-nuts", 1, 2, "50", sequence=3)

    (gap,) = load().missing

    assert (gap.wrench, gap.first, gap.last) == ("W-140", 4, 4)


def test_failed_fasteners_come_first_with_why_and_alike_ones_share_a_line(shop, load) -> None:
    shop.do_all(without=(("hub-nuts", 1), ("hub-nuts", 2), ("hub-nuts", 3)))
    shop.pull("hub-nuts", 2, 1, "88", "under")

    reasons = load().reasons

    assert reasons[:2] == (
        "1 fastener failed: Hub nuts, left, 1 (under-torque at stage 2, not made good)",
        "2 fasteners missed: Hub nuts, left, 2-3",
    )


def test_a_fastener_without_a_row_is_missed_never_left_out(shop, load, path: Path) -> None:
    shop.do_all()
    shop.append(Signed(shop.job, "lead", "ride-height"))
    with closing(sqlite3.connect(path)) as db:
        db.execute("DELETE FROM fastener WHERE joint = 'guard' AND position = 2")
        db.commit()

    record = load()

    assert not record.complete
    assert record.reasons == (
        "1 fastener missed: Guard bolts, 2",
        "the database's line for the job says complete, its rows say otherwise; run `witnessmark verify`",
    )


def test_a_row_of_a_joint_that_the_plan_does_not_have_is_not_shown(shop, load, path: Path) -> None:
    with closing(sqlite3.connect(path)) as db, db:
        columns = "stage, stages, name, fasteners, tightened, missed, under, over, proof, p_complete, confirmed"
        db.execute(f"INSERT INTO joint SELECT job, 'foreign', {columns} FROM joint WHERE joint = 'guard'")

    assert [row.joint for row in load().joints] == ["hub-nuts", "hub-nuts", "guard"]


def test_rows_without_fault_do_not_overrule_a_job_held_as_not_complete(shop, load, path: Path) -> None:
    shop.do_all()
    shop.append(Signed(shop.job, "lead", "ride-height"))
    with closing(sqlite3.connect(path)) as db:
        db.execute("UPDATE job SET complete = 0")
        db.commit()

    assert not load().complete


def test_the_head_of_the_job_has_names_plan_and_wrench(shop, load) -> None:
    shop.pull("hub-nuts", 1, 1, "50.0")
    shop.append(Calibrated("W-140", "K-2380", "2026-03-02", "2027-03-01", "20", "180"))

    record = load()

    assert (record.item, record.fitter, record.order_no, record.workshop) == (
        "Box trailer WX 17", "Mira Tannwald", "4711", "Tannwald Trailers",
    )  # fmt: skip
    assert (record.plan.title, record.plan.revision, record.plan.file) == ("Box trailer, hubs", "2", "hubs.yaml")
    (wrench,) = record.wrenches
    assert (wrench.wrench, wrench.serial, wrench.readings) == ("W-140", "SN-90417", 1)
    assert [calibration.certificate for calibration in wrench.calibrations] == ["K-2210"]  # not the later one


def test_the_calibration_of_a_reading_is_the_one_of_the_latest_day_entered_before_it(shop, load) -> None:
    # K-2210 of 2026-01-10 is in the register from the start.
    days = {"K-1": "2025-01-10", "K-3": "2026-02-01", "K-2": "2026-01-20", "K-4": "2026-02-01"}
    certificates = []
    for position, (certificate, day) in enumerate(days.items(), 1):
        shop.append(Calibrated("W-140", certificate, day, "2027-03-01", "20", "180"))
        shop.pull("hub-nuts", 1, position, "50.0")
        certificates.append([calibration.certificate for calibration in load().wrenches[0].calibrations])

    assert certificates == [["K-2210"], ["K-2210", "K-3"], ["K-2210", "K-3"], ["K-2210", "K-3", "K-4"]]


def test_an_erased_name_and_item_are_said_to_be_erased(shop, load, path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("DELETE FROM private")
        db.commit()

    record = load()

    assert record.item is None
    assert record.fitter == "person-1 (name erased)"


def test_a_stage_has_value_band_and_reading(shop, load) -> None:
    shop.pull("hub-nuts", 1, 1, "50.10", tool_time="2026-03-02T08:14:11+01:00")

    first, final = load().fasteners[0].stages

    assert (first.low, first.high, first.low_nm, first.high_is_in_band, first.verdict) == ("45", "90", "45", False, "in band")
    assert first.reading is not None
    assert (first.reading.torque, first.reading.unit, first.reading.torque_shown) == ("50.10", "N·m", None)
    assert first.reading.tool_time == "2026-03-02T08:14:11+01:00"
    assert first.reading.raw is not None
    assert first.reading.raw.text == "50.10,N·m"
    assert (final.reading, final.verdict, final.low, final.high) == (None, None, "90", "110")


def test_a_revised_match_is_kept_with_all_that_it_was(shop, load) -> None:
    seq = shop.read("40.0")
    first = shop.match(seq, "hub-nuts", 1, 1, verdict="under")
    shop.match(seq, "hub-nuts", 1, 1, verdict="under", kind="short pull", reason="put right by reading 2", revises=first)

    (correction,) = load().corrections

    assert correction.n == 1
    assert [(step.kind, step.reason) for step in correction.steps] == [
        ("tightening", "next in the plan's order"),
        ("short pull", "put right by reading 2"),
    ]


def test_a_match_that_became_surer_alone_is_no_correction(shop, load) -> None:
    seq = shop.read("50.0")
    first = shop.match(seq, "hub-nuts", 1, 1, p="0.8500")
    shop.match(seq, "hub-nuts", 1, 1, p="0.9950", revises=first)

    record = load()

    assert (record.corrections, record.readings[0].p) == ((), "0.9950")


def test_links_decisions_signatures_logs_and_retorques_are_read(shop, load) -> None:
    seq = shop.pull("hub-nuts", 1, 1, "50.0")
    shop.append(Decided(shop.job, "not this job", reading=seq))
    shop.append(LinkKept(shop.job, "serial:tty", "lost", "hub-nuts", "unplugged"))
    shop.append(LogTaken(shop.job, "day.csv", "cd" * 32))
    shop.append(Signed(shop.job, "lead", "ride-height"))
    shop.append(Signed(shop.job, "second person", "ride-height"))

    record = load()

    assert [(row.said, row.reading, row.by) for row in record.decisions] == [("not this job", 1, "Mira Tannwald")]
    assert [(row.link, row.joint_name, row.detail) for row in record.links] == [("lost", "Hub nuts, left", "unplugged")]
    assert [(log.file, log.sha256) for log in record.logs] == [("day.csv", "cd" * 32)]
    (point,) = record.hold_points
    assert point.signature is not None
    assert (point.sign, point.signature.role) == ("lead", "lead")  # the first signature stands
    assert [(due.joints, due.span) for due in record.retorques] == [(("Hub nuts, left",), "40 km to 80 km")]


def test_the_tree_is_the_last_head_of_the_file(shop, load, path: Path) -> None:
    record = load()

    with closing(sqlite3.connect(path)) as db:
        size, head = db.execute("SELECT size, hex(root) FROM tree_head ORDER BY size DESC").fetchone()
    assert (record.tree.size, record.tree.head, record.tree.entries) == (size, head.lower(), size)


def test_a_route_that_is_not_in_the_ledger_is_an_error(shop, load, path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("UPDATE job SET plan_seq = 1")
        db.execute("UPDATE plan SET seq = 1")
        db.commit()

    with pytest.raises(RecordError, match="entry 1 of the ledger is missing or no plan entry; run `witnessmark verify`"):
        load()


def test_the_answer_has_the_agreed_shape(shop, load) -> None:
    shop.pull("hub-nuts", 1, 1, "50.2")
    shop.match(shop.read("12.5"), None, None, None, kind="stray", verdict=None, position_by=None, p="0.9")
    shop.match(shop.read(None, over_range=1), "hub-nuts", 1, 2, verdict="over")
    shop.not_read(b"12,5 N\xb7m", "set aside", "12.5 or 125?")
    log = shop.append(LogTaken(shop.job, "day.csv", "cd" * 32))
    shop.append(NotRead(shop.job, "unreadable", "no torque", log=log, line=9, raw=b"\x00\x01".hex(), identity="i"))

    answer = job_json(load(), already_stored=3)

    assert list(answer) == [
        "format", "job", "complete", "p_complete", "joints", "readings", "set_aside", "unreadable", "already_stored",
        "not_stated", "loading", "follows", "outcome",
    ]  # fmt: skip
    assert (answer["format"], answer["job"], answer["complete"], answer["p_complete"]) == (1, "2026-0001", False, None)
    assert [(row["id"], row["stage"]) for row in answer["joints"]] == [("hub-nuts", 1), ("hub-nuts", 2), ("guard", 1)]
    assert answer["joints"][0] == {
        "id": "hub-nuts", "stage": 1, "stages": 2, "fasteners": 4, "tightened": 2, "missed": 2, "under": 0, "over": 1,
        "proof": "failed", "p_complete": None,
    }  # fmt: skip
    assert answer["readings"] == [
        {"n": 1, "joint": "hub-nuts", "stage": 1, "position": 1, "kind": "tightening", "verdict": "in band",
         "torque_nm": "50.2", "p": 0.95, "position_by": "order"},
        {"n": 2, "joint": None, "stage": None, "position": None, "kind": "stray", "verdict": None, "torque_nm": "12.5",
         "p": 0.9, "position_by": None},
        {"n": 3, "joint": "hub-nuts", "stage": 1, "position": 2, "kind": "tightening", "verdict": "over",
         "torque_nm": None, "p": 0.95, "position_by": "order"},
    ]  # fmt: skip
    assert answer["set_aside"] == [{"line": None, "raw": "12,5 N·m", "reason": "12.5 or 125?"}]
    assert answer["unreadable"] == [{"line": 9, "raw": "0001", "reason": "no torque"}]
    assert answer["already_stored"] == 3


def test_a_simulated_job_says_so_in_the_answer(make_shop, load) -> None:
    make_shop(simulated=1).open()

    assert job_json(load())["simulated"] == 1


def test_a_reading_that_nobody_matched_is_in_the_answer_without_a_place(shop, load) -> None:
    shop.append(ReadingKept(shop.job, torque="50", unit="N·m", torque_nm="50"))

    (reading,) = job_json(load())["readings"]

    assert (reading["kind"], reading["joint"], reading["verdict"], reading["p"]) == (None, None, None, None)
