"""The proof of a fastener follows from its pulls, decisions, signatures and gaps, by the rules of the trade."""

from copy import deepcopy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.words import Kind, Proof

SNUG_PLAN = """\
plan: box-trailer-u-bolts
title: Box trailer, U-bolts
revision: "1"
source: Shop procedure 9, section 3
unit: N·m
tolerance: 10 %
joints:
  - {id: u-bolts, name: U-bolt nuts, fasteners: 2, torque: 95, stages: [snug, 100], wrench: [W-140, W-141]}
"""


@pytest.fixture(name="job")
def _job(new_job):
    """A job whose hub nuts are done in band at both stages and whose stripes were seen."""
    job = new_job()
    job.pulls = [job.pull("hub", stage, position, f"{50 * stage}") for stage in (1, 2) for position in (1, 2)]
    job.stripes("hub")
    return job


def proof(job, position=1, joint="hub"):
    return job.joint(joint).proof(position)


def again(job, position=1, *, stages=(1, 2)):
    for stage in stages:
        job.pull("hub", stage, position, f"{50 * stage}")


# Rule 1: the words of proof, and what each stands for.


def test_rule_1_a_fastener_in_band_at_every_stage_and_confirmed_is_proven(job):
    assert proof(job) == (Proof.PROVEN, ())
    assert job.joint("hub").worst() is Proof.PROVEN


def test_rule_1_a_fastener_matched_by_order_only_is_doubtful_until_its_stripes_are_seen(new_job):
    job = new_job()
    for stage, position in ((1, 1), (1, 2), (2, 1), (2, 2)):
        job.pull("hub", stage, position)

    assert proof(job) == (Proof.DOUBTFUL, ("matched by order only and not confirmed",))
    job.stripes("hub")
    assert proof(job) == (Proof.PROVEN, ())


@pytest.mark.parametrize(
    ("p", "expected"),
    [
        pytest.param("0.99", Proof.PROVEN, id="on-the-limit"),
        pytest.param("1", Proof.PROVEN, id="certain"),
        pytest.param("0.98999", Proof.DOUBTFUL, id="just-below-the-limit"),
    ],
)
def test_rule_1_a_match_at_0_99_or_better_needs_no_confirmation(new_job, p, expected):
    job = new_job()
    job.pull("hub", 1, 1, p="0.999")
    job.pull("hub", 2, 1, p=p)

    assert proof(job)[0] is expected


def test_rule_1_one_unsure_stage_leaves_the_fastener_doubtful(new_job):
    job = new_job()
    job.pull("hub", 1, 1)
    job.pull("hub", 2, 1, p="0.999")

    assert proof(job)[0] is Proof.DOUBTFUL


def test_rule_1_a_final_without_its_earlier_stage_is_doubtful(new_job):
    job = new_job()
    job.pull("hub", 2, 1, p="1")

    assert proof(job) == (Proof.DOUBTFUL, ("stage 1 has no tightening", "matched by order only and not confirmed"))


def test_rule_1_stages_done_in_the_wrong_order_are_doubtful(new_job):
    job = new_job()
    job.pull("hub", 2, 1, p="1")
    job.pull("hub", 1, 1, p="1")

    assert proof(job) == (Proof.DOUBTFUL, ("stages out of order",))


@pytest.mark.parametrize(
    ("verdict", "shown"),
    [pytest.param("marginal", "marginal", id="marginal"), pytest.param(None, "without a verdict", id="not-judged")],
)
@pytest.mark.parametrize("stage", [1, 2])
def test_rule_1_what_was_not_judged_in_band_is_never_proven(new_job, verdict, shown, stage):
    job = new_job()
    for number in (1, 2):
        job.pull("hub", number, 1, p="1", verdict=verdict if number == stage else "in band")

    assert proof(job) == (Proof.DOUBTFUL, (f"a pull of stage {stage} is {shown}",))


def test_rule_1_a_fastener_without_its_final_is_missed_and_the_joint_shows_its_worst(job, new_job):
    assert proof(job, joint="shackle")[0] is Proof.LEFT_LOOSE

    half = new_job()
    half.pull("hub", 1, 1)
    half.pull("hub", 2, 1)

    assert proof(half, 2) == (Proof.MISSED, ("no tightening of the final stage",))
    assert half.joint("hub").worst() is Proof.MISSED


