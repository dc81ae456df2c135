"""What each reading of one place was while the job runs: of the record and as the last ones are seen now."""

from dataclasses import replace

import pytest

from collector.expect.habits import USUAL
from collector.expect.live_beam import LiveBeam
from collector.expect.live_place import LivePlaces
from collector.expect.places import NOWHERE
from schemas.bodies import MatchKept
from schemas.words import Kind
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, stages: [50, 100]}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 30}
"""
FIRST, FINAL, PLATE = range(3)
T = Kind.TIGHTENING


@pytest.fixture(name="job")
def _job(new_live):
    return new_live(PLAN)


class Told:
    """A job with a beam and its places beside the matcher's own."""

    def __init__(self, job):
        self.job, self.live = job, LiveBeam(USUAL)
        self.places = LivePlaces(self.live)

    def story(self, place, chosen=None):
        """Kind and position of the readings of a place, in their order; `chosen` are the places of the last readings."""
        self.live.follow(self.job.state)
        recent = list(self.live.recent)
        chosen = [max(share, key=share.__getitem__) for share in self.live.shares()] if chosen is None else chosen
        return list(self.places.story(self.job.state, place, recent, chosen).values())


@pytest.mark.parametrize(
    ("joint", "stage", "place"),
    [
        pytest.param("hub", 1, FIRST, id="first-stage"), pytest.param("hub", 2, FINAL, id="final"),
        pytest.param("plate", 1, PLATE, id="another-joint"), pytest.param("plate", 2, NOWHERE, id="no-such-stage"),
        pytest.param("axle", 1, NOWHERE, id="no-such-joint"), pytest.param(None, None, NOWHERE, id="a-stray"),
    ],
)  # fmt: skip
def test_a_match_on_record_has_the_place_that_the_plan_has_for_it(job, joint, stage, place):
    told = Told(job)
    told.live.follow(job.state)

    assert told.places.number_of(MatchKept("1", 3, "tightening", "by torque", joint, stage, 1)) == place
    assert told.places.number_of(None) == NOWHERE


def test_the_readings_seen_at_a_place_are_its_story(job):
    job.pulls("50", "50", "50", "50", "100")
    told = Told(job)

    assert told.story(FIRST) == [(T, 1), (T, 2), (T, 3), (T, 4)]
    assert told.story(FINAL) == [(T, 1)]
    assert told.story(PLATE) == []


def test_how_a_reading_is_seen_now_counts_and_not_where_it_lies_on_record(job):
    job.pulls("50", "50", "100")

    assert Told(job).story(FIRST, [FIRST, FIRST, NOWHERE]) == [(T, 1), (T, 2)]
    assert Told(job).story(FINAL, [FIRST, FIRST, FINAL]) == [(T, 1)]
    assert len(Told(job).story(FIRST, [NOWHERE, FIRST, FIRST])) == 2


def test_a_pull_that_a_person_placed_is_no_part_of_it(job):
    job.pulls("50", "50")
    last = job.pull("50", 3)
    job.decide("same again", reading=last.seq)
    job.pull("50")

    assert Told(job).story(FIRST) == [(T, 1), (T, 2), (T, 3)]


def test_what_lies_further_back_than_what_is_looked_at_is_told_from_the_record(job):
    job.pulls(*["50"] * 4, *["100"] * 4, *["30"] * 2, *["17"] * 14)
    told = Told(job)
    told.live.follow(job.state)
    assert len(told.live.recent) < len(job.state.pulls) - 7

    assert told.story(FIRST) == [(T, 1), (T, 2), (T, 3), (T, 4)]


def test_a_pull_to_the_left_is_a_loosening_there(job):
    job.pulls("50", "50", "-20", "50")

    assert Told(job).story(FIRST) == [(T, 1), (T, 2), (Kind.LOOSENING, 2), (T, 2)]


@pytest.mark.parametrize(
    ("position", "then"), [pytest.param(None, [1, 2, 3, 4], id="the-joint"), pytest.param(2, [2], id="one-fastener")]
)
def test_what_a_person_opened_is_tightened_again(job, position, then):
    job.pulls("50", "50", "50", "50")
    job.decide("opened", "hub", position)
    job.pulls(*["50"] * len(then))

    assert Told(job).story(FIRST) == [*((T, at) for at in (1, 2, 3, 4)), *((T, at) for at in then)]


def test_another_wrench_in_between_is_no_way_elsewhere_and_the_same_one_at_another_joint_is(job):
    job.pulls("50", "50")
    job.pull("30", wrench="W-25")
    job.pulls("50", "50")
    told = Told(job)
    assert told.story(FIRST, [FIRST, FIRST, PLATE, FIRST, FIRST]) == [(T, 1), (T, 2), (T, 3), (T, 4)]

    other = type(job)(PLAN)
    other.pulls("50", "50", "30", "50", "50")
    assert Told(other).story(FIRST, [FIRST, FIRST, PLATE, FIRST, FIRST]) == [(T, 1), (T, 2), (T, 3), (T, 4)]


def test_after_a_revision_of_the_plan_a_reading_is_held_against_the_band_that_is_there_now(job):
    job.pulls("50", "40")
    told = Told(job)
    assert told.story(FIRST, [FIRST, FIRST]) == [(T, 1), (T, 2)]
    job.change(PLAN.replace('"1"', '"2"').replace("[50, 100]", "[40, 100]"))
    job.at_s += 2
    job.read("50")

    # Under the first plan the pull of 40 was below the band, and the next one at once its continuation.
    assert told.story(FIRST, [FIRST] * 3) == [(T, 1), (T, 2), (T, 3)]
    fresh = Told(job)
    assert told.story(FIRST, [FIRST] * 3) == fresh.story(FIRST, [FIRST] * 3)


def test_a_reading_is_seen_after_another_one_where_the_one_before_it_was_taken_back(job):
    job.pulls("30", "30")
    told = Told(job)
    told.story(PLATE)
    before = {key: seen for key, (seen, _) in told.places._odds.items()}

    told.live.seen.update({seq: replace(seen, gap_s=1.0) for seq, seen in told.live.seen.items()})
    told.story(PLATE)

    assert before.keys() == told.places._odds.keys()
    assert all(seen.gap_s == 1.0 for seen, _ in told.places._odds.values())
