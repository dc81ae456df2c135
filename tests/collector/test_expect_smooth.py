"""A whole log at once: every reading at its joint, stage and fastener, and how sure it is that none was left out."""

from dataclasses import replace
from random import Random

import pytest

from collector.expect.click import Click
from collector.expect.habits import USUAL
from collector.expect.smooth import LogAnswer, smooth_log
from schemas.plan.load import load_plan
from schemas.words import Kind
from tests.rigs.made_plans import HEAD

T, S, R, C, L, X = Kind.TIGHTENING, Kind.SHORT_PULL, Kind.REPEAT, Kind.RECHECK, Kind.LOOSENING, Kind.STRAY


def plan(*rows, steps=""):
    return load_plan((HEAD + "".join(f"  - {{id: {row}}}\n" for row in rows) + steps).encode(), "trailer.yaml")


HUB, ARM, PLATE, EYE = (
    "hub, name: Hub nuts, fasteners: 4, torque: 100, order: cross", "arm, name: Arm bolts, fasteners: 3, torque: 60",
    "plate, name: Plate bolts, fasteners: 4, torque: 25", "eye, name: Towing eye, fasteners: 2, torque: 150",
)  # fmt: skip
TRAILER = plan(HUB, ARM, PLATE, EYE)
DAY = (("hub", 100, 4), ("arm", 60, 3), ("plate", 25, 4), ("eye", 150, 2))


class Log:
    """Readings one after the other: a minute before each joint, 8 s before each next fastener, and what a test says itself."""

    def __init__(self, off=0.0, seed=1, wrench="W-1"):
        self.random, self.off, self.wrench, self.at_s, self.clicks = Random(seed), off, wrench, 0.0, []

    def pull(self, torque_nm, after_s=8.0, spread=0.01, **more):
        self.at_s += after_s
        if torque_nm is not None:
            torque_nm *= 1.0 + self.off + self.random.gauss(0.0, spread)
        self.clicks.append(Click(len(self.clicks) + 1, torque_nm, self.wrench, self.at_s, **more))
        return self

    def joint(self, torque_nm, count, after_s=60.0, **more):
        for n in range(count):
            self.pull(torque_nm, after_s if n == 0 else 8.0 * self.random.uniform(0.8, 1.2), **more)
        return self

    def day(self, *, left_out=()):
        for name, torque_nm, count in DAY:
            self.joint(torque_nm, count - (name in left_out))
        return self

    def placed(self, route=TRAILER):
        return smooth_log(route, self.clicks)


def where(answer):
    return [(one.joint, one.position) for one in answer.readings]


def kinds(answer):
    return [one.kind for one in answer.readings]


def joints(answer):
    return [one.joint for one in answer.readings]


DAY_WHERE = [
    *(("hub", at) for at in (1, 3, 2, 4)), *(("arm", at) for at in (1, 2, 3)), *(("plate", at) for at in (1, 2, 3, 4)),
    ("eye", 1), ("eye", 2),
]  # fmt: skip


def test_a_clean_day_is_placed_to_the_fastener_and_is_nearly_sure_to_be_complete():
    answer = Log().day().placed()

    assert where(answer) == DAY_WHERE
    assert set(kinds(answer)) == {T}
    assert min(one.p for one in answer.readings) > 0.95
    assert answer.p_complete > 0.95
    assert answer.tightened == {("hub", 1): 4, ("arm", 1): 3, ("plate", 1): 4, ("eye", 1): 2}


@pytest.mark.parametrize("times", [True, False], ids=["times", "no-times"])
@pytest.mark.parametrize("name", ["hub", "arm", "plate", "eye"])
def test_one_fastener_left_out_is_never_complete(name, times):
    log = Log().day(left_out=(name,))
    if not times:
        log.clicks = [replace(click, at_s=None) for click in log.clicks]

    answer = log.placed()

    assert answer.p_complete < 0.01
    assert answer.p_places[name, 1] < 0.1
    assert min(p for (joint, _), p in answer.p_places.items() if joint != name) > 0.9


