"""What is open on a job is told in lines, the interrupted round first, and nothing that is open is left out."""

import pytest

from collector.expect.in_order import InOrder
from schemas.bodies import CountKept, Signed
from schemas.open_list import open_list

HUBS = """\
plan: box-trailer
title: Box trailer, hubs and shackles
revision: "1"
source: Shop procedure 9, section 2
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, stages: [50, 100], order: cross}
  - {id: shackle, name: Shackle bolts, fasteners: 2, torque: 60}
  - {id: plate, name: Plate rivets, fasteners: 2, torque: not stated}
steps:
  - loose: shackle
  - torque: hub
  - hold point: ride-height
    ask: Loaded to ride height
    sign: lead
  - torque: shackle
    after: [ride-height]
  - torque: plate
"""


def plan_of(joint, steps="", more=""):
    """A plan of one joint."""
    return f"""\
plan: one
title: One joint
revision: "1"
source: Shop procedure 9
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - {{id: hub, name: Hub nuts, fasteners: 2, torque: 100{joint}}}
{more}steps:
  - torque: hub
{steps}"""


def open_on(job):
    return open_list(job.state, InOrder().expect_next(job.state))


def test_a_fresh_job_lists_what_is_to_do_in_the_order_of_the_list(new_job):
    assert open_on(new_job(HUBS)) == (
        "left loose: Shackle bolts, all 2",
        "to pull: Hub nuts, stage 1 of 2 (50 %): all 4",
        "to pull: Hub nuts, stage 2 of 2 (100 %): all 4",
        "to be declared, no torque is stated: Plate rivets, all 2",
        "hold point `ride-height`, to be signed by the lead: Loaded to ride height",
    )


def test_the_interrupted_round_comes_first_with_its_positions_in_their_order(new_job):
    job = new_job(HUBS)
    job.pull("hub", 1, 1, "50")

    # Four in a circle cross as 1, 3, 2, 4.
    assert open_on(job)[:3] == (
        "interrupted round: Hub nuts, stage 1 of 2 (50 %): still to pull positions 3, 2, 4",
        "left loose: Shackle bolts, all 2",
        "to pull: Hub nuts, stage 2 of 2 (100 %): all 4",
    )


def test_between_two_rounds_the_next_one_is_told_as_not_begun(new_job):
    job = new_job(HUBS)
    for position in (1, 3, 2, 4):
        job.pull("hub", 1, position, "50")

    assert open_on(job)[0] == (
        "in hand, its next round not begun: Hub nuts, stage 2 of 2 (100 %): still to pull positions 1, 3, 2, 4"
    )


def test_a_joint_only_chosen_or_left_for_another_is_no_interrupted_round(new_job):
    job = new_job(HUBS)
    job.pull("hub", 1, 1, "50")
    job.say("other joint", "shackle")

    assert open_on(job)[:2] == ("left loose: Shackle bolts, all 2", "to pull: Hub nuts, stage 1 of 2 (50 %): positions 2, 3, 4")


def test_an_under_torque_is_told_apart_from_what_is_missed(new_job):
    job = new_job(HUBS)
    job.pull("shackle", 1, 1, "40", "under")
    job.say("other joint", "hub")

    assert "under, to be pulled on: Shackle bolts, stage 1 of 1 (100 %): position 1" in open_on(job)
    assert "to pull: Shackle bolts, stage 1 of 1 (100 %): position 2" in open_on(job)


def test_an_over_torque_comes_before_all_but_the_round_and_says_what_it_lacks(new_job):
    job = new_job(HUBS)
    job.pull("hub", 1, 1, "50")
    job.pull("hub", 1, 3, "120", "over")

    lines = open_on(job)

    assert lines[0] == "interrupted round: Hub nuts, stage 1 of 2 (50 %): still to pull positions 2, 4"
    why = "over-torque at reading 2: not opened, no decision of the lead, not done again"
    assert lines[1] == f"over-torque to decide: Hub nuts, position 3: {why}"


