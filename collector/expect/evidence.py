"""What persons say, as evidence on the ways through a job: a joint counted, opened, taken in hand, a reading placed."""

from collections.abc import Sequence

from collector.expect.beam import Beam
from collector.expect.places import NOWHERE
from collector.expect.ways import Belief
from collector.expect.within import done_of, opened
from schemas.likelihood import WRONG
from schemas.words import StageWord

_WRONG = float(WRONG)
_UNTOUCHED = 0.1
"""Of those mistakes so many are about a joint that nobody has begun."""
_SELDOM = 0.05
"""Who names the next joint goes to another one this often."""
_HARDLY = 1e-6
"""What a person has placed is elsewhere as good as never."""


def count_joint(beam: Beam, joint: str, *, whole: bool) -> None:
    """A person looked at the joint after its final and says that it is whole, or that it is not.

    The final's stripes say nothing of the rounds before it.
    """
    final = [place for place in beam.places if place.joint.id == joint and place.stage.number >= place.joint.final.number]
    for place in final if whole else final[:1]:
        if place.stage.word is not StageWord.RECHECK or place.joint.is_check:
            _weigh(beam, place.index, place.fasteners, 1.0 - _WRONG if whole else _WRONG)


def open_joint(beam: Beam, joint: str, *, one: bool) -> None:
    """One fastener of a joint was opened, or all: every stage is done again."""
    places = [place for place in beam.places if place.joint.id == joint]
    for node in beam.nodes:
        under_way = {visit.place for visit in node.visits}
        begun = [place for place in places if place.index in node.beliefs]
        kept = begun if one else [place for place in begun if place.index in under_way]
        node.believe({
            place.index: Belief(opened(node.beliefs[place.index].weights, whole=not one), place.fasteners)
            for place in kept
        })
        node.forget([place.index for place in begun if place not in kept])


def hold_to(beam: Beam, joint: str | None, stage: int | None) -> None:
    """A person said where the last reading belongs: elsewhere it is as good as never."""
    places = {NOWHERE}
    if joint is not None:
        places = {place.index for place in beam.places if (place.joint.id, place.stage.number) == (joint, stage)}
    _scale(beam, [1.0 if node.place in places else _HARDLY for node in beam.nodes])


def _weigh(beam: Beam, place: int, fasteners: int, full: float) -> None:
    """Weigh the ways by whether a place is whole; `full` is how well what was said goes with a whole one."""
    factors = []
    for node in beam.nodes:
        belief = node.beliefs.get(place)
        if belief is None:
            # Hardly anybody counts the stripes of a joint that no wrench has been on, and says that all are there.
            factors.append(_UNTOUCHED * (1.0 - full) if full > 0.5 else 1.0 - full)
            continue
        weights = {
            state: weight * (full if done_of(state) == fasteners else 1.0 - full) for state, weight in belief.weights.items()
        }
        total = sum(weights.values())
        node.believe({place: Belief({state: weight / total for state, weight in weights.items()}, fasteners)})
        factors.append(total)
    _scale(beam, factors)


def _scale(beam: Beam, factors: Sequence[float]) -> None:
    # The nodes stay in their order: the links to them are by their numbers.
    total = sum(node.weight * factor for node, factor in zip(beam.nodes, factors, strict=True))
    for node, factor in zip(beam.nodes, factors, strict=True):
        node.weight *= factor / total


def expect_joint(beam: Beam, joint: str) -> None:
    """A person said to which joint the work goes on: the reading that came then is hardly elsewhere."""
    places = {place.index for place in beam.places if place.joint.id == joint}
    _scale(beam, [1.0 if node.place in places else _SELDOM for node in beam.nodes])


def keep_from(beam: Beam, joints: frozenset[str]) -> None:
    """What waits for a signature is hardly worked before it is there: the last reading is hardly at one of these joints."""
    places = {place.index for place in beam.places if place.joint.id in joints}
    _scale(beam, [_SELDOM if node.place in places else 1.0 for node in beam.nodes])