def test_nothing_read_is_nothing_done():
    answer = smooth_log(TRAILER, [])

    assert (answer.readings, answer.p_complete, answer.tightened) == ((), 0.0, {})
    assert set(answer.p_places.values()) == {0.0}


def test_a_plan_that_states_no_torque_leaves_every_reading_to_nobody():
    answer = smooth_log(plan("pin, name: Pin, fasteners: 1, torque: not stated"), Log().joint(100, 2).clicks)

    assert kinds(answer) == [X, X]
    assert isinstance(answer, LogAnswer)


@pytest.mark.parametrize("torque_nm", [4.0, 40.0, 240.0])
@pytest.mark.parametrize("times", [True, False], ids=["times", "no-times"])
def test_a_log_of_other_torques_is_all_strays(torque_nm, times):
    log = Log().joint(torque_nm, 8)
    if not times:
        log.clicks = [replace(click, at_s=None) for click in log.clicks]

    answer = log.placed(plan(HUB, ARM))

    assert kinds(answer) == [X] * 8
    assert max(answer.p_places.values()) < 0.01


@pytest.mark.parametrize("off", [0.03, -0.03])
def test_a_wrench_that_is_off_places_its_readings_all_the_same(off):
    answer = Log(off=off).day().placed()

    assert where(answer) == DAY_WHERE
    assert answer.p_complete > 0.95


def test_rounds_over_two_joints_in_turn_are_told_apart():
    route = plan(*(f"{name}, name: J, fasteners: 3, torque: {full}, stages: [50, 100]" for name, full in (("a", 100), ("b", 64))))
    log = Log().joint(50, 3).joint(32, 3).joint(100, 3).joint(64, 3)

    answer = log.placed(route)

    assert [(one.joint, one.stage) for one in answer.readings] == [
        *[("a", 1)] * 3, *[("b", 1)] * 3, *[("a", 2)] * 3, *[("b", 2)] * 3,
    ]  # fmt: skip
    assert answer.p_complete > 0.95


def test_a_round_over_a_joint_that_finds_a_loose_one_has_completed_it():
    log = Log().joint(100, 3, angle_deg=45.0).joint(100, 3, after_s=20.0, angle_deg=1.0).pull(100, angle_deg=48.0)
    log.joint(60, 3, angle_deg=50.0)

    answer = log.placed(plan(HUB, ARM))

    assert kinds(answer)[:7] == [T, T, T, C, C, C, T]
    assert where(answer)[6] == ("hub", 4)
    assert answer.p_places["hub", 1] > 0.9


def test_a_round_that_turns_nothing_completes_nothing():
    log = Log().joint(100, 3, angle_deg=45.0).joint(100, 4, after_s=20.0, angle_deg=1.0).joint(60, 3, angle_deg=50.0)

    assert log.placed(plan(HUB, ARM)).p_places["hub", 1] < 0.3


def test_an_over_pull_is_on_its_fastener():
    log = Log().joint(100, 2).pull(135).pull(100).joint(60, 3)

    answer = log.placed(plan(HUB, ARM))

    assert where(answer)[2] == ("hub", 2)
    assert kinds(answer)[2] is T
    assert answer.p_complete > 0.9


def test_over_range_is_a_pull_at_the_joint_in_hand():
    answer = Log().joint(100, 2).pull(None).pull(100).joint(60, 3).placed(plan(HUB, ARM))

    assert where(answer)[2] == ("hub", 2)


def test_a_loosened_fastener_is_to_be_done_again():
    log = Log().joint(100, 4).pull(-70)
    opened, again = log.placed(plan(HUB, ARM)), log.pull(100).joint(60, 3).placed(plan(HUB, ARM))

    assert kinds(opened)[-1] is L
    assert opened.p_places["hub", 1] < 0.1
    assert again.p_places["hub", 1] > 0.9
    assert where(again)[4:6] == [("hub", 4), ("hub", 4)]


