"""From one place back to others that were begun: to finish them, to do them anew, or to go round them once more."""

from typing import TYPE_CHECKING

from collector.expect.places import NOWHERE
from collector.expect.ways import Away, Leaves, Node, Visit

if TYPE_CHECKING:
    from collector.expect.beam_step import Step

_THERE, _STAYS, _FOR_GOOD = int(Away.THERE), int(Leaves.STAYS), int(Leaves.FOR_GOOD)
_ROUND_AGAIN = 0.5
"""Of the joints that are gone round again so many begin a row of the same torque, such as the wheels at the end."""
_GOES_ROUND = 0.7
"""Whoever has gone round one of a row goes round the next one too."""
_ALL_STAGES = 0.9
"""A fastener that was opened is done anew at the next stage as well."""


def go_back(step: "Step", node: Node, visit: Visit, leaving: float) -> None:
    """Back to places that were begun."""
    beam, odds, here = step.beam, step.odds, visit.place
    came_from, leaves = (beam.places[here], _FOR_GOOD) if here != NOWHERE else (None, _STAYS)
    least = step.least / (leaving * odds.most_pause)
    # Which one of those that are done is gone round again, nobody knows; but often it is a row of them.
    begins = beam.rows.begins(here, node.begun & node.full)
    anywhere = (1.0 - _ROUND_AGAIN if begins else 1.0) / len(node.beliefs)
    in_row = _ROUND_AGAIN / len(begins) if begins else 0.0
    for place, belief in node.beliefs.items():
        if place == here or place not in odds.plausible:
            continue
        is_done = belief.full > 0.5
        share = (in_row if place in begins else 0.0) + anywhere if is_done else 1.0
        # A place that was opened to the last fastener is begun as a new one.
        most = step.late + odds.most_new * (1.0 - belief.full if is_done else 1.0)
        if share * most <= least:
            continue
        found = leaving * share * odds.pause_to(came_from, beam.places[place], visit.away)
        after, total = step.onward.enter(belief, place)
        if after is not None:
            step.add(found * total, (place, beam.taken, _THERE, NOWHERE), node.begun, place, after, leaves)


def redo_stages(step: "Step", node: Node, visit: Visit, weight: float) -> None:
    """At a joint with stages: one fastener that was opened unseen is done anew, at the first stage and then at each later one."""
    beam, odds, here = step.beam, step.odds, visit.place
    belief, number = node.beliefs[here], beam.places[here].stage.number
    for other in beam.stages[here]:
        place, there = other.index, node.beliefs.get(other.index)
        if there is None or there.full <= 0.5 or place not in odds.plausible or beam.is_over(node, other):
            continue
        if other.begins and belief.full > 0.5:
            share = step.habits.redo * belief.leave(beam.within[here]) * odds.gaps.opened
        elif other.stage.number == number + 1:
            share = _ALL_STAGES * belief.redoing() * odds.within
        else:
            continue
        after, total = step.onward.redo(there, place)
        step.add(weight * share * total, (place, beam.taken, _THERE, NOWHERE), node.begun, place, after, _FOR_GOOD)


def go_round(step: "Step", node: Node, visit: Visit, leaving: float) -> float:
    """To the next one of a row of joints that are gone round again; gives how likely that is."""
    beam, odds, here = step.beam, step.odds, visit.place
    place = beam.rows.next(here, node.begun & node.full)
    if place == NOWHERE:
        return 0.0
    share = _GOES_ROUND * node.beliefs[here].checking(beam.within[here])
    if place in odds.plausible and leaving * share * odds.most_pause * odds.most_tight > step.least:
        # Where the reading cannot be there, its weight is nought, and so is that of the way.
        after, total = step.onward.go_round(node.beliefs[place], place)
        found = leaving * share * odds.pause_to(beam.places[here], beam.places[place], visit.away) * total
        step.add(found, (place, beam.taken, _THERE, NOWHERE), node.begun, place, after, _FOR_GOOD)
    return share
