"""For `other_days`: made-up trailer plans, the people who work them, the order they take and what they forget.

All rates and spreads are common practice and guesses of a fitter's, no source.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass

Slot = tuple[int, int, int]
"""Index of the joint in the plan, stage from 1, position from 1."""

# Name, usual numbers of fasteners, torque range in N·m, whether there is a left and a right one. Common practice, no source.
_PLACES = (
    ("Spring U-bolt nuts, front axle", (4, 8), (60, 140), True),
    ("Spring U-bolt nuts, rear axle", (4, 8), (60, 140), True),
    ("Wheel nuts, front axle", (4, 5, 6), (85, 150), True),
    ("Wheel nuts, rear axle", (4, 5, 6), (85, 150), True),
    ("Brake backplate bolts", (4, 6), (40, 80), True),
    ("Stub axle flange bolts", (4, 5, 6), (70, 165), True),
    ("Damper bolts", (2,), (45, 95), True),
    ("Shackle bolts", (2, 4), (55, 130), True),
    ("Spring hanger bolts", (3, 4, 6), (70, 120), True),
    ("Mudguard stay bolts", (2, 3, 4), (20, 35), True),
    ("Side rail bolts", (6, 8, 10), (45, 75), True),
    ("Tailboard hinge bolts", (3, 4, 6), (20, 50), True),
    ("Prop stand bolts", (2, 3, 4), (30, 75), True),
    ("Drawbar bolts", (4, 6, 8), (110, 220), False),
    ("Coupling head bolts", (2, 3, 4), (75, 120), False),
    ("Cross-member bolts", (6, 8, 10), (55, 95), False),
    ("Floor bearer bolts", (8, 10), (25, 45), False),
    ("Bulkhead frame bolts", (6, 8, 10), (30, 60), False),
    ("Spare wheel carrier nuts", (3, 4), (45, 90), False),
    ("Brake rod bracket bolts", (2, 4), (25, 50), False),
    ("Jockey wheel clamp bolts", (2, 3), (45, 80), False),
    ("Lamp bar bolts", (2, 4), (20, 30), False),
    ("Axle beam clamp bolts", (4, 6), (120, 200), False),
)
_TORQUES_NM = (
    *(20, 22, 25, 28, 30, 33, 35, 40, 45, 48, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100),
    *(105, 110, 115, 120, 130, 140, 150, 165, 180, 200, 220),
)
_MANY_STAGES = ((50, 100), (50, 100), (30, 60, 100))


@dataclass(frozen=True, slots=True)
class PlanJoint:
    """A joint as the day's maker needs it; `tolerance` is a share of the torque, `shares` the stages in percent.

    `side` is left, right or empty; `place` is one number for a left and right pair.
    """

    id: str
    name: str
    fasteners: int
    torque_nm: int
    tolerance: float
    shares: tuple[int, ...]
    side: str
    place: int

    def band_nm(self, stage: int) -> tuple[float, float, float]:
        """Low, target and high of a stage, counted from 1: the rule of the plan's bands, in binary."""
        low_nm, share = self.torque_nm * (1 - self.tolerance), self.shares[stage - 1]
        if share == 100:
            return low_nm, float(self.torque_nm), self.torque_nm * (1 + self.tolerance)
        return 0.9 * self.torque_nm * share / 100, self.torque_nm * share / 100, low_nm


def make_plan(rng: random.Random) -> tuple[str, tuple[PlanJoint, ...]]:
    """A plan's text and its joints: 8 to 25 of them with 2 to 10 fasteners each, 30 to 120 in all, ids J01, J02…"""
    while True:
        joints = _joints(rng)
        if 8 <= len(joints) <= 25 and 30 <= sum(joint.fasteners for joint in joints) <= 120:
            return _text(joints, rng), joints


