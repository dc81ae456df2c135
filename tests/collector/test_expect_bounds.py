"""What makes an answer news, what a person has made certain, and that no better guess makes an over-pull good."""

from dataclasses import replace

import pytest

from collector.expect.bounds import as_confirmed, bound_of, is_confirmed, is_fixed, is_spoken_of, placed_by_person, stays_over
from schemas.bodies import Decided, MatchKept, PlanChanged
from schemas.fastener_state import Pull
from tests.rigs.made_plans import HEAD


@pytest.mark.parametrize(
    ("p", "bound"),
    [
        pytest.param(None, -1, id="none"), pytest.param("0.0000", 0, id="nought"), pytest.param("0.8999", 0, id="below-0.9"),
        pytest.param("0.9000", 1, id="on-0.9"), pytest.param("0.9899", 1, id="below-0.99"),
        pytest.param("0.9900", 2, id="on-0.99"), pytest.param("0.9999", 2, id="highest"),
    ],
)  # fmt: skip
def test_a_probability_is_news_when_it_crosses_a_bound(p, bound):
    assert bound_of(p) == bound


@pytest.fixture(name="job")
def _job(new_job):
    """Two hub nuts in two stages, two shackle bolts; the first nut's first stage is pulled and placed with a probability."""
    job = new_job()
    pull(job, "50")
    return job


def pull(job, torque, kind="tightening", joint="hub", stage=1, position=1, **more):
    reading = job.read(torque)
    place = {} if kind == "stray" else {"joint": joint, "stage": stage, "position": position, "verdict": "in band"}
    job.put(MatchKept("1", reading, kind, "by torque", **place, **({"p": "0.9950"} | more)))
    return job.state.pulls[reading]


def first(job):
    return next(iter(job.state.pulls.values()))


def test_nothing_is_certain_before_a_person_spoke(job):
    assert not is_fixed(job.state, first(job))


def test_a_reading_is_certain_once_its_joint_was_counted_whole(job):
    job.stripes("hub")

    assert is_fixed(job.state, first(job))


def test_what_comes_to_a_counted_joint_later_is_not_certain_and_what_was_counted_stays_so(job):
    job.stripes("hub")
    later = pull(job, "50", position=2)

    assert job.joint("hub").confirmed_seq is None
    assert not is_fixed(job.state, later)
    assert is_fixed(job.state, first(job)), "that more was done since does not undo what was seen then"


@pytest.mark.parametrize(
    "said",
    [
        pytest.param({"said": "stripes", "joint": "hub", "count": None, "of": 2}, id="not-all-stripes"),
        pytest.param({"said": "stripes", "joint": "hub", "count": 1, "of": 2}, id="fewer-stripes"),
        pytest.param({"said": "stripes", "joint": "shackle", "count": 2, "of": 2}, id="another-joint"),
        pytest.param({"said": "opened", "joint": "hub", "position": 2}, id="another-fastener"),
        pytest.param({"said": "opened", "joint": "hub"}, id="the-whole-joint-opened"),
    ],
)
def test_other_words_make_no_reading_certain(job, said):
    job.put(Decided("1", **said))

    assert not is_fixed(job.state, first(job))


def test_a_word_about_its_fastener_makes_a_reading_certain(job):
    job.say("inspected", "hub", 1)

    assert is_fixed(job.state, first(job))


def test_which_fastener_one_pull_was_on_makes_no_other_pull_certain(job):
    job.say("position confirmed", "hub", 1, reading=99)

    assert not is_fixed(job.state, first(job))
    assert not is_spoken_of(job.state, first(job))


@pytest.mark.parametrize(
    ("joint", "position", "is_meant"),
    [
        pytest.param("hub", 1, True, id="its-own"), pytest.param("hub", 2, False, id="another-fastener"),
        pytest.param("hub", None, False, id="the-whole-joint"), pytest.param("shackle", 1, False, id="another-joint"),
    ],
)  # fmt: skip
def test_a_reading_is_spoken_of_with_its_fastener(job, joint, position, is_meant):
    job.say("inspected", joint, position)

    assert is_spoken_of(job.state, first(job)) is is_meant


