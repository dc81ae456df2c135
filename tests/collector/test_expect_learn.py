"""What is learned of confirmed jobs: to the digit, of nothing that no person has counted, and not thrown by one odd pull.

The expected digits are worked out by hand from the method's statement, as the lines beside them say.
"""

from datetime import UTC, datetime, timedelta

import pytest

from collector.expect.habits import USUAL, Habits
from collector.expect.learn import learn
from collector.expect.learned import habits_of
from schemas.bodies import HabitsLearned, PlanChanged
from schemas.words import Kind

BEGIN = datetime(2026, 3, 2, 7, tzinfo=UTC)
NAMES = tuple("abcdef")
PLAN = """\
plan: box-trailer
title: Box trailer, axle
revision: "1"
source: Shop procedure 9, section 2
unit: N·m
tolerance: 10 %
joints:
""" + "".join(f"  - {{id: {name}, name: Bolts {name}, fasteners: 5, torque: 100}}\n" for name in NAMES)  # fmt: skip
ROUNDS = PLAN.replace("torque: 100", "torque: 100, stages: [50, 100]")


class Shop:
    """One job whose pulls say when they were pulled, in seconds, at one wrench."""

    def __init__(self, new_job, plan=PLAN):
        self.job = new_job(plan)
        self.at_s = 0.0

    @property
    def state(self):
        return self.job.state

    def pull(self, pause_s, joint, position, kind=Kind.TIGHTENING, torque="100", stage=1, angle=None, wrench="W-140"):
        self.at_s += pause_s
        at = (BEGIN + timedelta(seconds=self.at_s)).isoformat()
        reading = self.job.read(torque, log=1, tool_time=at, angle_deg=angle, wrench=wrench)
        self.job.match(reading, joint, stage, position, kind=str(kind), verdict="in band")
        return reading

    def joint(self, name, pauses=(60, 6, 6, 6, 6), torques=("100",) * 5, stage=1, angle=None):
        """Five fasteners, one pull each; the first pause leads to the joint."""
        for position, (pause_s, torque) in enumerate(zip(pauses, torques, strict=True), 1):
            self.pull(pause_s, name, position, torque=torque, stage=stage, angle=angle)

    def count(self, *names):
        """A person has counted the stripes of these joints."""
        for name in names:
            self.job.say("stripes", name, count=5, of=5)


@pytest.fixture(name="shop")
def _shop(new_job):
    return Shop(new_job)


def six_joints(shop, **more):
    for name in NAMES:
        shop.joint(name, **more)
    shop.count(*NAMES)
    return shop


def figures(*shops):
    return learn([shop.state for shop in shops], USUAL).figures


def test_learn_of_no_job_is_nothing():
    assert (learn([], USUAL).figures, learn([], USUAL).readings, learn([], USUAL).joints) == ({}, 0, 0)


def test_pauses_are_drawn_by_their_count_from_usual_to_their_median(shop):
    learned = learn([six_joints(shop).state], USUAL)

    assert (learned.readings, learned.joints) == (30, 6)
    # 24 pauses of 6 s, usual 8 s worth 100: 8 · (6/8)^(24/124); deviation √(24/124 · 0.25² + 100/124 · 0.65²), 0.25 at least.
    assert (learned.figures["next_s"], learned.figures["next_sd"]) == ("7.567", "0.5940")
    # 5 pauses of 60 s, which is usual: √(5/30 · 0.25² + 25/30 · 1.1²).
    assert (learned.figures["joint_s"], learned.figures["joint_sd"]) == ("60.00", "1.009")


def test_a_deviation_is_the_median_of_deviations_from_the_median(shop):
    learned = figures(six_joints(shop, pauses=(60, 3, 6, 6, 12)))

    # Logarithms lie 0 or ln 2 from ln 6, half of them each: the median is ln 2 / 2; 1.4826 · that is 0.5138.
    assert (learned["next_s"], learned["next_sd"]) == ("7.567", "0.6260")


def test_one_odd_pause_changes_no_figure(shop, new_job):
    odd = Shop(new_job)
    for name in NAMES:
        odd.joint(name, pauses=(60, 6, 6, 3000 if name == "c" else 6, 6))
    odd.count(*NAMES)

    assert figures(odd) == figures(six_joints(shop))


