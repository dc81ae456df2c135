"""A job is what its entries make it: which joint is in hand, which numbers are missing, what was signed and decided."""

import pytest

from schemas.bodies import FrameKept, HandedOver, JobClosed, LogTaken, NotRead, ReportIssued, Signed


def test_the_joints_are_gone_through_in_the_order_of_the_torque_steps(new_job):
    state = new_job().state

    assert [(one.step.number, one.joint.id) for one in state.passes()] == [(2, "hub"), (4, "shackle")]
    assert state.passes()[1].step.after == ("ride-height",)
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


# What a step waits for.


WAITS = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 13
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100}
  - {id: cap, name: Hub cap, fasteners: 1, torque: 20}
  - {id: arm, name: Arm bolt, fasteners: 1, torque: 60}
  - {id: guard, name: Guard, fasteners: 1, torque: not stated}
steps:
  - torque: [hub, guard]
  - hold point: toe
    ask: Toe?
    sign: lead
    measure: {unit: mm, low: -2, high: 2}
    after: [hub]
  - torque: cap
    after: [hub, toe, guard]
  - open: hub
  - torque: hub
  - torque: arm
    after: [hub]
  - recheck: hub
    after: [arm]
"""
ON_ORDER = "matched by order only and not confirmed"


def doubts(job, joint):
    return [why.removesuffix(f"; {ON_ORDER}").removesuffix(ON_ORDER) for _, why in job.proofs(joint)]


def test_a_pull_waits_for_hold_points_and_joints(new_job):
    job = new_job(WAITS)
    job.pull("cap", 1, 1, "20")
    before = ["torqued before `hub` was done; torqued before `toe` was signed; torqued before `guard` was done"]
    assert doubts(job, "cap") == before

    for position in (1, 2):
        job.pull("hub", 1, position)
    job.put(Signed("1", "lead", "toe", value="0", unit="mm"), "p-2")
    job.say("declared", "guard")
    assert doubts(job, "cap") == before, "what comes later changes nothing"

    job.say("opened", "cap", 1)
    job.pull("cap", 1, 1, "20")

    assert doubts(job, "cap") == [""]


@pytest.mark.parametrize(
    ("said", "done"), [("not fitted", True), ("declared", True), ("prepared", False)], ids=["not-fitted", "declared", "prepared"]
)
def test_a_joint_that_a_person_answers_for_is_done(new_job, said, done):
    job = new_job(WAITS)
    job.say(said, "hub")
    job.pull("cap", 1, 1, "20")

    assert ("torqued before `hub` was done" not in doubts(job, "cap")[0]) == done


def test_what_waits_for_a_joint_after_its_opening_waits_for_it_to_be_done_again(new_job):
    job = new_job(WAITS)
    for position in (1, 2):
        job.pull("hub", 1, position)
    job.pull("arm", 1, 1, "60")
    assert doubts(job, "arm") == ["torqued before `hub` was done"]

    job.say("opened", "hub", step=4)
    job.say("opened", "arm")
    job.pull("arm", 1, 1, "60")
    assert doubts(job, "arm") == ["torqued before `hub` was done"], "it is open"

    for position in (1, 2):
        job.pull("hub", 1, position)
    job.say("opened", "arm")
    job.pull("arm", 1, 1, "60")
    assert doubts(job, "arm") == [""]


def test_what_was_done_before_a_planned_opening_is_not_held_against_what_waited_for_it_before(new_job):
    job = new_job(WAITS)
    for position in (1, 2):
        job.pull("hub", 1, position)
    job.put(Signed("1", "lead", "toe", value="0", unit="mm"), "p-2")
    job.say("declared", "guard")
    job.pull("cap", 1, 1, "20")
    job.say("opened", "hub", step=4)

    assert doubts(job, "cap") == [""]


def test_a_check_waits_as_well(new_job):
    job = new_job(WAITS)
    for position in (1, 2):
        job.pull("hub", 1, position)
    job.say("opened", "hub", step=4)
    for position in (1, 2):
        job.pull("hub", 1, position)
    job.pull("hub", 2, 1, verdict="held")

    assert "torqued before `arm` was done" in doubts(job, "hub")[0]


@pytest.mark.parametrize("spot", [("hub", 1, 2), None], ids=["it-was-the-missed-one", "it-was-a-stray"])
def test_a_match_that_is_revised_later_is_taken_for_what_waited(new_job, spot):
    job = new_job(WAITS)
    job.put(Signed("1", "lead", "toe", value="0", unit="mm"), "p-2")
    job.say("declared", "guard")
    job.pull("hub", 1, 1)
    second = job.pull("hub", 1, 2) if spot is None else job.pull("arm", 1, 1)
    job.pull("cap", 1, 1, "20")
    assert doubts(job, "cap") == ["" if spot is None else "torqued before `hub` was done"]

    where = spot or (None, None, None)
    job.match(second, *where, kind="tightening" if spot else "stray", revises=job.state.pulls[second].match_seq)

    assert doubts(job, "cap") == ["torqued before `hub` was done" if spot is None else ""]


def test_a_pull_that_counts_only_by_a_revision_waits_too(new_job):
    job = new_job(WAITS)
    reading = job.pull("cap", 1, 1, "20", kind="repeat")
    assert job.proofs("cap")[0][0] == "missed"

    job.match(reading, "cap", 1, 1, revises=job.state.pulls[reading].match_seq)

    assert doubts(job, "cap")[0].startswith("torqued before `hub` was done")


def test_a_signature_of_later_does_not_cure_a_pull_that_counts_only_then(new_job):
    job = new_job(WAITS)
    reading = job.pull("cap", 1, 1, "20", kind="repeat")
    job.put(Signed("1", "lead", "toe", value="0", unit="mm"), "p-2")

    job.match(reading, "cap", 1, 1, revises=job.state.pulls[reading].match_seq)

    assert "torqued before `toe` was signed" in doubts(job, "cap")[0]


AGAIN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 13
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100}
  - {id: arm, name: Arm bolt, fasteners: 1, torque: 60}
steps:
  - torque: hub
  - torque: arm
  - open: hub
  - torque: hub
    after: [arm]
"""


