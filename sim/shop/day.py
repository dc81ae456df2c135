"""One day in a made-up shop: a plan, the log of its wrenches, and the truth beside it, all from a seed."""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemas.words import Kind
from sim.shop.fitters import FITTERS, SHOP_OF, Habits, Shop, draw_habits
from sim.shop.plans import PlanJoint, draw_plan, plan_text
from sim.shop.pulls import Place
from sim.shop.truth import ShopDay, ShopReading, Touch
from sim.shop.visits import Hands, Pull, draw_stream

SHOPS = ("tidy", "usual", "rough")
_SMALL_TO_NM = 40
_LARGE_FROM_NM = 20
_LATER_TURNS = {1: (1.0,), 2: (1.0, 0.5), 3: (1.0, 0.45, 0.35)}
_LUMP_DAYS = 0.05


@dataclass(frozen=True, slots=True)
class Secret:
    """What only the simulator knows, for an oracle: habits by joint, every place, what the day was open to.

    `stream_of` numbers the fitter of each reading, strays as well. `lone_skip` is the chance that one fastener of the day was
    forgotten all by itself, `log_stops` that the log ended early; `lump` is the range of readings that came in a lump, end
    not included.
    """

    plan: tuple[PlanJoint, ...]
    habits: Mapping[str, Habits]
    places: Mapping[tuple[str, int], Place]
    stream_of: tuple[int, ...]
    lone_skip: float
    log_stops: float
    lump: tuple[int, int]
    whole_seconds: bool


def live_day(shop: str, seed: int, *, angle: bool, times: bool, fitters: Sequence[str] | None = None) -> ShopDay:
    """One day of `shop`, the same for the same arguments; `angle` and `times` say what the log tells.

    The work itself does not depend on `angle` and `times`. `fitters` are the names to draw from, all by default.
    Raises KeyError for a shop or a fitter that does not exist.
    """
    rng = random.Random(f"{shop} {seed}")
    rates = SHOP_OF[shop]
    joints = draw_plan(rng)
    names = _who(rates, tuple(fitters if fitters is not None else FITTERS), len(joints), rng)
    hands = _hands(rates, joints, names, rng)
    skips = _lone_skip(rates, hands, rng)
    work = sorted(
        ((at_s, number, pull) for number, one in enumerate(hands) for at_s, pull in _timed(draw_stream(one, skips, rng), rng)),
        key=lambda row: row[0],
    )
    if rng.random() < rates.log_stops:
        work = work[: rng.randrange(1, max(2, len(work)))]
    whole_seconds, lump = rng.random() < 0.5, _lump(len(work), rng)
    touches = tuple(pull.touch for _, _, pull in work)
    return ShopDay(
        plan=plan_text(joints),
        readings=_rows([(at_s, pull) for at_s, _, pull in work], angle, times, whole_seconds, lump, rng),
        truth=touches,
        missed=_missed(joints, touches),
        shop=shop,
        fitter=" and ".join(names),
        secret=Secret(
            plan=joints,
            habits={joint.id: one.habits for one in hands for joint in one.joints},
            places={key: place for one in hands for key, place in one.places.items()},
            stream_of=tuple(number for _, number, _ in work),
            lone_skip=rates.lone_skip,
            log_stops=rates.log_stops,
            lump=lump,
            whole_seconds=whole_seconds,
        ),
    )


def _who(rates: Shop, names: tuple[str, ...], joints: int, rng: random.Random) -> tuple[str, ...]:
    """One fitter, or two where there is more than one to choose from."""
    count = 2 if rng.random() < rates.two_fitters and len(names) > 1 and joints > 1 else 1
    return tuple(rng.sample(names, count))


