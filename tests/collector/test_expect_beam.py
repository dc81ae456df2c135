"""The ways through a log: how many are kept, what is known of each place on them, and what they say of each reading."""

from array import array
from dataclasses import fields, replace

import pytest

from collector.expect.beam import Beam, Effort
from collector.expect.click import Click
from collector.expect.gaps import see
from collector.expect.habits import USUAL
from collector.expect.own import Own
from collector.expect.places import NOWHERE, places_of
from collector.expect.settle import place_shares, settle
from collector.expect.way import WAYS
from schemas.plan.load import load_plan
from tests.rigs.made_plans import HEAD

DROP = 3e-4


def plan(*rows):
    return places_of(load_plan((HEAD + "".join(f"  - {{id: {row}}}\n" for row in rows)).encode(), "axle.yaml"))


B, C = ("b, name: B, fasteners: 2, torque: 30", "c, name: C, fasteners: 2, torque: 30")
THREE = plan("a, name: A, fasteners: 4, torque: 100", B, C)
STAGES = plan("a, name: A, fasteners: 3, torque: 100, stages: [80, 100]", B)
WHOLE = plan("a, name: A, fasteners: 3, torque: 100, stages: [80, 100], reopen: joint", B)
ANGLE = plan("a, name: A, fasteners: 1, torque: 80, then_angle: 90, angle_tolerance: 10", "b, name: B, fasteners: 1, torque: 300")
ALIKE = plan(*(f"u-{side}, name: U-bolts, fasteners: 5, torque: 100" for side in ("left", "right")))
DAY = (100, 101, 99, 100, 30, 30.2, 29.9, 30.1)
DAY_GAPS = (0, 8, 8, 8, 60, 8, 60, 8)


def clicks(*torques, gaps=None, wrenches=("W-1",), angles=None):
    """Readings 8 s apart, or with these pauses before each."""
    at_s, found = 0.0, []
    for n, torque in enumerate(torques):
        at_s += 8.0 if gaps is None else gaps[n]
        found.append(Click(n + 1, torque, wrenches[n % len(wrenches)], at_s, angles[n] if angles else None))
    return found


def lived(places, *torques, drop=DROP, width=None, end=False, **more):
    beam = Beam(places, Own(USUAL), Effort(drop) if width is None else Effort(drop, width))
    for seen in see(clicks(*torques, **more)):
        beam.take(seen)
    if end:
        beam.end()
    return beam


def likeliest(beam):
    return [max(share, key=share.__getitem__) for share in place_shares(beam)]


def check_shares(beam):
    assert sum(node.weight for node in beam.nodes) == pytest.approx(1.0)
    for share in place_shares(beam):
        assert sum(share.values()) == pytest.approx(1.0, abs=1e-5)
        assert all(0.0 <= one <= 1.0 + 1e-6 for one in share.values())


def test_before_the_first_reading_nothing_is_done():
    beam = lived(THREE)

    assert place_shares(beam) == []
    assert [beam.p_full(place.index) for place in THREE] == [0, 0, 0]
    assert beam.p_all_full() == 0


def test_a_clean_day_is_placed_joint_by_joint_and_all_is_done():
    beam = lived(THREE, *DAY, gaps=DAY_GAPS, end=True)

    assert likeliest(beam) == [0, 0, 0, 0, 1, 1, 2, 2]
    assert min(beam.p_full(place.index) for place in THREE) >= beam.p_all_full() > 0.9
    check_shares(beam)


def test_a_joint_is_the_less_done_the_fewer_pulls_there_were():
    full = [lived(THREE, *DAY[:count], end=True).p_full(0) for count in range(5)]

    assert full == sorted(full)
    assert full[0] == full[1] == 0.0
    assert full[3] < 0.01 < 0.9 < full[4]
    assert lived(THREE, *DAY[:4], end=True).p_all_full() == 0.0


@pytest.mark.parametrize("drop", [0.0, 1e-6, DROP, 1e-2])
def test_however_many_ways_are_kept_they_tell_the_same_story(drop):
    beam = lived(THREE, 100, 99, 30, 30.5, drop=drop, end=True)

    assert likeliest(beam) == [0, 0, 1, 1]
    check_shares(beam)


def test_with_less_dropped_the_answer_comes_nearer_to_that_of_all_ways():
    exact, *others = (lived(THREE, 100, 99, 30, 30.5, 30, drop=drop, end=True).p_full(1) for drop in (0.0, 1e-8, 1e-1))

    near, far = (abs(other - exact) for other in others)
    assert near <= far
    assert near < 1e-4


