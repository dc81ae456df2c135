"""Where a torque lies to the stored edges of its stage, exactly, and what a later pull puts right."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.flag import flag_match, flag_torque
from schemas.bodies import MatchKept
from schemas.plan.load import load_plan
from schemas.route import Band
from schemas.units import find_unit, to_nm
from schemas.words import Verdict

ORDER = [Verdict.UNDER, Verdict.IN_BAND, Verdict.OVER]


def band(torque, unit="N·m"):
    """The final band of a joint as the plan's reader makes it from these words."""
    plan = f'plan: p\ntitle: t\nrevision: "1"\nsource: s\nunit: {unit}\njoints: [{{id: j, name: J, fasteners: 1, {torque}}}]\n'
    return load_plan(plan.encode(), "p.yaml").joints[0].final.band


# Rule 3: both edges are in band. Binary floating point misses each of these: 9.0*(1+20/100) is 10.799999999999999,
# 10.0*(1-8/100) is 9.200000000000001, 6.0*(1+15/100) is 6.8999999999999995 (seen with Python 3.11).
@pytest.mark.parametrize(
    ("torque", "tolerance", "reading", "verdict"),
    [
        pytest.param("9.0", "20 %", "10.8", "in band", id="9-plus-20-percent-on-the-high-edge"),
        pytest.param("9.0", "20 %", "10.80000000000000001", "over", id="9-plus-20-percent-just-above"),
        pytest.param("9.0", "20 %", "10.79", "in band", id="9-plus-20-percent-just-below"),
        pytest.param("10.0", "8 %", "9.2", "in band", id="10-minus-8-percent-on-the-low-edge"),
        pytest.param("10.0", "8 %", "9.19999999999999999", "under", id="10-minus-8-percent-just-below"),
        pytest.param("10.0", "8 %", "9.21", "in band", id="10-minus-8-percent-just-above"),
        pytest.param("6.0", "15 %", "6.90", "in band", id="6-plus-15-percent-on-the-high-edge"),
        pytest.param("6.0", "15 %", "6.91", "over", id="6-plus-15-percent-just-above"),
        pytest.param("95", "+10 % -0 %", "95", "in band", id="one-sided-on-the-low-edge"),
        pytest.param("95", "+10 % -0 %", "94.99", "under", id="one-sided-just-below"),
    ],
)
def test_rule_3_both_edges_are_in_band(torque, tolerance, reading, verdict):
    assert flag_torque(Decimal(reading), band(f"torque: {torque}, tolerance: {tolerance}")) == verdict


# 80 lbf·ft are 108.4654… N·m by NIST Special Publication 811 (2008), appendix B; rounded to one decimal that is 108.5.
@pytest.mark.parametrize(
    ("reading", "unit", "verdict"),
    [
        pytest.param("80", "lbf·ft", "in band", id="the-limit-as-stated"),
        pytest.param("80.0", "lbf·ft", "in band", id="the-limit-with-a-zero"),
        pytest.param("80.01", "lbf·ft", "over", id="just-above-the-limit"),
        pytest.param("108.5", "N·m", "over", id="what-the-limit-rounds-to-in-newton-metres"),
        pytest.param("108.4", "N·m", "in band", id="just-below-in-newton-metres"),
        pytest.param("960", "lbf·in", "in band", id="the-limit-in-pound-inches"),
    ],
)
def test_rule_3_a_limit_in_another_unit_is_exact(reading, unit, verdict):
    limits = band("low: 70, high: 80", unit="lbf·ft")

    assert flag_torque(to_nm(Decimal(reading), find_unit(unit)[0]), limits) == verdict


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        pytest.param("44.9", "under", id="just-below-ten-percent-under-its-share"),
        pytest.param("45", "in band", id="on-its-low-edge"),
        pytest.param("89.999", "in band", id="just-under-the-low-edge-of-the-final"),
        pytest.param("90", "over", id="on-the-low-edge-of-the-final"),
        pytest.param("90.0", "over", id="on-it-with-a-zero"),
    ],
)
def test_rule_5_the_upper_edge_of_an_intermediate_stage_is_over(new_job, reading, verdict):
    stage, final = new_job().route.joints[0].stages

    assert flag_torque(Decimal(reading), stage.band) == verdict
    assert flag_torque(final.band.low_nm, final.band) == "in band"


def test_rule_4_a_torque_above_the_range_of_the_tool_is_over():
    assert flag_torque(None, band("torque: 9.0, tolerance: 20 %")) is Verdict.OVER


NUMBERS = st.decimals(0, 1000, places=3)


@given(st.lists(NUMBERS, min_size=2, max_size=2, unique=True), st.booleans(), NUMBERS, NUMBERS)
def test_more_torque_never_has_a_lower_verdict(edges, closed, one, other):
    low, high = sorted(edges)
    judged = Band(low, low, high, low, low, high, closed)

    verdicts = [ORDER.index(flag_torque(torque, judged)) for torque in sorted((one, other))]

    assert verdicts == sorted(verdicts)


