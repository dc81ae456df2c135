"""What goes wrong on the day, and on which fastener: chosen by seed, each on a joint of its own."""

import random
from collections.abc import Iterator
from enum import StrEnum
from typing import NamedTuple

from schemas.route import Joint, Route
from schemas.words import StepWord


class Spot(NamedTuple):
    """One fastener at one stage; stage and position count from 1."""

    joint: str
    stage: int
    position: int


class Mishap(StrEnum):
    """A thing that goes wrong once a day."""

    MISSED = "one fastener is missed"
    UNDER = "one pull stops short and is put right"
    OVER = "one pull goes over"
    TWICE = "one fastener is clicked a second time"
    SPOILED = "one line is spoiled on the wire"


def choose_mishaps(route: Route, seed: int) -> dict[Spot, Mishap]:
    """Where each mishap happens, always at a final stage; the same seed gives the same day.

    A mishap for which a short plan has no joint of four or more fasteners left does not happen.
    """
    rng = random.Random(f"{seed}/mishaps")
    passes = list(_passes(route))
    chosen: dict[Spot, Mishap] = {}
    for mishap in Mishap:
        taken = {spot.joint for spot in chosen}
        suitable = [joint for joint, goes_on in passes if joint.id not in taken and _suits(mishap, joint, goes_on)]
        if suitable:
            joint = rng.choice(suitable)
            chosen[Spot(joint.id, joint.final.number, _position(mishap, joint, rng))] = mishap
    return chosen


def _passes(route: Route) -> Iterator[tuple[Joint, bool]]:
    """The joints as they are torqued; True where the next one follows with no hold point between."""
    torqued = [(step, joint) for step in route.steps if step.word is StepWord.TORQUE for joint in step.joints]
    signed = [step.number for step in route.steps if step.word is StepWord.HOLD_POINT]
    for index, (step, joint) in enumerate(torqued):
        after = [later for later, _joint in torqued[index + 1 : index + 2]]
        goes_on = bool(after) and not any(step.number < number < after[0].number for number in signed)
        yield route.joint(joint), goes_on


def _suits(mishap: Mishap, joint: Joint, goes_on: bool) -> bool:
    if joint.fasteners < 4 or not joint.stages:
        return False
    match mishap:
        case Mishap.MISSED:
            return goes_on  # who is stopped by a question would look back
        case Mishap.UNDER:
            return len(joint.stages) == 1  # below the final's band would be in the band of the stage before
    return True


def _position(mishap: Mishap, joint: Joint, rng: random.Random) -> int:
    """Missed is the round's last one; the others have at least two after them, so that no stripes are asked yet."""
    if mishap is Mishap.MISSED:
        return joint.order_of(joint.final)[-1]
    return rng.choice(joint.order_of(joint.final)[:-2])