def test_left_hand_threads_are_tightened_to_the_left():
    route = plan(ARM, "nut, name: Left-hand nut, fasteners: 3, torque: 100, hand: left")

    answer = Log().joint(60, 3).joint(-100, 3).placed(route)

    assert joints(answer) == ["arm"] * 3 + ["nut"] * 3
    assert set(kinds(answer)) == {T}
    assert answer.p_complete > 0.9


def test_through_an_adapter_a_reading_is_taken_for_what_the_fastener_got():
    adapter = "adapter: {length: 100 mm, angle: 0}"
    route = plan(f"a, name: A, fasteners: 3, torque: 100, {adapter}", "b, name: B, fasteners: 3, torque: 100")

    answer = Log().joint(80, 3, length_mm=400.0).joint(100, 3, length_mm=400.0).placed(route)

    assert joints(answer) == ["a"] * 3 + ["b"] * 3
    assert answer.p_complete > 0.95


def test_an_angle_after_a_torque_is_a_stage_of_its_own():
    route = plan("head, name: Head bolts, fasteners: 3, torque: 40, then_angle: 90, angle_tolerance: 10", HUB)
    log = Log().joint(40, 3, angle_deg=30.0).joint(85, 3, after_s=20.0, spread=0.1, angle_deg=90.0).joint(100, 4, angle_deg=30.0)

    answer = log.placed(route)

    assert [(one.joint, one.stage) for one in answer.readings] == [
        *[("head", 1)] * 3, *[("head", 2)] * 3, *[("hub", 1)] * 4,
    ]  # fmt: skip


def test_a_step_that_goes_round_again_is_another_stage():
    route = plan(HUB, ARM, steps="steps: [{torque: hub}, {torque: arm}, {recheck: hub}]\n")
    log = Log().joint(100, 4, angle_deg=40.0).joint(60, 3, angle_deg=40.0).joint(100, 4, angle_deg=1.5)

    answer = log.placed(route)

    assert [one.stage for one in answer.readings] == [1] * 7 + [2] * 4
    assert answer.p_complete > 0.9


def test_strokes_short_pulls_and_second_clicks_are_no_fasteners():
    log = Log().joint(100, 2).pull(55).pull(80, 2.0).pull(100, 2.0).pull(100).joint(60, 3).pull(60, 0.6)

    answer = log.placed(plan(HUB, ARM))

    assert kinds(answer) == [T, T, S, S, T, T, T, T, T, R]
    assert answer.tightened == {("hub", 1): 4, ("arm", 1): 3}


def whole_after_a_short_one(log, **habits):
    """How sure the hub is whole, whose last pull ends short before work goes on elsewhere."""
    return smooth_log(plan(HUB, EYE), log.joint(150, 2).clicks, replace(USUAL, **habits)).p_places["hub", 1]


def one_pull_each():
    return Log().joint(100, 3).pull(70)


def strokes_on_each():
    log = Log()
    for _ in range(3):
        log.pull(60).pull(100, 2.0)
    return log.pull(60)


@pytest.mark.parametrize(
    ("row", "habit", "other"),
    [
        pytest.param(one_pull_each, "continued_alone", "continued", id="one-pull-each"),
        pytest.param(strokes_on_each, "continued", "continued_alone", id="strokes-on-each"),
    ],
)
def test_a_short_pull_that_nobody_continued_is_judged_by_whether_there_is_room_to_swing(row, habit, other):
    def doubt(name):
        seldom, often = (1.0 - whole_after_a_short_one(row(), **{name: share}) for share in (0.5, 0.99))
        return often - seldom

    # The more surely such a pull is continued, the likelier the log is another one than it seems.
    assert doubt(habit) > 10 * abs(doubt(other))


