"""The plan's order as the only clue: which fastener is next, where a pull belongs, and that nothing missed is ever complete."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collector.expect.ask import expect_answer
from collector.expect.in_order import InOrder, last_touched
from collector.flag import flag_match
from schemas import database as db
from schemas.bodies import Decided, PlanChanged
from schemas.screen import AskWord

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 6
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, stages: [50, 100], order: cross}
  - {id: shackle, name: Shackle bolts, fasteners: 1, torque: 60}
"""
MATCHER = InOrder()


@pytest.fixture(name="job")
def _job(new_job):
    return new_job(PLAN)


def expected(job):
    target = MATCHER.expect_next(job.state)
    return None if target is None else (target.joint.id, target.stage.number, target.position)


def pull(job, torque, **more):
    """A reading taken as the flow takes it; gives the kind and the place that it was matched to."""
    reading = job.read(torque, **more)
    for match in MATCHER.match_reading(job.state, job.state.pulls[reading]):
        for flagged in flag_match(match, job.state):
            job.put(flagged)
    match = job.state.pulls[reading].match
    return match.kind, match.joint, match.stage, match.position


def say(job, said):
    decided = Decided("1", said, reading=job.state.last_pull.seq)
    matches = MATCHER.match_said(job.state, decided)
    for match in matches:
        for flagged in flag_match(match, job.state):
            job.put(flagged)
    return matches


ROUND = [("hub", stage, position) for stage in (1, 2) for position in (1, 3, 2, 4)]
TORQUE = {1: "50", 2: "100"}


def test_a_joint_is_gone_through_stage_by_stage_in_the_order_of_its_pattern_and_then_the_next(job):
    for spot in ROUND:
        assert expected(job) == spot
        assert pull(job, TORQUE[spot[1]]) == ("tightening", *spot)

    assert expected(job) == ("shackle", 1, 1)
    assert pull(job, "60") == ("tightening", "shackle", 1, 1)
    assert expected(job) is None


def test_a_match_says_that_it_rests_on_the_order_alone(job):
    pull(job, "50", simulated=1)

    match = job.state.last_pull.match
    assert (match.p, match.position_by, match.reason, match.simulated) == (None, "order", "matched by order only", 1)


def test_rule_3_an_under_pull_is_expected_again_and_an_in_band_or_over_one_is_not(job):
    pull(job, "30")
    assert expected(job) == ("hub", 1, 1)
    assert pull(job, "50") == ("tightening", "hub", 1, 1)
    assert expected(job) == ("hub", 1, 3)

    assert pull(job, "140") == ("tightening", "hub", 1, 3)
    assert expected(job) == ("hub", 1, 2), "an over-pull is not pulled again before it was opened"


def test_rule_6_what_was_opened_is_expected_again_at_every_stage(job):
    for _, stage, _ in ROUND:
        pull(job, TORQUE[stage])
    job.say("opened", "hub", 3)

    assert expected(job) == ("hub", 1, 3)
    pull(job, "50")
    assert expected(job) == ("hub", 2, 3)
    pull(job, "100")
    assert expected(job) == ("shackle", 1, 1)


def test_rule_10_another_joint_may_be_taken_and_what_was_left_is_come_back_to(job):
    pull(job, "50")
    job.say("other joint", "shackle")
    assert expected(job) == ("shackle", 1, 1)

    pull(job, "60")

    assert expected(job) == ("hub", 1, 3)


def test_a_reading_above_the_range_of_the_tool_belongs_to_the_fastener_expected(job):
    assert pull(job, None, over_range=1) == ("tightening", "hub", 1, 1)
    assert job.state.last_pull.verdict == "over"


def test_a_pull_when_every_fastener_is_done_belongs_to_none(job):
    for _, stage, _ in ROUND:
        pull(job, TORQUE[stage])
    pull(job, "60")

    assert pull(job, "60") == ("stray", None, None, None)
    assert job.state.last_pull.match.reason == "every fastener of the plan was done already"
    assert job.state.last_pull.verdict is None


# Rule 6: against the tightening direction.


