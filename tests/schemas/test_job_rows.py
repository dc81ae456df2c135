"""The rows that a database shows of a job; `complete` is 1 only where nothing at all is lacking."""

from dataclasses import replace

import pytest

from schemas import database as db
from schemas.bodies import (
    CountKept,
    Decided,
    FrameKept,
    HandedOver,
    JointAdded,
    MatchKept,
    NotRead,
    PlanChanged,
    ReadingKept,
    ReportIssued,
    Signed,
)
from schemas.fastener_state import At
from schemas.job_rows import event_row, unsigned_hold_points
from schemas.route_body import joint_to_body

HUBS = """\
plan: box-trailer
title: Box trailer, hubs and shackles
revision: "1"
source: Shop procedure 9, section 2
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100, stages: [50, 100], order: in line}
  - {id: shackle, name: Shackle bolts, fasteners: 2, torque: 60}
steps:
  - torque: [hub, shackle, cap]
"""


@pytest.fixture(name="job")
def _job(new_job):
    """A job in which everything was done as the plan says."""
    return done(new_job())


def done(job, *, without=(), sign=True, torque_missing=None):
    for stage, position in ((1, 1), (1, 2), (2, 1), (2, 2)):
        if ("hub", stage, position) not in without:
            job.pull("hub", stage, position, f"{50 * stage}")
    job.stripes("hub")
    if sign:
        job.sign("ride-height")
    for position in (1, 2):
        if ("shackle", 1, position) not in without:
            job.match(job.read("60", missing=torque_missing), "shackle", 1, position)
    job.stripes("shackle")
    return job


def row(job, table, *key):
    found = job.stored[(table.name, key)]
    return dict(zip(table.names, found, strict=True))


# Rule 2: when the torque record is complete.


def test_rule_2_complete_when_every_fastener_is_proven_and_every_hold_point_signed(job):
    shown = row(job, db.JOB, "1")

    assert shown["complete"] == 1
    assert (shown["fasteners"], shown["proven"], shown["readings"]) == (4, 4, 6)
    assert (shown["unsigned"], shown["missing_numbers"]) == (0, 0)


@pytest.mark.parametrize(
    "without",
    [
        pytest.param([("hub", 2, 2)], id="a-final-missed"),
        pytest.param([("hub", 1, 2)], id="an-intermediate-stage-missed"),
        pytest.param([("hub", 1, 1), ("hub", 2, 1)], id="a-fastener-missed"),
        pytest.param([("shackle", 1, 1), ("shackle", 1, 2)], id="a-joint-left-loose"),
    ],
)
def test_rule_2_never_complete_when_a_fastener_was_missed(new_job, without):
    assert row(done(new_job(), without=without), db.JOB, "1")["complete"] == 0


def test_rule_2_never_complete_with_a_hold_point_that_nobody_signed(new_job):
    job = done(new_job(), sign=False)
    job.say("opened", "shackle")

    assert unsigned_hold_points(job.state) == ("ride-height",)
    assert (row(job, db.JOB, "1")["complete"], row(job, db.JOB, "1")["unsigned"]) == (0, 1)


def test_rule_2_never_complete_with_a_hold_point_unsigned_though_every_fastener_is_proven(new_job):
    plan = """\
plan: p
title: t
revision: "1"
source: s
unit: N·m
tolerance: 10 %
joints: [{id: hub, name: Hub, fasteners: 1, torque: 100}]
steps: [{torque: hub}, {hold point: closed, ask: Caps on, sign: lead}]
"""
    job = new_job(plan)
    job.pull("hub", 1, 1, p="1")
    assert row(job, db.JOB, "1")["proven"] == 1
    assert row(job, db.JOB, "1")["complete"] == 0

    job.sign("closed")

    assert row(job, db.JOB, "1")["complete"] == 1


def test_rule_2_never_complete_with_sequence_numbers_missing(new_job):
    job = done(new_job(), torque_missing="7-9")

    assert row(job, db.JOB, "1")["proven"] == 4
    assert (row(job, db.JOB, "1")["complete"], row(job, db.JOB, "1")["missing_numbers"]) == (0, 6)


def test_rule_2_opened_after_the_end_it_is_not_complete_any_more(job):
    job.say("opened", "hub", 1)

    assert row(job, db.JOB, "1")["complete"] == 0
    assert row(job, db.JOB, "1")["missed"] == 1


