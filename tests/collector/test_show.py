"""The picture says what the record says: the same completeness, the same proof, the torque in the joint's unit."""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from collector.expect.in_order import InOrder
from collector.show import STOP_TEXT, show_pull, show_screen
from schemas import database as db
from schemas.bodies import PlanChanged
from schemas.screen import Last
from schemas.words import Kind, Proof, Verdict
from schemas.wrench import Wrench

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


# The whole plan language on the screen.


WHOLE = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 5
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 1, torque: 100, stages: [100, 100], prep: sealant, work_within: 10 min}
  - {id: head, name: Head bolts, fasteners: 1, torque: 80, then_angle: 90, angle_tolerance: 10}
  - {id: arm, name: Arm bolts, fasteners: 4, torque: 100, adapter: ADAPTER, WRENCH}
steps:
  - torque: hub
  - fit: arm
    positions: [1, 2]
  - fit: arm
    positions: [3]
  - hold point: level
    ask: Level?
    sign: lead
  - torque: head
    after: [level, hub]
  - fit: arm
    positions: [4]
  - torque: arm
  - do: Grease the cap
  - recheck: hub
"""
CORRECTED = "{length: 100 mm, angle: 0, corrected_by: wrench}"


@pytest.fixture(name="make")
def _make(new_job):
    def make(adapter="{length: 100 mm, angle: 0}", wrench=""):
        return new_job(WHOLE.replace("ADAPTER", adapter).replace(", WRENCH", f", {wrench}" if wrench else ""))

    return make


def at(job, joint):
    job.say("other joint", joint)
    return job


def test_what_a_step_waits_for_and_what_was_put_in_comes_before_it(make):
    assert screen(at(make(), "head")).reminders == (
        "First: `level`", "First: `hub`", "Put in Arm bolts, positions 1, 2", "Put in Arm bolts, position 3",
    )  # fmt: skip


def test_what_was_waited_for_is_not_told_any_more(make):
    job = make()
    job.say("declared", "hub")
    job.sign("level")

    assert not any(text.startswith("First") for text in screen(at(job, "head")).reminders)


def test_the_joint_itself_reminds_of_its_time_and_of_a_round_gone_again(make):
    job = make()
    time = "To be pulled within 10 min of preparing"
    assert screen(job).reminders == (time,)
    job.take("100")

    assert screen(job).reminders == ("Round again over tight fasteners; press m if one moves, then it is gone once more", time)


def test_a_check_reminds_that_nothing_is_slackened(make):
    job = make()
    for _ in range(2):
        job.take("100")
    job.say("declared", "head")
    job.say("declared", "arm")

    first, second, _ = screen(job).reminders
    assert (first, second) == ("Grease the cap", "Do not slacken: pull until the torque is reached; press m if it moved")


# setting = T L / (L + E), FAA AC 43.13-1B, 7-40: 100 through 100 mm on 400 mm is 80, on 300 mm it is 75.
WRENCHES = {
    name: Wrench(name, "SN", "indicating", Decimal(10), Decimal(200), "N·m", "highest", Decimal(4), length_mm=length)
    for name, length in (("W-1", Decimal(400)), ("W-2", Decimal(300)), ("W-3", None))
}
LEVERS = {
    "W-1": "W-1: set 80 N·m (in band 72 to 88), hand on the grip mark",
    "W-2": "W-2: set 75 N·m (in band 67.5 to 82.5), hand on the grip mark",
    "W-3": "W-3: cannot be used with the adapter: the wrench's length is not in the register",
}


@pytest.mark.parametrize(
    ("adapter", "wrench", "shown"),
    [
        pytest.param("{length: 100 mm, angle: 0}", "", tuple(LEVERS.values()), id="any-wrench"),
        pytest.param("{length: 100 mm, angle: 0}", "wrench: [W-2]", (LEVERS["W-2"],), id="the-named-one"),
        pytest.param(
            "{length: 100 mm, angle: 0}", "wrench: [W-9]", (LEVERS["W-3"].replace("W-3", "W-9"),), id="one-that-is-not-registered"
        ),
        pytest.param(
            CORRECTED, "", ("The wrench corrects for the adapter itself: enter it there, set the torque of the joint",),
            id="corrected-by-the-wrench",
        ),
    ],
)  # fmt: skip
def test_the_value_to_set_through_an_adapter_is_shown_for_each_wrench(make, adapter, wrench, shown):
    assert screen(at(make(adapter, wrench), "arm"), wrenches=WRENCHES).levers == shown


def test_without_an_adapter_or_without_a_target_no_lever_is_shown(make):
    job = make()
    assert screen(job, wrenches=WRENCHES).levers == ()
    assert show_screen(job.state, None, None, None, "link open", True, wrenches=WRENCHES).levers == ()


def test_an_angle_is_shown_beside_its_torque(make):
    job = at(make(), "head")
    job.take("80")
    job.take("120.5", angle_deg="91.2")

    assert last(job).text == "Head bolts, position 1 of 1: in band, torque reached 120.5 N·m, turned 91.2°"


def test_an_angle_that_was_not_sent_has_no_verdict(make):
    job = at(make(), "head")
    for torque in ("80", "120.5"):
        job.take(torque)

    assert (last(job).word, last(job).verdict) == ("no verdict", None)
    assert last(job).text == "Head bolts, position 1 of 1: no verdict, torque reached 120.5 N·m"


def test_a_pull_on_a_joint_that_was_taken_out_or_has_no_torque_any_more_is_still_shown(make):
    job = make()
    job.take("100")
    text = WHOLE.replace("ADAPTER", CORRECTED).replace(", WRENCH", "").replace('revision: "1"', 'revision: "2"')
    text = text.replace("torque: 100, stages: [100, 100], prep: sealant, work_within: 10 min", "torque: not stated")
    text = text.replace("  - recheck: hub\n", "")
    job.put(PlanChanged("1", job.keep_plan(text.replace("unit: N·m", "unit: lbf·ft")), "revised"))
    assert last(job).text == "Hub nuts, position 1 of 1: in band, torque reached 100 N·m"

    text = text.replace("id: hub", "id: nave").replace("torque: hub", "torque: nave").replace(", hub]", ", nave]")
    job.put(PlanChanged("1", job.keep_plan(text.replace('"2"', '"3"')), "revised"))
    assert last(job).joint_name == "Hub nuts"


CURING = """\
plan: plates
title: Plates
revision: "1"
source: Shop procedure 9
unit: N·m
tolerance: 10 %
joints:
  - {id: plate, name: Back plate, fasteners: 2, torque: 20, prep: threadlocker medium, cure: 24 h}
  - {id: guard, name: Guard bolts, fasteners: 1, torque: 20}
"""


def test_from_when_on_a_cured_joint_may_be_loaded_stands_on_the_screen_to_the_end(new_job):
    job = new_job(CURING)
    job.take("20")
    assert screen(job).reminders == ()

    job.take("20")

    (told,) = screen(job).reminders
    at = datetime.fromisoformat(job.state.last_pull.at) + timedelta(hours=24)
    assert at.second, "a whole minute would hide the rounding up"
    assert told == f"Back plate: do not load before {at + timedelta(minutes=1):%Y-%m-%d %H:%M} UTC"
    job.take("20")
    assert (screen(job).target, screen(job).reminders) == (None, (told,))
