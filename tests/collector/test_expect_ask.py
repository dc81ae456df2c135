"""One question at a time: the stripes of a finished joint, then hold points that stand before, then the snug round."""

from dataclasses import replace

import pytest

from collector.expect.ask import expect_answer
from collector.expect.in_order import InOrder
from schemas.bodies import JointAdded, MatchKept, Signed
from schemas.route_body import joint_to_body
from schemas.screen import Ask, AskWord
from schemas.words import Role

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 4
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 1, torque: 100}
  - {id: u-bolts, name: U-bolt nuts, fasteners: 2, torque: 95, stages: [snug, 100]}
  - {id: guard, name: Guard bolts, fasteners: 1, torque: 20}
steps:
  - torque: hub
  - hold point: level
    ask: Frame level within 3 mm
    sign: fitter
  - torque: u-bolts
  - hold point: ride-height
    ask: Loaded to ride height
    sign: lead
  - torque: guard
  - hold point: caps
    ask: Caps on, both hubs
    sign: second person
"""
STRIPES = Ask(AskWord.STRIPES, "Hub nuts: stripes: 1 of 1?", Role.FITTER, "hub", None, 1)
LEVEL = Ask(AskWord.HOLD_POINT, "Frame level within 3 mm", Role.FITTER, None, "level", step=2)
SNUG = Ask(AskWord.SNUG, "U-bolt nuts: all 2 snug?", Role.FITTER, "u-bolts")
RIDE_HEIGHT = Ask(AskWord.HOLD_POINT, "Loaded to ride height", Role.LEAD, None, "ride-height", step=4)
CAPS = Ask(AskWord.HOLD_POINT, "Caps on, both hubs", Role.SECOND_PERSON, None, "caps", step=6)


@pytest.fixture(name="job")
def _job(new_job):
    return new_job(PLAN)


def asked(job):
    return expect_answer(job.state, InOrder().expect_next(job.state))


def answer(job, ask):
    match ask.word:
        case AskWord.STRIPES:
            job.say("stripes", ask.joint, count=ask.of, of=ask.of)
        case AskWord.HOLD_POINT:
            job.sign(ask.hold_point)
        case AskWord.SNUG:
            job.sign(snug=ask.joint)


def test_a_whole_job_is_asked_for_in_the_order_of_the_plan(job):
    seen = []
    pulls = [("hub", 1, "100"), ("u-bolts", 1, "95"), ("u-bolts", 2, "95"), ("guard", 1, "20")]
    for joint, position, torque in [*pulls, (None, None, None)]:
        while (ask := asked(job)) is not None:
            seen.append(ask)
            answer(job, ask)
        if joint:
            job.pull(joint, 1, position, torque)

    assert [ask for ask in seen if ask.word is not AskWord.STRIPES] == [LEVEL, SNUG, RIDE_HEIGHT, CAPS]
    assert [ask.joint for ask in seen if ask.word is AskWord.STRIPES] == ["hub", "u-bolts", "guard"]
    assert asked(job) is None


def test_nothing_is_asked_before_the_first_joint(job):
    assert asked(job) is None


def test_the_stripes_come_before_the_hold_point_and_that_before_the_snug_round(job):
    job.pull("hub", 1, 1)
    assert asked(job) == STRIPES
    answer(job, STRIPES)
    assert asked(job) == LEVEL
    answer(job, LEVEL)
    assert asked(job) == SNUG
    answer(job, SNUG)
    assert asked(job) is None


def test_the_joint_in_hand_is_asked_about_before_one_done_earlier(job):
    job.pull("hub", 1, 1)
    job.pull("guard", 1, 1, "20")

    assert asked(job).joint == "guard"
    answer(job, asked(job))
    assert asked(job) == STRIPES


def test_not_all_stripes_seen_is_not_asked_again_at_once(job):
    job.pull("hub", 1, 1)
    job.say("stripes", "hub", count=0, of=1)

    assert asked(job) == LEVEL


def test_a_stroke_below_the_band_is_continued_before_the_stripes_are_asked_for(job):
    job.pull("hub", 1, 1, "80", "under")
    assert asked(job) is None

    job.pull("hub", 1, 1, "100")

    assert asked(job) == STRIPES


def test_rule_10_another_joint_may_be_taken_and_asks_for_what_stands_before_it(job):
    job.say("other joint", "guard")

    assert asked(job) == LEVEL
    answer(job, LEVEL)
    assert asked(job) == RIDE_HEIGHT


def test_rule_10_a_joint_taken_first_does_not_ask_for_what_comes_after_it(job):
    job.say("other joint", "hub")

    assert asked(job) is None


def test_rule_2_every_hold_point_is_asked_for_when_no_fastener_is_left(job):
    for joint, torque, count in (("hub", "100", 1), ("u-bolts", "95", 2), ("guard", "20", 1)):
        for position in range(1, count + 1):
            job.pull(joint, 1, position, torque)
        job.say("stripes", joint, count=count, of=count)

    for ask in (LEVEL, RIDE_HEIGHT, CAPS):
        assert asked(job) == ask
        answer(job, ask)
    assert asked(job) is None


def test_a_joint_without_a_snug_round_is_not_asked_for_one(job):
    job.say("other joint", "guard")
    for ask in (LEVEL, RIDE_HEIGHT):
        answer(job, ask)

    assert asked(job) is None


# What the whole plan language asks.


WHOLE = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 4
unit: N·m
tolerance: 10 %
joints:
  - {id: head, name: Head bolts, fasteners: 2, torque: 100, then_angle: 90, angle_tolerance: 10, mark: none}
  - {id: arm, name: Arm bolt, fasteners: 1, torque: 60, critical: yes}
  - {id: guard, name: Guard bolts, fasteners: 2, torque: not stated}
steps:
  - torque: head
  - hold point: toe
    ask: Toe?
    sign: second person
    measure: {unit: mm, low: -2, high: 2}
    after: [head]
  - torque: arm
  - open: arm
    as_found: yes
    after: [toe]
  - torque: [guard, arm]
    covers: [head]
  - do: Close the cover
    covers: [arm, guard]
"""
TURNED = Ask(
    AskWord.TURNED, "Head bolts: all 2 marked and turned by 90° (without a wrench that sends the angle)?", joint="head", step=1
)
HEAD_SEEN = Ask(AskWord.STRIPES, "Head bolts: torqued: 2 of 2?", joint="head", of=2)
TOE = Ask(AskWord.HOLD_POINT, "Toe?", Role.SECOND_PERSON, None, "toe", value_in="mm", step=2)
ARM_SEEN = Ask(AskWord.STRIPES, "Arm bolt: stripes: 1 of 1?", joint="arm", of=1)
SECOND = Ask(AskWord.SECOND, "Arm bolt: looked at by a second person?", Role.SECOND_PERSON, "arm")
OPENED = Ask(
    AskWord.OPENED, "Arm bolt: opened, as step 4 asks? Record the torque found first (witnessmark job as-found).", joint="arm",
    step=4,
)  # fmt: skip
DECLARED = Ask(
    AskWord.DECLARED, "Guard bolts: no torque is stated. All 2 done, and you declare it?", joint="guard", of=2, step=5
)