def test_a_figure_with_too_few_readings_behind_it_is_not_there(shop):
    for name in NAMES[:3]:
        shop.joint(name)
    shop.count(*NAMES[:3])

    learned = learn([shop.state], USUAL)

    assert (learned.figures, learned.readings, learned.joints) == ({}, 15, 3)


def test_several_jobs_are_taken_together(new_job):
    shops = []
    for _ in range(2):
        shop = Shop(new_job)
        for name in NAMES[:3]:
            shop.joint(name)
        shop.count(*NAMES[:3])
        shops.append(shop)

    # Each alone has 12 pauses, and 20 are the least.
    assert figures(*shops)["next_s"] == "7.567"


def test_a_joint_that_nobody_has_counted_has_no_influence(shop, new_job):
    other = Shop(new_job, PLAN + "  - {id: g, name: Bolts g, fasteners: 5, torque: 100}\n")
    for name in NAMES:
        other.joint(name)
    other.joint("g", pauses=(900, 40, 50, 60, 70), torques=("91", "109", "92", "108", "93"))
    other.pull(1, "g", 5, Kind.REPEAT)
    other.count(*NAMES)

    assert learn([other.state], USUAL) == learn([six_joints(shop).state], USUAL)


def test_what_was_placed_after_the_count_has_no_influence(shop, new_job):
    six_joints(shop)
    moved = Shop(new_job)
    for name in NAMES:
        moved.joint(name)
    moved.count(*NAMES)
    # The last pull is said to be on another fastener, but nobody counted since.
    last = max(moved.state.pulls)
    moved.job.match(last, "f", 1, 4, revises=moved.state.pulls[last].match_seq)

    assert learn([moved.state], USUAL).readings == learn([shop.state], USUAL).readings - 1


def test_what_was_pulled_by_another_revision_has_no_influence(shop):
    six_joints(shop)
    plan = shop.job.keep_plan(PLAN.replace("torque: 100}", "torque: 101}", 1))
    shop.job.put(PlanChanged("1", plan, "another torque"))
    shop.count("a")

    assert (learn([shop.state], USUAL).readings, learn([shop.state], USUAL).joints) == (25, 5)


def test_second_clicks_count_as_a_share_of_clicks_with_a_pause_of_their_own(shop):
    for name in NAMES:
        shop.joint(name)
        shop.pull(1.5, name, 5, Kind.REPEAT)
    shop.count(*NAMES)

    learned = figures(shop)

    # 6 of 36, usual 0.025 worth 100; 6 pauses of 1.5 s, usual 1.8 s worth 25: 1.8 · (1.5/1.8)^(6/31).
    assert (learned["again"], learned["again_s"]) == ("0.06250", "1.738")
    assert (learned["next_s"], learned["check"]) == ("7.567", "0.04032")


def test_a_click_that_comes_after_the_count_is_taken_too(shop):
    six_joints(shop)
    shop.pull(5, "f", 1, Kind.RECHECK)
    shop.pull(5, "f", 2, Kind.RECHECK)

    learned = learn([shop.state], USUAL)

    # One joint of 6 gone round, usual 0.05 worth 25.
    assert (learned.readings, learned.figures["check"]) == (32, "0.07258")


def test_a_round_over_a_joint_that_was_left_before_is_no_round_at_once(shop):
    for name in NAMES:
        shop.joint(name)
    for position in range(1, 6):
        shop.pull(6, "a", position, Kind.RECHECK)
    shop.count(*NAMES)

    # None of 6, usual 0.05 worth 25.
    assert figures(shop)["check"] == "0.04032"


def test_a_share_is_never_more_than_a_half(shop):
    for name in NAMES:
        shop.joint(name)
        for _ in range(60):
            shop.pull(1, name, 5, Kind.REPEAT)
    shop.count(*NAMES)

    assert figures(shop)["again"] == "0.5000"


