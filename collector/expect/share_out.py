"""Which of several plans each reading of a log belongs to, where several jobs were done with the same wrenches."""

from collections.abc import Sequence
from dataclasses import replace

from collector.expect.adapt import adapt
from collector.expect.click import Click
from collector.expect.gaps import see
from collector.expect.habits import Habits
from collector.expect.own import Own
from collector.expect.places import NOWHERE, Place, places_of
from collector.expect.settle import settle
from collector.expect.smooth import FINE, ROUGH, run_beam
from schemas.route import Joint, Route


def share_out(routes: Sequence[Route], clicks: Sequence[Click], habits: Habits) -> list[int | None]:
    """The number of each reading's plan, from 0, weighed against all of them together; None for one that belongs to none."""
    places: list[Place] = []
    plan_of: list[int] = []
    for number, route in enumerate(routes):
        # Two plans may have joints of one id, which are not one joint; the stages of one are of one.
        joints: dict[str, Joint] = {}
        for place in places_of(route):
            joint = joints.setdefault(place.joint.id, replace(place.joint, id=f"{number}/{place.joint.id}"))
            places.append(replace(place, index=len(places), joint=joint))
            plan_of.append(number)
    all_places, seen, own = tuple(places), see(clicks), Own(habits)
    first = run_beam(all_places, own, seen, ROUGH)
    own = adapt(all_places, own, seen, settle(all_places, own, seen, first))
    settled = settle(all_places, own, seen, run_beam(all_places, own, seen, FINE))
    return [None if place == NOWHERE else plan_of[place] for place in settled.chosen]