def test_rule_1_left_loose_is_said_of_an_untouched_joint_only(new_job):
    job = new_job()
    job.sign("ride-height")
    assert proof(job, joint="shackle") == (Proof.LEFT_LOOSE, ("left loose on purpose, not torqued yet",))
    assert proof(job, joint="hub")[0] is Proof.MISSED, "this joint was not to be left loose"

    job.pull("shackle", 1, 1, "60")

    assert proof(job, 2, "shackle")[0] is Proof.MISSED, "a joint that was begun is not left loose any more"


def test_rule_1_what_had_to_be_signed_first_and_was_not_leaves_a_doubt(new_job):
    job = new_job()
    for position in (1, 2):
        job.pull("shackle", 1, position, "60")
    job.stripes("shackle")
    reason = ("torqued before `ride-height` was signed",)

    assert proof(job, joint="shackle") == (Proof.DOUBTFUL, reason)
    job.sign("ride-height")
    assert proof(job, joint="shackle") == (Proof.DOUBTFUL, reason), "a signature given later does not cure it"


def test_rule_1_signed_first_it_is_proven_and_only_the_first_signature_counts(new_job):
    job = new_job()
    job.sign("ride-height")
    for position in (1, 2):
        job.pull("shackle", 1, position, "60")
    job.stripes("shackle")
    job.sign("ride-height")

    assert proof(job, joint="shackle") == (Proof.PROVEN, ())


@pytest.mark.parametrize(
    ("signed_before", "signed_after", "expected"),
    [
        pytest.param(True, False, (Proof.PROVEN, ()), id="signed-first"),
        pytest.param(True, True, (Proof.PROVEN, ()), id="signed-twice"),
        pytest.param(False, True, (Proof.DOUBTFUL, ("the snug round was not signed first",)), id="signed-later"),
        pytest.param(False, False, (Proof.DOUBTFUL, ("the snug round was not signed first",)), id="not-signed"),
    ],
)
def test_rule_1_the_snug_round_is_signed_before_the_torque(new_job, signed_before, signed_after, expected):
    job = new_job(SNUG_PLAN)
    if signed_before:
        job.sign(snug="u-bolts")
    for position in (1, 2):
        job.pull("u-bolts", 1, position, "95")
    if signed_after:
        job.sign(snug="u-bolts")
    job.stripes("u-bolts")

    assert proof(job, joint="u-bolts") == expected


# Rule 3: a pull below the band fails the fastener until it is made good.


def test_rule_3_an_under_pull_fails_the_fastener_until_it_is_put_right(new_job):
    job = new_job()
    job.pull("hub", 1, 1, "50")
    first = job.pull("hub", 2, 1, "80", "under")
    assert proof(job) == (Proof.FAILED, ("under-torque at stage 2, not made good",))

    job.match(first, "hub", 2, 1, kind="short pull", verdict="under", revises=1)
    job.pull("hub", 2, 1, "100")

    assert proof(job)[0] is Proof.DOUBTFUL
    assert job.joint("hub").fasteners[0].stages[1].reading.torque == "100"


def test_rule_3_an_under_pull_at_an_intermediate_stage_fails_it_though_the_final_is_in_band(new_job):
    job = new_job()
    job.pull("hub", 1, 1, "30", "under")
    job.pull("hub", 2, 1, "100")

    assert proof(job) == (Proof.FAILED, ("under-torque at stage 1, not made good",))


def test_rule_3_a_short_pull_alone_is_no_tightening(new_job):
    job = new_job()
    job.pull("hub", 1, 1, "50")
    job.pull("hub", 2, 1, "80", "under", kind="short pull")

    assert proof(job)[0] is Proof.MISSED


# Rule 4: over is made good by three things together, and by nothing less.


@pytest.mark.parametrize("kind", [Kind.TIGHTENING, Kind.REPEAT, Kind.RECHECK, Kind.SHORT_PULL])
@pytest.mark.parametrize("stage", [1, 2])
def test_rule_4_an_over_pull_of_whatever_kind_fails_the_fastener(job, kind, stage):
    job.pull("hub", stage, 2, "140", "over", kind=str(kind))
    job.stripes("hub")

    assert proof(job, 2)[0] is Proof.FAILED
    assert proof(job, 2)[1][0].startswith("over-torque at reading 5: not opened, no decision of the lead, not done again")
    assert proof(job, 1)[0] is not Proof.FAILED, "the other fastener has nothing to do with it"


