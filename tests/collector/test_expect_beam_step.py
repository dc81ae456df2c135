"""One reading on: what is not looked at, because it can only be too light, is too light indeed."""

from collections import Counter
from functools import partial
from itertools import accumulate

import pytest

from collector.expect.beam import Beam, Effort
from collector.expect.beam_step import Step
from collector.expect.click import Click
from collector.expect.evidence import open_joint
from collector.expect.gaps import see
from collector.expect.habits import USUAL
from collector.expect.own import Own
from collector.expect.places import places_of
from collector.expect.reading_odds import Looks, ReadingOdds
from schemas.plan.load import load_plan
from sim.shop.day import live_day
from tests.rigs.made_plans import HEAD


def ways_on(beam, seen, wrenches, drop):
    """The weight of each way on from each way so far; those lighter than the share `drop` of the heaviest are given up."""
    odds = ReadingOdds(Looks(beam.places), beam.own, seen)
    last = None if seen.after is None else wrenches[seen.after.wrench]
    was, beam.drop = beam.drop, drop
    step = Step(beam, odds, wrenches.setdefault(seen.click.wrench, len(wrenches)), last)
    found = [
        ((way.visit, way.begun, way.full, way.place, parent, leaves), weight)
        for way in step.found(beam.nodes) for weight, parent, _, leaves in way.sources
    ]  # fmt: skip
    beam.drop = was
    return found


def opened_to_nothing():
    """Joints that look alike; while others are worked, a person opens the first one as a whole, and it is done anew."""
    rows = "".join(f"  - {{id: j{n}, name: Joint, fasteners: {1 + n % 2}, torque: {100 + n % 3}}}\n" for n in range(6))
    torques = (100, 101, 101, 102, 100, 101, 102, 102, 100, 101, 100, 100, 101, 101, 102, 100)
    return HEAD + rows, [Click(n + 1, float(one), "W-1", 40.0 * n, 30.0) for n, one in enumerate(torques)]


def day_of(shop, seed):
    """The plan and the first readings of a day."""
    day = live_day(shop, seed, angle=True, times=True)
    return day.plan, [
        Click(n, float(one.torque), one.wrench, one.at_s, float(one.angle)) for n, one in enumerate(day.readings[:150], 1)
    ]  # fmt: skip


def wheels_gone_round():
    """Many joints are done, the wheels last, and these are gone round again."""
    joints = [(f"j{n}", 2, 10 + n) for n in range(40)] + [(f"w{n}", 3, 100) for n in range(4)]
    rows = "".join(f"  - {{id: {name}, name: Joint, fasteners: {count}, torque: {torque}}}\n" for name, count, torque in joints)
    pulls = [(torque, 8.0 if n else 40.0, 90.0) for _, count, torque in joints for n in range(count)]
    pulls += [(101.0, 5.0 if n else 200.0, 1.0) for _ in range(4) for n in range(3)]
    at_s = list(accumulate(pause_s for _, pause_s, _ in pulls))
    return HEAD + rows, [Click(n + 1, float(one[0]), "W-1", at_s[n], one[2]) for n, one in enumerate(pulls)]


LOGS = [
    *(pytest.param(partial(day_of, shop, seed), id=f"{shop}-{seed}") for shop in ("usual", "rough") for seed in (101, 202, 210)),
    pytest.param(wheels_gone_round, id="wheels-gone-round"), pytest.param(opened_to_nothing, id="opened-to-nothing"),
]  # fmt: skip


@pytest.mark.parametrize("drop", [1e-3, 5e-5])
@pytest.mark.parametrize("log", LOGS)
def test_no_way_is_given_up_unseen_that_is_heavy_enough(log, drop):
    plan, clicks = log()
    beam = Beam(places_of(load_plan(plan.encode(), "plan.yaml")), Own(USUAL), Effort(drop, width=20))
    wrenches, looked_at = {}, 0
    for seen in see(clicks):
        every = ways_on(beam, seen, wrenches, 1e-12)
        least = 1.0001 * drop * max(weight for _, weight in every)
        heavy = Counter(way for way, weight in every if weight > least)

        assert not heavy - Counter(way for way, _ in ways_on(beam, seen, wrenches, drop))

        looked_at += heavy.total()
        beam.take(seen)
        if log is opened_to_nothing and seen.click.n % 4 == 0:
            open_joint(beam, "j0", one=False)
            open_joint(beam, "j1", one=False)
    assert looked_at > 50