def test_rule_6_a_pull_against_the_tightening_direction_reopens_the_fastener_touched_last(job):
    pull(job, "50")
    pull(job, "50")

    assert pull(job, "-40") == ("loosening", "hub", 1, 3)
    assert job.state.last_pull.verdict is None
    assert expected(job) == ("hub", 1, 3)


def test_rule_6_a_loosening_before_anything_was_tightened_belongs_to_no_joint(job):
    assert pull(job, "-40") == ("stray", None, None, None)
    assert job.state.last_pull.match.reason == "a loosening before anything was tightened"
    assert expected(job) == ("hub", 1, 1)


def test_nothing_and_a_hair_above_are_no_loosening(job):
    assert pull(job, "0")[0] == "tightening"
    assert pull(job, "-0")[0] == "tightening", "a minus before nought has no direction"


# What a person says of the last pull.


def test_same_again_makes_the_last_pull_a_repeat_on_the_fastener_before_it(job):
    pull(job, "50")
    pull(job, "51")

    (match,) = say(job, "same again")

    assert (match.kind, match.joint, match.stage, match.position) == ("repeat", "hub", 1, 1)
    assert match.revises == 6
    assert expected(job) == ("hub", 1, 3), "the fastener that it was first counted to is open again"


def test_rule_4_an_over_pull_said_to_be_a_repeat_fails_the_fastener_that_it_was_really_on(job):
    pull(job, "50")
    pull(job, "140")

    say(job, "same again")

    assert job.joint("hub").proof(1)[0] == "failed"
    assert job.joint("hub").proof(3)[0] == "missed"
    assert job.state.last_pull.verdict == "over"


def test_not_this_job_makes_the_last_pull_a_stray(job):
    pull(job, "50")

    (match,) = say(job, "not this job")

    assert (match.kind, match.joint, match.verdict, match.reason) == ("stray", None, None, "the fitter said: not this job")
    assert expected(job) == ("hub", 1, 1)
    assert job.state.strays == 1


@pytest.mark.parametrize(
    ("torques", "said"),
    [
        pytest.param(["50"], "same again", id="nothing-before-it"),
        pytest.param(["50", "50"], "opened", id="a-word-about-something-else"),
        pytest.param(["-40"], "not this job", id="it-belongs-nowhere-already"),
    ],
)
def test_a_word_that_changes_no_match_gives_none(job, torques, said):
    for torque in torques:
        pull(job, torque)

    assert say(job, said) == ()


@pytest.mark.parametrize("reading", [None, 99])
def test_a_word_about_no_reading_gives_no_match(job, reading):
    assert MATCHER.match_said(job.state, Decided("1", "same again", reading=reading)) == ()


def test_a_word_about_a_reading_that_was_not_matched_gives_no_match(job):
    reading = job.read("50")

    assert MATCHER.match_said(job.state, Decided("1", "not this job", reading=reading)) == ()


def test_the_fastener_touched_last_is_the_one_of_the_last_reading_that_belongs_here(job):
    assert last_touched(job.state) is None
    pull(job, "50")
    second = job.read("50")

    assert last_touched(job.state).position == 1, "a reading that is not matched yet touched nothing"
    assert last_touched(job.state, before=second).position == 1
    assert last_touched(job.state, before=3) is None


# Rule 2, over whole days: random pulls and presses on the plan that all tests share (two hub nuts in two stages, two
# shackle bolts after a hold point). What has to hold is worked out here from the torques alone.

EDGES = {("hub", 1): ("45", "90"), ("hub", 2): ("90", "110"), ("shackle", 1): ("54", "66")}
STAGES = {"hub": (1, 2), "shackle": (1,)}
GOOD = {("hub", 1): "50", ("hub", 2): "100", ("shackle", 1): "60"}
ACTS = st.one_of(
    st.just("good"),
    st.just("answer"),
    st.sampled_from(["0", "30", "45", "60", "89.99", "90", "100", "110", "110.01", "140", "-40", "above"]),
    st.sampled_from(["no", "opened", "opened all", "inspected", "same again", "not this job", "other", "lost", "passed over"]),
)