def test_what_was_said_before_a_pull_says_nothing_of_it(job):
    job.say("opened", "hub", 1)

    assert not is_spoken_of(job.state, pull(job, "50"))
    assert not is_spoken_of(job.state, job.state.pulls[job.read("50")])


def test_of_what_a_person_confirmed_only_how_sure_it_is_may_change(job):
    counted = replace(first(job).match, position_by="order", takes_back=1)
    news = replace(counted, joint="shackle", kind="repeat", position=2, p="0.5000", reason="seen better", revises=7)
    confirmed = replace(counted, position_by="confirmed")

    assert (is_confirmed(counted), is_confirmed(confirmed), is_confirmed(None)) == (False, True, False)
    assert as_confirmed(counted, news) == news
    assert as_confirmed(confirmed, news) == replace(confirmed, p="0.5000", revises=7, takes_back=None)


def test_a_reading_placed_after_the_word_is_not_certain(job):
    job.say("inspected", "hub", 1)
    match = replace(first(job).match, kind="repeat", revises=first(job).match_seq)
    job.put(match)

    assert not is_fixed(job.state, first(job))


def test_a_stray_and_what_is_not_placed_are_not_certain(job):
    stray, unplaced = pull(job, "17", "stray"), job.state.pulls[job.read("50")]
    job.stripes("hub")

    assert not is_fixed(job.state, stray)
    assert not is_fixed(job.state, unplaced)


@pytest.mark.parametrize("said", ["same again", "not this job"])
def test_a_word_about_a_reading_places_it(job, said):
    job.say(said, reading=first(job).seq)

    assert placed_by_person(job.state) == {first(job).seq}


def test_other_words_place_no_reading(job):
    job.say("opened", "hub", 1, reading=first(job).seq)
    job.say("same again")
    job.stripes("hub")

    assert placed_by_person(job.state) == set()


@pytest.mark.parametrize(
    ("kind", "p", "is_placed"),
    [
        pytest.param("repeat", None, True, id="taken-back-as-a-second-click"),
        pytest.param("stray", None, True, id="taken-back-as-never-there"),
        pytest.param("repeat", "0.9950", False, id="revised-by-matching"),
        pytest.param("short pull", None, False, id="put-right-by-a-later-pull"),
    ],
)
def test_a_pull_that_not_all_stripes_took_back_stays_where_the_person_put_it(job, kind, p, is_placed):
    pull(job, "50", position=2)
    unplaced = job.read("50")
    job.say("stripes", "hub", of=2)
    place = {} if kind == "stray" else {"joint": "hub", "stage": 1, "position": 1}
    job.put(MatchKept("1", first(job).seq, kind, "the fitter said", **place, p=p, revises=first(job).match_seq))

    assert placed_by_person(job.state) == ({first(job).seq} if is_placed else set())
    assert unplaced not in placed_by_person(job.state)


@pytest.mark.parametrize(
    ("verdict", "then", "stays"),
    [
        pytest.param("over", "over", True, id="over-elsewhere-too"), pytest.param("over", "in band", False, id="good-elsewhere"),
        pytest.param("over", None, False, id="nowhere"), pytest.param("in band", "over", True, id="in-band-before"),
        pytest.param(None, None, True, id="without-a-verdict"),
    ],
)  # fmt: skip
def test_an_over_pull_is_moved_only_to_where_it_is_over(new_job, verdict, then, stays):
    job = new_job()
    kept = job.state.pulls[job.read("120")]
    match = MatchKept("1", kept.seq, "tightening", "by torque", "hub", 2, 1, verdict=verdict)
    moved = replace(match, verdict=then)

    assert stays_over(Pull(kept.seq, kept.at, kept.by, 1, kept.reading, match, kept.seq + 1), moved) is stays


TWO = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 50}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 30}
"""


def test_what_was_pulled_at_a_joint_that_the_plan_has_no_more_stays_there(new_job):
    job = new_job(TWO)
    pull(job, "50")
    plan = "".join(line for line in TWO.replace('"1"', '"2"').splitlines(True) if "hub" not in line)
    job.put(PlanChanged("1", job.keep_plan(plan), "revised"))

    assert "hub" in job.state.former
    assert is_fixed(job.state, first(job))