def test_where_every_short_pull_is_continued_one_just_below_the_band_was_taken_for_done_all_the_same():
    logs = (Log().joint(100, 3).pull(torque_nm, spread=0.0) for torque_nm in (89.5, 60.0))

    near, far = (1.0 - whole_after_a_short_one(log, continued=0.999, continued_alone=0.999) for log in logs)

    assert far > 10 * near


def last_of_six(again_deg):
    """How sure the last of six joints is whole whose fourth click turns 7 degrees; in those before each is clicked twice."""
    log = Log()
    for n in range(5):
        for k in range(4):
            log.pull(60 + 15 * n, 8.0 if k else 60.0, angle_deg=25.0).pull(60 + 15 * n, 0.8, angle_deg=again_deg)
    for k in range(3):
        log.pull(135, 8.0 if k else 60.0, angle_deg=25.0)
    route = plan(*(f"j{n}, name: J, fasteners: 4, torque: {60 + 15 * n}" for n in range(6)))
    return log.pull(135, 4.0, angle_deg=7.0).placed(route).p_places["j5", 1]


def test_where_tight_fasteners_seem_to_turn_far_a_little_turn_is_the_less_a_tightening():
    stiff, soft = (1.0 - last_of_six(again_deg) for again_deg in (0.5, 6.0))

    assert soft > 10 * stiff


@pytest.mark.parametrize(("count", "kind"), [pytest.param(4, T, id="all-of-it"), pytest.param(1, X, id="one-may-be-anything")])
def test_a_whole_joint_that_turns_once_more_was_opened_unseen_and_done_anew(count, kind):
    log = Log().joint(100, 4, angle_deg=40.0).joint(60, 3, angle_deg=40.0).joint(100, count, angle_deg=40.0)

    answer = smooth_log(plan(HUB, ARM), log.clicks, replace(USUAL, reopened=0.002))

    assert kinds(answer)[7:] == [kind] * count
    assert [position for _, position in where(answer)[7:] if position] == [1, 3, 2, 4][: count if kind is T else 0]


def test_a_joint_that_was_opened_unseen_and_not_all_done_anew_is_not_whole():
    log = Log().joint(100, 4, angle_deg=40.0).joint(60, 3, angle_deg=40.0).joint(100, 3, angle_deg=40.0)

    never, often = (smooth_log(plan(HUB, ARM), log.clicks, replace(USUAL, reopened=share)) for share in (1e-9, 0.1))

    assert often.p_places["hub", 1] < 0.2 < 0.9 < never.p_places["hub", 1]


def test_two_wrenches_side_by_side_are_told_apart():
    log, other = Log(), Log(wrench="W-2", seed=2)
    log.joint(100, 4)
    other.joint(25, 4, after_s=63.0)
    both = sorted(log.clicks + other.clicks, key=lambda click: click.at_s)

    answer = smooth_log(plan(HUB, PLATE), [replace(click, n=n) for n, click in enumerate(both, 1)])

    assert joints(answer) == ["hub" if click.wrench == "W-1" else "plate" for click in both]
    assert answer.p_complete > 0.9


def test_of_two_people_at_joints_that_look_alike_each_goes_on_with_the_own_wrench():
    route = plan(*(f"{side}{n}, name: Hub nuts {side} {n}, fasteners: 4, torque: 100" for side in "ab" for n in (1, 2)))
    log, other = Log(), Log(wrench="W-2", seed=2)
    log.joint(100, 4).joint(100, 4)
    other.joint(100, 4, after_s=62.0).joint(100, 4)
    both = sorted(log.clicks + other.clicks, key=lambda click: click.at_s)

    answer = smooth_log(route, [replace(click, n=n) for n, click in enumerate(both, 1)])

    found = {}
    for click, one in zip(both, answer.readings, strict=True):
        found.setdefault(click.wrench, []).append(one.joint)
    assert [len(set(row[:4])) for row in found.values()] == [len(set(row[4:])) for row in found.values()] == [1, 1]
    assert {name for row in found.values() for name in row} == {"a1", "a2", "b1", "b2"}
    assert answer.p_complete > 0.9