def test_the_job_counts_its_fasteners_by_proof_and_its_lines_by_fate(new_job):
    job = done(new_job(simulated=1), without=[("hub", 2, 2), ("shackle", 1, 1), ("shackle", 1, 2)])
    job.match(job.read("140"), "hub", 2, 1, verdict="over", kind="repeat")
    job.match(job.read("7"), None, None, None, kind="stray", verdict=None)
    job.put(NotRead("1", "unreadable", "no torque"))
    job.put(NotRead("1", "set aside", "1,000 is ambiguous"))
    job.put(NotRead("1", "set aside", "1,001 is ambiguous"))

    shown = row(job, db.JOB, "1")

    assert {name: shown[name] for name in ("proven", "doubtful", "left_loose", "missed", "failed", "declared", "not_fitted")} == {
        "proven": 0, "doubtful": 0, "left_loose": 2, "missed": 1, "failed": 1, "declared": 0, "not_fitted": 0,
    }  # fmt: skip
    assert (shown["strays"], shown["unreadable"], shown["set_aside"], shown["simulated"]) == (1, 1, 2, 1)


def test_the_row_of_a_joint_counts_one_stage_and_carries_the_worst_proof_of_its_fasteners(new_job):
    job = new_job()
    job.pull("hub", 1, 1, "50")
    job.pull("hub", 1, 2, "140", "over")
    job.pull("hub", 2, 1, "80", "under")

    first, final = row(job, db.JOINT, "1", "hub", 1), row(job, db.JOINT, "1", "hub", 2)

    assert (first["tightened"], first["missed"], first["under"], first["over"]) == (2, 0, 0, 1)
    assert (final["tightened"], final["missed"], final["under"], final["over"]) == (1, 1, 1, 0)
    assert (final["stages"], final["fasteners"], final["proof"], final["p_complete"]) == (2, 2, "failed", None)


def test_the_rows_of_a_fastener_say_why_and_which_reading_counts(job):
    job.say("opened", "hub", 1)
    job.pull("hub", 2, 1, "100", unfit="calibration of wrench W-140 ran out on 2026-02-28")

    assert row(job, db.FASTENER, "1", "hub", 1) == {
        "job": "1", "joint": "hub", "position": 1, "proof": "doubtful",
        "why": "stage 1 has no tightening; calibration of wrench W-140 ran out on 2026-02-28; "
        "matched by order only and not confirmed",
    }  # fmt: skip
    last = max(job.state.pulls)
    assert row(job, db.TIGHTENING, "1", "hub", 1, 1)["reading"] is None
    assert (row(job, db.TIGHTENING, "1", "hub", 1, 2)["reading"], row(job, db.TIGHTENING, "1", "hub", 1, 2)["verdict"]) == (
        last, "in band",
    )  # fmt: skip
    assert row(job, db.JOINT, "1", "hub", 1)["confirmed"] == 0


def test_a_reading_without_a_match_has_its_digits_as_sent_and_nothing_of_a_place(new_job):
    job = new_job()
    seq = job.read("70.20", "lbf·ft", sequence=5, notes=("battery low", "odd case"))

    shown = row(job, db.READING, seq)

    # 70.2 lbf·ft by the exact factors of NIST Special Publication 811 (2008), appendix B.
    assert (shown["torque"], shown["unit"], shown["torque_nm"]) == ("70.20", "lbf·ft", "95.178419972864308080")
    assert shown["torque_nm_real"] == pytest.approx(95.1784199728643)
    assert (shown["n"], shown["notes"], shown["over_range"], shown["fit"]) == (1, "battery low; odd case", 0, 1)
    assert {shown[name] for name in ("joint", "stage", "position", "kind", "verdict", "p", "match_seq", "unfit")} == {None}


def test_a_reading_above_the_range_has_no_torque_and_shows_its_match(new_job):
    job = new_job()
    seq = job.read(None, over_range=1, fit=None, unfit="outside the span", simulated=1)
    match = job.match(seq, "hub", 1, 2, verdict="over", p="0.5", low="45", high="90", high_is_over=1, position_by="order")

    shown = row(job, db.READING, seq)

    assert (shown["torque_nm"], shown["torque_nm_real"], shown["over_range"]) == (None, None, 1)
    assert (shown["joint"], shown["stage"], shown["position"], shown["position_by"]) == ("hub", 1, 2, "order")
    assert (shown["kind"], shown["verdict"], shown["p"], shown["reason"]) == ("tightening", "over", "0.5", "by order")
    assert (shown["low_nm"], shown["high_nm"], shown["match_seq"], shown["revisions"]) == ("45", "90", match, 0)
    assert (shown["fit"], shown["unfit"], shown["simulated"]) == (0, "outside the span", 1)


