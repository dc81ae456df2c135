"""A joint whose readings were counted is proven where the count is sure, and newer than all that it speaks of."""

from decimal import Decimal

import pytest

from schemas.bodies import CountKept, PlanChanged
from schemas.errors import RecordError
from schemas.likelihood import confirmed_p
from schemas.words import Proof

PLAN = """\
plan: axle
title: Axle
revision: "1"
source: Shop procedure 9
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100, stages: [50, 100]}
  - {id: caps, name: Cap screws, fasteners: 3, torque: 20}
"""
CHECKED = f"{PLAN}steps:\n  - torque: [hub, caps]\n  - recheck: caps\n"


@pytest.fixture(name="job")
def _job(new_job):
    """Both joints pulled in band, each reading at 0.995; nothing is counted yet."""
    job = new_job(PLAN)
    pull_hub(job)
    for position in (1, 2, 3):
        job.pull("caps", 1, position, "20", p="0.995")
    return job


def pull_hub(job, positions=(1, 2), p="0.995"):
    for stage in (1, 2):
        for position in positions:
            job.pull("hub", stage, position, p=p)


def count(job, joint=None, *ps):
    """A count of each stage of a joint, or of the job."""
    for stage, p in enumerate(ps, 1):
        job.put(CountKept("1", p, joint, stage))


def seen(job, joint, count=2):
    return job.say("stripes", joint, count=count, of=count)


def why(job, joint="hub"):
    """The one reason that all of a joint's fasteners have; empty where they are proven."""
    ((proof, text),) = set(job.proofs(joint))
    assert proof == ("doubtful" if text else "proven")
    return text


def test_a_sure_count_of_every_stage_proves_with_nobody_asked(job):
    count(job, "hub", "0.9900", "0.9999")

    assert why(job) == ""


def test_without_a_count_all_is_as_it_was(job):
    assert why(job) == ""
    assert job.joint("hub").p_counted(1) is None


@pytest.mark.parametrize(
    ("ps", "text"),
    [
        pytest.param(("0.9950", "0.9700"), "stage 2: 2 of 2 by count and timing, p = 0.97", id="final"),
        pytest.param(("0.9700", "0.9950"), "stage 1: 2 of 2 by count and timing, p = 0.97", id="first-stage"),
        pytest.param(("0.9899", "0.9898"), "stage 2: 2 of 2 by count and timing, p = 0.9898", id="just-below-the-limit"),
        pytest.param(("0.9999",), "stage 2 was not counted", id="one-stage-not-counted"),
    ],
)
def test_a_count_that_is_not_sure_leaves_all_of_the_joint_in_doubt_and_names_the_worst_stage(job, ps, text):
    count(job, "hub", *ps)

    assert why(job) == text


def test_a_joint_of_one_stage_is_told_without_it(job):
    count(job, "caps", "0.9712")

    assert why(job, "caps") == "3 of 3 by count and timing, p = 0.97"


def test_what_is_done_is_counted_of_those_that_nobody_answers_for(new_job):
    job = new_job(PLAN)
    job.pull("caps", 1, 1, "20", p="0.995")
    job.say("not fitted", "caps", 3, reason="part on order")
    count(job, "caps", "0.0012")

    assert job.proofs("caps") == [
        ("doubtful", "1 of 2 by count and timing, p = 0.00"),
        ("missed", "no tightening of the final stage"),
        ("not fitted", "part on order"),
    ]


def test_a_reading_that_may_belong_elsewhere_leaves_only_its_own_fastener_in_doubt(job):
    reading = job.pull("hub", 2, 2, p="0.9512")
    count(job, "hub", "0.9999", "0.9999")

    n = job.state.pulls[reading].n
    assert job.proofs("hub") == [("proven", ""), ("doubtful", f"reading {n} may belong elsewhere, p = 0.95")]
    seen(job, "hub")
    assert why(job) == ""


def test_a_reading_without_a_probability_is_not_sure(job):
    job.pull("hub", 2, 2)
    count(job, "hub", "0.9999", "0.9999")

    assert job.proofs("hub")[1] == ("doubtful", "reading 8 was matched by order only")


