"""Which fastener a pull was on, as a person says: what goes where by that, and what cannot be."""

import pytest

from collector.expect.bounds import PULLED_AGAIN, placed_by_person
from collector.expect.confirmed import LEFT, REASON, confirm_position, why_not
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, order: cross}
  - {id: cap, name: Cap bolts, fasteners: 2, torque: 60, stages: [50, 100]}
"""


@pytest.fixture(name="job")
def _job(new_job):
    return new_job(PLAN)


def hub(job, *positions, **more):
    """Pulls on the hub at these positions, counted in order unless said."""
    return [job.state.pulls[job.pull("hub", 1, position, **({"position_by": "order"} | more))] for position in positions]


def say(job, pull, position):
    """What a person says is put on record, as the program does it; gives the position of each pull of the stage."""
    assert why_not(job.state, pull, position) is None
    job.say("position confirmed", "hub", position, reading=pull.seq)
    for match in confirm_position(job.state, pull, position):
        job.put(match)
    return [(one.match.kind, one.match.position) for one in job.state.pulls.values()]


def positions(told):
    return [position for _, position in told]


def test_on_the_fastener_that_was_counted_it_is_only_made_certain(job):
    *_, last = hub(job, 1, 3, 2)

    (match,) = confirm_position(job.state, last, 2)

    assert (match.position, match.position_by, match.kind, match.revises) == (2, "confirmed", "tightening", last.match_seq)
    assert (match.reason, match.joint, match.stage, match.takes_back) == (REASON, "hub", 1, None)


def test_what_is_confirmed_where_it_was_moves_no_other_pull_whatever_the_order_says(job):
    *_, last = hub(job, 4, 1)

    assert [match.reading for match in confirm_position(job.state, last, 1)] == [last.seq]


def test_out_of_order_on_one_that_nobody_was_on_moves_nothing_else(job):
    *_, last = hub(job, 1, 3)

    assert positions(say(job, last, 4)) == [1, 4]


def test_where_another_was_counted_that_one_goes_on_in_the_order_over_what_is_left(job):
    first, second, last = hub(job, 1, 3, 2)

    own, moved = confirm_position(job.state, last, 3)

    assert (own.reading, own.position, own.position_by) == (last.seq, 3, "confirmed")
    assert (moved.reading, moved.position, moved.position_by) == (second.seq, 2, "order")
    assert (moved.reason, moved.revises) == (LEFT, second.match_seq)
    assert first.match.position == 1


def test_one_that_was_confirmed_before_does_not_go_on(job):
    pulls = hub(job, 1, 3, 2)
    say(job, pulls[1], 3)

    assert positions(say(job, pulls[2], 1)) == [2, 3, 1]
    assert [pull.match.position_by for pull in pulls] == ["order", "confirmed", "confirmed"]


def test_a_person_can_put_right_what_was_said_of_the_same_pull(job):
    *_, last = hub(job, 1, 3)
    say(job, last, 4)

    assert positions(say(job, last, 3)) == [1, 3]


def test_pulls_of_another_stage_stay_where_they_are(job):
    places = [(stage, position) for stage in (1, 2) for position in (1, 2)]
    stages = [job.state.pulls[job.pull("cap", *place, "60", position_by="order")] for place in places]
    for match in confirm_position(job.state, stages[3], 1):
        job.put(match)

    assert [(one.match.stage, one.match.position) for one in stages] == [(1, 1), (1, 2), (2, 2), (2, 1)]


def test_a_pull_below_the_band_is_continued_by_one_that_was_on_its_fastener(job):
    _, low = hub(job, 1, 3, verdict="under")
    (last,) = hub(job, 2)

    assert why_not(job.state, last, 3) is None
    assert [match.reading for match in confirm_position(job.state, last, 3)] == [last.seq], "the low one stays and is continued"
    assert low.match.position == 3


def test_also_where_the_pull_below_the_band_was_confirmed(job):
    (low,) = hub(job, 1, verdict="under")
    say(job, low, 4)
    (last,) = hub(job, 3)

    assert why_not(job.state, last, 4) is None


def test_a_pull_below_the_band_that_was_not_continued_after_all_stands_for_itself_again(job):
    hub(job, 1)
    (low,) = hub(job, 3, kind="short pull", verdict="under")
    (last,) = hub(job, 3)

    assert say(job, last, 2) == [("tightening", 1), ("tightening", 3), ("tightening", 2)]
    assert low.match.reason == LEFT


def test_of_several_strokes_only_the_last_one_stands_for_itself(job):
    hub(job, 1)
    hub(job, 3, 3, kind="short pull", verdict="under")
    (last,) = hub(job, 3)

    told = say(job, last, 4)

    assert told == [("tightening", 1), ("short pull", 3), ("tightening", 3), ("tightening", 4)]


def test_strokes_go_on_with_the_pull_that_they_led_to(job):
    hub(job, 1, kind="short pull", verdict="under")
    hub(job, 1)
    (last,) = hub(job, 3)

    assert say(job, last, 1) == [("short pull", 3), ("tightening", 3), ("tightening", 1)]


@pytest.mark.parametrize("kind", ["repeat", "recheck"])
def test_a_click_on_one_that_was_not_done_counts_there(job, kind):
    hub(job, 1, 3)
    (last,) = hub(job, 3, kind=kind)

    assert say(job, last, 2) == [("tightening", 1), ("tightening", 3), ("tightening", 2)]


@pytest.mark.parametrize("kind", ["repeat", "recheck"])
@pytest.mark.parametrize("position", [1, 3])
def test_a_click_on_one_that_was_done_stays_one_and_moves_nothing(job, kind, position):
    hub(job, 1, 3)
    (last,) = hub(job, 3, kind=kind)

    assert say(job, last, position) == [("tightening", 1), ("tightening", 3), (kind, position)]
    assert last.match.position_by == "confirmed"


def test_a_second_click_after_a_pull_goes_with_it(job):
    hub(job, 1)
    hub(job, 1, kind="repeat")
    (last,) = hub(job, 3)

    assert say(job, last, 1) == [("tightening", 3), ("repeat", 3), ("tightening", 1)]


def test_what_a_person_opened_in_between_is_done_again(job):
    before = hub(job, 1, 3)
    job.say("opened", "hub", 3)
    (last,) = hub(job, 3)

    assert positions(say(job, last, 2)) == [1, 3, 2]
    assert [pull.match.revises for pull in before] == [None, None]


def test_what_was_opened_and_confirmed_before_may_be_pulled_again(job):
    (first,) = hub(job, 1)
    say(job, first, 1)
    job.say("opened", "hub", 1)
    (last,) = hub(job, 3)

    assert positions(say(job, last, 1)) == [1, 1]


def test_one_that_a_person_answers_for_is_left_out_of_the_count(job):
    job.say("not fitted", "hub", 2, reason="part on order")
    *_, last = hub(job, 1, 3)

    assert positions(say(job, last, 1)) == [3, 1]
    *_, last = hub(job, 4)
    assert positions(say(job, last, 3)) == [4, 1, 3]


def test_where_a_person_answers_for_all_of_them_the_whole_order_counts(job):
    pulls = hub(job, 1, 3)
    job.say("declared", "hub")

    assert positions(say(job, pulls[1], 1)) == [3, 1]


AGAIN = PLAN.replace("stages: [50, 100]", "stages: [100, 100]")


def test_what_a_closing_round_had_before_it_was_gone_again_stays_as_it_was(new_job):
    job = new_job(AGAIN)
    for stage in (1, 2):
        for position in (1, 2):
            job.pull("cap", stage, position, "60", position_by="order")
    moved = list(job.state.pulls.values())[-1]
    job.say("moved", "cap", 2, reading=moved.seq)
    again = [job.state.pulls[job.pull("cap", 2, position, "60", position_by="order")] for position in (1, 2)]
    assert job.joint("cap").round_since

    assert [match.reading for match in confirm_position(job.state, again[1], 1)] == [again[1].seq, again[0].seq]


# What cannot be.


def test_a_number_that_the_joint_does_not_have_is_told(job):
    (last,) = hub(job, 1)

    for position in (0, 5, 9999):
        assert why_not(job.state, last, position) == f"nothing was recorded: Hub nuts has fasteners 1 to 4, and no {position}"


def test_a_pull_that_belongs_to_no_joint_has_no_fastener(job):
    stray = job.state.pulls[job.read("17")]
    for pull in (None, stray):
        assert "belongs to no joint of this job" in why_not(job.state, pull, 1)
    assert confirm_position(job.state, stray, 1) == ()
    job.match(stray.seq, None, None, None, kind="stray", verdict=None)
    assert "belongs to no joint of this job" in why_not(job.state, stray, 1)


@pytest.mark.parametrize("last_at", [2, 3], ids=["counted-elsewhere", "counted-there-too"])
def test_of_two_pulls_of_one_stage_on_the_same_fastener_the_named_one_is_a_second_pull_placed_by_a_person(job, last_at):
    pulls = hub(job, 1, 3)
    say(job, pulls[1], 3)
    (last,) = hub(job, last_at, p="0.9900")

    assert say(job, last, 3) == [("tightening", 1), ("tightening", 3), ("repeat", 3)]
    assert (last.match.reason, last.match.position_by, last.match.p) == (PULLED_AGAIN, "confirmed", None)
    assert placed_by_person(job.state) == {last.seq}
    assert job.joint("hub").fasteners[1].stages == [None]


def test_another_number_takes_a_second_pull_back(job):
    pulls = hub(job, 1, 3)
    say(job, pulls[1], 3)
    (last,) = hub(job, 2)
    say(job, last, 3)

    assert say(job, last, 2)[-1] == ("tightening", 2)
    assert last.match.reason == REASON
    assert placed_by_person(job.state) == set()


def test_a_second_pull_may_have_been_one_on_another_that_was_done(job):
    pulls = hub(job, 1, 3)
    for pull, position in zip(pulls, (1, 3), strict=True):
        say(job, pull, position)
    (last,) = hub(job, 2)
    say(job, last, 3)

    assert say(job, last, 1)[-1] == ("repeat", 1)
    assert placed_by_person(job.state) == {last.seq}


def test_where_a_second_pull_was_counted_the_ones_after_it_go_on_there(job):
    hub(job, 1)
    (second,) = hub(job, 3)
    say(job, second, 3)
    (extra, last) = hub(job, 2, 4)

    assert say(job, extra, 3) == [("tightening", 1), ("tightening", 3), ("repeat", 3), ("tightening", 2)]
    assert last.match.reason == LEFT


def test_an_earlier_pull_that_is_named_later_is_the_second_one_too(job):
    extra, last = hub(job, 1, 3)
    say(job, last, 3)

    assert say(job, extra, 3) == [("repeat", 3), ("tightening", 3)]


def test_a_pull_from_before_it_was_opened_counts_there_beside_the_one_after(job):
    extra, _ = hub(job, 1, 3)
    job.say("opened", "hub", 3)
    (last,) = hub(job, 3)
    say(job, last, 3)

    assert say(job, extra, 3)[0] == ("tightening", 3)


@pytest.mark.parametrize(
    ("counts", "kind"),
    [
        pytest.param([None], "tightening", id="not-all-seen"),
        pytest.param([None, 4], "repeat", id="whole-since"),
        pytest.param([4], "repeat", id="whole"),
        pytest.param([4, None], "tightening", id="not-all-seen-any-more"),
    ],
)
def test_where_not_all_were_seen_a_fastener_may_be_done_a_second_time(job, counts, kind):
    for pull in hub(job, 1, 3, 2, 4):
        say(job, pull, pull.match.position)
    for count in counts:
        job.say("stripes", "hub", count=count, of=4)
    (last,) = hub(job, 4)

    assert say(job, last, 2)[-1] == (kind, 2)


def test_not_all_seen_after_both_pulls_leaves_the_second_one_a_second_one(job):
    pulls = hub(job, 1, 3)
    say(job, pulls[0], 1)
    job.say("stripes", "hub", of=4)

    assert say(job, pulls[1], 1)[-1] == ("repeat", 1)


@pytest.mark.parametrize("kind", ["repeat", "recheck"])
def test_what_a_person_called_a_second_pull_is_no_first_one(job, kind):
    hub(job, 1, 3)
    (last,) = hub(job, 3, kind=kind)
    job.say("same again", reading=last.seq)

    assert "reading 3 was said to be a second pull on a fastener, and 2 was not done" in why_not(job.state, last, 2)
    assert why_not(job.state, last, 1) is None


def test_an_over_pull_stays_where_the_fitter_was_shown_it(job):
    _, over = hub(job, 1, 3, verdict="over")
    (last,) = hub(job, 2)

    assert say(job, last, 3)[-1] == ("repeat", 3)
    assert positions(say(job, last, 4)) == [1, 3, 4]
    assert over.match.revises is None
    assert job.joint("hub").fasteners[2].over is over


def test_the_fitter_can_say_where_an_over_pull_was(job):
    hub(job, 1)
    (over,) = hub(job, 3, verdict="over")

    assert positions(say(job, over, 2)) == [1, 2]


@pytest.mark.parametrize("said", ["inspected", "not done"])
def test_a_pull_on_a_fastener_that_was_spoken_of_is_moved_by_no_count(job, said):
    pulls = hub(job, 1, 3)
    job.say(said, "hub", 1)
    (last,) = hub(job, 2)

    if said == "inspected":
        assert say(job, last, 1)[-1] == ("repeat", 1)
    assert positions(say(job, last, 3)) == [1, 2, 3]
    assert pulls[0].match.revises is None


def test_a_pull_whose_fastener_was_opened_since_is_not_moved_from_it(job):
    *_, last = hub(job, 1, 3)
    job.say("opened", "hub", 3, reading=last.seq)

    assert "fastener 3 was opened or spoken of since, so reading 2 stays on it" in why_not(job.state, last, 2)
    assert why_not(job.state, last, 3) is None


def test_what_was_loosened_stays_so_where_others_are_counted_anew(job):
    hub(job, 1, 3)
    hub(job, 3, kind="loosening", verdict=None)
    hub(job, 3)
    (last,) = hub(job, 2)

    told = say(job, last, 1)

    assert told == [("tightening", 3), ("tightening", 2), ("loosening", 3), ("tightening", 3), ("tightening", 1)]


def test_a_loosening_opened_what_it_opened(job):
    hub(job, 1, 3)
    (last,) = hub(job, 3, kind="loosening", verdict=None)

    why = "nothing was recorded: reading 3 opened fastener 3, and stays on it. If it was 1 that was opened: job opened"
    assert why_not(job.state, last, 1) == why
    assert say(job, last, 3)[-1] == ("loosening", 3)
    hub(job, 3)
    (last,) = hub(job, 2)
    assert say(job, last, 4) == [("tightening", 1), ("tightening", 3), ("loosening", 3), ("tightening", 3), ("tightening", 4)]
