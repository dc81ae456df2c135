"""All readings of a job at once, with what persons said in between: left out, held, weighed, or begun anew."""

import pytest

from collector.expect.beam import Beam, Effort
from collector.expect.habits import USUAL
from collector.expect.own import Own
from collector.expect.places import places_of
from collector.expect.smooth import Placed
from collector.expect.smooth_job import _as_copy, answered_for, openings, smooth_job, tell
from schemas.bodies import Decided, MatchKept
from schemas.words import Kind
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, order: cross}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 30}
  - {id: cover, name: Cover bolts, fasteners: 2, torque: 30}
"""
UNSTATED = PLAN[: PLAN.index("joints:")] + "joints:\n  - {id: pin, name: Pin, fasteners: 1, torque: not stated}\n"
DAY = ("100", "101", "99", "100.5", "30", "30.2", "29.9", "30.1")
WHERE = [("hub", 1), ("hub", 3), ("hub", 2), ("hub", 4), ("plate", 1), ("plate", 2), ("cover", 1), ("cover", 2)]


@pytest.fixture(name="job")
def _job(new_live):
    return new_live(PLAN)


def read(job, *torques, after_s=8.0):
    """Readings that nobody has placed yet, a minute between joints; gives their entries."""
    seqs = []
    for n, torque in enumerate(torques):
        job.at_s += 60.0 if torques == DAY and n in (4, 6) else after_s
        seqs.append(job.read(torque))
    return seqs


def where(job):
    return [(one.joint, one.position) for one in smooth_job(job.state, USUAL).placed.values()]


def kinds(job):
    return [str(one.kind) for one in smooth_job(job.state, USUAL).placed.values()]


def test_a_clean_day_is_placed_reading_by_reading_and_every_place_is_nearly_sure(job):
    read(job, *DAY)

    answer = smooth_job(job.state, USUAL)

    assert where(job) == WHERE
    assert kinds(job) == ["tightening"] * 8
    assert set(answer.p_places) == {("hub", 1), ("plate", 1), ("cover", 1)}
    assert min(*answer.p_places.values(), answer.p_complete) > 0.9
    assert answer.p_complete <= min(answer.p_places.values())


def test_without_a_reading_nothing_is_complete(job):
    answer = smooth_job(job.state, USUAL)

    assert (answer.placed, answer.p_places, answer.p_complete) == ({}, {}, 0.0)


def test_a_plan_without_a_stated_torque_waits_for_no_reading(new_live):
    job = new_live(UNSTATED)
    read(job, "100")

    answer = smooth_job(job.state, USUAL)

    assert (answer.placed, answer.p_places, answer.p_complete) == ({}, {}, 1.0)


@pytest.mark.parametrize("said", ["same again", "not this job"])
def test_what_a_person_has_placed_is_left_out_and_the_others_close_up(job, said):
    seqs = read(job, *DAY[:2], "100", *DAY[2:])
    job.say(said, reading=seqs[2])

    answer = smooth_job(job.state, USUAL)

    assert seqs[2] not in answer.placed
    assert where(job) == WHERE


def test_what_a_person_has_counted_stays_where_it_was(job):
    seqs = read(job, *DAY[:4], "30", "30")
    for seq, position in zip(seqs[4:], (1, 2), strict=True):
        job.put(MatchKept("1", seq, "tightening", "by torque", "cover", 1, position, verdict="in band", p="0.6"))
    assert where(job)[4:] == [("plate", 1), ("plate", 2)], "the plan's order speaks for the plate"
    job.stripes("cover")

    assert where(job)[4:] == [("cover", 1), ("cover", 2)]


def test_a_reading_on_a_fastener_that_a_person_spoke_of_holds_where_it_was(job):
    *_, seq = read(job, *DAY[:4], "30")
    job.put(MatchKept("1", seq, "tightening", "by torque", "cover", 1, 1, verdict="in band", p="0.6"))
    assert where(job)[4] == ("plate", 1)
    job.say("inspected", "cover", 1)

    assert where(job)[4] == ("cover", 1)


def test_an_opened_joint_is_tightened_again_and_not_gone_over(job):
    read(job, *DAY[:4])
    job.say("opened", "hub")
    read(job, *DAY)

    assert where(job) == WHERE[:4] + WHERE
    assert kinds(job) == ["tightening"] * 12
    assert smooth_job(job.state, USUAL).p_complete > 0.9


def test_one_opened_fastener_is_the_next_to_be_tightened(job):
    read(job, *DAY)
    job.say("replaced", "hub", 2)
    read(job, "100", after_s=60)

    assert where(job)[-1] == ("hub", 2)
    assert kinds(job)[-1] == "tightening"


def test_what_was_opened_last_and_not_done_again_is_not_whole(job):
    read(job, *DAY)
    job.say("opened", "hub", 2)

    answer = smooth_job(job.state, USUAL)

    assert where(job) == WHERE
    assert answer.p_places["hub", 1] < 0.1
    assert answer.p_places["plate", 1] > 0.9


def test_stripes_that_are_all_there_make_a_joint_surer_and_others_less(job):
    read(job, *DAY[:3], "100", *DAY[4:])
    plain = smooth_job(job.state, USUAL).p_places["hub", 1]
    job.stripes("plate", 2)
    job.say("stripes", "hub", count=4, of=4)
    yes = smooth_job(job.state, USUAL).p_places["hub", 1]
    job.say("stripes", "hub", count=3, of=4)
    job.say("stripes", "hub", count=3, of=4)
    no = smooth_job(job.state, USUAL).p_places["hub", 1]

    assert no < plain < yes


def test_a_pull_that_missing_stripes_took_back_counts_no_more(job):
    *_, last = job.pulls(*DAY[:3], "100")
    job.put(Decided("1", "stripes", "hub", of=4))
    place = ("hub", 1, 2, "order", "in band")
    job.put(MatchKept("1", last.seq, "repeat", "the fitter said", *place, revises=last.match_seq))
    seq = last.seq
    read(job, "100")

    answer = smooth_job(job.state, USUAL)

    assert seq not in answer.placed
    assert where(job) == WHERE[:4]


def test_for_what_a_person_answers_no_pull_is_waited_for(job):
    job.say("declared", "hub", 3)
    job.say("not fitted", "plate")
    assert answered_for(job.state) == {"hub": {3}, "plate": {1, 2}, "cover": set()}
    read(job, *DAY[:3], "30", "30")

    assert where(job) == [("hub", 1), ("hub", 2), ("hub", 4), ("cover", 1), ("cover", 2)]
    assert smooth_job(job.state, USUAL).p_complete > 0.9


def test_openings_are_told_by_how_many_readings_came_before_them(job):
    rows = read(job, "100", "100")
    job.say("opened", "hub", 3)
    job.say("opened", "plate", 1)
    rows += read(job, "100")
    job.say("replaced", "hub")
    job.say("inspected", "hub", 1)

    assert openings(job.state, "hub", 1, rows) == {2: [3], 3: [None]}
    assert openings(job.state, "cover", 1, rows) == {}


@pytest.mark.parametrize("said", ["inspected", "other joint", "prepared"])
def test_words_that_count_nothing_change_nothing(job, said):
    read(job, *DAY)
    before = smooth_job(job.state, USUAL)
    job.say(said, "hub", 1)

    assert smooth_job(job.state, USUAL) == before


def test_a_word_about_no_joint_changes_no_way(job):
    beam = Beam(places_of(job.state.route), Own(USUAL), Effort(1e-3))
    nodes = list(beam.nodes)
    tell(beam, Decided("1", "stripes"))

    assert beam.nodes == nodes
    assert [node.weight for node in beam.nodes] == [1.0]


# Odd logs.


ALIKE = HEAD + """\
  - {id: left, name: Left bolts, fasteners: 3, torque: 60}
  - {id: right, name: Right bolts, fasteners: 3, torque: 60}
  - {id: rear, name: Rear bolts, fasteners: 3, torque: 60}