def test_a_persons_count_lifts_the_final_and_no_earlier_stage(job):
    count(job, "hub", "0.9300", "0.9300")
    seen(job, "hub")

    assert job.joint("hub").p_counted(1) == Decimal("0.9300")
    assert job.joint("hub").p_counted(2) == confirmed_p(Decimal("0.9300"))
    assert why(job) == "counted 2 of 2, but the readings bear stage 1 out with p = 0.93 only: look at the joint"


def test_a_persons_count_makes_a_final_sure_that_the_readings_hold_for_likely(job):
    count(job, "caps", "0.9300")
    seen(job, "caps", 3)

    assert why(job, "caps") == ""


def test_a_persons_count_does_not_prove_what_the_readings_speak_against(job):
    count(job, "caps", "0.2000")
    seen(job, "caps", 3)

    # 0.2 * 0.98 / (0.2 * 0.98 + 0.8 * 0.02) = 0.196 / 0.212
    assert why(job, "caps") == "counted 3 of 3, but the readings bear it out with p = 0.92 only: look at the joint"


def test_a_count_made_after_a_persons_yes_is_not_lifted_again(job):
    seen(job, "caps", 3)
    count(job, "caps", "0.9500")

    assert job.joint("caps").p_counted(1) == Decimal("0.9500")
    assert why(job, "caps") == "counted 3 of 3, but the readings bear it out with p = 0.95 only: look at the joint"


def test_not_all_stripes_seen_is_said_before_all_else(job):
    count(job, "caps", "0.9999")
    job.say("stripes", "caps", count=2, of=3)

    assert why(job, "caps") == "2 of 3 stripes seen"


def test_the_last_count_stands(job):
    count(job, "caps", "0.9999")
    count(job, "caps", "0.9000")

    assert job.state.counted["caps", 1][1] == "0.9000"
    assert why(job, "caps") == "3 of 3 by count and timing, p = 0.90"


def test_an_opening_makes_an_older_count_stale_for_every_fastener(job):
    count(job, "hub", "0.9999", "0.9999")
    job.say("opened", "hub", 1)

    assert job.proofs("hub") == [
        ("missed", "no tightening of the final stage"), ("doubtful", "counted before it was opened again"),
    ]  # fmt: skip
    assert job.joint("hub").p_counted(1) is None


def test_what_is_done_again_after_an_opening_is_not_proven_by_the_count_of_before(job):
    count(job, "hub", "0.9999", "0.9999")
    job.say("opened", "hub", 1)
    pull_hub(job, positions=(1,))

    assert why(job) == "counted before it was opened again"
    count(job, "hub", "0.9999", "0.9999")
    assert why(job) == ""


def test_a_joint_of_one_round_that_was_opened_is_proven_once_a_person_has_counted_it_again(job):
    count(job, "caps", "0.9950")
    job.say("opened", "caps", 1)
    job.pull("caps", 1, 1, "20", p="0.995")
    assert why(job, "caps") == "counted before it was opened again"

    seen(job, "caps", 3)

    assert why(job, "caps") == ""


def test_a_reading_that_turns_out_later_to_have_opened_a_fastener_makes_the_count_stale(job):
    last = list(job.state.pulls)[-1]
    count(job, "caps", "0.9999")
    job.match(last, "caps", 1, 3, kind="loosening", verdict=None, revises=job.state.pulls[last].match_seq)

    assert job.proofs("caps")[:2] == [("doubtful", "counted before it was opened again")] * 2


def test_a_loosening_that_the_count_knows_of_does_not_make_it_stale(job):
    job.match(job.read("-20"), "caps", 1, 3, kind="loosening", verdict=None)
    job.pull("caps", 1, 3, "20", p="0.995")
    count(job, "caps", "0.9999")

    assert why(job, "caps") == ""


def test_a_new_tightening_makes_the_count_of_its_stage_stale(job):
    count(job, "hub", "0.9999", "0.9999")
    job.pull("hub", 2, 1, p="0.995")

    assert why(job) == "pulled in stage 2 after it was counted"
    assert (job.joint("hub").p_counted(1), job.joint("hub").p_counted(2)) == (Decimal("0.9999"), None)


def test_a_new_tightening_in_a_joint_of_one_stage_is_told_without_it(job):
    count(job, "caps", "0.9999")
    job.pull("caps", 1, 1, "20", p="0.995")

    assert why(job, "caps") == "pulled after it was counted"


