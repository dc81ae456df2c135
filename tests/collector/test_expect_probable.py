"""The matcher of a running job, from outside: where readings go, how sure it is, what it takes back, and what it never does."""

import random
from dataclasses import replace
from datetime import timedelta

import pytest

from collector.expect.in_order import InOrder
from collector.expect.learned import habits_of
from collector.expect.probable import REVISED, Probable
from collector.flag import flag_match
from schemas.bodies import Decided, HabitsLearned
from schemas.frame import LinkChange
from schemas.screen import Press, PressWord
from schemas.words import Link
from sim.shop.day import live_day
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, order: cross}
  - {id: shackle, name: Shackle bolts, fasteners: 3, torque: 60}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 30}
"""
HUB = [("hub", 1), ("hub", 3), ("hub", 2), ("hub", 4)]
SHACKLE = [("shackle", 1), ("shackle", 2), ("shackle", 3)]
PLATE = [("plate", 1), ("plate", 2)]


@pytest.fixture(name="job")
def _job(new_live):
    return new_live(PLAN)


def where(job):
    return [(joint, position) for _, joint, _, position in job.places()]


def kinds(job):
    return [kind for kind, *_ in job.places()]


def p_of(pull):
    return float(pull.match.p)


def expected(job):
    target = job.matcher.expect_next(job.state)
    return None if target is None else (target.joint.id, target.stage.number, target.position)


def hub_done(job):
    return job.pulls("100", "101", "99", "100.5")


def clean_day(job):
    return [*hub_done(job), job.pull("60", 60), *job.pulls("60.5", "59.8"), job.pull("30", 60), job.pull("30.2")]


# Where readings go.


def test_on_a_clean_day_each_reading_goes_to_the_fastener_that_was_expected(job):
    for torque, spot in zip(["100"] * 4 + ["60"] * 3 + ["30"] * 2, HUB + SHACKLE + PLATE, strict=True):
        assert expected(job) == (spot[0], 1, spot[1])
        pull = job.pull(torque, 60 if spot[1] == 1 else 8)

        match = pull.match
        assert (match.kind, match.joint, match.position, match.verdict) == ("tightening", *spot, "in band")
        assert (match.position_by, match.revises) == ("order", None)
        assert p_of(pull) > (0.75 if spot[1] == 1 else 0.9)
    assert expected(job) is None


def test_the_count_of_a_joint_comes_with_its_last_fastener_and_says_by_which_habits(job):
    job.pulls("100", "101", "99")
    assert job.state.counted == {}
    job.pull("100.5")

    assert 0.9 < job.p_of("hub") < 1.0
    (count,) = (body for _, body in job.entries if body.KIND == "count")
    assert (count.joint, count.stage, count.habits) == ("hub", 1, None)
    assert not job.complete, "how likely it is proves nothing before somebody has looked"


def test_a_shop_that_has_learned_says_so_in_its_counts(job):
    job.matcher = Probable(habits_of((41, HabitsLearned(1, {}, ("1",), "counted"))))
    hub_done(job)

    assert [body.habits for _, body in job.entries if body.KIND == "count"] == [41]


def test_a_second_click_at_once_is_a_repeat_of_the_fastener_before_it(job):
    job.pulls("100", "101")
    job.pull("99", 1)
    job.pulls("99.5", "100.2")
    job.pulls("60", "60", "60")

    assert kinds(job)[:5] == ["tightening", "tightening", "repeat", "tightening", "tightening"]
    assert where(job)[:5] == [("hub", 1), ("hub", 3), ("hub", 3), ("hub", 2), ("hub", 4)]


@pytest.mark.parametrize("at", [1, 2, 3])
def test_as_many_clicks_as_fasteners_with_one_clicked_twice_is_not_counted_complete(job, at):
    for n in range(4):
        job.pull("100", 1 if n == at else 8)
    job.pulls("60", "60", "60", "30", "30")

    assert job.p_of("hub") < 0.99
    assert not job.complete


def test_a_pull_below_the_band_that_is_continued_becomes_a_short_pull_by_the_pull_that_continues_it(job):
    job.pull("100")
    low = job.pull("70")
    assert (low.match.kind, low.verdict) == ("tightening", "under")
    good = job.pull("100", 2)

    assert (low.match.kind, low.match.joint, low.match.position) == ("short pull", "hub", 3)
    assert low.match.reason == f"put right by reading {good.n}"
    assert (good.match.kind, good.match.position) == ("tightening", 3)


def test_strokes_that_rise_on_one_fastener_are_short_pulls_but_for_the_last(job):
    job.pull("100")
    job.pulls("40", "60", "85", "101", after_s=2)

    assert kinds(job) == ["tightening", "short pull", "short pull", "short pull", "tightening"]
    assert where(job)[1:] == [("hub", 3)] * 4


def test_a_joint_taken_out_of_turn_is_found_by_its_torque(job):
    hub_done(job)
    job.pull("30", 60)
    job.pull("30")
    job.pull("60", 60)
    job.pulls("60", "60")

    assert where(job) == HUB + PLATE + SHACKLE
    assert kinds(job) == ["tightening"] * 9


def test_a_joint_left_half_done_is_come_back_to(job):
    job.pulls("100", "101")
    job.pull("60", 60)
    job.pulls("60.2", "60")
    assert job.p_of("hub") is None or job.p_of("hub") < 0.5
    job.pull("100", 60)
    job.pull("100")

    assert where(job) == HUB[:2] + SHACKLE + HUB[2:]


def test_a_stray_belongs_to_no_joint_and_takes_no_fastener(job):
    clean_day(job)
    before = [joint.summary.done for joint in job.state.joints.values()]
    odd = job.pull("11.3", 240)

    assert (odd.match.kind, odd.match.joint, odd.match.verdict) == ("stray", None, None)
    assert p_of(odd) > 0.5
    assert [joint.summary.done for joint in job.state.joints.values()] == before


def test_a_pull_to_the_left_opens_the_fastener_before_it(job):
    job.pulls("100", "101")
    loose = job.pull("-40", 5)

    assert (loose.match.kind, loose.match.joint, loose.match.position, loose.match.verdict) == ("loosening", "hub", 3, None)
    assert expected(job) == ("hub", 1, 3)
    assert where(job)[-1] == (job.pull("100").match.joint, 3)


def test_a_pull_to_the_left_before_anything_else_is_a_stray(job):
    assert job.pull("-40").match.kind == "stray"
    assert expected(job) == ("hub", 1, 1)


def test_above_the_range_of_the_tool_is_over(job):
    job.pull("100")
    over = job.pull(None, over_range=1)

    assert (over.match.kind, over.match.joint, over.verdict) == ("tightening", "hub", "over")
    assert job.joint("hub").worst() == "failed"


def test_two_wrenches_side_by_side_are_each_followed(job):
    for hub, plate in (("100", "30"), ("101", "30.2")):
        job.pull(hub, 4)
        job.pull(plate, 4, wrench="W-25")
    job.pulls("99", "100")

    assert where(job) == [HUB[0], PLATE[0], HUB[1], PLATE[1], *HUB[2:]]


STAGED = PLAN.replace("torque: 100, order: cross", "torque: 100, stages: [50, 100], order: cross")


def test_each_stage_is_a_place_with_a_count_of_its_own(new_live):
    job = new_live(STAGED)
    job.pulls("50", "51", "49", "50")
    job.pulls("100", "101", "99", "100")

    assert [(stage, position) for _, _, stage, position in job.places()] == [(n, at) for n in (1, 2) for _, at in HUB]
    assert job.p_of("hub", 1) > 0.9
    assert job.p_of("hub", 2) > 0.9


def test_where_no_torque_is_stated_every_reading_is_a_stray_of_no_certainty(new_live):
    job = new_live(PLAN[: PLAN.index("joints:")] + "joints:\n  - {id: pin, name: Pin, fasteners: 1, torque: not stated}\n")
    odd = job.pull("100")
    job.decide("declared", "pin")
    job.pull("30")

    assert [(pull.match.kind, pull.match.p) for pull in (odd, job.state.last_pull)] == [("stray", "0.0000")] * 2
    assert job.state.counted == {}
    assert job.matcher.differing(job.state) == []


def test_where_a_person_answers_for_every_fastener_readings_belong_to_none(job):
    for name in ("hub", "shackle", "plate"):
        job.decide("declared", name)
    job.pulls("100", "60", "30")

    assert kinds(job) == ["stray"] * 3
    assert all(joint.worst() == "declared" for joint in job.state.joints.values())


# What is taken back, in the open.


def test_a_later_reading_revises_an_earlier_one_and_says_which_entry_it_replaces(job):
    job.pulls("100", "101")
    twice = job.pull("99", 1)
    first_match, first_seq = twice.match, twice.match_seq
    assert first_match.kind == "tightening"
    job.pulls("99.5", "100.2")

    revisions = [match for made in job.made for match in made if match.revises is not None and match.reading == twice.seq]
    assert revisions[0].revises == first_seq
    assert all(match.reason == REVISED for match in revisions)
    assert (twice.match.kind, twice.match.revises is not None, twice.revisions) == ("repeat", True, len(revisions))


def test_a_reading_of_an_earlier_run_is_not_revised(job):
    job.pulls("100", "101")
    twice = job.pull("99", 1)
    before = twice.match
    job.resume()
    job.pulls("99.5", "100.2", "60")

    assert twice.match is before
    assert job.matcher.differing(job.state) == []


def test_what_a_person_counted_is_not_revised(job):
    hub_done(job)
    job.decide("stripes", "hub", count=4, of=4)
    matches = [pull.match for pull in job.state.pulls.values()]
    job.pulls("100", "100", "60", "100", "60", after_s=5)

    assert [pull.match for pull in list(job.state.pulls.values())[:4]] == matches


@pytest.mark.parametrize("spot", [("plate", 2), ("hub", 4)], ids=["elsewhere", "where-it-looks"])
def test_a_reading_of_which_a_person_named_the_fastener_stays_on_it_and_only_how_sure_it_is_may_change(job, spot):
    first = job.pull("100")
    named = replace(first.match, joint=spot[0], position=spot[1], position_by="confirmed", p="0.9500", revises=first.match_seq)
    job.put(replace(named, verdict="in band"))

    others = job.pulls("30", "30.2") if spot[0] == "plate" else job.pulls("100", "100", "100")

    assert (first.match.joint, first.match.position, first.match.position_by) == (*spot, "confirmed")
    assert (first.match.kind, first.match.reason, first.match.takes_back) == ("tightening", named.reason, None)
    assert p_of(first) < 0.9 if spot[0] == "plate" else p_of(first) >= 0.99
    assert job.state.taken_back == {}
    assert [pull.match.position for pull in others] == ([1, 1] if spot[0] == "plate" else [1, 3, 2])


OVERS = [
    pytest.param([("35", 2), ("100", 60), ("112", 2), ("70", 60), ("70", 60), ("112", 8)], id="to-nowhere"),
    pytest.param([("30", 60), ("35", 8), ("35", 2), ("35", 8), ("67", 8), ("60", 8), ("30", 2)], id="to-below-another-band"),
    pytest.param([("60", 2), ("67", 8), ("100", 8)], id="to-a-stroke-of-the-next"),
]


@pytest.mark.parametrize("script", OVERS)
def test_an_over_pull_stays_one_whatever_comes_later(floor, recorder, script):
    floor.text = PLAN.replace("fasteners: 4", "fasteners: 3").replace("axle", "drawbar")
    bench = floor.bench(recorder)
    bench.matcher = Probable(habits_of(None))
    over = set()
    for torque, pause_s in script:
        floor.clock.instant += timedelta(seconds=pause_s - 2)
        floor.run(bench, floor.pull(torque))
        over |= {pull.seq for pull in bench.job.pulls.values() if pull.verdict == "over"}

        assert {pull.seq for pull in bench.job.pulls.values() if pull.verdict == "over"} == over
    assert over
    assert "failed" in {joint.worst() for joint in bench.job.joints.values()}


# What persons say.


@pytest.mark.parametrize("pause_s", [1, 4, 8])
def test_same_again_holds_and_later_readings_go_on_as_if_it_had_not_counted(job, pause_s):
    job.pulls("100", "101")
    last = job.pull("99", pause_s)
    job.decide("same again", reading=last.seq)
    said = last.match
    assert (said.kind, said.joint, said.position) == ("repeat", "hub", 3)
    job.pulls("100", "100", "60", "60", "60")

    assert last.match is said
    assert where(job) == [*HUB[:2], ("hub", 3), *HUB[2:], *SHACKLE]
    assert kinds(job)[3:] == ["tightening"] * 5


def test_same_again_of_a_reading_that_was_taken_for_another_joint_moves_it_to_the_fastener_before(job):
    job.pulls("100", "101")
    last = job.pull("60", 5)
    job.decide("same again", reading=last.seq)
    job.pulls("100", "100")

    assert where(job) == [*HUB[:2], ("hub", 3), *HUB[2:]]
    assert kinds(job) == ["tightening", "tightening", "repeat", "tightening", "tightening"]


def test_not_this_job_holds_and_later_readings_go_on_as_if_it_had_not_counted(job):
    job.pulls("100", "101")
    last = job.pull("99", 8)
    job.decide("not this job", reading=last.seq)
    job.pulls("100", "100", "60", "60", "60")

    assert (last.match.kind, last.match.joint) == ("stray", None)
    assert where(job) == [*HUB[:2], (None, None), *HUB[2:], *SHACKLE]


def test_a_word_that_changes_no_match_gives_none(job):
    job.pull("100")

    assert job.matcher.match_said(job.state, Decided("1", "opened", "hub", 1)) == ()
    assert job.matcher.match_said(job.state, Decided("1", "same again", reading=999)) == ()
    assert job.matcher.match_said(job.state, Decided("1", "stripes", "shackle", of=3)) == ()


def test_stripes_asked_before_the_first_reading_change_nothing(job):
    job.decide("stripes", "hub", of=4)

    assert job.made == [()]


def test_a_word_about_a_reading_that_is_not_placed_gives_none(job):
    seq = job.read("100")

    assert job.matcher.match_said(job.state, Decided("1", "not this job", reading=seq)) == ()


def test_all_stripes_seen_make_the_count_surer_and_that_is_recorded_after_it(job):
    job.pulls("100", "100", "100")
    job.pull("100", 1.5)
    before = job.p_of("hub")
    said = job.say("stripes", "hub", count=4, of=4)
    job._keep(job.matcher.match_said(job.state, job.state.decisions[-1][1]))

    assert job.p_of("hub") > before
    assert job.state.counted["hub", 1][0] > said


@pytest.mark.parametrize("pauses", [(8, 8, 8, 8), (20, 20, 8, 20), (8, 1, 8, 8), (8, 8, 8, 1)], ids=str)
def test_not_all_stripes_seen_make_the_count_less_sure_and_a_fastener_is_expected_again(job, pauses):
    for pause_s in pauses:
        job.pull("100", pause_s)
    before = job.p_of("hub")
    job.decide("stripes", "hub", of=4)

    assert job.p_of("hub") <= min(before, 0.9)
    assert not job.joint("hub").all_done
    assert expected(job)[0] == "hub"
    # The one that was missed is pulled, and then it is whole.
    job.pull("100", 15)
    assert job.joint("hub").all_done
    job.decide("stripes", "hub", count=4, of=4)
    assert job.p_of("hub") > 0.9


@pytest.mark.parametrize("pause_s", [8, 60])
def test_after_a_joint_was_opened_every_stage_is_expected_and_matched_again(new_live, pause_s):
    job = new_live(STAGED)
    job.pulls("50", "51", "49", "50", "100", "101", "99", "100")
    job.decide("opened", "hub")
    assert expected(job) == ("hub", 1, 1)
    assert job.p_of("hub", 2) < 0.5
    job.pull("50", pause_s)
    job.pulls("50", "50", "50", "100", "100", "100", "100")

    assert job.places()[8:] == [("tightening", "hub", stage, at) for stage in (1, 2) for _, at in HUB]
    assert min(job.p_of("hub", 1), job.p_of("hub", 2)) > 0.9
    assert expected(job) == ("shackle", 1, 1)


@pytest.mark.parametrize("later", [False, True], ids=["at-once", "after-the-next-joint"])
@pytest.mark.parametrize("position", [1, 2])
def test_after_one_fastener_was_opened_that_one_is_expected_and_matched_again(job, later, position):
    hub_done(job)
    if later:
        job.pull("60", 60)
        job.pulls("60", "60")
    job.decide("opened", "hub", position)
    again = job.pull("100", 30)

    assert (again.match.kind, again.match.joint, again.match.position) == ("tightening", "hub", position)
    assert job.joint("hub").all_done


def test_who_names_the_next_joint_makes_the_other_alike_one_less_sure(new_live):
    plan = PLAN + "  - {id: cover, name: Cover bolts, fasteners: 2, torque: 30}\n"
    plain, named = new_live(plan), new_live(plan)
    for job in (plain, named):
        hub_done(job)
        job.pull("60", 60)
        job.pulls("60", "60")
    named.decide("other joint", "cover")
    for job in (plain, named):
        job.pull("30", 60)

    assert where(plain)[-1] == ("plate", 1)
    assert where(named)[-1] == ("cover", 1) or p_of(named.state.last_pull) < p_of(plain.state.last_pull) - 0.2


def test_after_a_gap_in_the_link_a_pause_says_nothing(new_live):
    told, lost = new_live(PLAN), new_live(PLAN)
    for job in (told, lost):
        job.pulls("100", "100", "100")
    lost.lose_link("hub")
    for job in (told, lost):
        job.pull("100", 1)

    assert told.p_of("hub") < lost.p_of("hub"), "a click a second later is a second one, but nobody knows when this one came"
    assert lost.joint("hub").gap_seq is not None


# Another plan, and another run.


def test_a_joint_that_a_revision_takes_out_takes_no_reading_any_more(job):
    hub_done(job)
    job.pull("60", 60)
    job.pulls("60", "60")
    job.change("".join(line for line in PLAN.replace('"1"', '"2"').splitlines(True) if "shackle" not in line))
    job.pull("30", 60)
    job.pull("30")

    assert where(job) == HUB + SHACKLE + PLATE, "what was pulled there stays there, and is no stray now"
    assert expected(job) is None


def test_a_joint_that_a_revision_makes_bigger_goes_on(job):
    hub_done(job)
    job.change(PLAN.replace('"1"', '"2"').replace("fasteners: 4", "fasteners: 6").replace(", order: cross", ""))
    job.pulls("100", "100")

    assert [joint for joint, _ in where(job)] == ["hub"] * 6
    assert job.joint("hub").joint.fasteners == 6


def test_a_band_that_a_revision_moves_is_the_one_that_counts(job):
    job.pulls("100", "85")
    assert job.state.last_pull.verdict == "under"
    job.change(PLAN.replace('"1"', '"2"').replace("torque: 100", "torque: 85"))
    job.pulls("85", "85", "85", "85")

    assert [pull.verdict for pull in list(job.state.pulls.values())[2:]] == ["in band"] * 4
    assert {joint for joint, _ in where(job)[2:]} == {"hub"}


BIG = PLAN.replace("fasteners: 4, torque: 100, order: cross", "fasteners: 24, torque: 100")


def test_a_joint_bigger_than_what_is_looked_at_is_gone_through_to_its_end(new_live):
    job = new_live(BIG)
    job.pulls(*["100"] * 20)
    job.resume()
    job.pulls(*["100"] * 4)

    assert where(job) == [("hub", n) for n in range(1, 25)]
    assert job.joint("hub").all_done


def test_going_through_the_record_again_names_the_readings_that_are_placed_otherwise(job):
    assert job.matcher.differing(job.state) == []
    clean_day(job)
    assert job.matcher.differing(job.state) == []
    wrong = new_order(type(job), ["100", "100", "60", "60", "60", "100", "100", "30", "30"])

    assert {3, 4, 5} <= set(Probable(habits_of(None)).differing(wrong.state)) <= set(range(3, 10))


def new_order(new_live, torques):
    """A day that was matched by order alone."""
    job = new_live(PLAN)
    job.matcher = InOrder()
    for torque in torques:
        job.pull(torque)
    return job


def test_a_reading_that_was_never_placed_differs_from_nothing(job):
    job.read("100")
    job.read("30")

    assert job.matcher.differing(job.state) == []


# Whole made-up days, with words thrown in. Two matchers on one record see the same; what a person made certain stays.

ACTS = ("opened", "opened all", "other", "same again", "not this job", "lost", "declared", "yes", "no", "replaced")


def act(job, what, rng):
    last = job.state.last_pull
    match = last.match
    joint = match.joint or rng.choice(list(job.state.joints))
    state = job.joint(joint)
    match_position = match.position or 1
    match what:
        case "opened" | "replaced":
            job.decide(what, joint, match_position)
        case "opened all":
            job.decide("opened", joint)
        case "other":
            job.decide("other joint", rng.choice(list(job.state.joints)))
        case "same again" | "not this job" if last.verdict != "over":
            # As with the keys: a word that changes nothing is not recorded.
            if job.matcher.match_said(job.state, Decided("1", what, reading=last.seq)):
                job.decide(what, reading=last.seq)
        case "lost":
            job.lose_link(job.state.joint_in_hand)
        case "declared":
            job.decide("declared", joint, rng.randint(1, state.joint.fasteners))
        case "yes" | "no" if state.all_done:
            job.decide("stripes", joint, count=state.to_see if what == "yes" else None, of=state.to_see)


def place_of(match):
    return match.joint, match.stage, match.position


def where_kind(match):
    return match.kind, *place_of(match)


def certain(job, held):
    """The matches that persons have made certain: of a joint counted whole, of a reading spoken of, till they say otherwise."""
    decided = job.state.decisions[-1][1] if job.state.decisions else Decided("1", "")
    if decided.said in ("same again", "not this job"):
        return held | {decided.reading: job.state.pulls[decided.reading].match}
    if decided.said != "stripes":
        return held
    own = {pull.seq: pull.match for pull in job.state.pulls.values() if pull.match.joint == decided.joint}
    if decided.count is not None:
        return held | own
    return {seq: match for seq, match in held.items() if match.joint != decided.joint}


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("shop", ["usual", "rough"])
def test_on_any_day_a_new_run_sees_the_same_and_no_reading_is_revised_more_than_is_allowed(new_live, shop, seed):
    day, rng = live_day(shop, seed, angle=seed % 2 == 0, times=True), random.Random(seed)
    job, held, at_s = new_live(day.plan), {}, 0.0
    checks = set(rng.sample(range(len(day.readings)), 4))
    for n, reading in enumerate(day.readings):
        job.at_s, at_s = job.at_s + max(reading.at_s - at_s, 0.0), reading.at_s
        pull = job.state.pulls[job.read(reading.torque, wrench=reading.wrench, angle_deg=reading.angle)]
        other = Probable(habits_of(None))
        again = other.match_reading(job.state, pull) if n in checks else None
        found = job.matcher.match_reading(job.state, pull)
        assert again is None or [where_kind(one) for one in again] == [where_kind(found[-1])], "a run that begins here, the same"
        assert again is None or float(again[-1].p) == pytest.approx(float(found[-1].p), abs=0.1)
        job._keep(found)
        assert again is None or other.differing(job.state) == job.matcher.differing(job.state)
        if rng.random() < 0.15:
            act(job, rng.choice(ACTS), rng)
            held = certain(job, held)

    revised = [body.reading for _, body in job.entries if body.KIND == "match" and body.reason == REVISED]
    assert max(map(revised.count, revised), default=0) <= 3
    # That a pull was continued is told by the one that continues it; where it was stays.
    assert not [seq for seq, match in held.items() if place_of(job.state.pulls[seq].match) != place_of(match)]
    for pull in job.state.pulls.values():
        matches = [body for _, body in job.entries if body.KIND == "match" and body.reading == pull.seq]
        was_over = [match.verdict == "over" for match in matches]
        assert not any(was_over) or all(was_over[was_over.index(True) :])


def test_the_flow_takes_presses_and_gaps_with_this_matcher(floor, recorder):
    bench = floor.bench(recorder)
    bench.matcher = Probable(habits_of(None))
    lost = LinkChange("serial:/dev/bench", Link.LOST, floor.clock.now(), 2, "cable out")
    pulls = [floor.pull(torque) for torque in (50, 50, 100, 100, 100)]
    screen = floor.run(bench, *pulls[:3], lost, pulls[3], Press(PressWord.SAME_AGAIN), pulls[4])

    assert screen.readings == 5
    assert {pull.match.joint for pull in bench.job.pulls.values()} == {"clamp"}
    assert [pull.match.kind for pull in bench.job.pulls.values()][3] == "repeat"
    assert flag_match(bench.job.last_pull.match, bench.job)[-1].verdict == "in band"
