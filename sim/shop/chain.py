"""What the next reading in a joint is, given how many fasteners are behind and what the last one was.

One chain for each joint and stage; nothing outside it bears on what happens next in it. The simulator draws from it, and
whoever wants to know how well the kinds can be told at all sums over it.
"""

from enum import StrEnum
from typing import NamedTuple

from schemas.words import Kind
from sim.shop.fitters import Habits

MOST_SHORT_STROKES = 5
_STROKES_END = 0.5
_CRAMPED_STROKES = 0.95
_ROOMY_STROKES = 0.005
_LEAVES_IT = 0.2
_MAKES_GOOD = 0.5
_CHECKS_EACH = 0.97
_FINDS_MISSED = 0.92
_LEAST_WEIGHT = 1e-7


class Act(StrEnum):
    """What a hand did at one reading."""

    CLICK = "click"
    OVER = "over-pull"
    LEFT = "left under"
    GAVE_UP = "gave up, will pull again"
    STROKE = "short stroke"
    ENDING = "ends the strokes"
    AGAIN = "second click"
    SLIP = "click on the last one, taken for the next"
    REDO = "opened and done again"
    RECHECK = "recheck"


class Gap(StrEnum):
    """What the time before a reading was spent on."""

    MOVE = "to the next fastener"
    STROKE = "ratchet back"
    RETRY = "new grip"
    QUICK = "second click"
    OPENED = "opening"
    ROUND = "before a round of checking"
    CHECK = "to the next to check"
    LATE = "away from the joint"


class Last(StrEnum):
    """What bears on the next reading."""

    PLAIN = "nothing"
    DONE = "a tightening"
    REPEATED = "a second click"
    STROKING = "a short stroke"
    GAVE_UP = "a pull given up"
    OVER = "an over-pull"


KIND_OF = {
    Act.CLICK: Kind.TIGHTENING, Act.OVER: Kind.TIGHTENING, Act.LEFT: Kind.TIGHTENING, Act.ENDING: Kind.TIGHTENING,
    Act.REDO: Kind.TIGHTENING, Act.GAVE_UP: Kind.SHORT_PULL, Act.STROKE: Kind.SHORT_PULL, Act.AGAIN: Kind.REPEAT,
    Act.SLIP: Kind.REPEAT, Act.RECHECK: Kind.RECHECK,
}  # fmt: skip


class Ground(NamedTuple):
    """What the chain of one joint and stage stands on; cramped: no room to swing, so that it takes strokes."""

    fasteners: int
    is_cramped: bool
    is_final: bool


class State(NamedTuple):
    """Where the work stands after a reading: round 0 is the work, 1 a recheck at once, 2 one later in the day.

    `slot` is the last one reached, in the order of pulling, from 0; `missed` has a bit for each slot passed over.
    """

    round: int = 0
    slot: int = -1
    missed: int = 0
    last: Last = Last.PLAIN
    strokes: int = 0


class Step(NamedTuple):
    """One way to go on: its probability, what is done after what gap at which slot, and the state then.

    `act` is None where the joint is left for good.
    """

    weight: float
    act: Act | None
    gap: Gap
    slot: int
    after: State