def test_no_more_ways_are_kept_than_asked_for():
    beam = lived(THREE, *DAY, width=3)

    assert len(beam.nodes) <= 3
    assert likeliest(beam) == [0, 0, 0, 0, 1, 1, 2, 2]
    check_shares(beam)


def test_what_is_spared_where_little_is_open_is_spent_where_much_is_and_not_for_ever():
    alike = plan(*(f"j{n}, name: J, fasteners: 4, torque: 60" for n in range(30)))
    beam = Beam(alike, Own(USUAL), Effort(1e-6, 100, 30))
    for seen in see(clicks(*[60.0] * 120)):
        beam.take(seen)
    kept = [len(layer.places) for layer in beam.layers]

    assert max(kept) == max(kept[:15]) == 100
    assert (min(kept[60:]), max(kept[60:])) == (30, 30)


def test_the_heaviest_way_comes_first():
    weights = [node.weight for node in lived(THREE, *DAY).nodes]

    assert weights == sorted(weights, reverse=True)


def test_a_later_reading_changes_what_an_earlier_one_is():
    before, after = (place_shares(lived(THREE, 100, 100, 100, 100, *[30] * count, end=True))[6] for count in (3, 4))

    assert before[2] < 0.7 < 0.8 < after[2], "with a fourth one, both joints are whole"


def test_a_click_of_no_torque_of_the_job_is_nobodys_and_ends_no_visit():
    beam = lived(THREE, 100, 100, 4, 100, 100, end=True)

    assert likeliest(beam) == [0, 0, NOWHERE, 0, 0]
    assert beam.p_full(0) > 0.9


def test_two_wrenches_side_by_side_are_each_at_their_own_place():
    beam = lived(THREE, 100, 30, 100, 30, 100, 30, 100, 30, wrenches=("W-1", "W-2"), end=True)

    assert likeliest(beam) == [0, 1, 0, 1, 0, 2, 0, 2]
    assert beam.p_full(0) > 0.9
    assert beam.p_all_full() > 0.5
    check_shares(beam)


def test_a_loosening_undoes_one_fastener_at_every_stage():
    beam = lived(STAGES, 80, 80, 80, 100, 100, 100)
    done = [beam.p_full(at) for at in (0, 1)]
    beam = lived(STAGES, 80, 80, 80, 100, 100, 100, -60)

    assert likeliest(beam)[-1] == 1
    assert min(done) > 0.9
    assert max(beam.p_full(at) for at in (0, 1)) < 0.1


def test_where_the_plan_opens_the_joint_as_a_whole_all_of_it_is_done_again():
    again = (80, 80, 80, 100, 100, 100)
    whole, one = lived(WHOLE, *again, -60, 80, end=True), lived(STAGES, *again, -60, 80, end=True)
    done = lived(WHOLE, *again, -60, *again, end=True)

    assert whole.p_full(0) < 0.1 < one.p_full(0)
    assert min(done.p_full(at) for at in (0, 1)) > 0.9


def test_a_loosening_before_anything_was_done_is_nobodys():
    beam = lived(THREE, -60, 100)

    assert likeliest(beam) == [NOWHERE, 0]
    check_shares(beam)


def test_a_reading_that_cannot_be_at_the_place_in_hand_is_elsewhere():
    beam = lived(ANGLE, 80, 130, 300, 90, angles=(30, 90, 40, 1), end=True)

    # The torque of an angle stage ends at three times the torque before it.
    assert likeliest(beam)[:3] == [0, 1, 2]
    check_shares(beam)


# How ways differ.


ALIKE = plan(
    "a, name: A, fasteners: 6, torque: 100", "x, name: X, fasteners: 2, torque: 40", "b, name: B, fasteners: 6, torque: 100"
)


@pytest.mark.parametrize("angles", [pytest.param([40] * 14, id="turns"), pytest.param(None, id="no-turns")])
def test_which_of_two_alike_joints_lacks_fasteners_is_not_mixed_up(angles):
    # Two of A, then X, four of B, the other four of A, the other two of B.
    torques, pauses = [100] * 2 + [40] * 2 + [100] * 10, [0, 8, 60, 8, *[60, 8, 8, 8] * 2, 60, 8]

    beam = lived(ALIKE, *torques, gaps=pauses, angles=angles, end=True)

    # Without turns the last two clicks may be second ones as well.
    least = 0.98 if angles is None else 0.99
    assert min(beam.p_full(0), beam.p_full(2)) > least
    assert beam.p_all_full() > least


