"""A person with a wrench: looks at the screen, does what it asks, and is human about it."""

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from schemas.errors import Fate, SourceError, SourceReason
from schemas.route import Joint, Route
from schemas.screen import Ask, Last, Screen, Target
from schemas.units import find_unit, to_nm
from schemas.words import Kind, Role, Verdict
from sim.mishap import Mishap, Spot, choose_mishaps
from sim.pull import Aim, draw_torque
from sim.workshop.facts import WrenchFacts

YES, SAME_AGAIN, OTHER_JOINT, QUIT = "\r", "s", "j", "q"

_PRESS_S = 3.0
_SECOND_CLICK_S = 1.5
_NO_CLICK_S = (2.0, 4.0)
"""Who hears no click pulls on at once."""
_STOP_S = 30.0
_TO_NEXT_JOINT_S = (60.0, 180.0)
_TO_NEXT_FASTENER_S = (5.0, 14.0)


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull, `pause_s` simulated seconds after the act before; `torque` is in `unit`, `spoil` hurts its line."""

    spot: Spot
    torque: Decimal
    unit: str
    wrench: str
    pause_s: float
    spoil: bool = False


@dataclass(frozen=True, slots=True)
class Keys:
    """Keys pressed one after the other, `pause_s` simulated seconds after the act before."""

    text: str
    pause_s: float = _PRESS_S


Act = Pull | Keys


class Fitter:
    """Reacts to one screen after the other.

    The day's mishaps happen once each, but the missed fastener: the fitter takes it for done and leaves it whenever it
    is the target. Torques depend on seed, spot and attempt alone, so a day that goes on after a stop draws the same.

    Args:
        route: the plan.
        seed: makes the day.
        wrenches: what lies on the bench.
        lead: who signs what another person must sign.

    Raises SourceError where no wrench on the bench covers a joint.
    """

    def __init__(self, route: Route, seed: int, wrenches: Sequence[WrenchFacts], lead: str) -> None:
        self.mishaps = choose_mishaps(route, seed)
        self._seed = seed
        self._route = route
        self._joints = route.by_id()
        self._wrench_of = {joint.id: _wrench_for(joint, wrenches) for joint in route.joints}
        self._lead = lead
        self._attempts: Counter[Spot] = Counter()
        self._touched: Spot | None = None
        self._clicked_again = False
        self._left = 0

    def act(self, screen: Screen) -> Act | None:
        """What to do about this screen; None: wait for the next one (the link is down, or the day is over)."""
        if screen.ended:
            return None
        if self._counted_elsewhere(screen.last):
            return Keys(SAME_AGAIN)
        if screen.ask is not None:
            return Keys(self._answer(screen.ask))
        if screen.target is None:
            return Keys(QUIT)
        spot = self._spot_to_pull(screen.last, screen.target)
        if self.mishaps.get(spot) is Mishap.MISSED:
            return Keys(self._leave(screen, spot))
        return self._pull(spot, screen.last, screen.target) if screen.link_ok else None

    def _answer(self, ask: Ask) -> str:
        """Enter, then what has to be typed: the value that is asked for, the name where another person signs."""
        typed = [self._measured(ask)] if ask.value_in else []
        typed += [] if ask.role is Role.FITTER else [self._lead]
        return YES + "".join(f"{text}{YES}" for text in typed)

    def _measured(self, ask: Ask) -> str:
        """The middle of a hold point's limits; a tenth of the joint's torque as the drag of a nut."""
        step = next((step for step in self._route.steps if step.number == ask.step), None)
        if step is not None and step.measure_low is not None and step.measure_high is not None:
            return f"{(step.measure_low + step.measure_high) / 2:f}"
        return f"{self._joints[ask.joint or ''].final.band.target.scaleb(-1):.1f}"

    def _counted_elsewhere(self, last: Last | None) -> bool:
        """Whether the second click on a fastener was taken for the next one; asked once a second click."""
        if not self._clicked_again or last is None:
            return False
        self._clicked_again = False
        return last.kind is Kind.TIGHTENING and _spot_of(last) not in (None, self._touched)

    def _spot_to_pull(self, last: Last | None, target: Target) -> Spot:
        here = Spot(target.joint.id, target.stage.number, target.position)
        if last is None:
            return here
        if last.kind is Kind.TIGHTENING and last.verdict is Verdict.UNDER:
            return _spot_of(last) or here
        touched = self._touched
        if touched is None:
            return here
        if last.word in tuple(Fate):
            return touched
        clicks_again = self.mishaps.get(touched) is Mishap.TWICE and self._attempts[touched] == 1
        return touched if clicks_again and _spot_of(last) == touched else here

    def _leave(self, screen: Screen, spot: Spot) -> str:
        """Go on to the next joint that is open after this one, or home where none is."""
        names = [row.joint for row in screen.rows]
        here = names.index(spot.joint)
        is_open = [row.number for row in screen.rows[here + 1 :] + screen.rows[:here] if row.done < row.fasteners]
        self._left += 1
        # Whoever is sent back again and again goes home.
        if not is_open or self._left > len(names):
            return QUIT
        return f"{OTHER_JOINT}{YES}" if self._left == 1 else f"{OTHER_JOINT}{is_open[0]}{YES}"

    def _pull(self, spot: Spot, last: Last | None, target: Target) -> Pull:
        joint = self._joints[spot.joint]
        self._attempts[spot] += 1
        attempt = self._attempts[spot]
        rng = random.Random(f"{self._seed}/{spot.joint}/{spot.stage}/{spot.position}/{attempt}")
        mishap = self.mishaps.get(spot) if attempt == 1 else None
        # A measured drag moves what has to be reached.
        is_target = (target.joint.id, target.stage.number) == (spot.joint, spot.stage)
        band = target.band if is_target else joint.stages[spot.stage - 1].band
        torque = draw_torque(band, _aim(mishap), rng)
        pause_s = self._pause_s(spot, last, rng)
        self._touched = spot
        return Pull(spot, torque, joint.unit, self._wrench_of[joint.id], pause_s, mishap is Mishap.SPOILED)

    def _pause_s(self, spot: Spot, last: Last | None, rng: random.Random) -> float:
        if self.mishaps.get(spot) is Mishap.TWICE and self._attempts[spot] == 2:
            self._clicked_again = True
            return _SECOND_CLICK_S
        if last is not None and last.verdict is Verdict.UNDER and _spot_of(last) == spot:
            return rng.uniform(*_NO_CLICK_S)
        is_same_joint = self._touched is not None and self._touched.joint == spot.joint
        pause_s = rng.uniform(*(_TO_NEXT_FASTENER_S if is_same_joint else _TO_NEXT_JOINT_S))
        return pause_s + (_STOP_S if last is not None and last.stop else 0)


def _aim(mishap: Mishap | None) -> Aim:
    match mishap:
        case Mishap.UNDER:
            return Aim.UNDER
        case Mishap.OVER:
            return Aim.OVER
    return Aim.IN_BAND


def _wrench_for(joint: Joint, wrenches: Sequence[WrenchFacts]) -> str:
    """The first wrench that the joint allows and whose range covers all its stages."""
    for wrench in wrenches:
        unit, _remark = find_unit(wrench.unit)
        low_nm, high_nm = to_nm(wrench.low, unit), to_nm(wrench.high, unit)
        is_allowed = not joint.wrenches or wrench.id in joint.wrenches
        if is_allowed and all(low_nm <= stage.band.target_nm <= high_nm for stage in joint.stages):
            return wrench.id
    raise SourceError(
        f"no wrench of the simulated bench covers joint `{joint.id}`; simulate the plan of the made-up workshop",
        SourceReason.MISSING,
    )


def _spot_of(last: Last) -> Spot | None:
    if last.joint is None or last.stage is None or last.position is None:
        return None
    return Spot(last.joint, last.stage, last.position)
