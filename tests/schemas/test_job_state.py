"""A job is what its entries make it: which joint is in hand, which numbers are missing, what was signed and decided."""

import pytest

from schemas.bodies import FrameKept, JobClosed, LogTaken, NotRead, ReportIssued


def test_the_joints_are_gone_through_in_the_order_of_the_torque_steps(new_job):
    state = new_job().state

    assert [(step.number, joint.id) for step, joint in state.passes()] == [(2, "hub"), (4, "shackle")]
    assert state.joints["shackle"].after == ("ride-height",)
    assert (state.joints["hub"].loose, state.joints["shackle"].loose) == (False, True)


# Rule 7: which joint a gap in the link would make doubtful.


def test_rule_7_the_joint_in_hand_is_the_one_begun_last_until_it_is_confirmed(new_job):
    job = new_job()
    assert job.state.joint_in_hand is None

    job.pull("hub", 1, 1)
    assert job.state.joint_in_hand == "hub"

    job.stripes("hub")
    assert job.state.joint_in_hand is None

    job.pull("shackle", 1, 1)
    assert job.state.joint_in_hand == "shackle"


def test_rule_7_a_joint_only_chosen_is_not_in_hand_before_its_first_pull(new_job):
    job = new_job()
    job.say("other joint", "shackle")
    assert job.state.in_hand == "shackle"
    assert job.state.joint_in_hand is None

    job.pull("shackle", 1, 1)

    assert job.state.joint_in_hand == "shackle"


@pytest.mark.parametrize("kind", ["repeat", "recheck", "loosening"])
def test_a_click_on_a_fastener_done_before_does_not_change_the_joint_in_hand(new_job, kind):
    job = new_job()
    job.pull("hub", 1, 1)
    job.pull("shackle", 1, 1, kind=kind)

    assert job.state.in_hand == "hub"


def test_a_revised_match_does_not_change_the_joint_in_hand(new_job):
    job = new_job()
    reading = job.pull("hub", 1, 1)
    job.pull("hub", 1, 2)
    job.match(reading, "shackle", 1, 1, revises=4)

    assert job.state.in_hand == "hub"


@pytest.mark.parametrize("link", ["open", "back", "ended"])
def test_rule_7_only_a_lost_link_is_a_gap(new_job, link):
    job = new_job()
    job.pull("hub", 1, 1)
    job.link(link, "hub")

    assert job.joint("hub").gap_seq is None
    assert len(job.state.links) == 1


# A gap in a wrench's memory numbers: a reading did not reach us.


def numbers(job, *sent):
    for sequence, missing, wrench in sent:
        job.read("50", sequence=sequence, missing=missing, wrench=wrench)
    return job.state.missing


@pytest.mark.parametrize(
    ("sent", "missing"),
    [
        pytest.param([(1, None, "W-1"), (2, None, "W-1")], [], id="none"),
        pytest.param([(3, "2", "W-1")], [("W-1", 2, 2)], id="one"),
        pytest.param([(6, "2-5", "W-1")], [("W-1", 2, 5)], id="several"),
        pytest.param([(6, "2-5", "W-1"), (2, None, "W-1")], [("W-1", 3, 5)], id="the-first-comes-later"),
        pytest.param([(6, "2-5", "W-1"), (5, None, "W-1")], [("W-1", 2, 4)], id="the-last-comes-later"),
        pytest.param([(6, "2-5", "W-1"), (3, None, "W-1")], [("W-1", 2, 2), ("W-1", 4, 5)], id="one-of-the-middle-comes-later"),
        pytest.param([(3, "2", "W-1"), (2, None, "W-1")], [], id="all-came-later"),
        pytest.param([(6, "2-5", "W-1"), (3, None, "W-2")], [("W-1", 2, 5)], id="of-another-wrench"),
        pytest.param([(3, "2", None), (2, None, None)], [], id="of-a-wrench-that-is-not-named"),
        pytest.param([(3, "2", "W-1"), (9, "7-8", "W-1"), (8, None, "W-1")], [("W-1", 2, 2), ("W-1", 7, 7)], id="two-gaps"),
    ],
)
def test_rule_7_a_number_passed_over_is_missing_until_its_reading_comes(new_job, sent, missing):
    assert numbers(new_job(), *sent) == missing