def act(job, what):
    touched = last_touched(job.state)
    match what:
        case "good":
            spot = expected(job)
            pull(job, GOOD[spot[:2]] if spot else "100")
        case "answer" | "no":
            answer(job, yes=what == "answer")
        case "opened" | "inspected" if touched is not None:
            job.say(what, touched.joint, touched.position)
        case "opened all" if touched is not None:
            job.say("opened", touched.joint)
        case "same again" | "not this job" if job.state.last_pull is not None:
            say(job, what)
        case "other":
            job.say("other joint", "shackle" if job.state.in_hand == "hub" else "hub")
        case "lost":
            job.link("lost", job.state.joint_in_hand)
        case "passed over":
            pull(job, "100", sequence=9, missing="7-8")
        case "above":
            pull(job, None, over_range=1)
        case torque if torque[-1].isdigit():
            pull(job, torque)


def answer(job, *, yes):
    ask = expect_answer(job.state, MATCHER.expect_next(job.state))
    if ask is None:
        return
    if ask.word is AskWord.STRIPES:
        job.say("stripes", ask.joint, count=ask.of if yes else 0, of=ask.of)
    elif yes:
        job.sign(ask.hold_point)


def in_band(pull, joint, stage):
    low, high = (Decimal(edge) for edge in EDGES[joint, stage])
    torque = Decimal(pull.reading.torque_nm or "Infinity")
    return low <= torque and (torque <= high if stage == len(STAGES[joint]) else torque < high)


def spoilt(job, joint, position, after):
    """The pulls over an edge that came on a fastener after that entry, of whatever kind."""
    return [
        pull
        for pull in job.state.pulls.values()
        if pull.seq > after and (pull.match.joint, pull.match.position) == (joint, position) and pull.verdict == "over"
    ]


def check_complete(job):
    """Every fastener has an in-band pull of every stage, in order, counted to it alone and after its last opening."""
    counted = {"hub": [], "shackle": []}
    for joint, stages in STAGES.items():
        for position in (1, 2):
            rows = [job.stored["tightening", ("1", joint, position, stage)] for stage in stages]
            seqs = [row[db.TIGHTENING.names.index("reading")] for row in rows]
            assert None not in seqs, "a fastener was missed"
            assert seqs == sorted(seqs)
            assert all(in_band(job.state.pulls[seq], joint, stage) for seq, stage in zip(seqs, stages, strict=True))
            opened = [
                at.seq for at, said in job.state.decisions
                if said.said == "opened" and said.joint == joint and said.position in (None, position)
            ]  # fmt: skip
            assert seqs[0] > max(opened, default=0)
            assert not spoilt(job, joint, position, seqs[0])
            counted[joint] += seqs
        stripes = [at.seq for at, said in job.state.decisions if (said.said, said.joint, said.count) == ("stripes", joint, 2)]
        assert max(stripes) > max(counted[joint]), "the stripes were seen after the last pull"
        assert max(stripes) > max((at.seq for at, link in job.state.links if link.joint == joint), default=0)
    assert len({*counted["hub"], *counted["shackle"]}) == 6
    signed = job.state.hold_points["ride-height"].at.seq
    assert signed < min(counted["shackle"]), "the shackles were torqued after the hold point was signed"
    assert not job.state.missing


@settings(max_examples=400, deadline=None)
@given(st.lists(ACTS, max_size=8), st.randoms(use_true_random=False))
def test_rule_2_never_complete_when_a_fastener_was_missed(new_job, acts, random):
    # A day that ends well, with trouble thrown in.
    day = ["good"] * 4 + ["answer"] * 2 + ["good"] * 2 + ["answer"]
    for trouble in acts:
        day.insert(random.randint(0, len(day)), trouble)
    day += ["good", "answer"] * random.randint(0, 6)
    job = new_job()
    for what in day:
        act(job, what)

        if job.stored["job", ("1",)][db.JOB.names.index("complete")]:
            check_complete(job)


def test_a_day_without_trouble_ends_complete(new_job):
    job = new_job()
    for what in ["good"] * 4 + ["answer"] * 2 + ["good"] * 2 + ["answer"]:
        assert not job.stored["job", ("1",)][db.JOB.names.index("complete")]
        act(job, what)

    assert job.stored["job", ("1",)][db.JOB.names.index("complete")]
    check_complete(job)


# The whole plan language.