@given(st.lists(NUMBERS, min_size=2, max_size=2, unique=True), NUMBERS)
def test_a_verdict_says_on_which_side_of_the_stated_edges_a_torque_lies(edges, torque):
    low, high = sorted(edges)

    verdict = flag_torque(torque, Band(low, low, high, low, low, high))

    assert (torque < low, low <= torque <= high, high < torque) == tuple(verdict is word for word in ORDER)


# A match with its verdict, and the revision of the pull that it puts right.


def flagged(job, torque, *spot, kind="tightening"):
    reading = job.read(torque)
    matches = flag_match(MatchKept("1", reading, kind, "by order", *spot, "order"), job.state)
    for match in matches:
        job.put(match)
    return matches


def test_a_match_is_stored_with_the_edges_that_it_was_judged_by(new_job):
    job = new_job()

    (first,), (final,) = flagged(job, "50", "hub", 1, 1), flagged(job, "110", "hub", 2, 1)

    assert (first.verdict, first.low, first.high, first.high_is_over) == ("in band", "45", "90", 1)
    assert (final.verdict, final.low, final.high, final.high_is_over) == ("in band", "90", "110", None)
    assert (final.joint, final.stage, final.position, final.position_by, final.reason) == ("hub", 2, 1, "order", "by order")


def test_rule_3_an_under_pull_becomes_a_short_pull_when_the_next_one_puts_it_right(new_job):
    job = new_job()
    (short,) = flagged(job, "80", "hub", 2, 1)
    stored = job.entries[-1][0].seq
    assert short.verdict == "under"

    revised, good = flagged(job, "100", "hub", 2, 1)

    assert (revised.kind, revised.verdict, revised.reason) == ("short pull", "under", "put right by reading 2")
    assert (revised.reading, revised.revises) == (short.reading, stored)
    assert (revised.joint, revised.stage, revised.position, revised.low, revised.high) == ("hub", 2, 1, "90", "110")
    assert (good.kind, good.verdict, good.revises) == ("tightening", "in band", None)
    assert job.joint("hub").fasteners[0].stages[1].seq == good.reading


def test_rule_3_several_rising_strokes_leave_one_tightening(new_job):
    job = new_job()
    for torque in ("60", "70", "80", "100"):
        last = flagged(job, torque, "hub", 2, 1)

    pulls = list(job.state.pulls.values())
    assert [pull.match.kind for pull in pulls] == ["short pull"] * 3 + ["tightening"]
    assert [pull.match.reason for pull in pulls[:3]] == [
        "continued by reading 2", "continued by reading 3", "put right by reading 4",
    ]  # fmt: skip
    assert [pull.revisions for pull in pulls] == [1, 1, 1, 0]
    assert len(last) == 2


def test_rule_4_a_stroke_that_goes_over_continues_the_short_one_and_puts_nothing_right(new_job):
    job = new_job()
    flagged(job, "80", "hub", 2, 1)
    revised, over = flagged(job, "140", "hub", 2, 1)

    assert (revised.kind, revised.reason, over.verdict) == ("short pull", "continued by reading 2", "over")
    assert job.joint("hub").proof(1)[0] == "failed"


@pytest.mark.parametrize("earlier", ["100", "140"])
def test_a_pull_that_was_not_under_is_not_revised_by_the_next(new_job, earlier):
    job = new_job()
    flagged(job, earlier, "hub", 2, 1)

    assert len(flagged(job, "100", "hub", 2, 1)) == 1


def test_an_under_pull_of_another_fastener_or_stage_is_not_put_right(new_job):
    job = new_job()
    flagged(job, "80", "hub", 2, 1)

    assert len(flagged(job, "100", "hub", 2, 2)) == 1
    assert len(flagged(job, "50", "hub", 1, 1)) == 1


@pytest.mark.parametrize("kind", ["repeat", "recheck"])
def test_rule_4_another_kind_of_reading_is_judged_but_puts_nothing_right(new_job, kind):
    job = new_job()
    flagged(job, "80", "hub", 2, 1)

    (match,) = flagged(job, "140", "hub", 2, 1, kind=kind)

    assert (match.kind, match.verdict) == (kind, "over")
    assert job.joint("hub").proof(1)[0] == "failed"


def test_a_reading_matched_anew_in_the_same_place_does_not_put_itself_right(new_job):
    job = new_job()
    (match,) = flagged(job, "80", "hub", 2, 1)

    assert flag_match(match, job.state) == (match,)