"""


@pytest.mark.parametrize("count", [4, 7, 8, 9, 10])
def test_joints_that_nothing_tells_apart_are_never_sure(new_live, count):
    job = new_live(ALIKE)
    for n in range(count):
        job.read("60", log=1, tool_time=None, sequence=n)

    answer = smooth_job(job.state, USUAL)

    assert answer.p_complete < 0.99
    assert count >= 9 or answer.p_complete < 0.3, "there were fewer pulls than fasteners"
    # A joint in which a fastener was left out leaves its place to the next one's first pull.
    assert all(one.p < 0.999 for one in answer.placed.values() if one.position == 1 and one.joint != "left")


@pytest.mark.parametrize(
    ("row", "kind"),
    [
        pytest.param({"torque": None, "over_range": 1}, {"tightening", "recheck", "stray"}, id="above-the-tools-range"),
        pytest.param({"torque": "-40"}, {"stray", "loosening"}, id="to-the-left"),
        pytest.param({"torque": "0"}, {"tightening", "short pull", "stray"}, id="nothing"),
        pytest.param({"torque": "100000"}, {"tightening", "recheck", "stray"}, id="out-of-all-proportion"),
        pytest.param({"torque": "0.0001"}, {"tightening", "short pull", "stray"}, id="a-hair"),
    ],
)
@pytest.mark.parametrize("before", [0, 3], ids=["alone", "after-three"])
def test_an_odd_value_is_placed_somewhere_and_makes_nothing_complete(job, row, kind, before):
    read(job, *DAY[:before])
    seq = job.read(**row)

    answer = smooth_job(job.state, USUAL)

    assert str(answer.placed[seq].kind) in kind
    assert 0.0 <= answer.placed[seq].p <= 1.0 + 1e-6
    assert answer.p_complete < 0.01


def test_one_reading_alone_is_placed_at_its_torque(job):
    read(job, "100")

    assert where(job) == [("hub", 1)]
    assert smooth_job(job.state, USUAL).p_complete < 0.01


def test_times_that_run_backwards_cost_no_reading(job):
    for n, torque in enumerate(DAY):
        job.read(torque, log=1, sequence=n, tool_time=f"2026-03-02T08:{30 - 2 * n:02d}:00+01:00")

    assert sorted(where(job), key=str) == sorted(WHERE, key=str)


def test_two_wrenches_that_work_side_by_side_are_told_apart(job):
    for hub, small in zip(DAY[:4], DAY[4:], strict=True):
        job.at_s += 4
        job.read(hub)
        job.at_s += 4
        job.read(small, wrench="W-25")

    placed = smooth_job(job.state, USUAL).placed.values()

    assert [(one.joint, one.position) for one in list(placed)[::2]] == WHERE[:4]
    # Which of two that look the same the second person begins with, nobody knows.
    first, second, third, fourth = (one.joint for one in list(placed)[1::2])
    assert first == second != third == fourth
    assert {first, third} == {"plate", "cover"}


def read_log(job, log, wrench, *rows):
    """The memory of a wrench: torques with the second of each."""
    for number, (second, torque) in enumerate(rows, 1):
        time = f"2026-03-02T08:{second // 60:02d}:{second % 60:02d}+01:00"
        job.read(torque, wrench=wrench, log=log, sequence=number, tool_time=time)


def test_two_memories_read_one_after_the_other_are_placed_as_two_people_side_by_side(new_live):
    plan = PLAN[: PLAN.index("joints:")] + "joints:\n" + "".join(
        f"  - {{id: {name}, name: Hub nuts {name}, fasteners: 4, torque: 100}}\n" for name in ("a1", "a2", "b1", "b2")
    )  # fmt: skip
    job, torques = new_live(plan), ("100", "100.5", "99.5", "101", "99", "100", "100.5", "99.5")
    for log, begin in ((1, 0), (2, 3)):
        seconds = [begin + 8 * n + 60 * (n // 4) for n in range(8)]
        read_log(job, log, f"W-{log}", *zip(seconds, torques, strict=True))

    answer = smooth_job(job.state, USUAL)

    found = [one.joint for _, one in sorted(answer.placed.items())]
    visits = [set(found[n : n + 4]) for n in range(0, 16, 4)]
    assert sorted(name for visit in visits for name in visit) == ["a1", "a2", "b1", "b2"], "each joint in one go"
    assert answer.p_complete > 0.9


ANGLE = PLAN[: PLAN.index("joints:")] + """\
joints:
  - {id: head, name: Head bolts, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10}
  - {id: pin, name: Pin, fasteners: 1, torque: not stated}
