"""What can happen within a joint: states and moves, beliefs over them, and what a row of readings was."""

from dataclasses import replace

import pytest

from collector.expect.click import Click
from collector.expect.gaps import see
from collector.expect.habits import USUAL
from collector.expect.kinds import kinds_of, path_at
from collector.expect.odds import Odds
from collector.expect.own import Own
from collector.expect.places import places_of
from collector.expect.reading_odds import odds_of
from collector.expect.settle import AtPlace
from collector.expect.ways import Belief, Leaves, layer_of, mixed
from collector.expect.within import CRAMPED, START, Did, Within, checked_of, did_of, done_of, is_check, opened, state_of
from schemas.plan.load import load_plan
from schemas.words import Kind
from tests.rigs.made_plans import HEAD

T, S, R, C, L = Kind.TIGHTENING, Kind.SHORT_PULL, Kind.REPEAT, Kind.RECHECK, Kind.LOOSENING
PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, order: cross}
  - {id: head, name: Head bolts, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10}
"""
HUB, HEAD_TORQUE, HEAD_ANGLE = places_of(load_plan(PLAN.encode(), "axle.yaml"))
FOUR = Within(4, USUAL)
DONE = state_of(4, Did.NEW)


def tables_of(within):
    return (*within.stays, *within.enters, *within.stays_in_turn, *within.turns, *within.goes_round)


def reachable(within):
    """Every state that any row of readings can lead to."""
    found, left = {START}, [START]
    while left:
        state = left.pop()
        for table in tables_of(within):
            for after, _, _ in table[state]:
                if after not in found:
                    found.add(after)
                    left.append(after)
    return found


# States and moves.


@pytest.mark.parametrize("done", [0, 1, 4, 255, 256, 999])
@pytest.mark.parametrize("checked", [0, 1, 999])
@pytest.mark.parametrize("did", list(Did))
def test_a_state_gives_back_what_it_was_made_of(done, did, checked):
    state = state_of(done, did, checked)

    assert (done_of(state), did_of(state), checked_of(state)) == (done, did, checked)


@pytest.mark.parametrize("fasteners", [1, 2, 5])
def test_no_move_leads_beyond_the_fasteners_of_the_place(fasteners):
    within = Within(fasteners, USUAL)
    states = reachable(within)

    assert {done_of(state) for state in states} == set(range(fasteners + 1))
    assert max(checked_of(state) for state in states) == fasteners
    for state in states:
        assert 0.0 < within.pauses[state] <= 1.0
        for table in tables_of(within):
            assert all(0.0 < share <= 1.0 for _, share, _ in table[state])
            assert len({(after, what) for after, _, what in table[state]}) == len(table[state])
        assert 0.0 < within.leaves[state] <= 1.0 + fasteners * USUAL.skip


def test_a_joint_is_left_when_it_is_done_and_seldom_before():
    leaves = [FOUR.leaves[state_of(done, Did.NEW)] for done in range(1, 5)]

    assert leaves == sorted(leaves)
    assert leaves[-1] == 1.0
    assert leaves[-2] < 0.05
    assert leaves[-2] - leaves[-3] == pytest.approx(4 * USUAL.skip, abs=1e-3), "one was passed over"


def test_a_short_pull_is_continued_before_a_joint_is_left():
    assert FOUR.leaves[state_of(4, Did.NEW_LOW)] < 0.1 * FOUR.leaves[DONE]
    goes_on, other = FOUR.stays[0][state_of(2, Did.NEW_LOW)]
    assert (did_of(goes_on[0]), done_of(goes_on[0])) == (Did.ON, 2)
    assert (did_of(other[0]), done_of(other[0])) == (Did.NEW, 3)
    assert goes_on[1] > other[1]


def test_a_round_over_tight_ones_goes_round_to_its_end():
    inside, over = state_of(4, Did.CHECK, 2), state_of(4, Did.CHECK, 4)

    assert FOUR.leaves[inside] < 0.1 < FOUR.leaves[over] == 1.0
    assert max(FOUR.stays[0][inside], key=lambda move: move[1])[0] == state_of(4, Did.CHECK, 3)
    assert [did_of(move[0]) for move in FOUR.stays[0][over]] == [Did.CHECK]


def test_a_round_over_a_joint_that_lacks_one_finds_it():
    found = {did_of(move[0]): move[1] for move in FOUR.stays[0][state_of(3, Did.CHECK, 2)]}

    assert found[Did.NEW] == pytest.approx(USUAL.found, rel=0.1)
    assert Did.NEW not in {did_of(move[0]) for move in FOUR.stays[0][state_of(4, Did.CHECK, 2)]}


def test_where_there_was_no_room_to_swing_the_next_pull_ends_short_too():
    def short(state, moves=FOUR.stays):
        return sum(move[1] for move in moves[1][state] if did_of(move[0]) in (Did.NEW_LOW, Did.LOW_ALONE))

    cramped, roomy = state_of(2, Did.ON) | CRAMPED, state_of(2, Did.NEW)
    assert short(cramped) > 10 * short(roomy)
    assert short(state_of(2, Did.AGAIN) | CRAMPED) == pytest.approx(short(cramped), rel=0.05), "clicked once more"
    assert short(CRAMPED, FOUR.enters) > 10 * short(START, FOUR.enters), "at the next stage"
    assert short(state_of(2, Did.NOTHING) | CRAMPED, FOUR.turns) > 10 * short(state_of(2, Did.NOTHING), FOUR.turns)


def test_who_has_opened_one_fastener_has_often_opened_the_next_too_but_no_more_than_were_done():
    def redo(state):
        return sum(move[1] for move in FOUR.stays[0][state] if did_of(move[0]) is Did.REDO)

    shares = [redo(state_of(3, Did.NEW)), *(redo(state_of(3, Did.REDO, count)) for count in (1, 2, 3))]
    assert shares == [USUAL.redo, USUAL.redo_on, USUAL.redo_on, 0.0]


def test_opened_as_a_whole_a_joint_has_nothing_done_and_as_little_room_as_before():
    assert opened({state_of(3, Did.ON) | CRAMPED: 0.75, state_of(4, Did.NEW): 0.25}, whole=True) == {CRAMPED: 0.75, START: 0.25}


@pytest.mark.parametrize("fasteners", [1, 250, 300, 999])
def test_a_joint_is_believed_whole_no_more_than_surely(fasteners):
    assert max(Within(fasteners, USUAL).believed) == 1.0
    assert Within(fasteners, USUAL).believed[-1] == 1.0


def test_strokes_show_that_there_is_no_room_and_one_pull_that_there_is():
    strokes = [move[0] for move in FOUR.stays[0][state_of(2, Did.NEW_LOW)] if did_of(move[0]) is Did.ON]
    pulls = [move[0] for move in FOUR.stays[0][state_of(2, Did.ON) | CRAMPED] if did_of(move[0]) is Did.NEW]

    assert [state & CRAMPED for state in (*strokes, *pulls)] == [CRAMPED, 0]


def test_room_to_swing_is_still_known_when_the_wrench_comes_back():
    left = Belief({state_of(2, Did.ON) | CRAMPED: 0.75, state_of(2, Did.NEW): 0.25}, 4).left(FOUR)

    assert left.weights == pytest.approx({state_of(2, Did.NOTHING) | CRAMPED: 0.75, state_of(2, Did.NOTHING): 0.25}, abs=0.01)


def test_the_next_stage_begins_with_the_room_that_the_round_before_it_showed():
    start = Belief({START: 1.0}, 1)
    cramped = Belief({state_of(4, Did.NOTHING) | CRAMPED: 0.75, state_of(4, Did.NOTHING): 0.25}, 4)
    roomy = Belief({state_of(4, Did.NOTHING): 1.0}, 4)

    assert cramped.then(start).weights == {START: 0.25, CRAMPED: 0.75}
    assert roomy.then(start) is start


@pytest.mark.parametrize(
    ("before", "short"),
    [
        pytest.param(Did.NEW, Did.LOW_ALONE, id="one-pull"),
        pytest.param(Did.AGAIN, Did.LOW_ALONE, id="clicked-once-more"),
        pytest.param(Did.ON, Did.NEW_LOW, id="strokes"),
        pytest.param(Did.NEW_LOW, Did.NEW_LOW, id="a-short-one"),
    ],
)
def test_a_pull_that_ends_short_after_one_pull_each_is_told_from_one_where_strokes_are_usual(before, short):
    found = {did_of(move[0]) for move in FOUR.stays[1][state_of(2, before)] if done_of(move[0]) == 3}

    assert found == {short, Did.NEW}


def test_a_fastener_that_is_done_by_a_pull_below_the_band_was_taken_for_done_wherever_one_stands():
    new = {False: ("new", "enter_new"), True: ("under", "enter_under")}
    for is_low, names in new.items():
        stays, enters, in_turn, turns = (pair[is_low] for pair in (FOUR.stays, FOUR.enters, FOUR.stays_in_turn, FOUR.turns))
        for state in reachable(FOUR):
            for table, name in ((stays, names[0]), (in_turn, names[0]), (enters, names[1]), (turns, names[1])):
                assert {Odds._fields[what] for after, _, what in table[state] if did_of(after) is Did.NEW} <= {name}


def test_where_there_is_room_to_swing_a_short_pull_is_left_as_it_is_more_often():
    alone, strokes = state_of(4, Did.LOW_ALONE), state_of(4, Did.NEW_LOW)

    assert FOUR.leaves[DONE] > FOUR.leaves[alone] > FOUR.leaves[strokes]
    goes_on = [max(move[1] for move in FOUR.stays[0][state] if did_of(move[0]) is Did.ON) for state in (alone, strokes)]
    assert goes_on[0] < goes_on[1]


def test_a_place_is_entered_by_its_first_pull_or_by_going_over_it_again():
    begin, again = FOUR.enters[0][START], FOUR.enters[0][DONE]

    assert [move[0] for move in begin] == [state_of(1, Did.NEW)]
    assert {did_of(move[0]) for move in again} == {Did.CHECK, Did.REDO, Did.NEW}
    assert {did_of(move[0]) for move in FOUR.enters[0][state_of(2, Did.NOTHING)]} == {Did.CHECK, Did.REDO, Did.NEW}


@pytest.mark.parametrize("did", list(Did))
def test_only_a_click_of_a_round_over_tight_ones_is_a_check(did):
    states = [state_of(done, did, checked) for done in (0, 4, 999) for checked in (0, 4)]

    assert {is_check(state) for state in states} == {did is Did.CHECK}


@pytest.mark.parametrize("is_low", [False, True])
@pytest.mark.parametrize("did", [Did.NOTHING, Did.NEW, Did.CHECK])
def test_a_place_of_a_row_that_is_gone_round_again_begins_its_round_and_nothing_else(did, is_low):
    (move,) = FOUR.goes_round[is_low][state_of(4, did, 4 if did is Did.CHECK else 0)]

    assert move == (state_of(4, Did.CHECK, 1), 1.0, Odds._fields.index("enter_check"))


def test_a_row_is_gone_round_where_each_is_believed_to_be_done_and_more_surely_than_one_place_alone():
    def share(table, done):
        return sum(one for after, one, _ in table[state_of(done, Did.NOTHING)] if did_of(after) is Did.CHECK)

    (good, _), enters = FOUR.goes_round, FOUR.enters[0]
    assert share(good, 3) == pytest.approx(4 * USUAL.skip), "one was passed over"
    assert [share(enters, done) for done in (3, 4)] == pytest.approx([USUAL.check_late * share(good, done) for done in (3, 4)])
    assert [after for after, _, _ in good[state_of(3, Did.NOTHING)]] == [state_of(3, Did.CHECK, 1)]


def test_a_joint_that_was_opened_unseen_begins_anew_and_seldom_where_it_was_not_done():
    def anew(done):
        return sum(move[1] for move in FOUR.enters[0][state_of(done, Did.NOTHING)] if move[0] == state_of(1, Did.NEW))

    assert anew(4) == pytest.approx(USUAL.reopened, rel=0.1)
    assert 0.0 < anew(3) < 0.1 * anew(4)
    assert [did_of(move[0]) for move in FOUR.stays[0][DONE]] == [Did.AGAIN, Did.CHECK, Did.REDO], "nobody opens it meanwhile"


def test_a_log_seldom_ends_within_a_joint():
    assert FOUR.stopped(DONE, USUAL.stop) > 10 * FOUR.stopped(state_of(2, Did.NEW), USUAL.stop)


def test_an_opened_fastener_is_one_fewer_done_whatever_came_last():
    assert opened({DONE: 0.5, state_of(4, Did.CHECK, 2): 0.5}) == {state_of(3, Did.NEW): 1.0}
    assert opened({state_of(1, Did.NEW): 0.7, START: 0.3}) == {START: 1.0}


# In turn with another place.


@pytest.mark.parametrize("is_low", [False, True])
def test_in_turn_the_next_fastener_is_the_other_places_and_all_else_goes_on_as_ever(is_low):
    for state in reachable(FOUR):
        stays = {(after, what): share for after, share, what in FOUR.stays[is_low][state]}
        in_turn = {(after, what): share for after, share, what in FOUR.stays_in_turn[is_low][state]}
        assert set(in_turn) == set(stays)
        for key, share in stays.items():
            is_next = done_of(key[0]) > done_of(state)
            assert in_turn[key] == pytest.approx(share * (1.0 - USUAL.turns_on) if is_next else share)


def test_a_turn_is_the_next_fastener_and_there_is_none_where_all_are_done():
    good, short = ({move[0]: move[1] for move in FOUR.turns[is_low][state_of(2, Did.NOTHING)]} for is_low in (False, True))

    assert good == {state_of(3, Did.NEW): 1.0 - USUAL.low}
    # Below its band it is to be continued, or was taken for done.
    assert short == {state_of(3, Did.NEW_LOW): USUAL.low, state_of(3, Did.NEW): 1.0 - USUAL.low}
    assert [FOUR.turns[is_low][DONE] for is_low in (False, True)] == [[], []]


def test_nobody_turns_to_another_place_in_the_midst_of_strokes():
    pauses = {did: FOUR.pauses[state_of(2, did)] for did in Did}

    assert {did for did, p in pauses.items() if p < 1.0} == {Did.NEW_LOW, Did.ON_LOW, Did.LOW_ALONE}
    assert pauses[Did.NEW_LOW] == pauses[Did.ON_LOW] == pytest.approx(1.0 - USUAL.continued)
    assert pauses[Did.LOW_ALONE] == pytest.approx(1.0 - USUAL.continued_alone)


# Beliefs.


def test_a_belief_knows_how_likely_every_fastener_was_touched():
    belief = Belief({DONE: 0.5, state_of(4, Did.CHECK, 1): 0.25, state_of(3, Did.NEW): 0.25}, 4)

    assert belief.full == 0.75


def test_once_a_place_is_left_those_who_were_done_weigh_more_and_the_last_click_no_more():
    belief = Belief({DONE: 0.5, state_of(4, Did.AGAIN): 0.1, state_of(3, Did.NEW): 0.4}, 4)

    left = belief.left(FOUR)

    assert set(left.weights) == {state_of(4, Did.NOTHING), state_of(3, Did.NOTHING)}
    assert sum(left.weights.values()) == pytest.approx(1.0)
    assert left.full > 0.95
    assert belief.leave(FOUR) == pytest.approx(0.6 + 0.4 * FOUR.leaves[state_of(3, Did.NEW)])
    assert belief.left(FOUR) is left


ROUND = state_of(4, Did.CHECK, 4)
"""All four were gone over again."""


@pytest.mark.parametrize(
    ("weights", "expected"),
    [
        pytest.param({START: 1.0}, 0.0, id="nothing-yet"),
        pytest.param({DONE: 0.9, state_of(4, Did.REDO): 0.1}, 0.0, id="no-round"),
        pytest.param({ROUND: 1.0}, 1.0, id="a-round"),
        pytest.param({ROUND: 0.3, DONE: 0.7}, 0.3, id="maybe-a-round"),
        pytest.param({state_of(4, Did.CHECK, 2): 1.0}, 1.0, id="a-round-that-was-broken-off"),
    ],
)
def test_whoever_leaves_a_place_has_just_gone_round_it_as_likely_as_the_last_click_was_of_a_round(weights, expected):
    assert Belief(weights, 4).checking(FOUR) == pytest.approx(expected)


def test_whoever_leaves_in_the_midst_of_a_round_was_hardly_on_one():
    belief = Belief({state_of(4, Did.CHECK, 2): 0.5, DONE: 0.5}, 4)
    seldom = 1.0 - USUAL.check_on

    assert belief.checking(FOUR) == pytest.approx(seldom / (seldom + 1.0))
    assert belief.checking(FOUR) == belief.checking(FOUR)
    assert belief.leave(FOUR) == pytest.approx(0.5 * seldom + 0.5)


def test_two_beliefs_mix_by_their_shares():
    one, other = Belief({DONE: 1.0}, 4), Belief({DONE: 0.5, START: 0.5}, 4)

    both = mixed(one, other, 0.2, 4)

    assert both.weights == {DONE: pytest.approx(0.9), START: pytest.approx(0.1)}
    assert both.full == pytest.approx(0.9)


def test_what_is_kept_of_a_reading_are_its_places_and_the_shares_of_the_ways_there():
    stays, leaves = Leaves.STAYS, Leaves.FOR_GOOD
    kept = [(2, [(0.6, 0, None, stays), (0.2, 1, None, stays)]), (-1, [(0.2, 1, None, stays)])]
    lost = [(3, [(0.01, 0, None, stays)]), (3, [(0.03, 0, None, leaves), (0.02, 1, None, stays)])]

    layer = layer_of(kept, lost, 1.0)

    assert (list(layer.places), list(layer.parents), list(layer.children)) == ([2, -1], [0, 1, 1], [0, 0, 1])
    assert list(layer.shares) == pytest.approx([0.75, 0.25, 1.0])
    assert list(zip(layer.lost_places, layer.lost_parents, strict=True)) == [(3, 0), (3, 1)]
    assert list(layer.lost_weights) == pytest.approx([0.04, 0.02])


# What a row of readings at one place was.


def row(*torques, place=HUB, gaps=(), angles=(), begins=(0,), habits=USUAL):
    """Readings at one place with their likeliest states; those of `begins` come after a reading elsewhere."""
    at_s, clicks = 0.0, []
    for n, torque in enumerate(torques):
        at_s += gaps[n] if gaps else 8.0
        clicks.append(Click(n + 1, torque, "W-1", at_s, angles[n] if angles else None))
    own = Own(USUAL)
    odds = [odds_of(seen, place, own) for seen in see(clicks)]
    entered = tuple(n in begins for n in range(len(torques)))
    path = path_at(Within(place.fasteners, habits), odds, entered)
    return AtPlace(place, tuple(range(len(torques))), entered, tuple(one is None for one in odds), path)


def told(*torques, **more):
    """Kinds and positions of readings at one place."""
    return kinds_of(row(*torques, **more))


def kinds(*torques, **more):
    return [kind for kind, _ in told(*torques, **more)]


def test_one_pull_a_fastener_is_its_tightening_in_the_order_of_the_stage():
    assert told(100, 101, 99, 100) == [(T, 1), (T, 3), (T, 2), (T, 4)]


@pytest.mark.parametrize(
    ("gap_s", "expected"),
    [
        pytest.param(0.8, [(R, 3), (T, 2), (T, 4)], id="at-once-again"),
        pytest.param(9.0, [(T, 2), (T, 4), (C, 1)], id="later-the-next"),
    ],
)
def test_a_pause_tells_a_second_click_from_the_next_fastener(gap_s, expected):
    assert told(*[100] * 5, gaps=(0, 8, gap_s, 8, 8))[2:] == expected


def test_after_all_are_done_a_round_is_a_check_from_the_first_on():
    assert told(*[100] * 8, gaps=(0, 8, 8, 8, 20, 8, 8, 8))[4:] == [(C, 1), (C, 3), (C, 2), (C, 4)]


def test_a_second_click_in_a_round_is_on_the_fastener_before():
    assert told(*[100] * 9, gaps=(0, 8, 8, 8, 20, 8, 0.5, 8, 8))[4:] == [(C, 1), (C, 3), (R, 3), (C, 2), (C, 4)]


def test_a_round_that_finds_one_that_turns_has_found_the_missed_one():
    assert told(*[100] * 6, gaps=(0, 8, 8, 25, 8, 8), angles=(50, 45, 48, 1, 1, 52)) == [
        (T, 1), (T, 3), (T, 2), (C, 1), (C, 3), (T, 4),
    ]  # fmt: skip


def test_strokes_are_short_pulls_of_one_fastener_until_the_last():
    assert told(100, 55, 75, 100, 100, gaps=(0, 8, 8, 2, 2)) == [(T, 1), (S, 3), (S, 3), (T, 3), (T, 2)]


def test_a_short_pull_that_nobody_continued_is_the_fasteners_tightening():
    assert kinds(100, 60, 100, gaps=(0, 8, 30), angles=(40, 40, 40)) == [T, T, T]


def test_a_loosening_opens_the_fastener_before_and_the_next_pull_does_it_again():
    assert told(100, 100, -60, 100) == [(T, 1), (T, 3), (L, 3), (T, 3)]


def test_one_of_a_finished_joint_that_turns_was_opened_unseen():
    assert kinds(*[100] * 5, gaps=(0, 8, 8, 8, 300), angles=(40, 42, 41, 40, 45), begins=(0, 4))[-1] is T


def test_back_from_another_joint_the_missing_one_is_done_or_the_joint_is_gone_over():
    missing = told(100, 100, 100, 100, gaps=(0, 8, 8, 200), begins=(0, 3))
    over = told(*[100] * 6, gaps=(0, 8, 8, 8, 200, 8), begins=(0, 4))

    assert missing[-1] == (T, 4)
    assert over[4:] == [(C, 1), (C, 3)]


def test_over_range_counts_as_a_pull():
    assert told(100, None, 100) == [(T, 1), (T, 3), (T, 2)]


def test_more_pulls_than_fasteners_never_name_one_that_is_not_there():
    found = told(*[100] * 23, place=HEAD_TORQUE)

    assert {position for _, position in found} == {1, 2}


def test_what_no_way_explains_was_at_least_here():
    assert told(80, 80, 80, 500, place=HEAD_ANGLE) == [(T, 1), (T, 2), (C, 2), (C, 2)]


@pytest.mark.parametrize(
    ("torques", "gaps", "begins", "expected"),
    [
        pytest.param((100,) * 4, (0, 16, 16, 16), (0, 1, 2, 3), [(T, 1), (T, 3), (T, 2), (T, 4)], id="one-pull-each"),
        pytest.param(
            (100, 60, 100, 100, 100), (0, 16, 2, 16, 16), (0, 1, 3, 4), [(T, 1), (S, 3), (T, 3), (T, 2), (T, 4)], id="strokes"
        ),
        pytest.param(
            (100, 100, 100, 100, 100), (0, 16, 1.5, 16, 16), (0, 1, 3, 4), [(T, 1), (T, 3), (R, 3), (T, 2), (T, 4)],
            id="a-second-click",
        ),
        pytest.param((100, 60, 100), (0, 16, 16), (0, 1, 2), [(T, 1), (T, 3), (T, 2)], id="a-short-one-left-as-it-is"),
    ],
)  # fmt: skip
def test_what_was_pulled_in_turn_with_another_place_goes_on_to_the_next_fastener(torques, gaps, begins, expected):
    assert told(*torques, gaps=gaps, begins=begins, habits=replace(USUAL, turns=0.1)) == expected


def test_nobody_goes_on_in_turn_from_a_pull_that_is_to_be_continued():
    often = replace(USUAL, turns=0.1, continued=0.999, continued_alone=0.999)

    goes_on, turns = (row(100, 87, 100, gaps=(0, 8, 8), begins=begins, habits=often).path[1] for begins in ((0,), (0, 2)))

    assert did_of(goes_on) in (Did.NEW_LOW, Did.LOW_ALONE)
    assert did_of(turns) is Did.NEW, "it was taken for done"


def test_who_never_pulls_in_turn_has_rather_come_back_to_go_round_a_whole_joint():
    whole = [told(*[100] * 5, gaps=(0, 16, 1.5, 16, 16), begins=(0, 1, 3, 4), habits=replace(USUAL, turns=turns))
             for turns in (1e-6, 0.1)]  # fmt: skip

    assert [kinds[2][0] for kinds in whole] == [T, R]
    assert [kinds[4][0] for kinds in whole] == [C, T]


def test_without_readings_nothing_was_there():
    assert told() == []