SPECIAL = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 6
unit: N·m
tolerance: 10 %
joints:
  - {id: nuts, name: Hub nuts, fasteners: 4, torque: 100, stages: [50, 100], order: cross, start: [1, 3]}
  - {id: arm, name: Arm bolts, fasteners: 2, torque: 60, hand: left}
  - {id: head, name: Head bolts, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10}
  - {id: guard, name: Guard, fasteners: 1, torque: not stated}
  - {id: cap, name: Cap, fasteners: 1, torque: 100, adapter: {length: 100 mm, angle: 0}}
steps:
  - torque: nuts
  - torque: [arm, guard]
  - torque: head
  - recheck: [arm, nuts]
  - torque: cap
"""


@pytest.fixture(name="special")
def _special(new_job):
    return new_job(SPECIAL)


def test_each_round_begins_where_the_plan_says(special):
    seen = [pull(special, torque)[2:] for torque in ["50"] * 4 + ["100"] * 4]

    assert seen == [(1, 1), (1, 3), (1, 2), (1, 4), (2, 3), (2, 1), (2, 4), (2, 2)]


def test_after_every_torque_comes_what_is_checked_again_in_the_plan_s_order(special):
    seen = [pull(special, torque)[1:3] for torque in ["50"] * 4 + ["100"] * 4 + ["-60"] * 2 + ["80"] * 2]
    seen += [pull(special, "90", angle_deg="90")[1:3] for _ in range(2)]
    seen += [pull(special, torque)[1:3] for torque in ["-60"] * 2 + ["100"] * 4]

    assert seen == [
        *[("nuts", 1)] * 4, *[("nuts", 2)] * 4, *[("arm", 1)] * 2, *[("head", 1)] * 2, *[("head", 2)] * 2,
        *[("arm", 2)] * 2, *[("nuts", 3)] * 4,
    ]  # fmt: skip


def test_a_fastener_that_was_missed_is_not_checked_before_it_is_tightened(special):
    for torque in ["50"] * 4 + ["100"] * 3:
        pull(special, torque)
    special.say("other joint", "arm")
    pull(special, "-60")
    special.say("other joint", "head")
    assert expected(special) == ("head", 1, 1)
    for turn in (None, None, "90", "90"):
        pull(special, "80", angle_deg=turn)

    assert expected(special) == ("arm", 2, 1)
    pull(special, "-60")
    assert expected(special) == ("arm", 1, 2), "what was missed is tightened before it is checked"


@pytest.mark.parametrize("said", ["declared", "not fitted"])
def test_of_a_fastener_that_a_person_answers_for_nothing_is_expected(special, said):
    special.say(said, "nuts", 1)

    assert expected(special) == ("nuts", 1, 3)


def test_what_was_turned_by_hand_is_not_waited_for(special):
    special.say("other joint", "head")
    for _ in range(2):
        pull(special, "80")
    assert expected(special) == ("head", 2, 1)

    special.say("declared", "head", step=3)

    assert expected(special)[0] != "head"


# Left-hand threads: the sign of the torque is the direction, and tightening is the other way round.


def test_a_pull_to_the_left_tightens_a_left_hand_thread(special):
    special.say("other joint", "arm")

    assert pull(special, "-60") == ("tightening", "arm", 1, 1)
    assert special.state.last_pull.verdict == "in band"


def test_a_pull_to_the_right_on_a_left_hand_thread_counts_in_doubt(special):
    special.say("other joint", "arm")
    for _ in range(2):
        assert pull(special, "60")[0] == "tightening"
    special.stripes("arm")

    assert "a left-hand thread, and the wrench sent no direction" in special.proofs("arm")[0][1]


def test_a_pull_to_the_left_loosens_the_next_fastener_s_right_hand_thread(special):
    special.say("other joint", "arm")
    for _ in range(2):
        pull(special, "-60")

    assert expected(special)[0] == "head"
    assert pull(special, "-60")[:2] == ("loosening", "arm")


DONE = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 6
unit: N·m
tolerance: 10 %
joints:
  - {id: nut, name: Nut, fasteners: 1, torque: 100, MORE}
"""