def test_pulls_that_end_short_count_but_not_where_there_is_no_room_to_swing(shop):
    for name in NAMES:
        shop.pull(60, name, 1, Kind.SHORT_PULL, "70")
        shop.pull(2, name, 1)
        # After strokes, strokes again: that this joint has no room is a share of its own.
        shop.pull(6, name, 2, Kind.SHORT_PULL, "70")
        shop.pull(2, name, 2)
        shop.pull(6, name, 3, Kind.TIGHTENING)
        shop.pull(6, name, 4)
        shop.pull(6, name, 5)
    shop.count(*NAMES)

    learned = figures(shop)

    # Of 30 begun, 12 after strokes: 6 short of 18 are too few to be told.
    assert "low" not in learned
    # 12 pauses of 2 s, usual 2.2 s worth 25: 2.2 · (2/2.2)^(12/37).
    assert learned["stroke_s"] == "2.133"


def test_the_share_of_pulls_that_end_short_is_of_fasteners_begun(shop):
    for name in NAMES:
        shop.pull(60, name, 1, Kind.SHORT_PULL, "70")
        shop.pull(2, name, 1)
        shop.pull(6, name, 2)
        shop.pull(6, name, 3)
        shop.pull(6, name, 4)
        shop.pull(6, name, 5)
    shop.count(*NAMES)

    learned = figures(shop)

    # 6 of 24, usual 0.035 worth 100. A second click, of which there is none of 30, never comes after a pull that ends short.
    assert (learned["low"], learned["again"]) == ("0.07661", "0.01923")


def test_a_pause_is_told_only_from_the_reading_before_of_the_same_wrench(shop):
    for name in NAMES:
        for position in range(1, 6):
            shop.pull(3, name, position, wrench="W-140" if position % 2 else "W-025")
    shop.count(*NAMES)

    # W-140 pulls 1, 3 and 5, W-025 pulls 2 and 4: 18 pauses within a joint are too few, 10 from joint to joint are not.
    learned = figures(shop)
    assert "next_s" not in learned
    # 9 s and 6 s: W-140 comes from 5 to 1 after 3 s, W-025 from 4 to 2 after 9 s; the middle is √27: 60 · (√27/60)^(10/35).
    assert learned["joint_s"] == "29.83"


def test_readings_of_which_one_is_not_confirmed_tell_no_pause(shop):
    for name in NAMES:
        shop.joint(name)
    shop.count("a", "c", "e")

    learned = learn([shop.state], USUAL)

    assert (learned.readings, learned.joints) == (15, 3)
    assert "joint_s" not in learned.figures


def test_a_stray_between_two_readings_takes_their_pause_away(shop):
    for name in NAMES:
        for position in range(1, 6):
            shop.pull(3, name, position)
            shop.pull(3, None, None, Kind.STRAY, stage=None)
    shop.count(*NAMES)

    assert not {"next_s", "joint_s"} & figures(shop).keys()


@pytest.mark.parametrize(
    ("kind", "position"),
    [
        pytest.param(Kind.LOOSENING, 5, id="loosening"),
        pytest.param(Kind.STRAY, None, id="stray"),
    ],
)
def test_loosenings_and_strays_are_not_learned_from(shop, kind, position):
    six_joints(shop)
    before = learn([shop.state], USUAL)
    shop.pull(6, "f" if position else None, position, kind, stage=1 if position else None)
    shop.count("f")

    assert learn([shop.state], USUAL) == before


def test_a_lump_of_readings_delivered_together_tells_no_pause(shop):
    learned = figures(six_joints(shop, pauses=(60, 0, 0, 0, 0)))

    assert "next_s" not in learned
    assert "joint_s" not in learned


def test_a_second_click_on_another_fastener_than_the_one_before_tells_no_pause(shop):
    for name in NAMES:
        shop.joint(name)
        shop.pull(1.5, name, 1, Kind.REPEAT)
        shop.pull(1.5, name, 1, Kind.RECHECK)
    shop.count(*NAMES)

    assert "again_s" not in figures(shop)


def test_the_pause_between_rounds_is_apart(new_job):
    shop = Shop(new_job, ROUNDS)
    for name in NAMES:
        shop.joint(name, torques=("50",) * 5)
        shop.joint(name, pauses=(20, 6, 6, 6, 6), stage=2)
        shop.pull(30, name, 1, Kind.RECHECK, "50")
    shop.count(*NAMES)

    # 6 pauses of 20 s, usual 14 s worth 25; one to a click on a tight fastener at the round before tells nothing.
    assert figures(shop)["round_s"] == "15.00"


