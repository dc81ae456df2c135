"""The way of one fitter through the joints of a day: which when, what is interrupted, what comes in between."""

import math
import random
from dataclasses import dataclass, replace

from schemas.words import Kind
from sim.shop.chain import KIND_OF, Act, Gap, Ground, State, Step, next_steps
from sim.shop.fitters import Habits
from sim.shop.plans import PlanJoint
from sim.shop.pulls import Place, draw_angle, draw_gap, draw_torque
from sim.shop.truth import Touch


@dataclass(frozen=True, slots=True)
class Pull:
    """One reading to be: the gap before it in s, its wrench, digits as shown, and what was touched."""

    gap_s: float
    wrench: str
    torque: str
    angle: str
    touch: Touch


@dataclass(frozen=True, slots=True)
class Hands:
    """One fitter at work: habits, and for each joint whether there is room to swing and the place of each of its stages."""

    habits: Habits
    joints: tuple[PlanJoint, ...]
    cramped: frozenset[str]
    places: dict[tuple[str, int], Place]


@dataclass(frozen=True, slots=True)
class _Visit:
    """Pulls at one place without a break; `cuts` are the indexes before which the fitter could walk away."""

    place: Place
    pulls: tuple[Pull, ...]
    cuts: tuple[int, ...] = ()


def draw_stream(hands: Hands, lone_skip: tuple[str, int] | None, rng: random.Random) -> list[Pull]:
    """All that one fitter pulls on a day, in his order; gaps of a visit's first pull are those between joints.

    `lone_skip` names the joint and stage in which one fastener is forgotten and nothing else happens.
    """
    habits = hands.habits
    visits: list[_Visit] = []
    for place in _in_turn(hands, rng):
        if (place.joint, place.stage) == lone_skip:
            visits.append(_with_a_gap(place, habits, rng))
        else:
            visits += _at_place(place, place.joint in hands.cramped, habits, rng)
    visits = _interrupted(_late_ones_later(visits, rng), habits, rng)
    pulls: list[Pull] = []
    other = rng.randrange(len(visits)) if visits and rng.random() < habits.other_vehicle else None
    for index, visit in enumerate(visits):
        strays = _other_vehicle(visit.place, hands, rng) if index == other else []
        if rng.random() < habits.trial:
            strays += [_stray(visit.place, visit.place.shown_nm, 5.0, rng) for _ in range(rng.randint(1, 3))]
        between = _between(habits, rng)
        for pull in (*strays, *visit.pulls):
            pulls.append(replace(pull, gap_s=between) if between else pull)
            between = _between(habits, rng) if pull.touch.kind is Kind.STRAY and rng.random() < 0.3 else 0.0
    return pulls


def _in_turn(hands: Hands, rng: random.Random) -> list[Place]:
    """The places in the order in which this fitter takes them."""
    habits = hands.habits
    joints = [joint for joint in hands.joints if rng.random() >= habits.forgets_joint]
    if rng.random() < habits.left_first:
        joints.sort(key=lambda joint: joint.side == "right")
    for index in range(len(joints)):
        if rng.random() < habits.out_of_order:
            joint = joints.pop(index)
            joints.insert(min(len(joints), max(0, index + rng.choice((-3, -2, -1, 1, 2, 3, 5)))), joint)
    rounds: list[list[Place]] = [[hands.places[joint.id, stage + 1] for stage in range(len(joint.stages))] for joint in joints]
    merged: list[list[Place]] = []
    for own in rounds:
        before = merged[-1] if merged else []
        if len(own) > 1 and len(before) == len(own) and before[0].joint == before[-1].joint and rng.random() < habits.interleave:
            merged[-1] = [place for both in zip(before, own, strict=True) for place in both]
        else:
            merged.append(own)
    return [place for group in merged for place in group]


def _at_place(place: Place, is_cramped: bool, habits: Habits, rng: random.Random) -> list[_Visit]:
    """The work at one place; a recheck later in the day is a visit of its own."""
    ground = Ground(len(place.slots), is_cramped, place.is_final)
    visits: list[list[Pull]] = [[]]
    cuts: list[int] = []
    state, before = State(), None
    while True:
        steps = next_steps(state, ground, habits)
        step = rng.choices(steps, [step.weight for step in steps])[0]
        if step.act is None:
            break
        if step.gap is Gap.LATE:
            visits.append([])
        if len(visits) == 1 and step.gap is Gap.MOVE and visits[0] and step.act is not Act.SLIP:
            cuts.append(len(visits[0]))
        pull = _pull(step, place, before, habits, rng)
        before = float(pull.torque) if step.act is Act.STROKE else None
        visits[-1].append(pull)
        state = step.after
    first, *later = (_Visit(place, tuple(pulls)) for pulls in visits)
    return [replace(first, cuts=tuple(cuts)), *later]


