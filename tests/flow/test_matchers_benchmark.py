"""The benchmark of matchers scores what it should: hand-made days with known answers, and a few made ones."""

from dataclasses import replace

import pytest

from benchmarks.bins import bins_of, brier, reliability_lines, sure_and_right
from benchmarks.contest import CONTESTANTS, Assignment, InOrderRule
from benchmarks.days import Sort, clicks_of, route_of, score_days, told_days
from benchmarks.matchers import Wanted, rows, wanted_of
from benchmarks.mistakes import mistake_of
from benchmarks.reliability import told_groups
from benchmarks.score import score_day, total_of
from benchmarks.show_day import shown_day
from collector.expect.smooth import LogAnswer, Placed
from schemas.words import Kind
from sim.shop.day import SHOPS
from sim.shop.truth import ShopDay, ShopReading, Touch

PLAN = """
plan: hub-carrier
title: Hub carrier
revision: "1"
source: Made up
unit: N·m
tolerance: 8 %
joints:
  - {id: hub, name: Hub bolts, fasteners: 3, torque: 60, order: [1, 2, 3]}
  - {id: carrier, name: Carrier bolts, fasteners: 2, torque: 100, order: [1, 2]}
"""
DONE = (("hub", 1), ("hub", 2), ("hub", 3), ("carrier", 1), ("carrier", 2))


def _touch(joint: str, position: int, kind: Kind = Kind.TIGHTENING) -> Touch:
    return Touch(kind, joint, 1, position)


def _placed(joint: str, position: int, kind: Kind = Kind.TIGHTENING, p: float = 0.995) -> Placed:
    return Placed(joint, 1, position, kind, p)


def _day(torques: list[str], truth: list[Touch], missed: tuple[tuple[str, int, int], ...] = ()) -> ShopDay:
    readings = tuple(ShopReading(10.0 * at, "W-1", torque) for at, torque in enumerate(torques))
    return ShopDay(PLAN, readings, tuple(truth), missed, "usual", "nobody")


def _answer(placed: list[Placed], p_hub: float, p_carrier: float, p_complete: float, hub: int = 3) -> LogAnswer:
    return LogAnswer(
        tuple(placed), {("hub", 1): p_hub, ("carrier", 1): p_carrier}, p_complete, {("hub", 1): hub, ("carrier", 1): 2}
    )


@pytest.fixture(name="clean")
def clean_day() -> ShopDay:
    """All five fasteners done in the plan's order."""
    return _day(["60.4", "60.9", "60.2", "100.8", "101.1"], [_touch(*place) for place in DONE])


@pytest.fixture(name="nasty")
def nasty_day() -> ShopDay:
    """One of the hub's three is skipped and another clicked twice, so that the count is right; a trial click at the end."""
    truth = [_touch("hub", 1), _touch("hub", 1, Kind.REPEAT), _touch("hub", 2), *(_touch(*place) for place in DONE[3:])]
    return _day(["60.4", "60.6", "60.2", "100.8", "101.1", "60.3"], [*truth, Touch(Kind.STRAY)], (("hub", 1, 3),))


def test_a_right_and_sure_answer_of_a_clean_day_is_all_right_and_questions_nothing(clean):
    answer = _answer([_placed(*place) for place in DONE], 0.999, 0.999, 0.998)

    score = score_day(route_of(clean), clean, answer)

    assert (score.readings, score.placed, score.kinds) == (5, 5, 5)
    assert (score.misses, score.found, score.joints) == (0, 0, 0)
    assert score.claimed
    assert not score.is_false_complete
    assert score.reading_claims == ((0.995, True),) * 5
    assert score.place_claims == ((0.999, True), (0.999, True))
    assert score.day_claim == (0.998, True)


def test_a_day_called_complete_with_a_miss_is_a_false_complete_and_its_miss_is_not_found(nasty):
    counted = [_placed(*place) for place in DONE]
    answer = _answer([*counted, Placed(None, None, None, Kind.STRAY, 0.9)], 0.99, 0.999, 0.99)

    score = score_day(route_of(nasty), nasty, answer)

    assert score.is_false_complete
    assert (score.misses, score.found) == (1, 0)
    assert (score.placed, score.kinds) == (6, 5)
    assert score.place_claims == ((0.99, False), (0.999, True))
    assert score.day_claim == (0.99, False)


