"""The picture says what the record says: the same completeness, the same proof, the torque in the joint's unit."""

import pytest

from collector.expect.in_order import InOrder
from collector.show import STOP_TEXT, show_pull, show_screen
from schemas import database as db
from schemas.screen import Last
from schemas.words import Kind, Proof, Verdict

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 5
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 70, unit: lbf·ft, stages: [50, 100]}
  - {id: shackle, name: Shackle bolts, fasteners: 1, torque: 60}
  - {id: guard, name: Guard bolts, fasteners: 1, torque: 20}
steps:
  - caution: Trailer on stands, wheels chocked
  - loose: [shackle, guard]
  - do: Clean the threads
  - torque: hub
  - caution: Keep clear of the spring
  - hold point: ride-height
    ask: Loaded to ride height
    sign: lead
  - torque: shackle
  - torque: guard
"""


@pytest.fixture(name="job")
def _job(new_job):
    return new_job(PLAN)


def screen(job, **more):
    target = InOrder().expect_next(job.state)
    return show_screen(job.state, target, None, None, "link open", True, **more)


def last(job):
    return show_pull(job.state, job.state.last_pull)


def hubs_done(job):
    for stage, torque in ((1, "48"), (2, "95")):
        for position in (1, 2):
            job.pull("hub", stage, position, torque)
    job.stripes("hub")


# What became of a pull.


def test_a_pull_in_another_unit_is_shown_in_the_unit_of_the_joint_to_a_tenth(job):
    job.pull("hub", 2, 1, "95")

    # 95 N·m are 70.068… lbf·ft by the exact factor of NIST Special Publication 811 (2008), appendix B.
    assert last(job) == Last(
        "in band", "Hub nuts, position 1 of 2: in band, torque reached 70.1 lbf·ft", 1, Kind.TIGHTENING, Verdict.IN_BAND, "hub",
        "Hub nuts", 2, 1, "95", "N·m", "70.1 lbf·ft", "W-140", False,
    )  # fmt: skip


def test_a_pull_in_the_unit_of_the_joint_is_shown_with_its_digits_as_sent(job):
    job.match(job.read("70.20", "lbf·ft"), "hub", 2, 1)

    assert last(job).torque_shown == "70.20 lbf·ft"


@pytest.mark.parametrize("kind", ["tightening", "repeat", "recheck"])
def test_rule_4_an_over_pull_of_whatever_kind_says_stop_and_ask_the_lead(job, kind):
    job.pull("shackle", 1, 1, "90", "over", kind=kind)

    shown = last(job)

    assert shown.stop
    assert shown.text == STOP_TEXT == "STOP: over the upper edge. Do not back off and carry on; ask the lead"
    assert shown.word == ("over" if kind == "tightening" else kind)


def test_a_torque_above_the_range_of_the_tool_is_no_number(job):
    job.match(job.read(None, over_range=1), "hub", 2, 1, verdict="over")

    assert (last(job).torque, last(job).torque_shown, last(job).stop) == (None, "above the tool's range", True)


def test_what_was_no_tightening_is_called_by_its_kind(job):
    job.pull("shackle", 1, 1, "-40", None, kind="loosening")

    shown = last(job)
    assert (shown.word, shown.verdict, shown.stop) == ("loosening", None, False)
    assert shown.text == "Shackle bolts, position 1 of 1: loosening, torque reached -40 N·m"


def test_a_stray_says_why_it_belongs_nowhere(job):
    job.match(job.read("7"), None, None, None, kind="stray", verdict=None, reason="the fitter said: not this job")

    assert last(job) == Last(
        "stray", "Reading 1 belongs to no joint here: the fitter said: not this job", 1, Kind.STRAY, wrench="W-140"
    )


def test_a_reading_that_was_not_matched_says_so(job):
    job.read("7")

    assert last(job).text == "Reading 1 belongs to no joint here: not matched"


# The picture.


def test_the_rows_count_what_is_done_and_show_the_worst_proof(job):
    job.pull("hub", 1, 1, "48")
    job.pull("hub", 2, 1, "140", "over")

    hub, shackle, _ = screen(job).rows

    assert (hub.number, hub.joint, hub.name, hub.fasteners, hub.done, hub.failed) == (1, "hub", "Hub nuts", 2, 1, 1)
    assert (hub.proof, hub.confirmed, hub.left_loose) == (Proof.FAILED, False, False)
    assert (shackle.number, shackle.done, shackle.proof, shackle.left_loose) == (2, 0, Proof.LEFT_LOOSE, True)


def test_a_confirmed_joint_says_so(job):
    hubs_done(job)

    assert (screen(job).rows[0].confirmed, screen(job).rows[0].proof) == (True, Proof.PROVEN)


def test_the_reminders_are_those_between_the_joint_before_and_the_next_one(job):
    before = "Trailer on stands, wheels chocked", "Leave loose: Shackle bolts", "Leave loose: Guard bolts", "Clean the threads"
    assert screen(job).reminders == before
    hubs_done(job)
    assert screen(job).reminders == ("Keep clear of the spring",)
    job.pull("shackle", 1, 1, "60")
    assert screen(job).reminders == ()


def test_nothing_is_left_to_remind_of_when_no_fastener_is_left(job):
    hubs_done(job)
    job.pull("shackle", 1, 1, "60")
    job.pull("guard", 1, 1, "20")

    assert (screen(job).target, screen(job).reminders) == (None, ())


def test_the_picture_carries_what_it_was_given(job):
    job.read("7")

    shown = screen(job, notice="noted", ended=True)

    assert (shown.job, shown.title, shown.simulated, shown.readings) == ("1", "Box trailer", False, 1)
    assert (shown.link, shown.link_ok, shown.notice, shown.ended) == ("link open", True, "noted", True)
    assert shown.target.joint.id == "hub"


def test_a_simulated_job_says_so_in_every_picture(new_job):
    assert screen(new_job(PLAN, simulated=1)).simulated


def everything(job, missing=None):
    hubs_done(job)
    for joint, torque in (("shackle", "60"), ("guard", "20")):
        job.match(job.read(torque, missing=missing), joint, 1, 1)
        job.say("stripes", joint, count=1, of=1)


def complete(job):
    row = dict(zip(db.JOB.names, job.stored["job", ("1",)], strict=True))
    shown = screen(job).complete
    assert row["complete"] == shown, "the screen and the record must say the same"
    return shown


def test_rule_2_the_picture_is_complete_only_when_the_record_is(job):
    everything(job)
    assert not complete(job)
    job.sign("ride-height")
    assert complete(job)
    job.say("opened", "guard", 1)
    assert not complete(job)


def test_rule_2_the_picture_is_not_complete_with_numbers_missing(job):
    job.sign("ride-height")
    everything(job, missing="3")

    assert not complete(job)