def test_what_stands_for_itself_has_a_row_of_its_own(new_job):
    job = new_job()
    acts = {
        db.NOT_READ: job.put(NotRead("1", "unreadable", "no torque", None, 7, 3, "00ff", "id-1", 1)),
        db.DECISION: job.say("opened", "hub", 2),
        db.SIGNATURE: job.put(Signed("1", "lead", "ride-height"), "p-2"),
        db.LINK: job.link("lost", "hub"),
        db.REPORT: job.put(ReportIssued("1", "html", "ab" * 32, 9, 6, "cd" * 32)),
    }
    shown = {table.name: row(job, table, seq) for table, seq in acts.items()}

    assert {name: shown["not_read"][name] for name in ("log", "line", "raw", "identity", "simulated")} == {
        "log": 7, "line": 3, "raw": "00ff", "identity": "id-1", "simulated": 1,
    }  # fmt: skip
    assert (shown["decision"]["said"], shown["decision"]["joint"], shown["decision"]["position"]) == ("opened", "hub", 2)
    assert (shown["signature"]["by"], shown["signature"]["role"]) == ("p-2", "lead")
    assert shown["signature"]["hold_point"] == "ride-height"
    assert (shown["link"]["source"], shown["link"]["link"], shown["link"]["joint"]) == ("serial:tty", "lost", "hub")
    assert (shown["report"]["sha256"], shown["report"]["tree_size"]) == ("ab" * 32, 6)
    assert all(values["job"] == "1" and values["at"].startswith("2026-03-02T07:00:") for values in shown.values())


def test_what_a_person_said_has_its_value_tool_lot_and_step(new_job):
    job = new_job()
    seq = job.say("declared", "hub", 2, reason="no link", value="98", unit="N·m", tool="W-9", lot="B-12", step=4)
    shown = row(job, db.DECISION, seq)

    assert {name: shown[name] for name in ("reason", "value", "unit", "tool", "lot", "step")} == {
        "reason": "no link", "value": "98", "unit": "N·m", "tool": "W-9", "lot": "B-12", "step": 4,
    }  # fmt: skip


def test_a_signature_has_the_joint_that_was_looked_at_and_what_was_measured(new_job):
    job = new_job()
    second = row(job, db.SIGNATURE, job.put(Signed("1", "second person", second="hub"), "p-2"))
    measured = row(job, db.SIGNATURE, job.put(Signed("1", "lead", "ride-height", value="2", unit="mm"), "p-2"))

    assert (second["second"], second["value"], second["unit"]) == ("hub", None, None)
    assert (measured["hold_point"], measured["value"], measured["unit"]) == ("ride-height", "2", "mm")


def test_what_changes_the_job_itself_has_a_row_of_its_own(new_job):
    job = new_job()
    handed = row(job, db.HAND_OVER, job.put(HandedOver("1", "leaver", "p-1", "p-3", ("to pull", "to sign"), 1)))
    added = {**joint_to_body(job.route.joint("hub")), "id": "flap"}
    joint = row(job, db.JOINT_ADDED, job.put(JointAdded("1", added, "sheet 12"), "p-2"))
    changed = row(job, db.PLAN_CHANGED, job.put(PlanChanged("1", 1, "as before"), "p-2"))

    assert (handed["signs"], handed["leaver"], handed["taker"], handed["simulated"]) == ("leaver", "p-1", "p-3", 1)
    assert handed["open"] == "to pull\nto sign"
    assert (joint["by"], joint["joint"], joint["name"], joint["fasteners"], joint["source"]) == (
        "p-2", "flap", "Hub nuts", 2, "sheet 12",
    )  # fmt: skip
    assert (changed["by"], changed["plan_seq"], changed["reason"]) == ("p-2", 1, "as before")


def test_a_reading_shows_angle_lever_and_drag_that_it_was_judged_by(new_job):
    job = new_job()
    seq = job.read("70", angle_deg="91", length_mm="400")
    job.match(seq, "hub", 1, 1, angle_low="80", angle_high="100", adapter="adapter 50 mm at 0°", drag="8")
    shown = row(job, db.READING, seq)

    assert (shown["angle_deg"], shown["angle_low"], shown["angle_high"]) == ("91", "80", "100")
    assert (shown["length_mm"], shown["adapter"], shown["drag"]) == ("400", "adapter 50 mm at 0°", "8")


TURNED = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 14
unit: N·m
tolerance: 10 %
joints:
  - {id: head, name: Head bolts, fasteners: 4, torque: 100, then_angle: 90, angle_tolerance: 10}
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 60}
steps:
  - torque: [head, hub]
  - recheck: hub
  - open: hub
  - torque: hub