@pytest.fixture(name="whole")
def _whole(new_job):
    return new_job(WHOLE)


def settle(job, ask):
    """The answer yes, as an entry."""
    match ask.word:
        case AskWord.TURNED:
            job.say("declared", ask.joint, step=ask.step)
        case AskWord.SECOND:
            job.put(Signed("1", "second person", second=ask.joint), "p-3")
        case AskWord.HOLD_POINT:
            measured = {"value": "0", "unit": ask.value_in} if ask.value_in else {}
            job.put(Signed("1", str(ask.role), ask.hold_point, **measured), "p-3")
        case AskWord.DECLARED | AskWord.COVERED:
            job.say(str(ask.word), ask.joint)
        case AskWord.OPENED:
            job.say("opened", ask.joint, step=ask.step)
        case _:
            answer(job, ask)


def walk(job, *, until=None):
    """Pulls in band and answers yes, as a day without trouble; gives what was asked."""
    seen = []
    for _ in range(40):
        ask, target = asked(job), InOrder().expect_next(job.state)
        if ask == until and ask is not None:
            return seen
        if ask is not None:
            seen.append(ask)
            settle(job, ask)
        elif target is not None:
            job.take(f"{target.band.target:f}")
        else:
            return seen
    raise AssertionError("a question is asked for ever")