def _joints(rng: random.Random) -> tuple[PlanJoint, ...]:
    places = rng.sample(range(len(_PLACES)), rng.randint(5, 15))
    tolerance = rng.choice((6, 7, 8, 8, 10, 10, 12))
    staged = 0.0 if rng.random() < 0.6 else rng.uniform(0.2, 0.8)
    made: list[PlanJoint] = []
    torque_nm = 0
    for place in places:
        name, counts, (least_nm, most_nm), paired = _PLACES[place]
        if not made or rng.random() > 0.28:
            torque_nm = rng.choice([nm for nm in _TORQUES_NM if least_nm <= nm <= most_nm])
        fasteners = rng.choice(counts)
        own = rng.choice((6, 8, 10, 12)) if rng.random() < 0.15 else tolerance
        shares = rng.choice(_MANY_STAGES) if rng.random() < staged else (100,)
        for side in ("left", "right") if paired and rng.random() < 0.85 else ("",):
            called = f"{name}, {side}" if side else name
            made.append(PlanJoint("", called, fasteners, torque_nm, own / 100, shares, side, place))
    if rng.random() < 0.35:
        made.sort(key=lambda joint: ("left", "", "right").index(joint.side))
    return tuple(
        PlanJoint(f"J{n:02}", j.name, j.fasteners, j.torque_nm, j.tolerance, j.shares, j.side, j.place)
        for n, j in enumerate(made, start=1)
    )


def _text(joints: tuple[PlanJoint, ...], rng: random.Random) -> str:
    lines = [
        "plan: trailer-running-gear",
        "title: Box trailer, running gear and body",
        f'revision: "{rng.randint(1, 9)}"',
        "source: Shop procedure 131, made up",
        "unit: N·m",
        "joints:",
    ]
    for joint in joints:
        order = "cross" if joint.fasteners >= 4 and rng.random() < 0.5 else "any"
        stages = ", ".join(map(str, joint.shares))
        lines.append(
            f'  - {{id: {joint.id}, name: "{joint.name}", fasteners: {joint.fasteners}, torque: {joint.torque_nm},'
            f" tolerance: {round(joint.tolerance * 100)} %, stages: [{stages}], order: {order}}}"
        )
    return "\n".join(lines) + "\n"


@dataclass(frozen=True, slots=True)
class Fitter:
    """Habits. Chances are those of a usual shop: `strokes` and `recheck` a joint, the others a fastener.

    `pull_s` is the mean gap within a joint and `even` the shape of its gamma law, `walk_s` the mean way to another joint,
    `hand_s` what a fastener takes to be put in by hand before a joint's first click. `keen` is the mean share of the
    torque that is pulled past the target.
    """

    name: str
    route: str
    rounds: str
    pull_s: float
    even: float
    walk_s: float
    hand_s: float
    keen: float
    strokes: float
    repeat: float
    give_up: float
    recheck: float
    leave_half: float


FITTERS = (
    Fitter("Marit Holm", "plan", "joint", 7, 9, 45, 3, 0.008, 0.02, 0.004, 0.003, 0.01, 0.00),
    Fitter("Tibor Kess", "left first", "joint", 9, 5, 70, 5, 0.012, 0.10, 0.015, 0.010, 0.03, 0.03),
    Fitter("Pia Strand", "pairs", "alternate", 11, 4, 60, 0, 0.010, 0.05, 0.010, 0.008, 0.02, 0.02),
    Fitter("Rolf Dunker", "by torque", "all", 6, 3, 35, 6, 0.018, 0.07, 0.060, 0.006, 0.14, 0.01),
    Fitter("Ines Varga", "around", "two", 13, 6, 90, 8, 0.006, 0.18, 0.006, 0.015, 0.05, 0.06),
    Fitter("Kai Morell", "loose", "joint", 5, 2, 25, 2, 0.022, 0.06, 0.030, 0.020, 0.02, 0.08),
    Fitter("Lene Aas", "back", "two", 16, 3, 140, 0, 0.009, 0.30, 0.008, 0.012, 0.06, 0.03),
    Fitter("Jonas Weck", "plan", "fastener", 8, 2.5, 55, 4, 0.015, 0.12, 0.020, 0.025, 0.04, 0.04),
    Fitter("Olga Brink", "by torque back", "all", 10, 7, 40, 2, 0.011, 0.04, 0.045, 0.004, 0.09, 0.02),
)