"""


def test_the_angle_after_a_torque_is_a_stage_of_its_own_and_an_unstated_torque_is_no_place(new_live):
    job = new_live(ANGLE)
    for torque, turned in (("80", "30"), ("81", "28"), ("130", "90"), ("135", "91")):
        job.at_s += 8
        job.read(torque, angle_deg=turned)

    answer = smooth_job(job.state, USUAL)

    assert [(one.joint, one.stage, one.position) for one in answer.placed.values()] == [
        ("head", 1, 1), ("head", 1, 2), ("head", 2, 1), ("head", 2, 2),
    ]  # fmt: skip
    assert set(answer.p_places) == {("head", 1), ("head", 2)}


def test_what_a_person_found_not_done_makes_its_joint_less_sure_and_comes_again(job):
    read(job, *DAY)
    before = smooth_job(job.state, USUAL).p_places["hub", 1]
    job.say("not done", "hub", 2)
    after = smooth_job(job.state, USUAL).p_places["hub", 1]
    read(job, "100", after_s=60)

    assert after < before
    assert where(job)[-1] == ("hub", 2)
    assert kinds(job)[-1] == "tightening"


@pytest.mark.parametrize("position", [None, 2], ids=["the-joint", "one-fastener"])
def test_what_is_opened_twice_with_nothing_pulled_in_between_was_opened_once(job, position):
    read(job, *DAY)
    job.say("opened", "hub", position)
    once = smooth_job(job.state, USUAL)
    job.say("opened", "hub", position)

    assert smooth_job(job.state, USUAL).p_places == once.p_places


def test_opened_again_after_it_was_pulled_is_to_be_done_again(job):
    job.pulls(*DAY[:4])
    for _ in range(2):
        job.decide("opened", "hub", 2)
        job.pull("100", 30)
    done = smooth_job(job.state, USUAL).p_places["hub", 1]
    job.decide("opened", "hub", 2)

    assert smooth_job(job.state, USUAL).p_places["hub", 1] < 0.5 < done
    assert where(job)[4:] == [("hub", 2)] * 2


def test_where_the_plan_has_the_whole_joint_done_again_one_opened_fastener_opens_it(new_live):
    whole, one = new_live(PLAN.replace("order: cross", "order: cross, reopen: joint")), new_live(PLAN)
    for job in (whole, one):
        job.pulls(*DAY[:4])
        job.decide("opened", "hub", 2)
        read(job, "100", after_s=30)

    assert smooth_job(whole.state, USUAL).p_places["hub", 1] < 0.1
    assert smooth_job(one.state, USUAL).p_places["hub", 1] > 0.5


def test_what_is_opened_already_is_not_opened_once_more_by_who_decides_on_it(job):
    read(job, *DAY)
    for said in ("opened", "replaced"):
        job.say(said, "hub", 2)
    read(job, "100", after_s=60)

    assert smooth_job(job.state, USUAL).p_places["hub", 1] > 0.9


def test_what_was_pulled_between_an_opening_and_the_decision_is_pulled_again(new_live):
    job = new_live(PLAN)
    rows = [pull.seq for pull in job.pulls(*DAY[:4])]
    job.say("opened", "hub", 2)
    rows.append(job.pull("100", 60).seq)
    job.say("replaced", "hub", 2)
    job.say("replaced", "hub", 2)

    assert openings(job.state, "hub", 1, rows) == {4: [2], 5: [2]}


def test_one_opened_fastener_opens_the_joint_where_the_plan_says_so(new_live):
    job = new_live(PLAN.replace("{id: hub,", "{id: hub, reopen: joint,"))
    rows = read(job, *DAY[:4])
    job.say("opened", "hub", 2)
    job.say("opened", "hub", 1)

    assert openings(job.state, "hub", 1, rows) == {4: [None]}
    assert smooth_job(job.state, USUAL).p_places["hub", 1] < 0.1


def test_a_loosening_on_record_opens_at_every_other_stage(job):
    rows = read(job, "100")
    seq = job.read("-40")
    job.put(MatchKept("1", seq, "loosening", "made up", "hub", 1, 2, "order"))

    assert openings(job.state, "hub", 2, rows) == {1: [2]}
    assert openings(job.state, "hub", 1, rows) == {}


def test_a_copy_lies_beside_its_original_where_a_person_has_placed_that(job):
    pulls = job.pulls("100", "100")
    placed = pulls[1]

    assert _as_copy(placed, None) == Placed("hub", 1, placed.match.position, Kind.REPEAT, 1.0)
    placed.match = None
    assert _as_copy(placed, None) == Placed(None, None, None, Kind.STRAY, 1.0)


def place(job, seqs, *places, **more):
    """Put readings on record at these joints and positions, as a person said."""
    for seq, (joint, position) in zip(seqs, places, strict=True):
        match = MatchKept("1", seq, "tightening", "a person said", joint, 1, position, "confirmed", "in band", p="0.9950")
        job.put(match)


def test_a_reading_stays_on_the_fastener_that_a_person_named_and_the_others_are_counted_around_it(job):
    seqs = read(job, *DAY)
    place(job, seqs[1:3], ("hub", 4), ("hub", 1))

    assert where(job)[:4] == [("hub", 3), ("hub", 4), ("hub", 1), ("hub", 2)]
    assert where(job)[4:] == WHERE[4:]


def test_what_looks_like_a_second_click_is_none_on_another_fastener(job):
    seqs = [*read(job, "100", "101"), *read(job, "99", after_s=0.8), *read(job, "100", "100")]
    assert kinds(job)[2] == "repeat"
    place(job, seqs[2:3], ("hub", 2))

    assert kinds(job) == ["tightening"] * 5
    assert where(job)[:4] == [("hub", 1), ("hub", 3), ("hub", 2), ("hub", 4)]


def test_a_reading_stays_at_its_joint_once_its_fastener_was_named_and_p_says_how_likely_that_is(job):
    seqs = read(job, "100", "101", "99", "100.5", "30", "30.2", "30")
    place(job, seqs[3:4], ("plate", 2))

    answer = smooth_job(job.state, USUAL)

    named = answer.placed[seqs[3]]
    assert (named.joint, named.stage, named.position, named.kind) == ("plate", 1, 2, Kind.TIGHTENING)
    assert named.p < 0.01
    assert answer.p_places["hub", 1] > 0.5, "the readings say nothing else by it"


def test_one_that_the_plan_has_no_place_for_any_more_is_placed_by_the_readings(job):
    seqs = read(job, *DAY)
    job.put(MatchKept("1", seqs[0], "tightening", "a person said", "hub", 1, 2, "confirmed", "in band"))
    for position in (1, 2, 3, 4):
        job.say("declared", "hub", position)

    assert smooth_job(job.state, USUAL).placed[seqs[0]].joint != "hub"