@pytest.mark.parametrize(
    ("p_hub", "counted", "joints"),
    [
        pytest.param(0.989, 3, 1, id="by-its-probability"),
        pytest.param(0.999, 2, 0, id="by-its-count"),
    ],
)
def test_a_missed_place_is_found(nasty, p_hub, counted, joints):
    placed = [_placed(*place) for place in DONE] + [Placed(None, None, None, Kind.STRAY, 0.9)]

    score = score_day(route_of(nasty), nasty, _answer(placed, p_hub, 0.999, 0.5, counted))

    assert (score.found, score.joints) == (1, joints)
    assert not score.is_false_complete


IN_PLACE = "repeat taken for recheck, in the right place"
STRAY = Placed(None, None, None, Kind.STRAY, 0.9)


@pytest.mark.parametrize(
    ("at", "told", "is_placed", "is_kind", "mistake"),
    [
        pytest.param(0, _placed("carrier", 1), False, True, ("another joint",), id="another-joint"),
        pytest.param(0, Placed("hub", 2, 1, Kind.TIGHTENING, 0.9), False, True, ("another stage of the joint",), id="stage"),
        pytest.param(0, _placed("hub", 3), True, True, (), id="another-position"),
        pytest.param(1, _placed("hub", 1, Kind.RECHECK), True, False, (IN_PLACE,), id="another-kind"),
        pytest.param(0, STRAY, False, False, ("tightening taken for stray",), id="said-to-be-a-stray"),
        pytest.param(5, _placed("hub", 3), False, False, ("stray taken for tightening",), id="a-stray-not-said-to-be-one"),
    ],
)
def test_a_reading_is_right_by_joint_and_stage_and_its_kind_is_counted_apart(nasty, at, told, is_placed, is_kind, mistake):
    right = [Placed(true.joint, true.stage, true.position, true.kind, 0.9) for true in nasty.truth]
    right[at] = told

    score = score_day(route_of(nasty), nasty, _answer(right, 0.1, 0.999, 0.1, 2))

    assert (score.placed, score.kinds) == (5 + is_placed, 5 + is_kind)
    assert score.reading_claims[at] == (told.p, is_placed)
    assert score.mistakes == mistake


def test_a_joint_that_no_torque_tells_apart_is_an_alike_one(clean):
    alike = "  - {id: carrier-right, name: Carrier bolts, fasteners: 2, torque: 100}"
    more = "  - {id: long-carrier, name: Carrier bolts, fasteners: 3, torque: 100}"
    route = route_of(replace(clean, plan="\n".join((PLAN.rstrip(), alike, more))))

    assert mistake_of(route, _placed("carrier-right", 1), _touch("carrier", 1)) == "an alike joint"
    assert mistake_of(route, _placed("long-carrier", 1), _touch("carrier", 1)) == "another joint"


def test_an_answer_that_leaves_a_reading_out_is_refused(clean):
    answer = _answer([_placed(*place) for place in DONE[:4]], 1, 1, 1)

    with pytest.raises(ValueError, match="longer"):
        score_day(route_of(clean), clean, answer)


def test_an_answer_of_probabilities_alone_is_scored_by_them(nasty):
    answer = LogAnswer((), {("hub", 1): 0.4, ("carrier", 1): 1.0}, 0.4, {})

    score = score_day(route_of(nasty), nasty, answer)

    assert (score.readings, score.found, score.joints, score.claimed) == (0, 1, 1, False)


def test_many_days_are_summed_by_days_with_and_without_a_miss(clean, nasty):
    route = route_of(clean)
    placed = [_placed(*place) for place in DONE]
    sure = score_day(route, clean, _answer(placed, 0.999, 0.999, 0.998), seconds=2.0)
    asking = score_day(route, clean, _answer([_placed("carrier", 1), *placed[1:]], 0.5, 0.98, 0.5), seconds=3.0)
    false = score_day(route, nasty, _answer([*placed, Placed(None, None, None, Kind.STRAY, 0.9)], 1.0, 1.0, 1.0))

    total = total_of([sure, asking, asking, false, false, replace(false, claimed=False, found=1)])

    assert (total.days, total.miss_days, total.readings) == (6, 3, 33)
    assert total.placed == 31 / 33
    assert total.kinds == 30 / 33
    assert total.found == 1 / 3
    assert total.false_complete == 2 / 3
    assert total.questioned == 2 / 3
    assert total.joints == 2
    assert total.per_s == 33 / 8