def next_steps(state: State, ground: Ground, habits: Habits) -> list[Step]:
    """Every way to go on, as weights that sum to 1 (ways below 1e-7 are left out)."""
    done = state._replace(last=Last.DONE, strokes=0)
    if state.last is Last.STROKING:
        end = 1.0 if state.strokes >= MOST_SHORT_STROKES else _STROKES_END
        more = state._replace(strokes=state.strokes + 1)
        steps = [Step(end, Act.ENDING, Gap.STROKE, state.slot, done), Step(1 - end, Act.STROKE, Gap.STROKE, state.slot, more)]
        return [step for step in steps if step.weight]
    if state.last is Last.GAVE_UP:
        return [Step(1.0, Act.ENDING, Gap.RETRY, state.slot, done)]
    steps = []
    if state.last is Last.OVER:
        steps.append(Step(_MAKES_GOOD, Act.REDO, Gap.OPENED, state.slot, done))
    if state.last in (Last.DONE, Last.REPEATED):
        again = state._replace(last=Last.REPEATED)
        steps.append(Step(habits.repeat, Act.AGAIN, Gap.QUICK, state.slot, again))
    if state.last is Last.DONE:
        steps.append(Step(habits.redo, Act.REDO, Gap.OPENED, state.slot, done))
    rest = 1 - sum(step.weight for step in steps)
    return steps + _onward(state, rest, Gap.MOVE if state.round == 0 else Gap.CHECK, ground, habits)


def _onward(state: State, weight: float, gap: Gap, ground: Ground, habits: Habits) -> list[Step]:
    """The ways to the next fastener of the round, over those passed by, or out of the round."""
    steps: list[Step] = []
    slot, missed = state.slot + 1, state.missed
    if state.round == 0 and state.last in (Last.DONE, Last.REPEATED) and slot < ground.fasteners:
        slipped = State(0, slot, missed | 1 << slot)
        steps.append(Step(weight * habits.slip, Act.SLIP, gap, state.slot, slipped))
        weight *= 1 - habits.slip
    while slot < ground.fasteners and weight > _LEAST_WEIGHT:
        bit = 1 << slot
        if state.round == 0 or missed & bit:
            touches = 1 - habits.skip if state.round == 0 else _FINDS_MISSED
            begun = State(state.round, slot, missed & ~bit)
            steps += _fresh(begun, weight * touches, gap, ground, habits)
        else:
            touches = _CHECKS_EACH
            steps.append(Step(weight * touches, Act.RECHECK, gap, slot, State(state.round, slot, missed)))
        if state.round == 0:
            missed |= bit
        weight *= 1 - touches
        slot += 1
    if slot < ground.fasteners:
        return steps
    return steps + _out_of_round(State(state.round, slot - 1, missed), weight, ground, habits)


def _fresh(begun: State, weight: float, gap: Gap, ground: Ground, habits: Habits) -> list[Step]:
    """The ways to begin with a fastener that is not done."""
    strokes = _CRAMPED_STROKES if ground.is_cramped else _ROOMY_STROKES
    over = habits.over if ground.is_final else 0.0
    once, slot = weight * (1 - strokes), begun.slot
    at = (begun.round, slot, begun.missed)
    steps = [
        Step(weight * strokes, Act.STROKE, gap, slot, State(*at, Last.STROKING, 1)),
        Step(once * habits.gave_up * (1 - _LEAVES_IT), Act.GAVE_UP, gap, slot, State(*at, Last.GAVE_UP)),
        Step(once * habits.gave_up * _LEAVES_IT, Act.LEFT, gap, slot, begun),
        Step(once * (1 - habits.gave_up - over), Act.CLICK, gap, slot, State(*at, Last.DONE)),
    ]
    return [*steps, Step(once * over, Act.OVER, gap, slot, State(*at, Last.OVER))] if over else steps


def _out_of_round(state: State, weight: float, ground: Ground, habits: Habits) -> list[Step]:
    """The ways on when all slots of a round are behind: another round, or away."""
    steps: list[Step] = []
    if state.round == 0 and ground.is_final and weight > _LEAST_WEIGHT:
        checks = weight * habits.recheck_round
        steps += _onward(State(1, -1, state.missed), checks, Gap.ROUND, ground, habits)
        weight -= checks
    if state.round < 2 and ground.is_final and weight > _LEAST_WEIGHT:
        checks = weight * habits.recheck_late
        steps += _onward(State(2, -1, state.missed), checks, Gap.LATE, ground, habits)
        weight -= checks
    steps.append(Step(weight, None, Gap.LATE, state.slot, state))
    return steps
