"""A person sees that a fastener is not done: nothing placed on it before counts, and what is pulled there later does."""

import pytest

from schemas.bodies import CountKept
from schemas.open_list import open_list
from schemas.words import Proof
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 3, torque: 100, stages: [50, 100]}
  - {id: plate, name: Plate rivets, fasteners: 2, torque: not stated}
"""


@pytest.fixture(name="job")
def _job(new_job):
    """A job whose hub nuts are done and counted by the readings."""
    job = new_job(PLAN)
    for stage, torque in ((1, "50"), (2, "100")):
        for position in (1, 2, 3):
            job.pull("hub", stage, position, torque, p="0.999")
        job.put(CountKept("1", "0.9990", "hub", stage))
    return job


def words(job, joint="hub"):
    return [proof for proof, _ in job.proofs(joint)]


def test_it_is_missed_at_every_stage_and_the_others_are_in_doubt(job):
    assert words(job) == ["proven"] * 3

    job.say("not done", "hub", 2)

    assert words(job) == ["doubtful", "missed", "doubtful"]
    assert job.joint("hub").proof(1) == (Proof.DOUBTFUL, ("position 2 was seen not done",))
    assert [line for line in open_list(job.state, None) if line.startswith("to pull")] == [
        "to pull: Hub nuts, stage 1 of 2 (50 %): position 2",
        "to pull: Hub nuts, stage 2 of 2 (100 %): position 2",
    ]


def test_once_it_is_pulled_and_counted_again_all_is_proven(job):
    job.say("not done", "hub", 2)
    job.pull("hub", 1, 2, "50", p="0.999")
    job.pull("hub", 2, 2, "100", p="0.999")
    assert "pulled in stage 1 after it was counted" in job.joint("hub").proof(1)[1]

    for stage in (1, 2):
        job.put(CountKept("1", "0.9990", "hub", stage))

    assert words(job) == ["proven"] * 3


def test_an_earlier_reading_that_is_placed_there_later_does_not_count(job):
    job.say("not done", "hub", 2)

    reading = next(seq for seq, pull in job.state.pulls.items() if pull.match.stage == 2 and pull.match.position == 3)
    job.match(reading, "hub", 2, 2, p="0.999", revises=job.state.pulls[reading].match_seq)

    assert words(job)[1] == "missed"


def test_an_over_pull_stays_one(job):
    job.pull("hub", 2, 2, "130", "over", p="0.999")

    job.say("not done", "hub", 2)

    assert words(job)[1] == "failed"


def test_who_said_that_all_are_seen_is_taken_back(job):
    job.say("stripes", "hub", count=3, of=3)

    job.say("not done", "hub", 2)

    assert not job.joint("hub").confirmed_seq
    assert job.joint("hub").p_counted(2) < 1


def test_what_a_person_declared_counts_no_more(job):
    job.say("declared", "plate")
    assert words(job, "plate") == ["declared"] * 2

    job.say("not done", "plate", 1)

    assert words(job, "plate") == ["missed", "declared"]


def test_without_a_position_it_is_said_of_the_whole_joint(job):
    job.say("not done", "hub")

    assert words(job) == ["missed"] * 3


def test_not_looked_changes_nothing_and_stays_on_record(job):
    before = job.proofs("hub")

    job.say("not looked", "hub")

    assert job.proofs("hub") == before
    assert [decided.said for _, decided in job.state.decisions] == ["not looked"]


@pytest.mark.parametrize(
    ("counts", "waits"),
    [
        pytest.param({}, True, id="counted-by-nobody"),
        pytest.param({1: "0.9990", 2: "0.9990"}, False, id="sure-in-both-rounds"),
        pytest.param({1: "0.9990", 2: "0.9700"}, True, id="not-sure-in-the-last"),
        pytest.param({1: "0.9700", 2: "0.9990"}, True, id="not-sure-in-the-first"),
        pytest.param({2: "0.9990"}, True, id="first-not-counted"),
    ],
)
def test_stripes_are_waited_for_only_where_the_readings_alone_are_not_sure(new_job, counts, waits):
    job = new_job(PLAN)
    for stage, torque in ((1, "50"), (2, "100")):
        for position in (1, 2, 3):
            job.pull("hub", stage, position, torque, p="0.999")
    for stage, p in counts.items():
        job.put(CountKept("1", p, "hub", stage))

    assert ("waits for its stripes to be counted: Hub nuts" in open_list(job.state, None)) is waits