def _pull(step: Step, place: Place, before_nm: float | None, habits: Habits, rng: random.Random) -> Pull:
    if step.act is None:
        raise ValueError("the end of a chain is no pull")
    torque = draw_torque(step.act, place, before_nm, rng)
    touch = Touch(KIND_OF[step.act], place.joint, place.stage, place.slots[step.slot])
    angle = draw_angle(step.act, place, rng)
    return Pull(draw_gap(step.gap, habits, rng), place.wrench, f"{torque:.1f}", f"{angle:.1f}", touch)


def _with_a_gap(place: Place, habits: Habits, rng: random.Random) -> _Visit:
    """One plain pull a fastener but for one that is forgotten."""
    gone = rng.randrange(len(place.slots))
    slots = [slot for slot in range(len(place.slots)) if slot != gone]
    steps = [Step(1.0, Act.CLICK, Gap.MOVE, slot, State()) for slot in slots]
    return _Visit(place, tuple(_pull(step, place, None, habits, rng) for step in steps))


def _late_ones_later(visits: list[_Visit], rng: random.Random) -> list[_Visit]:
    """Second visits of a place are put off to some later point of the day."""
    later: list[list[_Visit]] = [[] for _ in range(len(visits) + 1)]
    kept: list[_Visit] = []
    for index, visit in enumerate(visits):
        if kept and kept[-1].place is visit.place and visit.pulls:
            later[rng.randint(index + 1, len(visits))].append(visit)
        else:
            kept.append(visit)
            later[index].insert(0, visit)
    return [visit for group in later for visit in group]


def _interrupted(visits: list[_Visit], habits: Habits, rng: random.Random) -> list[_Visit]:
    """Some visits are broken off between two fasteners and taken up again one to three visits later."""
    put_off: dict[int, list[_Visit]] = {}
    made: list[_Visit] = []
    for index, visit in enumerate(visits):
        if visit.cuts and visit.place.is_final and index + 1 < len(visits) and rng.random() < habits.interrupt:
            cut = rng.choice(visit.cuts)
            rest = _Visit(visit.place, visit.pulls[cut:])
            visit = _Visit(visit.place, visit.pulls[:cut])
            # Never beyond the place's own next visit: what was begun is ended before it is checked.
            back = min(index + rng.randint(1, 3), _next_of(visits, index) - 1, len(visits) - 1)
            put_off.setdefault(back, []).append(rest)
        made.append(visit)
        made += put_off.pop(index, [])
    return [visit for visit in made if visit.pulls]


def _next_of(visits: list[_Visit], index: int) -> int:
    place = visits[index].place
    return next((later for later in range(index + 1, len(visits)) if visits[later].place is place), len(visits))


def _between(habits: Habits, rng: random.Random) -> float:
    return draw_gap(Gap.LATE, habits, rng)


def _stray(place: Place, middle_nm: float, angle_deg: float, rng: random.Random) -> Pull:
    torque = max(1.0, rng.gauss(middle_nm, place.spread_nm))
    return Pull(rng.uniform(2.0, 8.0), place.wrench, f"{torque:.1f}", f"{rng.uniform(0, angle_deg):.1f}", Touch(Kind.STRAY))


def _other_vehicle(place: Place, hands: Hands, rng: random.Random) -> list[Pull]:
    """A burst at a torque of another vehicle's plan: often one that this plan has too."""
    own = rng.choice(list(hands.places.values()))
    middle = own.shown_nm if rng.random() < 0.5 else own.shown_nm * rng.uniform(0.6, 1.6)
    turn = rng.uniform(15, 120)
    burst = [_stray(place, middle, 5.0, rng) for _ in range(rng.randint(3, 8))]
    made = []
    for pull in burst:
        angle = turn * math.exp(rng.gauss(0, 0.2))
        made.append(replace(pull, angle=f"{angle:.1f}", gap_s=draw_gap(Gap.MOVE, hands.habits, rng), wrench=own.wrench))
    return made