def test_shares_of_nothing_are_no_numbers(clean):
    total = total_of([score_day(route_of(clean), clean, LogAnswer((), {("hub", 1): 1, ("carrier", 1): 1}, 1, {}))])

    assert (total.placed, total.found, total.false_complete, total.per_s) == (None, None, None, None)
    assert total.questioned == 0


@pytest.mark.parametrize(
    ("p", "name"),
    [
        pytest.param(0.0, "0 to 0.5", id="zero"),
        pytest.param(0.5, "0.5 to 0.8", id="an-edge-belongs-to-the-bin-above"),
        pytest.param(0.98999, "0.95 to 0.99", id="just-below-an-edge"),
        pytest.param(0.99, "0.99 to 0.999", id="sure"),
        pytest.param(1.0, ">= 0.999", id="one"),
    ],
)
def test_a_claim_is_in_the_bin_of_its_probability(p, name):
    assert [one.name for one in bins_of([(p, True)]) if one.count] == [name]


def test_reliability_is_how_often_claims_of_a_bin_were_right():
    claims = [(0.9, True), (0.92, False), (0.995, True), (0.993, True), (0.2, False)]

    found = {one.name: (one.count, one.right) for one in bins_of(claims) if one.count}

    assert found == {"0 to 0.5": (1, 0.0), "0.9 to 0.95": (2, 0.5), "0.99 to 0.999": (2, 1.0)}
    assert sure_and_right(claims) == (2, 2)
    assert brier([(0.9, True), (0.8, False)]) == pytest.approx((0.01 + 0.64) / 2)
    assert brier([]) is None
    assert "2 claims, mean p 0.9100, right 0.5000" in "\n".join(reliability_lines("place", claims))


def test_the_log_is_given_without_its_truth():
    day = _day(["60.4"], [_touch("hub", 1)])
    bare = replace(day, readings=(ShopReading(None, None, "-60.4", "31.5"),))

    (timed,), (without,) = clicks_of(day), clicks_of(bare)

    assert (timed.n, timed.torque_nm, timed.wrench, timed.at_s, timed.angle_deg) == (1, 60.4, "W-1", 0.0, None)
    assert (without.torque_nm, without.wrench, without.at_s, without.angle_deg) == (-60.4, None, None, 31.5)


def test_the_rule_of_order_takes_a_second_click_for_the_skipped_fastener(nasty):
    answer = InOrderRule().answer(route_of(nasty), clicks_of(nasty))

    assert score_day(route_of(nasty), nasty, answer).is_false_complete
    assert [(told.joint, told.position) for told in answer.readings] == [*DONE, (None, None)]


def test_the_rule_of_order_stays_at_a_fastener_until_its_band_is_reached():
    truth = [_touch("hub", 1, Kind.SHORT_PULL), _touch("hub", 1), _touch("hub", 2)]
    day = _day(["41.0", "60.3", "60.1"], truth, (("hub", 1, 3), ("carrier", 1, 1), ("carrier", 1, 2)))

    answer = InOrderRule().answer(route_of(day), clicks_of(day))

    assert [Touch(told.kind, told.joint, told.stage, told.position) for told in answer.readings] == truth
    assert answer.tightened == {("hub", 1): 2, ("carrier", 1): 0}
    assert answer.p_complete == 0


def test_the_assignment_follows_the_torque_where_the_order_is_another_and_takes_what_is_too_many_for_a_repeat():
    truth = [*(_touch(*place) for place in DONE[3:]), _touch("carrier", 2, Kind.REPEAT), *(_touch(*place) for place in DONE[:3])]
    day = _day(["100.6", "100.2", "107.0", "60.3", "60.1", "60.2"], truth)

    answer = Assignment().answer(route_of(day), clicks_of(day))

    score = score_day(route_of(day), day, answer)
    assert (score.placed, score.kinds, score.claimed) == (6, 6, True)


