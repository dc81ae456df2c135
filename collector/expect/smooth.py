"""A whole log at once: where each of its readings belongs, what it was, and whether every fastener was done."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from collector.expect.adapt import adapt
from collector.expect.beam import Beam, Effort
from collector.expect.click import Click
from collector.expect.gaps import is_shared, see
from collector.expect.habits import USUAL, Habits
from collector.expect.job_clicks import pulled_order
from collector.expect.kinds import kinds_of
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import NOWHERE, Place, places_of
from collector.expect.settle import Settled, settle
from schemas.route import Route
from schemas.words import Kind

ROUGH = Effort(1e-3, on_average=12)
"""The first time only the rough story is wanted."""
FINE = Effort(5e-5)

_FIRST = 250
"""So many readings show a fitter well enough; only how far a joint turns must be seen at each of them."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a reading belongs: `p` is the probability that joint and stage are right; a stray has neither."""

    joint: str | None
    stage: int | None
    position: int | None
    kind: Kind
    p: float


@dataclass(frozen=True, slots=True)
class LogAnswer:
    """One answer a reading, in their order, and how sure it is that every fastener got its tightening, by joint and stage."""

    readings: tuple[Placed, ...]
    p_places: Mapping[tuple[str, int], float]
    p_complete: float
    tightened: Mapping[tuple[str, int], int]


def smooth_log(route: Route, clicks: Sequence[Click], habits: Habits = USUAL) -> LogAnswer:
    """Place all readings of a log at once, each in the light of all the others; where it tells, in the order of their times.

    Twice: first by what is usual, then by what the log itself shows of its fitter and wrenches.
    """
    order = pulled_order(clicks, [None] * len(clicks))
    places, seen = places_of(route), see([clicks[index] for index in order])
    own = Own(habits)
    first = seen if any(one.angle_deg is not None for one in clicks) else seen[:_FIRST]
    own = adapt(places, own, first, settle(places, own, first, run_beam(places, own, first, ROUGH)))
    beam = run_beam(places, own, seen, FINE)
    found = answer(places, settle(places, own, seen, beam), beam)
    placed = dict(zip(order, found.readings, strict=True))
    return replace(found, readings=tuple(placed[index] for index in range(len(clicks))))


def run_beam(places: tuple[Place, ...], own: Own, seen: Sequence[Seen], effort: Effort) -> Beam:
    """The ways through all readings."""
    beam = Beam(places, own, effort, is_shared=is_shared(seen))
    for one in seen:
        beam.take(one)
    beam.end()
    return beam


def answer(places: tuple[Place, ...], settled: Settled, beam: Beam) -> LogAnswer:
    """The answer that the ways give."""
    readings = [Placed(None, None, None, Kind.STRAY, share.get(NOWHERE, 0.0)) for share in settled.shares]
    tightened: Counter[tuple[str, int]] = Counter()
    for number, at in settled.at.items():
        joint, stage = at.place.joint.id, at.place.stage.number
        touched = set()
        for index, (kind, position) in zip(at.indices, kinds_of(at), strict=True):
            readings[index] = Placed(joint, stage, position, kind, settled.shares[index][number])
            if kind is Kind.TIGHTENING:
                touched.add(position)
        tightened[joint, stage] = len(touched)
    p_places = {(place.joint.id, place.stage.number): beam.p_full(place.index) for place in places}
    return LogAnswer(tuple(readings), p_places, beam.p_all_full(), tightened)