@pytest.mark.parametrize("decision", ["inspected", "replaced"])
@pytest.mark.parametrize(
    "order", [pytest.param((0, 1), id="opened-then-decided"), pytest.param((1, 0), id="decided-then-opened")]
)
@pytest.mark.parametrize("position", [pytest.param(2, id="the-fastener"), pytest.param(None, id="the-whole-joint")])
def test_rule_4_opened_decided_and_done_again_makes_it_good_in_either_order(job, decision, order, position):
    job.pull("hub", 2, 2, "140", "over")
    for act in order:
        job.say(("opened", decision)[act], "hub", position)
    for number in (1, 2) if position is None else (2,):
        again(job, number)

    assert proof(job, 2) == (Proof.DOUBTFUL, ("matched by order only and not confirmed",))
    job.stripes("hub")
    assert job.joint("hub").worst() is Proof.PROVEN


@pytest.mark.parametrize(
    ("acts", "lacks"),
    [
        pytest.param("", "not opened, no decision of the lead, not done again", id="nothing"),
        pytest.param("o", "no decision of the lead, not done again", id="opened-only"),
        pytest.param("d", "not opened, not done again", id="decided-only"),
        pytest.param("oa", "no decision of the lead", id="no-decision"),
        pytest.param("da", "not opened, not done again", id="not-opened"),
        pytest.param("od", "not done again", id="not-done-again"),
        pytest.param("odf", "not done again", id="only-the-final-done-again"),
        pytest.param("od1", "not done again", id="only-the-first-stage-done-again"),
        pytest.param("oad", "not done again", id="decided-when-it-was-done-again"),
    ],
)
def test_rule_4_anything_less_leaves_it_failed_and_says_what_is_lacking(job, acts, lacks):
    job.pull("hub", 2, 1, "140", "over")
    for act in acts:
        match act:
            case "o":
                job.say("opened", "hub", 1)
            case "d":
                job.say("inspected", "hub", 1)
            case "a":
                again(job)
            case "f":
                again(job, stages=(2,))
            case "1":
                again(job, stages=(1,))
    job.stripes("hub")

    assert proof(job) == (Proof.FAILED, (f"over-torque at reading 5: {lacks}",))


def test_rule_4_a_decision_and_an_opening_before_the_over_pull_do_not_count_for_it(job):
    job.say("opened", "hub", 1)
    job.say("replaced", "hub", 1)
    again(job)
    job.pull("hub", 2, 1, "140", "over", kind="repeat")
    again(job)

    assert proof(job)[1] == ("over-torque at reading 7: not opened, no decision of the lead, not done again",)


def test_rule_4_a_second_over_pull_asks_for_everything_once_more(job):
    job.pull("hub", 2, 1, "140", "over")
    job.say("opened", "hub", 1)
    job.say("inspected", "hub", 1)
    job.pull("hub", 1, 1, "140", "over")

    assert proof(job)[1] == ("over-torque at reading 6: not opened, no decision of the lead, not done again",)


def test_rule_4_an_under_pull_does_not_make_an_over_pull_good(job):
    job.pull("hub", 2, 1, "140", "over")
    job.say("opened", "hub", 1)
    job.say("inspected", "hub", 1)
    again(job, stages=(1,))
    job.pull("hub", 2, 1, "80", "under")

    assert proof(job)[0] is Proof.FAILED
    assert "over-torque" in proof(job)[1][0]


# Rule 6: opening reopens every stage.


@pytest.mark.parametrize(
    ("position", "missed"), [pytest.param(1, [1], id="one-fastener"), pytest.param(None, [1, 2], id="the-whole-joint")]
)
def test_rule_6_opened_reopens_every_stage_and_takes_back_the_confirmation(job, position, missed):
    job.say("opened", "hub", position)

    states = job.joint("hub").fasteners
    assert [number for number in (1, 2) if states[number - 1].stages == [None, None]] == missed
    assert [number for number in (1, 2) if proof(job, number)[0] is Proof.MISSED] == missed
    assert job.joint("hub").confirmed_seq is None

    for number in missed:
        again(job, number)

    assert proof(job)[0] is Proof.DOUBTFUL, "the stripes of before say nothing of what was done since"
    assert job.joint("hub").waits_for_stripes
    job.stripes("hub")
    assert job.joint("hub").worst() is Proof.PROVEN


def test_rule_6_a_reading_against_the_tightening_direction_reopens_like_opened(job):
    job.pull("hub", 2, 1, "-40", None, kind="loosening")

    assert job.joint("hub").fasteners[0].stages == [None, None]
    assert proof(job)[0] is Proof.MISSED
    assert proof(job, 2)[0] is Proof.DOUBTFUL
    assert job.joint("hub").confirmed_seq is None


