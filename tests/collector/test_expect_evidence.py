"""What persons say weighs the ways through a job: counted, opened, gone on with, placed."""

import pytest

from collector.expect.beam import Beam, Effort
from collector.expect.click import Click
from collector.expect.evidence import count_joint, expect_joint, hold_to, open_joint
from collector.expect.gaps import see
from collector.expect.habits import USUAL
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import NOWHERE, places_of
from schemas.plan.load import load_plan
from schemas.retorque import retorque_route
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 3, torque: 100, stages: [50, 100]}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 30}
  - {id: cover, name: Cover bolts, fasteners: 2, torque: 30}
"""
FIRST, FINAL, PLATE, COVER = range(4)
HUB_DONE = (50.0, 50.0, 50.0, 100.0, 100.0, 100.0)
SHARED = 1e-9


def lived(*torques, plan=PLAN, route=None, gap_s=8.0):
    """The ways after these torques; all ways that are plausible at all are kept."""
    beam = Beam(places_of(route or load_plan(plan.encode(), "axle.yaml")), Own(USUAL), Effort(1e-4))
    before = None
    for n, torque in enumerate(torques, 1):
        beam.take(Seen(Click(n, torque, "W-1", 8.0 * n), None if before is None else gap_s, before))
        before = torque
    return beam


def share(beam, place):
    """The probability that the last reading was at a place."""
    return sum(node.weight for node in beam.nodes if node.place == place)


def check_sound(beam):
    assert sum(node.weight for node in beam.nodes) == pytest.approx(1.0, abs=SHARED)
    beliefs = [belief for node in beam.nodes for belief in node.beliefs.values()]
    assert all(sum(belief.weights.values()) == pytest.approx(1.0, abs=1e-4) for belief in beliefs)
    for node in beam.nodes:
        assert node.full == sum(1 << place for place, belief in node.beliefs.items() if belief.full > 0.5)


def test_a_joint_counted_whole_is_likelier_whole_and_one_that_is_not_less_likely():
    beams = {whole: lived(*HUB_DONE) for whole in (True, False, None)}
    for whole in (True, False):
        count_joint(beams[whole], "hub", whole=whole)
        check_sound(beams[whole])

    full = {whole: beam.p_full(FINAL) for whole, beam in beams.items()}
    assert full[False] < full[None] < full[True]
    assert 1.0 - full[True] < (1.0 - full[None]) / 10


def test_the_stripes_of_the_final_say_nothing_of_the_round_before_it():
    counted, plain = lived(*HUB_DONE), lived(*HUB_DONE)
    count_joint(counted, "hub", whole=True)

    # Not nothing at all: who has missed one in the first round has an odd second one.
    assert counted.p_full(FIRST) == pytest.approx(plain.p_full(FIRST), abs=0.01)
    assert counted.p_full(FINAL) - plain.p_full(FINAL) > counted.p_full(FIRST) - plain.p_full(FIRST)


def test_no_count_makes_a_joint_whole_that_too_few_readings_came_for():
    beam = lived(*HUB_DONE[:5], 30.0, 30.0)
    before = beam.p_full(FINAL)
    count_joint(beam, "hub", whole=True)

    check_sound(beam)
    assert before < beam.p_full(FINAL) < 0.3


def test_what_is_said_of_a_joint_that_nobody_has_begun_changes_nothing():
    beam, plain = lived(*HUB_DONE[:3]), lived(*HUB_DONE[:3])
    count_joint(beam, "plate", whole=True)
    open_joint(beam, "plate", one=False)
    open_joint(beam, "plate", one=True)

    assert [node.weight for node in beam.nodes] == pytest.approx([node.weight for node in plain.nodes])
    assert beam.p_full(PLATE) == plain.p_full(PLATE)


RETORQUED = "steps:\n  - torque: [hub, plate, cover]\n  - retorque: hub\n    from: 40 km\n    to: 80 km\n"
RECHECKED = PLAN + "steps:\n  - torque: [hub, plate, cover]\n  - recheck: hub\n"


@pytest.mark.parametrize("whole", [True, False])
def test_what_is_said_of_a_joint_weighs_its_final_and_not_a_later_check_of_it(whole):
    beam = lived(*HUB_DONE, 30.0, 30.0, 30.0, 30.0, 100.0, 100.0, plan=RECHECKED)
    check = next(place.index for place in beam.places if place.stage.number == 3)
    before = [node.beliefs.get(check) for node in beam.nodes]
    assert any(before)
    full = beam.p_full(FINAL)
    count_joint(beam, "hub", whole=whole)

    check_sound(beam)
    assert all(node.beliefs.get(check) is one for node, one in zip(beam.nodes, before, strict=True))
    assert (beam.p_full(FINAL) > full) is whole


@pytest.mark.parametrize("whole", [True, False])
def test_of_a_joint_that_is_only_checked_again_the_check_is_what_was_counted(whole):
    route = retorque_route(load_plan((PLAN + RETORQUED).encode(), "axle.yaml"), 2)
    beams = [lived(100.0, 100.0, 100.0, route=route) for _ in range(2)]
    assert beams[0].places[0].joint.is_check
    count_joint(beams[0], "hub", whole=whole)

    check_sound(beams[0])
    assert (beams[0].p_full(0) > beams[1].p_full(0)) is whole


def test_one_opened_fastener_makes_every_stage_incomplete_until_it_is_done_again():
    beam = lived(*HUB_DONE)
    open_joint(beam, "hub", one=True)

    check_sound(beam)
    assert beam.p_full(FIRST) < 0.1
    assert beam.p_full(FINAL) < 0.1


@pytest.mark.parametrize("torques", [HUB_DONE, (*HUB_DONE, 30.0, 30.0)], ids=["under-way", "left"])
def test_an_opened_joint_has_nothing_done_at_any_stage(torques):
    beam = lived(*torques)
    assert beam.p_full(FINAL) > 0.9
    open_joint(beam, "hub", one=False)

    check_sound(beam)
    assert beam.p_full(FIRST) == beam.p_full(FINAL) == 0.0
    # It is gone through again as if it were new.
    for n, torque in enumerate(HUB_DONE, 20):
        beam.take(Seen(Click(n, torque, "W-1", 8.0 * n), 60.0 if n == 20 else 8.0, torque))
    assert share(beam, FINAL) > 0.99
    assert beam.p_full(FINAL) > 0.9


WHEELS = HEAD + "".join(f"  - {{id: w{n}, name: Wheel nuts, fasteners: 3, torque: 100}}\n" for n in range(3))


@pytest.mark.parametrize("one", [True, False], ids=["nut-by-nut", "as-a-whole"])
def test_a_wheel_that_was_opened_is_no_part_of_a_row_that_is_gone_round_again(one):
    """All three wheels done, the last one opened, the first one gone round again: the second one is next."""
    beam = Beam(places_of(load_plan(WHEELS.encode(), "wheels.yaml")), Own(USUAL), Effort(1e-3, width=20))
    turned, checked = [(100.0, 40.0 if n % 3 == 0 else 8.0, 90.0) for n in range(9)], [(101.0, 5.0, 1.0)] * 3
    at_s, rows = 0.0, [*turned, *checked, (100.0, 40.0, 90.0)]
    pulls = []
    for n, (torque, pause_s, angle) in enumerate(rows, 1):
        at_s += pause_s
        pulls.append(Click(n, torque, "W-1", at_s, angle))
    for n, seen in enumerate(see(pulls)):
        for _ in range((3 if one else 1) * (n == 9)):
            open_joint(beam, "w2", one=one)
        beam.take(seen)

    assert share(beam, 2) > 0.9


def test_what_a_person_placed_is_as_good_as_certain():
    beam = lived(*HUB_DONE, 30.0)
    assert 0.01 < share(beam, COVER) < share(beam, PLATE)
    hold_to(beam, "cover", 1)

    check_sound(beam)
    assert share(beam, COVER) > 0.999


def test_what_a_person_said_belongs_to_nothing_is_nowhere():
    beam = lived(*HUB_DONE, 30.0)
    hold_to(beam, None, None)

    check_sound(beam)
    assert share(beam, NOWHERE) > 0.99


def test_who_names_the_next_joint_mostly_goes_there():
    beam = lived(*HUB_DONE, 30.0)
    before = share(beam, COVER)
    expect_joint(beam, "cover")

    check_sound(beam)
    assert share(beam, COVER) > 5 * before


def test_who_names_a_joint_and_pulls_at_another_torque_is_believed_by_the_torque():
    beam = lived(*HUB_DONE, 30.0)
    expect_joint(beam, "hub")

    check_sound(beam)
    assert share(beam, PLATE) + share(beam, COVER) > 0.9