@pytest.mark.parametrize(
    ("spot", "kind"),
    [
        pytest.param(("hub", 2, 1), "loosening", id="loosening"),
        pytest.param((None, None, None), "stray", id="stray"),
        pytest.param(("hub", None, None), "tightening", id="no-stage"),
        pytest.param(("hub", 2, None), "tightening", id="no-position"),
    ],
)
def test_rule_6_what_tightened_no_fastener_has_no_verdict(new_job, spot, kind):
    (match,) = flagged(new_job(), "-40", *spot, kind=kind)

    assert (match.verdict, match.low, match.high) == (None, None, None)


def test_a_match_above_the_range_of_the_tool_is_over(new_job):
    job = new_job()
    reading = job.read(None, over_range=1)

    (match,) = flag_match(MatchKept("1", reading, "tightening", "by order", "hub", 2, 1), job.state)

    assert match.verdict == "over"


# An angle, a check, a left-hand thread.


SPECIAL = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 4
unit: N·m
tolerance: 10 %
joints:
  - {id: head, name: Head bolts, fasteners: 2, torque: 100, then_angle: 90, angle_tolerance: 10}
  - {id: arm, name: Arm bolts, fasteners: 2, torque: 60, hand: left}
steps:
  - torque: [head, arm]
  - recheck: arm
"""


@pytest.mark.parametrize(
    ("angle", "verdict"),
    [
        pytest.param("79.99", "under", id="just-below-the-low-edge"),
        pytest.param("80", "in band", id="on-the-low-edge"),
        pytest.param("100", "in band", id="on-the-high-edge"),
        pytest.param("100.01", "over", id="just-above-the-high-edge"),
        pytest.param("-90", "in band", id="turned-to-the-left"),
        pytest.param(None, None, id="not-sent"),
    ],
)
def test_an_angle_is_judged_by_its_own_edges_and_the_torque_has_none(new_job, angle, verdict):
    job = new_job(SPECIAL)
    reading = job.read("250", angle_deg=angle)

    (match,) = flag_match(MatchKept("1", reading, "tightening", "by order", "head", 2, 1), job.state)

    assert (match.verdict, match.angle_low, match.angle_high, match.low, match.high) == (verdict, "80", "100", None, None)


def test_an_angle_that_was_too_small_is_put_right_by_the_next(new_job):
    job = new_job(SPECIAL)
    for angle in ("60", "90"):
        reading = job.read("150", angle_deg=angle)
        matches = flag_match(MatchKept("1", reading, "tightening", "by order", "head", 2, 1), job.state)
        for match in matches:
            job.put(match)

    assert (matches[0].kind, matches[0].reason, matches[1].verdict) == ("short pull", "put right by reading 2", "in band")


@pytest.mark.parametrize(
    ("torque", "verdict"),
    [
        pytest.param("-60", "in band", id="to-the-left"),
        pytest.param("60", "in band", id="without-a-direction"),
        pytest.param("-50", "under", id="under"),
        pytest.param("-70", "over", id="over"),
    ],
)
def test_a_left_hand_thread_is_judged_by_the_size_of_its_torque(new_job, torque, verdict):
    (match,) = flagged(new_job(SPECIAL), torque, "arm", 1, 1)

    assert match.verdict == verdict


@pytest.mark.parametrize(
    ("torque", "verdict"),
    [
        pytest.param("-50", "under", id="under"),
        pytest.param("-54", "held", id="on-the-low-edge"),
        pytest.param("-66", "held", id="on-the-high-edge"),
        pytest.param("-70", "over", id="over"),
    ],
)
def test_rule_8_a_check_that_slackens_nothing_is_never_in_band(new_job, torque, verdict):
    job = new_job(SPECIAL)
    flagged(job, "-60", "arm", 1, 1)

    (match,) = flagged(job, torque, "arm", 2, 1)

    assert match.verdict == verdict


def test_what_moved_stays_moved_when_it_is_judged_anew(new_job):
    job = new_job(SPECIAL)
    reading = job.read("-60")

    (match,) = flag_match(MatchKept("1", reading, "tightening", "by order", "arm", 2, 1, verdict="moved"), job.state)

    assert match.verdict == "moved"


def test_a_check_that_is_pulled_on_is_made_good(new_job):
    job = new_job(SPECIAL)
    flagged(job, "-40", "arm", 2, 1)
    revised, held = flagged(job, "-60", "arm", 2, 1)

    assert (revised.kind, revised.reason, held.verdict) == ("short pull", "put right by reading 2", "held")


def test_a_loosening_of_a_later_check_opens_the_fastener_and_what_follows_is_a_tightening(new_job):
    job = new_job(SPECIAL)
    flagged(job, "-60", "arm", 1, 1)
    job.say("opened", "arm", 1)

    assert [flagged(job, "-60", "arm", stage, 1)[-1].verdict for stage in (1, 2)] == ["in band", "held"]