# Strays, signatures, and what touches no joint.


def test_a_stray_is_counted_as_long_as_it_is_one(new_job):
    job = new_job()
    reading = job.pull("hub", 1, 1)
    assert job.state.strays == 0

    job.match(reading, None, None, None, kind="stray", verdict=None, revises=4)
    assert job.state.strays == 1

    job.match(reading, "hub", 1, 1, revises=5)

    assert job.state.strays == 0
    assert job.state.pulls[reading].revisions == 2
    assert job.joint("hub").fasteners[0].stages[0] is job.state.pulls[reading]


def test_readings_are_counted_in_the_order_of_their_arrival(new_job):
    job = new_job()
    seqs = [job.read(torque) for torque in ("50", "51", "52")]

    assert list(job.state.pulls) == seqs
    assert [pull.n for pull in job.state.pulls.values()] == [1, 2, 3]
    assert job.state.last_pull is job.state.pulls[seqs[-1]]
    assert job.state.last_pull.verdict is None, "not matched yet"


def test_the_first_signature_of_a_hold_point_stands(new_job):
    job = new_job()
    first = job.sign("ride-height")
    job.sign("ride-height")
    job.sign()

    assert list(job.state.hold_points) == ["ride-height"]
    signature = job.state.hold_points["ride-height"]
    assert (signature.at.seq, signature.at.by, signature.role) == (first, "p-2", "lead")


def test_a_decision_on_a_reading_alone_touches_no_joint(new_job):
    job = new_job()
    reading = job.pull("hub", 1, 1)
    before = job.joint("hub").proof(1)

    job.say("not this job", reading=reading)

    assert [decided.said for _, decided in job.state.decisions] == ["not this job"]
    assert job.joint("hub").proof(1) == before


def test_what_was_not_read_logs_frames_reports_and_the_closing_are_kept_beside_the_joints(new_job):
    job = new_job()
    job.put(FrameKept("1", "serial:tty", "00", "plain-line"))
    lost = job.put(NotRead("1", "unreadable", "no torque", 3))
    job.put(LogTaken("1", "monday.csv", "0" * 64))
    job.put(ReportIssued("1", "html", "0" * 64, 9, 6, "0" * 64))
    assert job.state.closed is None
    closed = job.put(JobClosed("1"), "p-2")

    assert [body.reason for _, body in job.state.not_read.values()] == ["no torque"]
    assert list(job.state.not_read) == [lost]
    assert job.state.logs == ["monday.csv"]
    assert (job.state.closed.seq, job.state.closed.by) == (closed, "p-2")
    assert not job.joint("hub").events


def test_the_last_pull_on_a_fastener_is_found_whatever_came_after_it_or_was_taken_back(new_job):
    job = new_job()
    first = job.pull("hub", 1, 1, "50")
    second = job.pull("hub", 1, 2, "50")
    strays = [job.read("70") for _ in range(3)]
    for stray in strays:
        job.match(stray, None, None, None, kind="stray", verdict=None)

    assert job.state.last_placed().seq == second
    assert job.state.last_placed(before=strays[0]).seq == second
    assert job.state.last_placed(before=second).seq == first
    assert job.state.last_placed(before=first) is None

    job.match(second, None, None, None, kind="stray", verdict=None, revises=job.state.pulls[second].match_seq)
    assert job.state.last_placed().seq == first
    job.match(strays[1], "hub", 1, 2, revises=job.state.pulls[strays[1]].match_seq)
    job.match(second, "hub", 1, 2, kind="repeat", revises=job.state.pulls[second].match_seq)
    assert [job.state.last_placed(before).seq for before in (None, strays[1], second)] == [strays[1], second, first]