def test_a_way_knows_which_places_are_done_and_each_that_is_kept_is_another_one():
    beam = lived(ALIKE, *[100] * 6, 40, 40, 100, 100)

    best = beam.nodes[0]
    assert (best.begun, best.full) == (0b111, 0b011)
    assert len({(node.visits, node.begun, node.full) for node in beam.nodes}) == len(beam.nodes)


ROW = plan(*(f"j{n}, name: J, fasteners: 2, torque: {torque}" for n, torque in enumerate((50, 50, 85, 60, 95, 70))))


def test_who_worked_backwards_so_far_goes_on_backwards_among_alike_joints():
    def first_of_alike(*torques):
        read = [torque for torque in torques for _ in range(2)]
        shares = place_shares(lived(ROW, *read, 50, gaps=[60, 8] * len(torques) + [60]))[-1]
        return max(shares, key=shares.__getitem__)

    assert first_of_alike(70, 95, 60, 85) == 1
    assert first_of_alike(85, 60, 95, 70) == 0


def test_the_order_of_a_way_sums_to_one_and_changes_only_from_joint_to_joint():
    first, second, other = (lived(ROW, *(70, 70, 95, 95)[:count], gaps=[60, 8, 60, 8]).nodes[0].order for count in (1, 2, 3))

    assert [sum(order) for order in (first, second, other)] == pytest.approx([1.0] * 3)
    assert first == pytest.approx(second, abs=0.01)
    back = WAYS.index("way_back")
    assert other[back] > first[back] + 0.02


def test_ways_that_become_one_follow_each_habit_as_much_as_both_did():
    # Only at the third reading have any ways come to the same places.
    ones = plan(*(f"j{n}, name: J, fasteners: 1, torque: 50" for n in range(4)))
    merged, every = (lived(ones, 50, 50, 50, drop=drop, width=10_000, gaps=(0, 60, 60)) for drop in (1e-9, 0.0))
    alike = {}
    for node in every.nodes:
        alike.setdefault((node.visits, node.begun, node.full), []).append(node)

    heavy = [node for node in merged.nodes if node.weight > 1e-3]
    assert max(len({one.order for one in alike[node.visits, node.begun, node.full]}) for node in heavy) > 1
    # Of what hardly weighs anything, some is dropped.
    for node in heavy:
        nodes = alike[node.visits, node.begun, node.full]
        weight = sum(one.weight for one in nodes)
        order = [sum(one.weight * one.order[habit] for one in nodes) / weight for habit in range(len(node.order))]
        assert (node.weight, *node.order) == pytest.approx((weight, *order), rel=1e-3, abs=1e-9)


def test_that_a_place_was_never_begun_weighs_as_much_as_places_are_left_out():
    def whole(left_out):
        beam = Beam(THREE, Own(replace(USUAL, left_out=left_out)), Effort(DROP))
        # The last two are those of the third joint, or the second one was gone round again.
        for seen in see(clicks(*DAY[:4], 30, 30, 30, 30, gaps=(*DAY_GAPS[:6], 25, 8))):
            beam.take(seen)
        beam.end()
        return sum(node.weight for node in beam.nodes if len(node.beliefs) == len(THREE))

    seldom, usual, often = (whole(left_out) for left_out in (1e-4, USUAL.left_out, 1.0))

    assert seldom > usual > often
    assert (1.0 - usual) / usual == pytest.approx(USUAL.left_out * (1.0 - often) / often, rel=1e-6)


def test_one_fastener_taken_through_all_stages_does_not_fill_the_later_ones():
    by_fastener = replace(USUAL, by_fastener=0.2, turns=1e-9)
    beams = []
    for count in (2, 4, 6):
        beam = Beam(STAGES, Own(by_fastener), Effort(DROP))
        for seen in see(clicks(*[80, 100] * 3)[:count]):
            beam.take(seen)
        beams.append(beam)

    assert [max(beam.p_full(0), beam.p_full(1)) < 0.3 for beam in beams] == [True, True, False]
    assert min(beams[2].p_full(0), beams[2].p_full(1)) > 0.9


