"""The beam of a running job follows the record, goes back where a person takes a reading out, and begins anew where it must."""

import pytest

from collector.expect.habits import USUAL
from collector.expect.live_beam import LAG, LiveBeam
from schemas.bodies import MatchKept
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 30}
  - {id: cover, name: Cover bolts, fasteners: 2, torque: 30}
"""
HUB, PLATE, COVER = range(3)


@pytest.fixture(name="job")
def _job(new_live):
    return new_live(PLAN)


@pytest.fixture(name="live")
def _live():
    return LiveBeam(USUAL)


def read(job, *torques, after_s=8.0, **more):
    """Readings that nobody has placed; gives their entries."""
    seqs = []
    for torque in torques:
        job.at_s += after_s
        seqs.append(job.read(torque, **more))
    return seqs


def anew(job):
    """Another beam that goes through the whole record."""
    other = LiveBeam(USUAL)
    other.follow(job.state)
    return other


def seqs(live):
    return [one.seq for one in live.recent]


def check_same(live, other):
    """Both see the last readings alike, and what is done."""
    assert seqs(live) == seqs(other)
    assert live.beam.taken == other.beam.taken
    assert live.shares() == [pytest.approx(share) for share in other.shares()]
    assert [live.beam.p_full(place.index) for place in live.places] == pytest.approx(
        [other.beam.p_full(place.index) for place in other.places]
    )


def likeliest(live):
    return [max(share, key=share.__getitem__) for share in live.shares()]


def test_before_the_first_reading_there_is_nothing_to_see(job, live):
    assert live.shares() == []
    live.follow(job.state)

    assert (live.shares(), seqs(live)) == ([], [])
    assert [place.joint.id for place in live.places] == ["hub", "plate", "cover"]


def test_every_reading_has_its_shares_and_their_sum_is_one(job, live):
    taken = read(job, "100", "100", "100", "100", "30")
    live.follow(job.state)

    assert seqs(live) == taken
    assert [sum(share.values()) for share in live.shares()] == pytest.approx([1.0] * 5, abs=1e-4)
    assert likeliest(live) == [HUB] * 4 + [PLATE]


def test_only_the_last_readings_are_kept_to_look_at_and_all_of_what_was_seen(job, live):
    taken = read(job, *["100"] * (LAG + 4))
    live.follow(job.state)

    assert seqs(live) == taken[-LAG:]
    assert len(live.shares()) == LAG
    assert list(live.seen) == taken


def test_it_follows_up_to_a_reading_and_then_on(job, live):
    taken = read(job, "100", "100", "100")
    live.follow(job.state, taken[1])
    assert seqs(live) == taken[:2]
    live.follow(job.state)

    assert seqs(live) == taken
    check_same(live, anew(job))


def test_following_twice_takes_nothing_twice(job, live):
    read(job, "100", "100")
    job.stripes("hub")
    live.follow(job.state)
    shares = live.shares()
    live.follow(job.state)

    assert live.shares() == shares


def test_a_plan_without_a_stated_torque_has_no_places_and_takes_nothing(new_live, live):
    text = PLAN[: PLAN.index("joints:")] + "joints:\n  - {id: pin, name: Pin, fasteners: 1, torque: not stated}\n"
    job = new_live(text)
    read(job, "100", "30")
    job.say("prepared", "pin")
    live.follow(job.state)

    assert (live.places, live.shares(), live.seen) == ((), [], {})
    assert live.touched == {"pin"}


def test_the_joints_that_persons_spoke_of_are_touched(job, live):
    read(job, "100")
    job.say("stripes", "hub", count=4, of=4)
    job.say("other joint", "cover")
    job.say("same again")
    live.follow(job.state)

    assert live.touched == {"hub", "cover"}


# What persons say.


def test_who_names_a_joint_is_believed_of_the_next_reading_alone(job, live):
    read(job, "100", "100", "100", "100")
    job.say("other joint", "cover")
    read(job, "30")
    live.follow(job.state)

    assert live.shares()[-1].get(COVER, 0.0) > 0.4
    plain = LiveBeam(USUAL)
    other = type(job)(PLAN)
    read(other, "100", "100", "100", "100", "30")
    plain.follow(other.state)
    assert plain.shares()[-1].get(COVER, 0.0) < 0.2


def test_counted_and_opened_weigh_what_is_done(job, live):
    read(job, "100", "100", "100", "100")
    live.follow(job.state)
    plain = live.beam.p_full(HUB)
    job.say("stripes", "hub", count=4, of=4)
    live.follow(job.state)
    counted = live.beam.p_full(HUB)
    job.say("opened", "hub", 1)
    live.follow(job.state)

    assert live.beam.p_full(HUB) < 0.1 < plain < counted


def test_what_a_person_answers_for_makes_it_begin_anew_with_fewer_places(job, live):
    read(job, "100", "100")
    live.follow(job.state)
    job.say("declared", "plate")
    job.say("not fitted", "hub", 4)
    live.follow(job.state)

    assert [(place.joint.id, place.order) for place in live.places] == [("hub", (1, 2, 3)), ("cover", (1, 2))]
    check_same(live, anew(job))


def test_another_revision_of_the_plan_makes_it_begin_anew(job, live):
    read(job, "100", "100")
    live.follow(job.state)
    job.change(PLAN.replace('"1"', '"2"').replace("fasteners: 4", "fasteners: 2"))
    read(job, "30")
    live.follow(job.state)

    assert [place.fasteners for place in live.places] == [2, 2, 2]
    assert likeliest(live)[-1] == PLATE
    check_same(live, anew(job))


# The link.


def test_a_lost_link_makes_the_next_pause_unknown_and_a_link_that_is_back_does_not(job, live):
    read(job, "100")
    job.link("lost")
    read(job, "100")
    job.link("back")
    read(job, "100")
    live.follow(job.state)

    assert [seen.gap_s for seen in live.seen.values()] == [None, None, 8.0]


# A reading that a person places is taken out again.


def say_again(job, seq):
    job.say("same again", reading=seq)


def test_the_last_reading_is_taken_out_as_if_it_had_never_come(job, live):
    taken = read(job, "100", "100", "100")
    live.follow(job.state)
    say_again(job, taken[-1])
    read(job, "100")
    live.follow(job.state)

    assert taken[-1] not in live.seen
    assert [seen.gap_s for seen in live.seen.values()] == [None, 8.0, 16.0]
    check_same(live, anew(job))


@pytest.mark.parametrize(
    "between",
    [
        pytest.param([], id="nothing-said"),
        pytest.param(["stripes"], id="a-word-of-a-joint-in-between"),
        pytest.param(["link"], id="a-gap-in-between"),
        pytest.param(["hint"], id="a-joint-named-in-between"),
        pytest.param(["opened"], id="a-joint-opened-in-between"),
    ],
)
@pytest.mark.parametrize("followed", [True, False], ids=["each-followed", "followed-at-the-end"])
def test_an_earlier_reading_is_taken_out_and_those_after_it_keep_their_pauses(job, live, between, followed):
    taken = read(job, "100", "100", "100", "100")
    for what in between:
        live.follow(job.state)
        says = {"stripes": lambda: job.stripes("hub"), "link": job.lose_link, "hint": lambda: job.say("other joint", "cover")}
        {**says, "opened": lambda: job.say("opened", "hub")}[what]()
    taken += read(job, "100", "30", after_s=9.0)
    if followed:
        live.follow(job.state)
    say_again(job, taken[2])
    live.follow(job.state)
    read(job, "30")
    live.follow(job.state)

    assert taken[2] not in live.seen
    assert seqs(live) == [seq for seq in job.state.pulls if seq != taken[2]]
    check_same(live, anew(job))


def test_a_joint_named_before_the_reading_that_is_taken_out_is_hinted_at_again(job, live):
    read(job, "100", "100", "100", "100")
    job.say("other joint", "cover")
    (seq,) = read(job, "30")
    live.follow(job.state)
    say_again(job, seq)
    read(job, "30")
    live.follow(job.state)

    assert live.shares()[-1].get(COVER, 0.0) > 0.4
    check_same(live, anew(job))


def test_a_reading_too_far_back_makes_it_begin_anew(job, live):
    taken = read(job, *["100"] * 4, *["30"] * LAG)
    live.follow(job.state)
    say_again(job, taken[1])
    live.follow(job.state)

    assert taken[1] not in live.seen
    check_same(live, anew(job))


def test_two_readings_are_taken_out_at_once(job, live):
    taken = read(job, "100", "100", "100", "100", "30")
    live.follow(job.state)
    say_again(job, taken[3])
    job.say("not this job", reading=taken[1])
    live.follow(job.state)

    assert seqs(live) == [taken[0], taken[2], taken[4]]
    check_same(live, anew(job))


def test_a_pull_that_missing_stripes_took_back_is_taken_out(job, live):
    taken = read(job, "100", "100", "100", "100")
    for seq, position in zip(taken, (1, 2, 3, 4), strict=True):
        job.put(MatchKept("1", seq, "tightening", "by torque", "hub", 1, position, verdict="in band", p="0.9999"))
    live.follow(job.state)
    job.say("stripes", "hub", of=4)
    last = job.state.pulls[taken[3]]
    job.put(MatchKept("1", last.seq, "repeat", "the fitter said", "hub", 1, 3, verdict="in band", revises=last.match_seq))
    live.follow(job.state)

    assert seqs(live) == taken[:3]
    assert live.beam.p_full(HUB) < 0.5
    check_same(live, anew(job))


WAITING = HEAD + """\
  - {id: wheel, name: Wheel nuts, fasteners: 3, torque: 100}
  - {id: shackle, name: Shackle bolts, fasteners: 3, torque: 112}
steps:
  - torque: wheel
  - hold point: ride-height-set
    ask: Loaded to ride height
    sign: fitter
  - torque: shackle
    after: [ride-height-set]
"""


def test_a_joint_that_waits_for_a_signature_is_hardly_worked_before_it_is_there(new_live):
    shares = {}
    for signed in (False, True):
        job = new_live(WAITING)
        if signed:
            job.sign("ride-height-set")
        read(job, "100", "101")
        read(job, "112", after_s=30.0)
        shares[signed] = anew(job).shares()[-1].get(1, 0.0)

    assert shares[False] < 0.5 * shares[True]