def test_from_a_planned_opening_on_a_pull_waits_for_what_the_later_step_waits_for(new_job):
    job = new_job(AGAIN)
    for position in (1, 2):
        job.pull("hub", 1, position)
    job.say("opened", "hub", 1, step=3)
    job.pull("hub", 1, 1)
    assert "torqued before `arm` was done" not in doubts(job, "hub")[0], "it is worked by the first step yet"

    job.say("opened", "hub", 2, step=3)

    assert doubts(job, "hub")[0] == "torqued before `arm` was done"


def test_a_pull_that_is_matched_late_waits_for_what_was_there_when_it_came(new_job):
    job = new_job(WAITS)
    job.put(Signed("1", "lead", "toe", value="0", unit="mm"), "p-2")
    job.say("declared", "guard")
    early, cap = job.read("100"), job.read("20")
    job.match(cap, "cap", 1, 1)
    late = job.read("100")
    assert doubts(job, "cap") == ["torqued before `hub` was done"]

    job.match(early, "hub", 1, 1)
    job.match(late, "hub", 1, 2)
    assert doubts(job, "cap") == ["torqued before `hub` was done"], "the second of the hub nuts came after it"

    job.match(late, None, None, None, kind="stray", revises=job.state.pulls[late].match_seq)
    job.say("not fitted", "hub", 2)
    assert doubts(job, "cap") == ["torqued before `hub` was done"], "it was said after the pull"


def test_a_stroke_that_was_short_is_no_news_for_what_waited(new_job):
    job = new_job(WAITS)
    job.put(Signed("1", "lead", "toe", value="0", unit="mm"), "p-2")
    job.say("declared", "guard")
    job.pull("hub", 1, 1)
    short = job.pull("hub", 1, 2, "80", "under")
    job.pull("cap", 1, 1, "20")
    job.match(short, "hub", 1, 2, kind="short pull", verdict="under", revises=job.state.pulls[short].match_seq)
    job.pull("hub", 1, 2)

    assert doubts(job, "cap") == ["torqued before `hub` was done"]


# What was measured at a hold point.


@pytest.mark.parametrize(
    ("value", "is_signed"),
    [
        pytest.param("-2", True, id="on-the-low-edge"),
        pytest.param("2.0", True, id="on-the-high-edge"),
        pytest.param("-2.01", False, id="below"),
        pytest.param("2.01", False, id="above"),
        pytest.param(None, False, id="not-measured"),
    ],
)
def test_a_hold_point_with_limits_is_signed_by_a_value_inside_them_alone(new_job, value, is_signed):
    job = new_job(WAITS)
    job.put(Signed("1", "lead", "toe", value=value, unit="mm"), "p-2")

    assert ("toe" in job.state.hold_points) == is_signed
    if is_signed:
        assert job.state.hold_points["toe"].value == value


def test_a_value_outside_the_limits_is_followed_by_a_better_one(new_job):
    job = new_job(WAITS)
    job.put(Signed("1", "lead", "toe", value="9", unit="mm"), "p-2")
    good = job.put(Signed("1", "lead", "toe", value="1", unit="mm"), "p-2")
    job.put(Signed("1", "lead", "toe", value="9", unit="mm"), "p-2")

    assert job.state.hold_points["toe"].at.seq == good
    assert [row[0][10] for row in [(job.stored["signature", (good,)],)]] == ["mm"]


def test_a_hold_point_that_the_plan_does_not_have_is_kept(new_job):
    job = new_job()
    job.put(Signed("1", "lead", "elsewhere"), "p-2")

    assert "elsewhere" in job.state.hold_points


# The work passes to another person.


def hand_over(job, *signs, taker="p-3"):
    for sign in signs:
        job.put(HandedOver("1", sign, "p-1", taker, ("to pull: Hub nuts",)))


@pytest.mark.parametrize(
    ("signs", "fitter"),
    [
        pytest.param((), "p-1", id="nobody"),
        pytest.param(("leaver",), "p-1", id="the-leaver-alone"),
        pytest.param(("taker",), "p-1", id="the-taker-alone"),
        pytest.param(("leaver", "taker"), "p-3", id="both"),
        pytest.param(("taker", "leaver"), "p-1", id="in-the-wrong-order"),
    ],
)
def test_the_taker_has_the_work_once_both_have_signed(new_job, signs, fitter):
    job = new_job()
    hand_over(job, *signs)

    assert job.state.fitter == fitter
    assert (job.state.leaving is not None) == (signs[-1:] == ("leaver",))


def test_a_taker_signs_for_the_hand_over_that_was_begun(new_job):
    job = new_job()
    hand_over(job, "leaver", taker="p-3")
    hand_over(job, "taker", taker="p-4")
    assert job.state.fitter == "p-1"

    hand_over(job, "taker", taker="p-3")
    assert job.state.fitter == "p-3"
    assert job.state.opened.fitter == "p-1"


def test_a_job_is_closed_with_what_became_of_it(new_job):
    job = new_job()
    job.put(JobClosed("1", "given up", "the customer took it home"), "p-2")

    assert (job.state.outcome, job.state.outcome_reason) == ("given up", "the customer took it home")
    assert job.stored["job", ("1",)][-4:-2] == ("given up", "the customer took it home")