def test_spread_is_told_from_neighbours_so_that_the_level_of_a_wrench_drops_out(shop, new_job):
    low, high = (
        six_joints(Shop(new_job), torques=torques)
        for torques in (("98", "100", "98", "100", "98"), ("102", "104", "102", "104", "102"))
    )

    # Each pull lies 2 % from the next, but over joints: 24 of 29 steps; 1.4826 · 0.02/√2 = 0.02097; own part 29/129.
    assert figures(low)["spread"] == "0.02177"
    assert figures(high)["spread"] == figures(low)["spread"]


def test_a_steady_hand_is_never_taken_for_less_than_the_floor(new_job):
    shop = six_joints(Shop(new_job))
    steady = Habits(spread=0.006, spread_floor=0.006)

    # 29 equal pulls have no spread; with the usual 0.006 the drawn one would lie below the floor.
    assert learn([shop.state], steady).figures["spread"] == "0.006000"


def test_over_pulls_and_pulls_above_the_range_tell_no_spread(shop, new_job):
    plain, odd = six_joints(shop), Shop(new_job)
    for name in NAMES:
        odd.joint(name)
    odd.pull(60, "f", 5, torque="140")
    odd.pull(60, "f", 5, torque=None)
    odd.count(*NAMES)

    assert figures(odd)["spread"] == figures(plain)["spread"]


def test_turns_are_told_by_joint_and_within_it(new_job):
    shop = Shop(new_job)
    for name in NAMES:
        for position, angle in enumerate(("30", "60", "30", "60", "30"), 1):
            shop.pull(6, name, position, angle=angle)
        shop.pull(1, name, 5, Kind.REPEAT, angle="1.5")
    shop.count(*NAMES)

    learned = figures(shop)

    # 6 joints with median 30°, usual 40° worth 25: 40 · (30/40)^(6/31).
    assert learned["turn_deg"] == "37.83"
    # 18 of 30 lie on the median, so the least of 0.25: √(6/31 · 0.25² + 25/31 · 0.8²).
    assert learned["turn_sd"] == "0.7268"
    # 6 clicks of 1.5°: 6/31 · 1.5/ln 2 + 25/31 · 2.2.
    assert learned["still_deg"] == "2.193"


def test_a_stroke_that_goes_on_is_no_whole_turn(shop):
    for name in NAMES:
        for position in (1, 2, 3):
            shop.pull(6, name, position, Kind.SHORT_PULL, "70", angle="20")
            shop.pull(2, name, position, angle="10")
        for position in (4, 5):
            shop.pull(6, name, position, angle="30")
    shop.count(*NAMES)

    # 6 joints with median 30°, as above.
    assert figures(shop)["turn_deg"] == "37.83"


def test_what_hardly_turns_is_no_turn(shop):
    assert not {"turn_deg", "turn_sd"} & figures(six_joints(shop, angle="5")).keys()


def test_an_angle_stage_tells_pauses_and_neither_spread_nor_turn(new_job):
    shop = Shop(new_job, PLAN.replace("torque: 100", "torque: 100, then_angle: 90, angle_tolerance: 10"))
    for name in NAMES:
        shop.joint(name, stage=2, angle="90", torques=("130", "150", "170", "140", "160"))
    shop.count(*NAMES)

    assert figures(shop).keys() == {"next_s", "next_sd", "joint_s", "joint_sd", "again", "low", "check"}


def test_a_check_of_tight_fasteners_by_a_later_step_is_not_learned_from(new_job):
    steps = "steps:\n  - torque: [a, b, c, d, e, f]\n  - recheck: a\n"
    with_check, without = Shop(new_job, PLAN + steps), Shop(new_job, PLAN + steps)
    for shop in (with_check, without):
        six_joints(shop)
    before = learn([without.state], USUAL)
    with_check.joint("a", stage=2)
    with_check.count("a")

    assert learn([with_check.state], USUAL) == before


def test_the_figures_can_be_matched_by(shop):
    learned = learn([six_joints(shop).state], USUAL)

    taken = habits_of((9, HabitsLearned(1, learned.figures, ("1",), "medians")))

    assert (taken.seq, taken.figures.next_s, taken.figures.way_ahead) == (9, 7.567, USUAL.way_ahead)