def done(job, joint="hub", stages=1, positions=(1, 2)):
    for stage in range(1, stages + 1):
        for position in positions:
            job.pull(joint, stage, position, p="0.995")


def test_a_finished_job_has_nothing_open(new_job):
    job = new_job(plan_of(""))
    done(job)
    job.stripes("hub")

    assert open_on(job) == ()


@pytest.mark.parametrize(
    ("mark", "said"),
    [
        pytest.param("", "waits for its stripes to be counted: Hub nuts", id="stripes"),
        pytest.param(", mark: none", "waits for its torqued fasteners to be counted: Hub nuts", id="no-paint"),
    ],
)
def test_a_done_joint_waits_for_its_stripes_and_its_doubt_is_not_told_twice(new_job, mark, said):
    job = new_job(plan_of(mark))
    for position in (1, 2):
        job.pull("hub", 1, position)

    assert open_on(job) == (said,)


def test_stripes_that_are_missing_are_a_doubt(new_job):
    job = new_job(plan_of(""))
    done(job)
    job.stripes("hub", 1)

    assert open_on(job) == ("in doubt: 1 of 2 stripes seen: Hub nuts, all 2",)


def test_a_critical_joint_waits_for_a_second_person(new_job):
    job = new_job(plan_of(", critical: yes"))
    assert "waits for a second person: Hub nuts" not in open_on(job)
    done(job)
    job.stripes("hub")
    assert open_on(job) == ("waits for a second person: Hub nuts",)

    job.put(Signed("1", "second person", second="hub"), "p-2")

    assert open_on(job) == ()


@pytest.mark.parametrize(
    ("field", "line"),
    [
        pytest.param(", prep: oil", "waits for its preparation (oil): Hub nuts, position 2", id="preparation"),
        pytest.param(
            ", work_within: 10 min", "waits for its preparation (to be worked in time): Hub nuts, position 2", id="in-time"
        ),
        pytest.param(", stages: [snug, 100]", "waits for its snug round: Hub nuts, position 2", id="snug"),
        pytest.param(
            ", nut: prevailing, drag: measured", "waits for the drag of its nuts to be measured: Hub nuts, position 2", id="drag"
        ),
    ],
)
def test_what_the_next_pulls_of_a_begun_joint_need_is_told(new_job, field, line):
    job = new_job(plan_of(field))
    assert line.replace("position 2", "all 2") not in open_on(job), "goes without saying of a joint that nobody has touched"

    job.pull("hub", 1, 1)

    assert line in open_on(job)


def test_what_was_prepared_signed_and_measured_is_not_told(new_job):
    job = new_job(plan_of(", prep: oil, stages: [snug, 100], nut: prevailing, drag: measured"))
    job.say("prepared", "hub")
    job.sign(snug="hub")
    job.say("drag", "hub", value="4")
    job.pull("hub", 1, 1)

    assert not [line for line in open_on(job) if line.startswith("waits for")]


def test_hardware_that_is_new_each_time_is_told_once_it_was_opened(new_job):
    job = new_job(plan_of(", hardware: new each time"))
    job.pull("hub", 1, 1)
    job.say("opened", "hub", 1)
    job.pull("hub", 1, 2)

    assert "waits for new hardware: Hub nuts, position 1" in open_on(job)


def test_planned_openings_and_rechecks_are_told_until_they_are_done(new_job):
    job = new_job(plan_of("", "  - open: hub\n  - torque: hub\n  - recheck: hub\n"))
    done(job)
    job.stripes("hub")
    assert open_on(job) == (
        "to be opened again as planned: Hub nuts (step 2)",
        "to be checked again: Hub nuts (step 4): all 2",
    )

    job.say("opened", "hub", step=2)
    done(job)
    job.stripes("hub")
    assert open_on(job) == (
        "in hand, its next round not begun: Hub nuts, check again without slackening: still to pull positions 1, 2",
    )

    job.pull("hub", 2, 1, verdict="held", p="0.995")
    assert open_on(job) == ("interrupted round: Hub nuts, check again without slackening: still to pull position 2",)

    job.pull("hub", 2, 2, "80", verdict="under", p="0.995")
    job.state.in_hand = None
    assert open_on(job) == ("to be checked again: Hub nuts (step 4): position 2",)

    job.pull("hub", 2, 2, verdict="held", p="0.995")
    assert open_on(job) == ("waits for its checked fasteners to be counted: Hub nuts",)

    job.stripes("hub")
    assert open_on(job) == ()