@pytest.mark.parametrize(
    ("more", "torque", "then", "place"),
    [
        pytest.param("hand: left", "-100", "-100", ("stray", None), id="left-hand-thread-again"),
        pytest.param("hand: left", "-100", "-120", ("recheck", "nut"), id="left-hand-thread-over"),
        pytest.param("hand: right", "100", "-100", ("loosening", "nut"), id="right-hand-thread-loosened"),
        pytest.param("adapter: {length: 100 mm, angle: 0}", "80", "89", ("recheck", "nut"), id="over-through-an-adapter"),
        pytest.param("adapter: {length: 100 mm, angle: 0}", "80", "87", ("stray", None), id="in-band-through-an-adapter"),
    ],
)
def test_a_pull_when_all_is_done_is_held_against_the_band_that_the_wrench_shows(new_job, more, torque, then, place):
    job = new_job(DONE.replace("MORE", more))
    pull(job, torque, length_mm="400")

    assert pull(job, then, length_mm="400")[:2] == place


def test_a_pull_when_all_is_done_by_a_wrench_of_unknown_length_is_held_against_nothing(new_job):
    job = new_job(DONE.replace("MORE", "adapter: {length: 100 mm, angle: 0}"))
    pull(job, "80")

    assert pull(job, "200")[0] == "stray"


# Not all stripes seen, where the last pull is that of an angle.


def test_one_stripe_fewer_takes_back_the_last_angle_that_a_wrench_sent(special):
    special.say("other joint", "head")
    for turn in (None, None, "90", "90"):
        pull(special, "80", angle_deg=turn)
    special.say("stripes", "head", of=2)

    (match,) = MATCHER.match_said(special.state, special.state.decisions[-1][1])

    assert (special.state.pulls[match.reading].n, match.kind, match.stage, match.position) == (4, "repeat", 2, 1)


def test_one_stripe_fewer_takes_back_the_last_torque_where_the_angle_was_declared(special):
    special.say("other joint", "head")
    for _ in range(2):
        pull(special, "80")
    special.say("declared", "head", step=3)
    special.say("stripes", "head", of=2)

    (match,) = MATCHER.match_said(special.state, special.state.decisions[-1][1])

    assert (special.state.pulls[match.reading].n, match.kind, match.stage, match.position) == (2, "repeat", 1, 1)
    special.put(match)
    assert expected(special) == ("head", 1, 2)
    pull(special, "80")
    assert special.joint("head").fasteners[1].turned is None, "it was not turned after this torque"


# What a later revision of the plan took out.


def change(job, *edits):
    text = SPECIAL.replace('revision: "1"', 'revision: "2"')
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    job.put(PlanChanged("1", job.keep_plan(text), "revised"))


NUTS = "fasteners: 4, torque: 100, stages: [50, 100], order: cross, start: [1, 3]"


@pytest.mark.parametrize(
    ("edits", "following"),
    [
        pytest.param([(NUTS, "fasteners: 1, torque: 100")], ("nuts", 1, 1), id="fasteners-and-stage"),
        pytest.param([(NUTS, "fasteners: 4, torque: not stated"), ("[arm, nuts]", "arm")], ("arm", 1, 1), id="torque"),
        pytest.param(
            [("nuts,", "nots,"), ("torque: nuts", "torque: nots"), (", nuts]", ", nots]")], ("nots", 1, 1), id="joint"
        ),
    ],
)
def test_a_pull_is_held_against_no_fastener_that_the_plan_has_no_more(special, edits, following):
    for _ in range(3):
        pull(special, "50")
    change(special, *edits)
    assert last_touched(special.state) is None
    assert say(special, "same again") == ()

    # To the left it tightens the arm bolts and could only loosen the others.
    assert pull(special, "-60")[:2] == (("tightening", "arm") if following[0] == "arm" else ("stray", None))
    assert pull(special, "-60" if following[0] == "arm" else "100")[:2] == ("tightening", following[0])


def test_what_a_person_says_of_a_loosening_or_of_an_over_pull_takes_neither_back(job):
    pull(job, "50")
    pull(job, "-40")
    assert say(job, "same again") == say(job, "not this job") == ()

    for torque in ("50", "50", "50", "50", "100", "100", "100", "140"):
        pull(job, torque)
    job.say("stripes", "hub", of=4)

    assert MATCHER.match_said(job.state, job.state.decisions[-1][1]) == ()