@pytest.mark.parametrize("stages", ["", ", stages: [50, 100]"], ids=["one-stage", "two-stages"])
def test_the_second_of_two_people_is_taken_to_work_at_the_other_side_and_never_surely(stages):
    """One begins with the plan, the other one beside him; nothing but that tells who has which side."""
    rows = [(f"{name}-{side}", torque) for name, torque in (("u", 100), ("eye", 200)) for side in ("left", "right")]
    route = plan(*(f"{name}, name: Joint, fasteners: 5, torque: {torque}{stages}" for name, torque in rows))
    # The same pauses, three seconds later.
    log, other = Log(), Log(wrench="W-2")
    other.at_s = 3.0
    for torque in (100, 200):
        for share in (0.5, 1.0) if stages else (1.0,):
            log.joint(share * torque, 5, after_s=40.0)
            other.joint(share * torque, 5, after_s=40.0)
    both = sorted(log.clicks + other.clicks, key=lambda click: click.at_s)

    answer = smooth_log(route, [replace(click, n=n) for n, click in enumerate(both, 1)])

    for click, one in zip(both, answer.readings, strict=True):
        assert one.joint.endswith("left" if click.wrench == "W-1" else "right")
        assert one.p < 0.9
    assert answer.p_complete > 0.9


def test_the_joint_that_has_no_room_to_swing_is_known_by_its_strokes_at_the_next_stage_too():
    """Two joints look alike; one takes strokes. Round by round over both, and at the second round the other one comes first."""
    route = plan(*(f"u-{side}, name: U-bolts, fasteners: 4, torque: 100, stages: [50, 100]" for side in ("left", "right")))

    def rounds(*cramped):
        log = Log()
        for rank, takes_strokes in enumerate(cramped):
            for n in range(4):
                pause_s, torque = 8.0 if n else 25.0, 50 if rank < 2 else 100
                if takes_strokes:
                    log.pull(0.6 * torque, pause_s).pull(0.8 * torque, 2.0)
                log.pull(torque, 2.0 if takes_strokes else pause_s)
        found = [f"{one.joint} {one.stage}" for one in log.placed(route).readings]
        return [one for one, before in zip(found, [None, *found], strict=False) if one != before]

    assert rounds(True, False, True, False) == ["u-left 1", "u-right 1", "u-left 2", "u-right 2"]
    assert rounds(True, False, False, True) == ["u-left 1", "u-right 1", "u-right 2", "u-left 2"]


def test_one_fastener_that_was_opened_is_done_anew_at_every_stage_and_the_joint_is_whole():
    log = Log().joint(50, 4, angle_deg=40.0).joint(100, 4, after_s=14.0, angle_deg=20.0)
    log.pull(50, 200.0, angle_deg=38.0).pull(100, 8.0, angle_deg=21.0).joint(60, 3, angle_deg=40.0)

    answer = log.placed(plan("hub, name: Hub nuts, fasteners: 4, torque: 100, stages: [50, 100]", ARM))

    assert [(one.joint, one.stage, one.kind) for one in answer.readings[8:10]] == [("hub", 1, T), ("hub", 2, T)]
    assert answer.p_complete > 0.98


def blocks():
    """The memories of two wrenches as they were read, one behind the other, though the pulls were side by side."""
    log, other = Log(), Log(wrench="W-2", seed=2)
    log.joint(100, 4).joint(60, 3).joint(100, 4, after_s=30.0)
    other.joint(25, 4, after_s=90.0).joint(150, 2, after_s=10.0)
    return [replace(click, n=n) for n, click in enumerate(other.clicks + log.clicks, 1)]