@dataclass(frozen=True, slots=True)
class Shop:
    """How a shop is: `extra` multiplies the fitter's chances of additional clicks, the others are chances a day or as named.

    `own_way` is that a fitter keeps to his own route, `stray` a block of work, `over` a pull, `noise` a share of torque.
    """

    miss: float
    stop: float
    lump: float
    pair: float
    seconds: float
    own_way: float
    extra: float
    stray: float
    over: float
    opened: float
    late: float
    new_wrench: float
    noise: float


SHOPS = {
    "tidy": Shop(0.10, 0.0, 0.0, 0.04, 0.15, 0.03, 0.06, 0.002, 0.00005, 0.005, 0.02, 0.05, 0.003),
    "usual": Shop(0.29, 0.03, 0.05, 0.12, 0.3, 0.15, 1.0, 0.022, 0.0006, 0.05, 0.10, 0.3, 0.005),
    "rough": Shop(0.53, 0.06, 0.10, 0.2, 0.4, 0.3, 1.8, 0.05, 0.0015, 0.12, 0.2, 0.6, 0.009),
}


@dataclass(frozen=True, slots=True)
class Slips:
    """What goes wrong by plan: slots never done, those of them that got a click beside, fasteners only done at the end."""

    skipped: frozenset[Slot]
    beside: frozenset[Slot]
    late: frozenset[Slot]


def make_slips(joints: tuple[PlanJoint, ...], ways: Shop, rng: random.Random) -> Slips:
    """What is forgotten on one day; in a tidy shop one fastener at most."""
    skipped: set[Slot] = set()
    late: set[Slot] = set()
    if rng.random() < ways.miss:
        several = rng.random() < (0 if ways.extra < 0.5 else 0.2)
        for _ in range(rng.randint(2, 3) if several else 1):
            skipped |= _one_skip(joints, rng, ways.extra < 0.5)
    if rng.random() < ways.late:
        late = _one_skip(joints, rng, True) - skipped
    hides = rng.random() < min(0.5, 0.4 * ways.extra)
    return Slips(frozenset(skipped), frozenset(skipped if hides else ()), frozenset(late))


def _one_skip(joints: tuple[PlanJoint, ...], rng: random.Random, single: bool) -> set[Slot]:
    """One fastener at all its stages or at one; in a shop that is not tidy also several, a round, a joint."""
    # A joint of many fasteners is the one where a fitter loses count.
    at = rng.choices(range(len(joints)), [joint.fasteners for joint in joints])[0]
    joint, draw = joints[at], rng.random()
    stages = range(1, len(joint.shares) + 1)
    position = rng.randint(1, joint.fasteners)
    if single or draw < 0.75:
        one = rng.choice(stages)
        return {(at, stage, position) for stage in stages if draw % 0.25 < 0.12 or stage == one}
    if draw < 0.87:
        return {(at, stage, p) for p in rng.sample(range(1, joint.fasteners + 1), 2) for stage in stages}
    if draw < 0.95 and len(stages) > 1:
        return {(at, len(stages) - 1, p) for p in range(1, joint.fasteners + 1)}
    return {(at, stage, p) for p in range(1, joint.fasteners + 1) for stage in stages}


def shared_out(joints: tuple[PlanJoint, ...], fitters: int, rng: random.Random) -> list[list[int]]:
    """Joints by fitter: two of them work on either side, or one from the front and one from the back."""
    every = list(range(len(joints)))
    if fitters == 1:
        return [every]
    half = len(every) // 2
    is_first: Callable[[int], bool] = (lambda at: joints[at].side == "left") if rng.random() < 0.5 else (lambda at: at < half)
    first = [at for at in every if is_first(at)] or every[:half]
    return [first, [at for at in every if at not in first]]