def test_a_whole_plan_is_asked_for_in_its_order_and_ends_complete(whole):
    assert walk(whole) == [TURNED, HEAD_SEEN, TOE, ARM_SEEN, SECOND, OPENED, DECLARED, ARM_SEEN, SECOND]
    assert whole.complete


def test_who_turned_has_to_have_every_torque_first(whole):
    whole.take("100")
    assert asked(whole) is None
    whole.take("80")
    assert asked(whole) is None, "one is to be pulled on"
    whole.take("100")
    assert asked(whole) == TURNED


def test_what_a_wrench_sends_is_not_asked_for(whole):
    for _ in range(2):
        whole.take("100")
    whole.take("150", angle_deg="90")
    assert asked(whole) is None

    whole.take("150", angle_deg="91")

    assert asked(whole) == HEAD_SEEN


def test_a_torque_sent_without_an_angle_does_not_keep_the_question_away(whole):
    for _ in range(3):
        whole.take("100")

    assert asked(whole) == TURNED


def test_one_that_was_opened_is_turned_anew(whole):
    walk(whole, until=TOE)
    whole.say("opened", "head", 1)
    whole.take("100")

    assert asked(whole) == TURNED


def test_nothing_is_turned_where_nothing_was_pulled(whole):
    whole.say("not fitted", "head", reason="left off")

    assert asked(whole) == TOE


def test_a_hold_point_is_asked_for_when_what_it_waits_for_is_done(whole):
    whole.say("other joint", "arm")
    assert asked(whole) is None, "the head bolts are not done, so there is nothing to sign"
    whole.take("60")
    assert asked(whole) == ARM_SEEN
    settle(whole, ARM_SEEN)
    settle(whole, SECOND)

    assert asked(whole) is None
    assert InOrder().expect_next(whole.state).joint.id == "head"


def test_what_was_not_done_yet_is_not_asked_to_be_opened(whole):
    walk(whole, until=ARM_SEEN)
    whole.say("stripes", "arm", of=1)
    for match in InOrder().match_said(whole.state, whole.state.decisions[-1][1]):
        whole.put(match)
    whole.say("other joint", "guard")

    assert OPENED not in walk(whole, until=ARM_SEEN)


def test_an_opening_waits_for_what_its_step_waits_for(whole):
    walk(whole, until=TOE)
    whole.say("other joint", "arm")
    whole.take("60")
    settle(whole, ARM_SEEN)
    settle(whole, SECOND)

    assert asked(whole) == TOE
    settle(whole, TOE)
    assert asked(whole) == OPENED


def test_a_joint_without_a_stated_torque_may_be_taken_out_of_turn(whole):
    whole.say("other joint", "guard")
    assert asked(whole) == DECLARED
    settle(whole, DECLARED)

    assert asked(whole) is None
    assert InOrder().expect_next(whole.state).joint.id == "head"


def test_what_is_not_fitted_is_not_among_those_that_are_declared(whole):
    whole.say("not fitted", "guard", 2)
    whole.say("other joint", "guard")

    assert (asked(whole).of, asked(whole).text) == (1, "Guard bolts: no torque is stated. All 1 done, and you declare it?")


def test_a_second_person_is_asked_for_what_was_declared(whole):
    walk(whole, until=ARM_SEEN)
    whole.say("declared", "arm", tool="W-9")

    assert asked(whole) == SECOND


COVERS = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 4
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100}
  - {id: cap, name: Hub cap, fasteners: 1, torque: 20}
steps:
  - torque: hub
  - torque: cap
    covers: [hub]
  - do: Close the cover
    covers: [cap]