def test_a_log_of_two_memories_is_placed_in_the_order_of_its_times_and_answered_in_its_own():
    clicks = blocks()
    by_time = sorted(clicks, key=lambda click: click.at_s)
    assert by_time != clicks

    answer, other = smooth_log(TRAILER, clicks), smooth_log(TRAILER, by_time)

    expected = {click.n: one for click, one in zip(by_time, other.readings, strict=True)}
    assert list(answer.readings) == [expected[click.n] for click in clicks]
    assert replace(answer, readings=()) == replace(other, readings=())
    assert joints(answer) == ["plate"] * 4 + ["eye"] * 2 + ["hub"] * 4 + ["arm"] * 3 + ["hub"] * 4
    assert kinds(answer) == [T] * 13 + [C] * 4


@pytest.mark.parametrize(
    ("untimed", "expected"),
    [
        pytest.param((), [4, 2, 3, 1], id="every-time-tells-the-last-row-came-first"),
        pytest.param((2,), [1, 3, 2, 4], id="one-without-a-time"),
        pytest.param((0, 1, 2, 3), [1, 3, 2, 4], id="no-times"),
    ],
)
def test_a_log_whose_times_do_not_all_tell_stays_in_the_order_of_its_rows(untimed, expected):
    clicks = [Click(n + 1, 100.0, "W-1", None if n in untimed else 100.0 - 8.0 * n) for n in range(4)]

    assert where(smooth_log(plan(HUB, ARM), clicks)) == [("hub", position) for position in expected]


def test_a_pull_at_ten_times_the_torque_is_none_of_the_joint_in_hand():
    log = Log().joint(100, 2).pull(1000).joint(100, 2, after_s=8.0).joint(60, 3)

    answer = log.placed(plan(HUB, ARM))

    assert kinds(answer)[2] is X
    assert answer.tightened == {("hub", 1): 4, ("arm", 1): 3}


ALIKE = plan(*(f"j{n}, name: J, fasteners: 3, torque: 60" for n in range(4)))


def test_where_nothing_tells_joints_apart_probability_is_spread():
    clicks = [Click(n, 60.0) for n in range(1, 11)]

    answer = smooth_log(ALIKE, clicks)

    assert answer.p_complete < 0.1, "two of twelve pulls are missing, nobody knows where"
    assert max(one.p for one in answer.readings[3:]) < 0.99
    assert sum(0.02 < p < 0.98 for p in answer.p_places.values()) >= 2


def test_with_every_pull_there_alike_joints_are_less_sure_than_different_ones():
    alike = smooth_log(ALIKE, [Click(n, 60.0) for n in range(1, 13)]).p_complete
    other = smooth_log(TRAILER, [replace(click, at_s=None) for click in Log().day().clicks]).p_complete

    assert 0.3 < alike < other


def test_a_joint_of_more_fasteners_than_a_byte_counts_is_counted():
    route = plan("rail, name: Rail screws, fasteners: 300, torque: 20", HUB)

    answer = Log().joint(20, 300).joint(100, 4).placed(route)

    assert answer.tightened == {("rail", 1): 300, ("hub", 1): 4}
    assert answer.p_places["rail", 1] > 0.5
    assert [one.position for one in answer.readings[:300]] == list(range(1, 301))


@pytest.mark.parametrize("angle_deg", [None, 40.0], ids=["no-angle", "angle"])
def test_the_last_joint_of_a_long_log_is_as_sure_as_the_first(angle_deg):
    route = plan(*(f"j{n}, name: J, fasteners: 10, torque: {40 + 12 * (n % 5)}" for n in range(28)))
    log = Log()
    for n in range(28):
        log.joint(40 + 12 * (n % 5), 10, angle_deg=angle_deg)

    answer = log.placed(route)

    assert joints(answer) == [f"j{n}" for n in range(28) for _ in range(10)]
    assert answer.p_places["j27", 1] > 0.9