def test_rule_6_a_loosening_counts_as_the_opening_after_an_over_pull(job):
    job.pull("hub", 2, 1, "140", "over")
    job.pull("hub", 2, 1, "-90", None, kind="loosening")
    job.say("inspected", "hub", 1)
    again(job)
    job.stripes("hub")

    assert proof(job) == (Proof.PROVEN, ())


# Rule 7: a gap in the link is not bridged in silence.


def test_rule_7_a_lost_link_makes_the_joint_in_hand_doubtful_until_a_confirmation_given_after_it(new_job):
    job = new_job()
    for stage in (1, 2):
        for position in (1, 2):
            job.pull("hub", stage, position, p="1")
    job.link("lost", "hub")
    reason = ("the link was lost while this joint was in hand",)
    assert proof(job) == (Proof.DOUBTFUL, reason)

    job.stripes("hub")
    assert proof(job) == (Proof.PROVEN, ())

    job.link("lost", "hub")
    assert proof(job) == (Proof.DOUBTFUL, reason), "the confirmation before this gap does not speak of it"


@pytest.mark.parametrize("joint", [pytest.param(None, id="no-joint-in-hand"), pytest.param("shackle", id="another-joint")])
def test_rule_7_a_gap_touches_only_the_joint_in_hand(job, joint):
    job.link("lost", joint)

    assert proof(job) == (Proof.PROVEN, ())


# Rule 9: a wrench that was not fit, or is none of the plan's, leaves a doubt.


def test_rule_9_an_unfit_wrench_at_any_stage_leaves_a_doubt(new_job):
    job = new_job()
    job.pull("hub", 1, 1, p="1", unfit="calibration of wrench W-140 ran out on 2026-02-28")
    job.pull("hub", 2, 1, p="1")

    assert proof(job) == (Proof.DOUBTFUL, ("calibration of wrench W-140 ran out on 2026-02-28",))


@pytest.mark.parametrize(
    ("wrench", "reasons"),
    [
        pytest.param("W-141", (), id="the-second-that-the-plan-names"),
        pytest.param("W-7", ("wrench W-7 is not one that the plan names",), id="another"),
        pytest.param(None, ("wrench (none named) is not one that the plan names",), id="none-named"),
    ],
)
def test_rule_9_a_wrench_that_the_plan_does_not_name_leaves_a_doubt(new_job, wrench, reasons):
    job = new_job(SNUG_PLAN)
    job.sign(snug="u-bolts")
    job.match(job.read("95", wrench=wrench), "u-bolts", 1, 1, p="1")

    assert proof(job, joint="u-bolts")[1] == reasons


# What a person says of the stripes.


def test_fewer_stripes_than_fasteners_leave_a_doubt_until_something_is_done_and_it_is_asked_again(job):
    job.say("opened", "hub", 1)
    again(job)
    job.stripes("hub", seen=1)
    assert proof(job) == (Proof.DOUBTFUL, ("1 of 2 stripes seen",))
    assert not job.joint("hub").waits_for_stripes

    job.pull("hub", 2, 2, "100", kind="repeat")

    assert job.joint("hub").waits_for_stripes


def test_a_plain_no_to_the_stripes_reads_as_a_sentence(job):
    job.say("stripes", "hub", of=2)

    assert proof(job) == (Proof.DOUBTFUL, ("not all of 2 stripes seen",))


def test_stripes_of_another_number_of_fasteners_confirm_nothing(job):
    job.say("opened", "hub", 1)
    again(job)
    job.say("stripes", "hub", count=4, of=4)

    assert proof(job)[0] is Proof.DOUBTFUL


def test_a_word_that_says_nothing_of_the_joint_changes_nothing(job):
    job.say("same again", "hub", 1)

    assert proof(job) == (Proof.PROVEN, ())


def test_a_pull_after_the_stripes_were_seen_has_to_be_confirmed_anew(new_job):
    job = new_job()
    for stage, position in ((1, 1), (1, 2), (2, 1)):
        job.pull("hub", stage, position)
    job.stripes("hub")
    job.pull("hub", 2, 2)

    assert job.joint("hub").worst() is Proof.DOUBTFUL
    assert job.joint("hub").waits_for_stripes


@pytest.mark.parametrize("kind", ["repeat", "recheck"])
def test_a_second_click_on_a_confirmed_fastener_leaves_the_confirmation(job, kind):
    job.pull("hub", 2, 1, "101", kind=kind)

    assert proof(job) == (Proof.PROVEN, ())