def test_a_round_of_an_angle_is_told_as_one(new_job):
    job = new_job(plan_of(", then_angle: 90, angle_tolerance: 10"))
    job.pull("hub", 1, 1, p="0.995")
    job.pull("hub", 1, 2, p="0.995")

    assert open_on(job)[0] == "in hand, its next round not begun: Hub nuts, stage 2 of 2 (angle): still to pull positions 1, 2"


def test_doubts_are_told_last_by_their_reason(new_job):
    job = new_job(plan_of("", more="  - {id: eye, name: Towing eye, fasteners: 1, torque: 80}\n", steps="  - torque: eye\n"))
    job.pull("hub", 1, 1, unfit="calibration ran out on 2026-01-01", p="0.995")
    job.pull("hub", 1, 2, p="0.995")
    job.stripes("hub")

    assert open_on(job) == (
        "to pull: Towing eye, stage 1 of 1 (100 %): position 1",
        "in doubt: calibration ran out on 2026-01-01: Hub nuts, position 1",
    )

    job.pull("eye", 1, 1, unfit="calibration ran out on 2026-01-01", p="0.995")

    assert open_on(job)[-1] == "in doubt: calibration ran out on 2026-01-01: Hub nuts, position 1; Towing eye, position 1"


def test_readings_that_are_missing_are_told_at_the_end(new_job):
    job = new_job(plan_of(""))
    job.read("70", sequence=3, missing="2", wrench="W-1")
    job.read("70", sequence=9, missing="7-8", wrench="W-2")
    job.read("70", sequence=3, missing="2", wrench=None)

    assert open_on(job)[-3:] == (
        "readings missing: W-1, number 2",
        "readings missing: W-2, numbers 7-8",
        "readings missing: wrench not named, number 2",
    )


def test_what_a_person_answers_for_is_not_open(new_job):
    job = new_job(HUBS)
    job.say("not fitted", "hub", 2, reason="stud sheared")
    job.say("declared", "plate")

    lines = open_on(job)

    assert "to pull: Hub nuts, stage 1 of 2 (50 %): positions 1, 3, 4" in lines
    assert not [line for line in lines if "Plate" in line]


def counted(job, *ps):
    """The stages of the hub counted by their readings."""
    for stage, p in enumerate(ps, 1):
        job.put(CountKept("1", p, "hub", stage))


@pytest.mark.parametrize(
    ("ps", "stages"), [pytest.param(("0.9700",), "", id="one-stage"), pytest.param(("0.9700", "0.9999"), "[50, 100]", id="two")]
)
def test_a_count_that_is_not_sure_is_told_as_stripes_to_be_counted(new_job, ps, stages):
    job = new_job(plan_of(f", stages: {stages}" if stages else ""))
    done(job, stages=len(ps))
    counted(job, *ps)

    assert open_on(job) == ("waits for its stripes to be counted: Hub nuts",)


def test_a_count_that_a_person_has_confirmed_and_the_readings_speak_against_is_a_doubt_of_its_own(new_job):
    job = new_job(plan_of(", stages: [50, 100]"))
    done(job, stages=2)
    counted(job, "0.9300", "0.9999")
    job.stripes("hub")

    why = "counted 2 of 2, but the readings bear stage 1 out with p = 0.93 only: look at the joint"
    assert open_on(job) == (f"in doubt: {why}: Hub nuts, all 2",)


def test_a_stage_that_was_not_counted_is_told(new_job):
    job = new_job(plan_of(", stages: [50, 100]"))
    done(job, stages=2)
    counted(job, "0.9999")
    job.stripes("hub")

    assert open_on(job) == ("in doubt: stage 2 was not counted: Hub nuts, all 2",)