"""


def test_missed_at_a_stage_is_only_what_nobody_answers_for(new_job):
    job = new_job(TURNED)
    job.take("100")
    job.say("declared", "head", 1, step=1)
    job.say("declared", "head", 2)
    job.say("not fitted", "head", 3)

    rounds = [row(job, db.JOINT, "1", "head", stage) for stage in (1, 2)]
    assert [(shown["tightened"], shown["missed"]) for shown in rounds] == [(1, 1), (0, 1)]

    assert row(job, db.JOINT, "1", "hub", 2)["missed"] == 2
    for position in (1, 2):
        job.pull("hub", 1, position)
    job.say("opened", "hub", step=3)
    assert row(job, db.JOINT, "1", "hub", 2)["missed"] == 0, "it was opened since, so there is nothing to check any more"


def test_raw_bytes_alone_have_no_row():
    assert event_row(At(9, "2026-03-02T07:00:00.000000Z", "p-1"), FrameKept("1", "serial:tty", "00", "plain-line")) is None


def counted(job, ps, of_job=None):
    """Counts of both stages of the hub and the one of the shackle, then of the job."""
    for (joint, stage), p in zip((("hub", 1), ("hub", 2), ("shackle", 1)), ps, strict=False):
        job.put(CountKept("1", p, joint, stage))
    if of_job is not None:
        job.put(CountKept("1", of_job))
    return job


def p_complete(job):
    """Of the job, then of its joints and stages."""
    rows = [row(job, db.JOINT, "1", joint, stage)["p_complete"] for joint, stage in (("hub", 1), ("hub", 2), ("shackle", 1))]
    return row(job, db.JOB, "1")["p_complete"], *rows


def test_rows_have_the_probability_that_nothing_was_left_out(new_job):
    job = counted(done(new_job()), ("0.9950", "0.9970", "0.9999"), "0.9912")

    assert p_complete(job) == ("0.9912", "0.9950", "0.9970", "0.9999")


def test_the_job_is_as_sure_as_its_joints_once_a_person_has_counted_one_of_them(new_job):
    job = counted(done(new_job()), ("0.9950", "0.5000", "0.9999"), "0.4900")
    job.stripes("hub")

    # 0.5 becomes 0.98; 0.995 * 0.98 * 0.9999 = 0.97500249
    assert p_complete(job) == ("0.9750", "0.9950", "0.9800", "0.9999")


def test_the_job_is_not_known_where_a_person_has_counted_and_a_stage_has_no_count(new_job):
    job = counted(done(new_job()), ("0.9950", "0.5000"), "0.4900")
    assert p_complete(job)[0] == "0.4900"
    job.stripes("hub")

    assert p_complete(job) == (None, "0.9950", "0.9800", None)


def test_what_was_done_since_makes_the_probability_unknown(new_job):
    job = counted(done(new_job()), ("0.9950", "0.9970", "0.9999"), "0.9912")
    job.pull("hub", 2, 1, "100")

    assert p_complete(job) == (None, "0.9950", None, "0.9999")


def test_without_a_count_of_the_job_its_probability_is_not_known(new_job):
    assert p_complete(counted(done(new_job()), ("0.9950", "0.9970", "0.9999")))[0] is None
    assert p_complete(done(new_job())) == (None, None, None, None)


@pytest.mark.parametrize(("limit", "proof"), [(None, "proven"), ("0.99", "proven"), ("0.998", "doubtful")])
def test_a_job_goes_by_the_limit_that_it_was_opened_with(new_job, limit, proof):
    job = new_job()
    job.put(replace(job.state.opened, job="2", p_limit=limit))
    joint = job.fold.jobs["2"].joints["shackle"]
    for position in (1, 2):
        pull = ReadingKept("2", fit=1, wrench="W-140", torque="60", unit="N·m", torque_nm="60")
        seq = job.put(pull)
        job.put(MatchKept("2", seq, "tightening", "by time", "shackle", 1, position, verdict="in band", p="0.9999"))
    job.put(CountKept("2", "0.9950", "shackle", 1))
    job.put(Decided("2", "let stand", "shackle", reason="height was right"))

    assert joint.proof(1)[0] == proof
    assert row(job, db.JOB, "2")["p_limit"] == limit


@pytest.mark.parametrize("limit", ["0.9", "often"])
def test_a_job_that_asks_for_less_is_none_that_was_recorded(new_job, limit):
    job = new_job()

    with pytest.raises(ValueError, match=f"`{limit}` is no limit for a probability"):
        job.put(replace(job.state.opened, job="2", p_limit=limit))


def test_joints_that_come_in_later_go_by_the_limit_of_the_job(new_job):
    job = new_job()
    job.put(replace(job.state.opened, job="2", p_limit="0.995"))
    text = HUBS.replace("joints:\n", "joints:\n  - {id: cap, name: Cap, fasteners: 1, torque: 20}\n").replace('"1"', '"2"')
    job.put(PlanChanged("2", job.keep_plan(text.replace("torque: 60", "torque: 61")), "revised"))
    job.put(JointAdded("2", {**joint_to_body(job.route.joint("cap")), "id": "flap"}, "sheet 12"))

    limits = {name: str(state.limit) for name, state in job.fold.jobs["2"].joints.items()}

    assert limits == dict.fromkeys(("hub", "shackle", "cap", "flap"), "0.995")