def test_the_stripes_are_not_asked_for_while_a_pull_below_the_band_waits_to_be_continued(new_job):
    job = new_job()
    for stage, position in ((1, 1), (1, 2), (2, 1)):
        job.pull("hub", stage, position)
    assert not job.joint("hub").waits_for_stripes
    job.pull("hub", 2, 2, "80", "under")

    assert not job.joint("hub").waits_for_stripes


def test_an_over_pull_ends_its_round_so_the_stripes_are_asked_for(new_job):
    job = new_job()
    for stage, position in ((1, 1), (1, 2), (2, 1)):
        job.pull("hub", stage, position)
    job.pull("hub", 2, 2, "140", "over")

    assert job.joint("hub").waits_for_stripes


# Matches that are taken back.


def test_a_pull_that_moves_to_another_joint_leaves_nothing_behind(job):
    job.match(job.pulls[3], None, None, None, kind="stray", verdict=None, revises=1)

    assert proof(job, 2)[0] is Proof.MISSED
    assert proof(job, 1)[0] is Proof.PROVEN


def test_a_pull_that_comes_from_another_joint_takes_its_place_by_its_number(new_job):
    job = new_job()
    early = job.pull("shackle", 1, 1, "60", p="1")
    job.pull("hub", 2, 1, p="1")
    assert proof(job)[1] == ("stage 1 has no tightening", "matched by order only and not confirmed")

    job.match(early, "hub", 1, 1, p="1", revises=1)

    assert proof(job) == (Proof.PROVEN, ())
    assert job.joint("shackle").fasteners[0].stages == [None]


def test_a_pull_of_before_the_opening_that_comes_from_another_joint_does_not_count_after_it(new_job):
    job = new_job()
    early = job.pull("shackle", 1, 1, "60", p="1")
    job.say("opened", "hub", 1)
    job.match(early, "hub", 2, 1, p="1", revises=1)

    assert proof(job)[0] is Proof.MISSED


def test_a_stroke_found_to_be_short_only_later_lets_an_over_pull_be_made_good_as_if_it_had_been_known(job):
    job.pull("hub", 2, 1, "140", "over")
    job.say("opened", "hub", 1)
    job.say("inspected", "hub", 1)
    again(job, stages=(1,))
    under = job.pull("hub", 1, 1, "30", "under")
    again(job, stages=(2,))
    assert proof(job)[0] is Proof.FAILED

    job.match(under, "hub", 1, 1, kind="short pull", verdict="under", revises=1)
    job.stripes("hub")

    assert proof(job) == (Proof.PROVEN, ())


# One fastener, so that what may disturb each other meets often.
ACTS = st.one_of(
    st.tuples(st.just("pull"), st.integers(1, 2), st.sampled_from(["under", "in band", "over"]), st.just("tightening")),
    st.tuples(st.just("pull"), st.integers(1, 2), st.just("under"), st.sampled_from(["tightening", "short pull"])),
    st.tuples(st.just("pull"), st.integers(1, 2), st.just("over"), st.sampled_from(["repeat", "loosening"])),
    st.tuples(st.just("say"), st.sampled_from(["opened", "inspected", "stripes"])),
    st.tuples(st.just("continue"), st.integers(0, 3)),
    st.just(("gap",)),
)


def play(job, act):
    match act:
        case ("pull", stage, verdict, kind):
            job.pull("hub", stage, 1, "1", None if kind == "loosening" else verdict, kind=kind)
        case ("say", "stripes"):
            job.stripes("hub")
        case ("say", said):
            job.say(said, "hub", 1)
        case ("continue", which):
            pulls = [pull for pull in job.state.pulls.values() if pull.verdict == "under" and pull.match.kind == "tightening"]
            for pull in pulls[which : which + 1]:
                where = (pull.match.stage, pull.match.position)
                job.match(pull.seq, "hub", *where, kind="short pull", verdict="under", revises=pull.match_seq)
        case _:
            job.link("lost", "hub")


def known(state):
    """All that follows from the events."""
    proofs = [state.proof(position) for position in (1, 2)]
    return state.fasteners, state.events, state.confirmed_seq, state.denied, state.gap_seq, proofs


@settings(max_examples=500, deadline=None)
@given(st.lists(ACTS, max_size=12))
def test_a_short_pull_taken_at_once_gives_the_same_as_a_replay_of_everything(new_job, acts):
    job = new_job()
    for act in acts:
        play(job, act)

        replayed = deepcopy(job.joint("hub"))
        replayed.replay()
        assert known(job.joint("hub")) == known(replayed)