def test_a_done_joint_that_was_opened_unseen_is_begun_anew_however_few_ways_are_kept():
    read, pauses = (100, 101, 99, 100, 30, 30.2, 100), (*DAY_GAPS[:6], 60)

    def anew(drop):
        beam = Beam(THREE, Own(replace(USUAL, reopened=0.5)), Effort(drop))
        for seen in see(clicks(*read, gaps=pauses, angles=[40.0] * 7)):
            beam.take(seen)
        return place_shares(beam)[-1].get(0, 0.0)

    assert min(anew(1e-6), anew(1e-2)) > 0.9


def test_strokes_on_one_fastener_do_not_fill_a_joint():
    beam = lived(THREE, 60, 75, 100, 100, 100, gaps=(8, 2, 2, 9, 9), end=True)

    assert beam.p_full(0) < 0.5


# What was each reading at its place.


def test_a_story_has_every_reading_once_with_its_place_and_what_came_in_between():
    read = clicks(100, 100, 30, 30, 100, 100, gaps=(0, 8, 60, 8, 60, 8))
    beam, own = Beam(THREE, Own(USUAL), Effort(DROP)), Own(USUAL)
    for seen in see(read):
        beam.take(seen)
    beam.end()

    story = settle(THREE, own, see(read), beam)

    assert story.chosen == (0, 0, 1, 1, 0, 0)
    assert (story.at[0].indices, story.at[0].begins) == ((0, 1, 4, 5), (True, False, True, False))
    assert story.at[1].indices == (2, 3)
    assert (len(story.at[0].path), set(story.at)) == (4, {0, 1})
    assert story.shares == place_shares(beam)


def test_what_belongs_to_nobody_is_at_no_place_and_a_loosening_is_told():
    read = clicks(100, 100, -60, 100, 4, 100, 100)
    beam = lived(THREE, *(click.torque_nm for click in read), end=True)

    story = settle(THREE, Own(USUAL), see(read), beam)

    assert story.chosen == (0, 0, 0, 0, NOWHERE, 0, 0)
    assert story.at[0].loosened == (False, False, True, False, False, False)


# What is kept.


def kept_bytes(beam):
    arrays = [getattr(layer, one.name) for layer in beam.layers for one in fields(layer)]
    assert all(isinstance(one, array) for one in arrays)
    return sum(one.itemsize * len(one) for one in arrays)


def test_what_is_kept_of_a_reading_is_small_and_does_not_grow_with_the_log():
    alike = plan(*(f"j{n}, name: J, fasteners: 4, torque: 60" for n in range(30)))
    short, long = (kept_bytes(lived(alike, *[60.0] * count)) / count for count in (30, 120))

    assert max(short, long) < 10_000
    assert long < 2 * short


def test_a_wrench_without_a_name_is_a_wrench_as_any_other():
    """Two people, each with a wrench; the second one begins where nobody of his was before."""
    gaps = (0.0, *(3.0 if n % 2 else 5.0 for n in range(1, 10)))
    named, unnamed = (lived(ALIKE, *[100.0] * 10, gaps=gaps, wrenches=(first, "W-2")) for first in ("W-1", None))

    assert place_shares(named) == place_shares(unnamed)


def test_a_fastener_that_is_done_anew_belongs_to_the_pass_that_was_begun_last():
    """The plan opens the joint and torques it once more; then one fastener is opened unseen and done anew at both stages."""
    joints = "  - {id: a, name: A, fasteners: 3, torque: 100, stages: [50, 100]}\n  - {id: b, name: B, fasteners: 2, torque: 9}\n"
    steps = "steps: [{torque: a}, {torque: b}, {open: a}, {torque: a}]\n"
    places, whole = places_of(load_plan((HEAD + joints + steps).encode(), "axle.yaml")), (50,) * 3 + (100,) * 3
    gaps, angles = (8, 8, 8, 14, 8, 8), (40.0,) * 3 + (20.0,) * 3
    beam = lived(
        places, *whole, 9, 9, *whole, 50, 100, drop=1e-5, gaps=(*gaps, 60, 8, 200, *gaps[1:], 40, 12),
        angles=(*angles, 40.0, 40.0, *angles, 40.0, 20.0),
    )  # fmt: skip

    assert [place.stage.number for place in places] == [1, 2, 1, 1, 2]
    assert beam.p_full(0) > 0.99
    first, second = place_shares(beam)[-2:]
    assert first.get(3, 0.0) > 5 * first.get(0, 0.0)
    assert second.get(4, 0.0) > 5 * second.get(1, 0.0)