@pytest.mark.parametrize("kind", ["repeat", "recheck", "short pull"])
def test_a_pull_that_tightens_nothing_new_leaves_a_count_as_it_is(job, kind):
    count(job, "hub", "0.9999", "0.9999")
    job.match(job.read("100"), "hub", 2, 1, kind=kind)

    assert why(job) == ""


def test_a_later_check_is_counted_on_its_own(new_job):
    job = new_job(CHECKED)
    for position in (1, 2, 3):
        job.pull("caps", 1, position, "20", p="0.995")
    count(job, "caps", "0.9999")
    seen(job, "caps", 3)
    for position in (1, 2, 3):
        job.pull("caps", 2, position, "20", "held", p="0.95")
    assert set(job.proofs("caps")) == {("doubtful", "stage 2 was not counted")}

    job.put(CountKept("1", "0.9700", "caps", 2))
    assert set(job.proofs("caps")) == {("doubtful", "stage 2: 3 of 3 by count and timing, p = 0.97")}

    job.put(CountKept("1", "0.9950", "caps", 2))
    assert job.proofs("caps")[0] == ("doubtful", "reading 4 may belong elsewhere, p = 0.95")
    seen(job, "caps", 3)
    assert set(job.proofs("caps")) == {("proven", "")}


def test_a_lost_link_is_a_doubt_of_its_own(job):
    count(job, "caps", "0.9999")
    job.link("lost", "caps")

    assert why(job, "caps") == "the link was lost while this joint was in hand"


def change(job, text):
    plan = job.keep_plan(text.replace('revision: "1"', 'revision: "2"'))
    job.put(PlanChanged("1", plan, "revised"))


def test_a_revision_that_changes_the_joint_makes_its_count_stale_whatever_the_lead_lets_stand(job):
    count(job, "caps", "0.9999")
    change(job, PLAN.replace("torque: 20", "torque: 20.5"))
    job.say("let stand", "caps", reason="half a newton metre")

    ((proof, text),) = set(job.proofs("caps"))
    assert (proof, text) == ("doubtful", "counted before a revision changed it")


def test_a_revision_that_leaves_the_joint_as_it_was_leaves_its_count(job):
    count(job, "hub", "0.9999", "0.9999")
    change(job, PLAN.replace("torque: 20", "torque: 20.5"))

    assert why(job) == ""


def test_a_joint_that_begins_anew_is_not_taken_for_one_that_was_never_counted(job):
    count(job, "caps", "0.9999")
    change(job, PLAN.replace("fasteners: 3", "fasteners: 2"))
    for position in (1, 2):
        job.pull("caps", 1, position, "20", p="0.995")

    assert why(job, "caps") == "counted before a revision changed it"


def test_a_joint_that_had_another_stage_counted_says_that_this_one_was_not(job):
    job.put(CountKept("1", "0.9999", "caps", 2))

    assert why(job, "caps") == "it was not counted"


def test_the_shops_own_limit_holds_for_readings_and_counts(new_job):
    job = new_job(PLAN)
    for state in job.state.joints.values():
        state.limit = Decimal("0.998")
    pull_hub(job, p="0.9970")
    count(job, "hub", "0.9999", "0.9990")
    assert job.proofs("hub")[0] == ("doubtful", "reading 1 may belong elsewhere, p = 0.997")

    count(job, "hub", "0.9999", "0.9970")
    assert why(job) == "stage 2: 2 of 2 by count and timing, p = 0.997"


@pytest.mark.parametrize(("joint", "stage"), [pytest.param("hub", None, id="joint"), pytest.param(None, 1, id="stage")])
def test_a_count_of_a_joint_names_its_stage(job, joint, stage):
    with pytest.raises(RecordError, match="counts a joint without its stage, or a stage without its joint"):
        job.put(CountKept("1", "0.9", joint, stage))


def test_a_count_that_is_no_probability_is_refused(job):
    with pytest.raises(ValueError, match=r"`1\.5` is no probability"):
        job.put(CountKept("1", "1.5", "hub", 1))


def test_a_count_of_the_job_alone_proves_nothing_of_a_joint(job):
    before = {joint: job.proofs(joint) for joint in ("hub", "caps")}
    job.put(CountKept("1", "0.0001"))

    assert {joint: job.proofs(joint) for joint in ("hub", "caps")} == before
    assert before["hub"][0] == (Proof.PROVEN, "")