"""


def covered(joint, name, of, step, stands):
    text = f"{name} is out of reach from step {step} on: {stands}. Go on all the same?"
    return Ask(AskWord.COVERED, text, Role.FITTER, joint, of=of, step=step)


def test_what_gets_out_of_reach_is_asked_about_before_the_step_that_covers_it(new_job):
    job = new_job(COVERS)
    assert asked(job) is None
    job.take("100")
    job.say("other joint", "cap")
    question = covered("hub", "Hub nuts", 2, 2, "1 of 2 done, missed")
    assert asked(job) == question

    settle(job, question)

    assert asked(job) is None
    assert InOrder().expect_next(job.state).joint.id == "cap"


def test_what_is_fine_is_not_asked_about(new_job):
    job = new_job(COVERS)

    assert [ask.word for ask in walk(job)] == [AskWord.STRIPES, AskWord.STRIPES]
    assert job.complete


def test_what_is_doubtful_or_failed_is_asked_about_as_long_as_it_can_be_reached(new_job):
    job = new_job(COVERS)
    for torque in ("100", "140"):
        job.take(torque)
    job.say("stripes", "hub", count=2, of=2)
    assert asked(job) == covered("hub", "Hub nuts", 2, 2, "2 of 2 done, failed")


@pytest.mark.parametrize(
    ("later", "is_asked"),
    [
        pytest.param("  - open: hub\n  - torque: hub\n", False, id="opened-later"),
        pytest.param("  - recheck: hub\n", False, id="checked-later"),
        pytest.param("", True, id="neither"),
    ],
)
def test_what_only_waits_for_a_later_step_is_not_asked_about(new_job, later, is_asked):
    job = new_job(COVERS.replace("    covers: [cap]\n", "") + later)
    for _ in range(2):
        job.take("100", **({"unfit": "no calibration"} if is_asked else {}))
    job.say("stripes", "hub", count=2, of=2)
    job.say("other joint", "cap")

    ask = asked(job)

    assert (ask is not None and ask.word is AskWord.COVERED) == is_asked


def test_at_the_end_every_step_has_asked_about_what_it_covers(new_job):
    job = new_job(COVERS)
    for torque in ("100", "100"):
        job.take(torque)
    job.say("stripes", "hub", count=2, of=2)
    job.take("30")
    job.say("stripes", "cap", count=1, of=1)

    assert asked(job) == covered("cap", "Hub cap", 1, 3, "1 of 1 done, failed")


def test_an_added_joint_is_worked_after_the_last_step_and_asks_for_all_before_it(whole):
    added = replace(whole.route.joint("arm"), id="flap", name="Flap", critical=False)
    whole.put(JointAdded("1", joint_to_body(added), "sheet 12"))

    asked_for = walk(whole)

    assert asked_for[-1] == Ask(AskWord.STRIPES, "Flap: stripes: 1 of 1?", joint="flap", of=1)
    assert whole.complete


@pytest.mark.parametrize(
    ("shown", "now", "text"),
    [
        pytest.param(
            {"joint": "u-bolts", "stage": 1, "position": 2, "kind": "tightening"},
            {"joint": "u-bolts", "stage": 1, "position": 1, "kind": "repeat"},
            "from U-bolt nuts, position 2: it was a second click on U-bolt nuts, position 1.", id="a-second-click",
        ),
        pytest.param(
            {"joint": "u-bolts", "stage": 1, "position": 2, "kind": "tightening"},
            {"joint": "u-bolts", "stage": 1, "position": 1, "kind": "recheck"},
            "from U-bolt nuts, position 2: it was a check of what was done on U-bolt nuts, position 1.", id="a-check",
        ),
        pytest.param(
            {"joint": "hub", "stage": 1, "position": 1, "kind": "tightening"},
            {"joint": "guard", "stage": 1, "position": 1, "kind": "tightening"},
            "from Hub nuts, position 1: it was on Guard bolts, position 1.", id="another-joint",
        ),
        pytest.param(
            {"joint": "hub", "stage": 1, "position": 1, "kind": "tightening"},
            {"kind": "stray"},
            "from Hub nuts, position 1: it belongs to no joint of this job.", id="nothing-of-this-job",
        ),
        pytest.param(
            {"kind": "stray"},
            {"joint": "hub", "stage": 1, "position": 1, "kind": "tightening"},
            "from no joint of this job: it was on Hub nuts, position 1.", id="no-stray",
        ),
    ],
)  # fmt: skip
def test_what_is_taken_back_is_asked_about_first_and_until_somebody_has_taken_note(job, shown, now, text):
    seq = job.read("95")
    first = job.put(MatchKept("1", seq, reason="made up", **shown))
    job.put(MatchKept("1", seq, reason="made up", revises=first, takes_back=1, **now))

    ask = asked(job)

    assert (ask.word, ask.reading, ask.text) == (AskWord.TAKEN_BACK, seq, f"reading 1 is taken back {text} Taken note?")
    job.say("taken note", reading=seq)
    after = asked(job)
    assert after is None or after.word is not AskWord.TAKEN_BACK


def test_a_stage_is_named_where_the_joint_has_several(new_job):
    job = new_job(PLAN.replace("torque: 100}", "torque: 100, stages: [50, 100]}"))
    seq = job.read("50")
    first = job.put(MatchKept("1", seq, "tightening", "made up", "hub", 1, 1))
    job.put(MatchKept("1", seq, "tightening", "made up", "hub", 2, 1, revises=first, takes_back=1))

    assert "from Hub nuts, stage 1, position 1: it was on Hub nuts, stage 2, position 1." in asked(job).text


def test_which_fastener_a_pull_was_on_is_asked_only_of_the_one_that_is_to_be_confirmed(new_job):
    job = new_job(PLAN.replace("name: Hub nuts, fasteners: 1", "name: Hub nuts, fasteners: 2"))
    pull = job.take("100")
    target = InOrder().expect_next(job.state)

    assert expect_answer(job.state, target) is None
    assert expect_answer(job.state, target, pull) == Ask(
        AskWord.FASTENER, "Hub nuts: was reading 1 on fastener 1 of 2?", Role.FITTER, "hub", reading=pull.seq
    )


def test_the_fastener_is_asked_for_before_the_stripes_of_its_joint_and_never_once_it_is_known_or_they_were_seen(new_job):
    job = new_job(PLAN.replace("name: Hub nuts, fasteners: 1", "name: Hub nuts, fasteners: 2"))
    job.take("100")
    pull = job.take("100")
    counted = pull.match

    def word():
        ask = expect_answer(job.state, InOrder().expect_next(job.state), pull)
        return None if ask is None else ask.word

    assert word() is AskWord.FASTENER
    job.put(replace(counted, position_by="confirmed", revises=pull.match_seq))
    assert word() is AskWord.STRIPES
    job.put(replace(counted, revises=pull.match_seq))
    job.stripes("hub")
    assert word() is AskWord.HOLD_POINT


@pytest.mark.parametrize(
    "match",
    [
        pytest.param({"kind": "repeat"}, id="a-second-click"), pytest.param({"kind": "recheck"}, id="a-check"),
        pytest.param({"kind": "stray", "joint": None, "position": None, "stage": None}, id="a-stray"),
        pytest.param({"joint": "guard"}, id="the-only-one-of-its-joint"),
    ],
)  # fmt: skip
def test_of_what_does_not_count_or_can_be_on_one_only_no_fastener_is_asked_for(new_job, match):
    job = new_job(PLAN)
    seq = job.read("95")
    said = {"kind": "tightening", "joint": "u-bolts", "stage": 1, "position": 1, "verdict": "in band"} | match
    job.put(MatchKept("1", seq, said.pop("kind"), "by order", **said))
    ask = expect_answer(job.state, InOrder().expect_next(job.state), job.state.pulls[seq])

    assert ask is None or ask.word is not AskWord.FASTENER


def test_of_a_pull_that_is_not_matched_or_whose_joint_is_gone_no_fastener_is_asked_for(new_job):
    job = new_job(PLAN)
    unmatched = job.state.pulls[job.read("95")]
    gone = job.state.pulls[job.pull("u-bolts", 1, 1, "95")]
    job.state.joints = {name: state for name, state in job.state.joints.items() if name != "u-bolts"}

    for pull in (unmatched, gone):
        ask = expect_answer(job.state, None, pull)
        assert ask is None or ask.word is not AskWord.FASTENER
