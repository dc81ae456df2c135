"""One story of a log, out of its ways: the likeliest place of each reading, and what each was at its place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collector.expect.beam import Beam
from collector.expect.kinds import path_at
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import NOWHERE, Place
from collector.expect.reading_odds import odds_of
from collector.expect.within import State


@dataclass(frozen=True, slots=True)
class AtPlace:
    """The readings of one place by their index, in order, with the state after each; no states where no way explains them.

    `begins` says which came after a reading elsewhere, `loosened` which opened a fastener.
    """

    place: Place
    indices: tuple[int, ...]
    begins: tuple[bool, ...]
    loosened: tuple[bool, ...]
    path: tuple[State, ...]


@dataclass(frozen=True, slots=True)
class Settled:
    """`chosen` is the place of each reading, `shares` the probability of each place by reading."""

    chosen: tuple[int, ...]
    shares: Sequence[Mapping[int, float]]
    at: Mapping[int, AtPlace]


def settle(
    places: tuple[Place, ...], own: Own, seen: Sequence[Seen], beam: Beam, held: Mapping[int, int] | None = None
) -> Settled:
    """The story that the ways tell, place by place; `held` names by reading the place that it stays at, whatever they say."""
    shares, held = place_shares(beam), held or {}
    for index, place in held.items():
        shares[index].setdefault(place, 0.0)
    chosen = tuple(held.get(index, max(share, key=share.__getitem__)) for index, share in enumerate(shares))
    rows: dict[int, list[tuple[int, bool]]] = {}
    last: dict[str | None, int] = {}
    for index, here in enumerate(chosen):
        if here != NOWHERE:
            wrench = seen[index].click.wrench
            rows.setdefault(here, []).append((index, last.get(wrench) != here))
            last[wrench] = here
    at = {}
    for number, found in rows.items():
        odds = [odds_of(seen[index], places[number], own) for index, _ in found]
        begins = [begin for _, begin in found]
        path = path_at(beam.within[number], odds, begins, own.habits.stop)
        loosened = tuple(one is None for one in odds)
        at[number] = AtPlace(places[number], tuple(index for index, _ in found), tuple(begins), loosened, path)
    return Settled(chosen, shares, at)


def place_shares(beam: Beam) -> list[dict[int, float]]:
    """For each reading the probability of each place, given all readings; from the last one back along the links.

    A way that was given up counts by what it weighed then: nobody looked whether later readings would have borne it out.
    """
    weights = [node.weight for node in beam.nodes]
    found: list[dict[int, float]] = []
    for index in range(len(beam.layers) - 1, -1, -1):
        layer = beam.layers[index]
        before = [0.0] * (len(beam.layers[index - 1].places) if index else 1)
        total = 1.0 + sum(layer.lost_weights)
        shares: dict[int, float] = {}
        for place, weight in zip(layer.places, weights, strict=True):
            shares[place] = shares.get(place, 0.0) + weight / total
        for place, parent, weight in zip(layer.lost_places, layer.lost_parents, layer.lost_weights, strict=True):
            shares[place] = shares.get(place, 0.0) + weight / total
            before[parent] += weight / total
        found.append(shares)
        # Ways that led nowhere have no weight any more.
        for parent, child, share in zip(layer.parents, layer.children, layer.shares, strict=True):
            before[parent] += weights[child] * share / total
        weights = before
    found.reverse()
    return found