def _hands(rates: Shop, joints: tuple[PlanJoint, ...], names: tuple[str, ...], rng: random.Random) -> list[Hands]:
    """The fitters with their joints: all of them, or two shares of the plan."""
    cut = len(joints) if len(names) == 1 else rng.randint(len(joints) // 3, len(joints) - len(joints) // 3)
    made = []
    for number, (name, own) in enumerate(zip(names, (joints[:cut], joints[cut:]), strict=False)):
        habits = draw_habits(rates, name, rng)
        has_small = rng.random() < 0.5 or min(joint.torque_nm for joint in own) < _LARGE_FROM_NM
        wrenches = _Wrenches(number, has_small, rates.wrench_spread, rng)
        places = {(place.joint, place.stage): place for joint in own for place in _places(joint, habits, wrenches, rng)}
        cramped = frozenset(joint.id for joint in own if rng.random() < habits.cramped)
        made.append(Hands(habits, own, cramped, places))
    return made


class _Wrenches:
    """One fitter's wrenches, each with its error and spread as shares: a small one if he has two, and a large one."""

    def __init__(self, number: int, has_small: bool, spread: tuple[float, float], rng: random.Random) -> None:
        self._small_to_nm = _SMALL_TO_NM if has_small else 0
        self._ways = {
            name: (rng.uniform(-0.02, 0.02), spread[0] * (spread[1] / spread[0]) ** rng.random())
            for name in (f"W-{25 + number}", f"W-{140 + number}")
        }

    def for_torque(self, target_nm: float) -> tuple[str, float, float]:
        """Name, error and spread of the wrench that has this torque in its range."""
        name = list(self._ways)[0 if target_nm < self._small_to_nm else 1]
        return name, *self._ways[name]


def _places(joint: PlanJoint, habits: Habits, wrenches: _Wrenches, rng: random.Random) -> list[Place]:
    """The places of a joint, one a stage."""
    turn_deg, turn_spread = rng.uniform(15, 120), rng.uniform(0.1, 0.3)
    places = []
    for stage, share in enumerate(_LATER_TURNS[len(joint.stages)], start=1):
        low, target, high = joint.band_nm(stage)
        wrench, error, spread = wrenches.for_torque(target)
        past = min(habits.past, 0.4 * joint.tolerance_percent / 100)
        places.append(
            Place(
                joint=joint.id,
                stage=stage,
                is_final=stage == len(joint.stages),
                slots=joint.order,
                wrench=wrench,
                low_nm=low,
                high_nm=high,
                shown_nm=target * (1 + past + error),
                spread_nm=target * float(spread**2 + habits.pull_spread**2) ** 0.5,
                turn_deg=turn_deg * share,
                turn_spread=turn_spread,
            )
        )
    return places


def _lone_skip(rates: Shop, hands: list[Hands], rng: random.Random) -> tuple[str, int] | None:
    """The place where one fastener is forgotten all by itself; never the only one of its joint, which would be the joint."""
    places = [key for one in hands for key, place in one.places.items() if len(place.slots) > 1 and key[0] not in one.cramped]
    return rng.choice(places) if places and rng.random() < rates.lone_skip else None


def _timed(pulls: list[Pull], rng: random.Random) -> list[tuple[float, Pull]]:
    at_s = rng.uniform(0, 120)
    timed = []
    for pull in pulls:
        at_s += pull.gap_s
        timed.append((at_s, pull))
    return timed


def _lump(readings: int, rng: random.Random) -> tuple[int, int]:
    """The stretch whose readings were delivered together, empty on most days."""
    if rng.random() >= _LUMP_DAYS or readings < 10:
        return 0, 0
    length = rng.randint(5, max(5, readings // 3))
    begun = rng.randint(0, readings - length)
    return begun, begun + length


def _rows(
    work: list[tuple[float, Pull]], angle: bool, times: bool, whole_seconds: bool, lump: tuple[int, int], rng: random.Random
) -> tuple[ShopReading, ...]:
    """The rows of the log as they are sent."""
    numbered = rng.random() < 0.5
    counts = {pull.wrench: rng.randint(1, 400) for _, pull in work}
    rows = []
    for index, (at_s, pull) in enumerate(work):
        told_s = work[lump[1] - 1][0] if lump[0] <= index < lump[1] else at_s
        rows.append(
            ShopReading(
                at_s=(float(int(told_s)) if whole_seconds else round(told_s, 1)) if times else None,
                wrench=pull.wrench,
                torque=pull.torque,
                angle=pull.angle if angle else None,
                seq=counts[pull.wrench] if numbered else None,
            )
        )
        counts[pull.wrench] += 1
    return tuple(rows)


def _missed(joints: tuple[PlanJoint, ...], touches: tuple[Touch, ...]) -> tuple[tuple[str, int, int], ...]:
    """Every fastener of the plan that no tightening touched at a stage, in the order of the plan."""
    done = {(touch.joint, touch.stage, touch.position) for touch in touches if touch.kind is Kind.TIGHTENING}
    wanted = (
        (joint.id, stage, position)
        for joint in joints
        for stage in range(1, len(joint.stages) + 1)
        for position in range(1, joint.fasteners + 1)
    )
    return tuple(place for place in wanted if place not in done)