def test_the_assignment_keeps_to_the_order_of_the_plan_where_torque_says_nothing(clean):
    day = replace(clean, readings=clean.readings[:2], truth=clean.truth[:2], missed=(("hub", 1, 3),))

    answer = Assignment().answer(route_of(day), clicks_of(day))

    assert [(told.joint, told.position) for told in answer.readings] == [("hub", 1), ("hub", 2)]
    assert answer.tightened == {("hub", 1): 2, ("carrier", 1): 0}
    assert answer.p_complete == 0


def test_a_day_is_shown_with_a_mark_before_what_is_wrong(nasty):
    answer = _answer([*(_placed(*place) for place in DONE), Placed(None, None, None, Kind.STRAY, 0.9)], 1.0, 0.5, 0.5)

    lines = list(shown_day(route_of(nasty), nasty, clicks_of(nasty), answer))

    marks = [line[0] for line in lines if "W-1" in line]
    assert marks == [" ", "k", " ", " ", " ", " "]
    assert lines[-2].startswith("! hub stage 1: 3 of 3 tightened, p_complete 1.0000, truth: missed [3]")
    assert lines[-1].startswith("! carrier stage 1: 2 of 2 tightened, p_complete 0.5000, truth: done")


@pytest.mark.parametrize("generator", ["shop", "other"])
def test_days_of_either_generator_are_scored_and_told(generator):
    sort = Sort("usual", angle=True, times=True, generator=generator)

    lines = list(told_days(sort, range(2), ["smooth", "in order"]))

    assert [line.split(":")[0] for line in lines if "2 days," in line] == ["smooth", "in order"]
    assert any(line.startswith("day complete: 2 claims") for line in lines)


def test_days_shared_out_over_the_cores_are_those_of_one_core_in_their_order():
    sort, names = Sort("usual", angle=False, times=True), ["in order"]
    singly = [replace(score, seconds=0.0) for seed in range(20) for score in score_days(sort, [seed], names)["in order"]]

    shared = [replace(score, seconds=0.0) for score in score_days(sort, range(20), names)["in order"]]

    assert shared == singly


@pytest.mark.parametrize(
    ("sort", "wanted"),
    [
        pytest.param(Sort("tidy", True, True), Wanted(placed=1.0, questioned=0.02), id="tidy"),
        pytest.param(Sort("usual", True, True), Wanted(placed=0.996, false_complete=0.03, questioned=0.1), id="usual-angles"),
        pytest.param(Sort("usual", False, True), Wanted(placed=0.993, false_complete=0.01, joints=2), id="usual"),
        pytest.param(Sort("usual", False, False), Wanted(), id="usual-without-times"),
        pytest.param(Sort("tidy", True, False), Wanted(), id="tidy-without-times"),
        pytest.param(Sort("rough", True, True), Wanted(placed=0.98, false_complete=0.05), id="rough-angles"),
        pytest.param(Sort("rough", False, True), Wanted(placed=0.98), id="rough"),
    ],
)
def test_each_sort_of_days_has_its_numbers_to_reach(sort, wanted):
    assert wanted_of(sort) == wanted


def test_the_table_has_each_shop_with_every_contestant_and_the_worth_of_the_claims(monkeypatch):
    monkeypatch.setitem(CONTESTANTS, "smooth", lambda _: InOrderRule())  # quick; what it finds is no matter here

    found = rows(True)

    for shop in SHOPS:
        placing = [row for row in found if row.what.startswith(f"{shop} shop, ") and "joint and stage right" in row.what]
        assert len(placing) == 4
        assert all("in order" in row.baseline and "assignment" in row.baseline for row in placing)
        assert any(row.what.startswith(f"{shop} shop: day complete, claims at 0.99") for row in found)
    assert sum("oracle" in row.baseline for row in found) > 0
    assert sum(row.what.startswith("another author's days, ") for row in found) == 4
    assert [sum(row.what.startswith(f"{shop} shop live, ") for row in found) for shop in SHOPS] == [3, 3, 3]


def test_the_reliability_of_every_group_is_told_with_its_brier_scores():
    lines = list(told_groups(days=1))

    groups = ("all fitters", "fitters that nothing was tuned on", "another author's days")
    assert [line.split(":")[0] for line in lines if "Brier score" not in line and not line.startswith(" ")] == list(groups)
    for what in ("joint and stage", "place complete", "day complete"):
        assert sum(line.startswith(f"{what}: ") and "Brier score 0." in line for line in lines) == len(groups)