def _routed(joints: tuple[PlanJoint, ...], share: list[int], route: str, rng: random.Random) -> list[int]:
    keys: dict[str, Callable[[int], float]] = {
        "plan": lambda at: at,
        "back": lambda at: -at,
        "left first": lambda at: ("left", "", "right").index(joints[at].side),
        "pairs": lambda at: share.index(next(other for other in share if joints[other].place == joints[at].place)),
        "by torque": lambda at: joints[at].torque_nm,
        "by torque back": lambda at: -joints[at].torque_nm,
        "loose": lambda at: at + rng.gauss(0, 2.5),
    }
    if route == "around":
        start = rng.randrange(len(share))
        return share[start:] + share[:start]
    return sorted(share, key=keys[route])


def make_blocks(
    joints: tuple[PlanJoint, ...], share: list[int], fitter: Fitter, ways: Shop, rng: random.Random
) -> list[list[Slot]]:
    """The work in stretches without a long way in between; a joint left half done goes on one to three stretches later."""
    own_way = rng.random() < ways.own_way
    order = _routed(joints, share, fitter.route if own_way else "plan", rng)
    size = {"two": 2, "alternate": 2, "all": rng.randint(3, 6)}.get(fitter.rounds, 1) if own_way else 1
    blocks: list[list[Slot]] = []
    while order:
        # Rounds go together only where there are rounds, or where two sides are pulled in turn.
        together = [at for at in order[:size] if joints[at].shares == joints[order[0]].shares]
        many = len(joints[order[0]].shares) > 1
        if len(together) > 1 and (fitter.rounds == "alternate" or many):
            blocks.append(_together(joints, together, fitter.rounds, rng))
        else:
            together = order[:1]
            blocks.append(_alone(joints[order[0]], order[0], own_way and fitter.rounds == "fastener", rng))
        order = [at for at in order if at not in together]
    index = 0
    while index < len(blocks):
        if len(blocks[index]) > 3 and rng.random() < fitter.leave_half * ways.extra:
            cut = rng.randint(1, len(blocks[index]) - 2)
            rest, blocks[index] = blocks[index][cut:], blocks[index][:cut]
            blocks.insert(min(len(blocks), index + 1 + rng.randint(1, 3)), rest)
        index += 1
    return blocks


def make_round(joint: PlanJoint, rng: random.Random) -> list[int]:
    """All positions of a joint, across or one after another from anywhere."""
    positions = list(range(1, joint.fasteners + 1))
    if joint.fasteners >= 4 and rng.random() < 0.6:
        half = (joint.fasteners + 1) // 2
        return [p for near in range(half) for p in positions[near::half]]
    start = rng.randrange(joint.fasteners)
    return positions[start:] + positions[:start]


def _alone(joint: PlanJoint, at: int, one_by_one: bool, rng: random.Random) -> list[Slot]:
    order, stages = make_round(joint, rng), range(1, len(joint.shares) + 1)
    if one_by_one:
        return [(at, stage, position) for position in order for stage in stages]
    return [(at, stage, position) for stage in stages for position in order]


def _together(joints: tuple[PlanJoint, ...], group: list[int], rounds: str, rng: random.Random) -> list[Slot]:
    orders = {at: make_round(joints[at], rng) for at in group}
    slots: list[Slot] = []
    for stage in range(1, len(joints[group[0]].shares) + 1):
        if rounds == "alternate":
            for turn in range(max(joints[at].fasteners for at in group)):
                slots += [(at, stage, orders[at][turn]) for at in group if turn < joints[at].fasteners]
        else:
            slots += [(at, stage, position) for at in group for position in orders[at]]
    return slots
