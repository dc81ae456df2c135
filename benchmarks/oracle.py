"""How well a day's log can be read at all: a reader that knows the made-up fitter's habits and what each reading belongs to."""

import math
import sys
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from benchmarks.oracle_sight import Sight, sights_of
from sim.shop.chain import Gap, Ground, Last, State, Step, next_steps
from sim.shop.day import Secret
from sim.shop.fitters import Habits
from sim.shop.pulls import Place
from sim.shop.truth import ShopDay

_LEAST = 1e-6
"""States less likely than this beside the best one are dropped."""
_LEAST_STEP = 1e-9
_UNEXPLAINED = 1e-12
_LATE_AT_ONCE = 0.2
"""How often a late recheck happens to be the visit right after the work: a rough value."""


@dataclass(frozen=True, slots=True)
class OracleAnswer:
    """Probabilities: `p_complete` that every fastener got its tightening at every stage, `p_places` that by joint and stage."""

    p_complete: float
    p_places: Mapping[tuple[str, int], float]


@dataclass(frozen=True, slots=True)
class _Odds:
    """Likelihoods of one place's readings, as logarithms: `all` of it, and `done` with every fastener tightened."""

    all: float
    done: float


@dataclass(frozen=True, slots=True)
class _Weighed:
    """The odds of one place where its work was ended, and where the log stopped in the midst of it or before."""

    ended: _Odds
    stopped: _Odds


@dataclass(frozen=True, slots=True)
class _Heard:
    """A place with its readings; `was_last` where a log that stopped early would have stopped in its work."""

    place: Place
    sights: tuple[Sight, ...]
    was_last: bool


def ask_oracle(day: ShopDay) -> OracleAnswer:
    """Sum over all that could have gone on in each joint and stage; hidden is what each reading was and whether there is room.

    It is told `day.secret`, the joint and stage of every reading and which are strays; of their kinds and positions it is told
    nothing. Exact but for five things. States below 1e-6 of the best are dropped. Where the log stops early, one place a fitter
    is taken as unfinished, the one of his last reading, and joints broken off and not taken up again are not. A break between
    two fasteners is taken as equally likely at each. How often a late recheck follows at once is a rough value. The tidy shop's
    lone forgotten fastener is spread over all fasteners of the day as if each could be skipped by itself.
    Raises TypeError for a day whose secret is not the simulator's.
    """
    secret = day.secret
    if not isinstance(secret, Secret):
        raise TypeError("the day has no secret of `sim.shop.day`; ask about a day that `live_day` made")
    heard = _heard(day, secret)
    lone_skip = secret.lone_skip / sum(len(place.slots) for place in secret.places.values())
    unseen = sum(len(one.place.slots) for one in heard if not one.sights)
    summed = _Summed(secret.habits, lone_skip)
    joints = [summed.joint(own) for own in _by_joint(heard)]
    modes = [(1 - secret.log_stops, [joint.odds(log_stops=False) for joint in joints])]
    if secret.log_stops:
        stops = secret.log_stops / (len(day.readings) + unseen + 1)
        modes.append((stops, [joint.odds(log_stops=True) for joint in joints]))
    return _answer(modes)


@dataclass(frozen=True, slots=True)
class _JointOdds:
    """The odds of a whole joint, and of each of its stages the logarithm with that stage done."""

    whole: _Odds
    done_of: Mapping[tuple[str, int], float]


def _answer(modes: Sequence[tuple[float, Sequence[_JointOdds]]]) -> OracleAnswer:
    """The answer over the ways in which the log may have ended, each with its prior."""
    seen = [math.log(prior) + sum(joint.whole.all for joint in joints) for prior, joints in modes]
    total = _log_sum(seen)
    p_complete = 0.0
    p_places: defaultdict[tuple[str, int], float] = defaultdict(float)
    for mode, (_, joints) in zip(seen, modes, strict=True):
        share = math.exp(mode - total)
        p_complete += share * math.exp(sum(joint.whole.done - joint.whole.all for joint in joints))
        for joint in joints:
            for key, done in joint.done_of.items():
                p_places[key] += share * math.exp(done - joint.whole.all)
    return OracleAnswer(min(1.0, p_complete), {key: min(1.0, p) for key, p in p_places.items()})


@dataclass(frozen=True, slots=True)
class _Joint:
    """One joint: for each way, with room to swing and without, the logarithm of its prior and its stages weighed."""

    heard: Sequence[_Heard]
    ways: Sequence[tuple[float, Sequence[_Weighed]]]
    forgets: float

    def odds(self, *, log_stops: bool) -> _JointOdds:
        """The odds over both ways, for a log that stopped early or one that did not."""
        keys = [(one.place.joint, one.place.stage) for one in self.heard]
        ways = [
            (prior, [_end(place, one, log_stops) for place, one in zip(self.heard, stages, strict=True)])
            for prior, stages in self.ways
        ]
        totals = [prior + sum(stage.all for stage in stages) for prior, stages in ways]
        everything = _log_sum(totals)
        done = _log_sum([prior + sum(stage.done for stage in stages) for prior, stages in ways])
        done_of = {
            key: _log_sum([total + stages[at].done - stages[at].all for total, (_, stages) in zip(totals, ways, strict=True)])
            for at, key in enumerate(keys)
        }
        if not log_stops and not any(one.sights for one in self.heard):
            everything = _log(self.forgets + math.exp(everything))
        return _JointOdds(_Odds(everything, done), done_of)


def _end(heard: _Heard, weighed: _Weighed, log_stops: bool) -> _Odds:
    return weighed.stopped if log_stops and (heard.was_last or not heard.sights) else weighed.ended


class _Summed:
    """Runs the chain forward over the readings of places; ways to go on are worked out once for each state."""

    def __init__(self, habits: Mapping[str, Habits], lone_skip: float) -> None:
        self._habits = {joint: replace(one, skip=one.skip + lone_skip) for joint, one in habits.items()}
        self._steps: dict[tuple[str, Ground], dict[State, list[Step]]] = {}

    def joint(self, heard: Sequence[_Heard]) -> _Joint:
        """The stages of one joint, weighed for both ways."""
        habits = self._habits[heard[0].place.joint]
        ways = []
        for is_cramped, prior in ((True, habits.cramped), (False, 1 - habits.cramped)):
            grounds = [Ground(len(one.place.slots), is_cramped, one.place.is_final) for one in heard]
            ways.append((math.log(prior), [self._weigh(one, at, habits) for one, at in zip(heard, grounds, strict=True)]))
        return _Joint(heard, ways, habits.forgets_joint)

    def _weigh(self, heard: _Heard, ground: Ground, habits: Habits) -> _Weighed:
        states, scale = {State(): 1.0}, 0.0
        steps_of = self._steps.setdefault((habits.fitter, ground), {})
        for sight in heard.sights:
            after: defaultdict[State, float] = defaultdict(float)
            for state, weight in states.items():
                steps = steps_of.get(state)
                if steps is None:
                    steps = steps_of[state] = next_steps(state, ground, habits)
                for step in steps:
                    if step.act is not None and step.weight > _LEAST_STEP:
                        after[step.after] += weight * step.weight * _seen(sight, step, ground, habits)
            best = max(max(after.values(), default=0.0), sys.float_info.min)
            states = {state: weight / best for state, weight in after.items() if weight > best * _LEAST}
            scale += math.log(best)
        ends = [
            (weight * step.weight, step.after.missed)
            for state, weight in states.items()
            for step in next_steps(state, ground, habits)
            if step.act is None
        ]
        open_ones = [(weight, 0 if _is_done(state, ground) else 1) for state, weight in states.items()]
        return _Weighed(_odds(ends, scale), _odds(open_ones, scale))


def _odds(ends: Sequence[tuple[float, int]], scale: float) -> _Odds:
    """The odds of ends given as weight and what is missed there; what the chain cannot explain counts as not done."""
    everything, done = sum(weight for weight, _ in ends), sum(weight for weight, missed in ends if not missed)
    return _Odds(scale + _log(everything + _UNEXPLAINED), scale + _log(done))


def _seen(sight: Sight, step: Step, ground: Ground, habits: Habits) -> float:
    """How likely the reading is if this is what was done."""
    if step.act is None:
        return 0.0
    pull = sight.first_stroke if step.after.strokes == 1 else sight.acts[step.act]
    if not sight.is_after_break:
        return pull * sight.gaps[step.gap] * (_LATE_AT_ONCE if step.gap is Gap.LATE else 1.0)
    if step.gap is Gap.LATE:
        return pull
    is_break = step.gap is Gap.MOVE and step.after.round == 0 and ground.is_final and ground.fasteners > 1
    return pull * habits.interrupt / (ground.fasteners - 1) if is_break else 0.0


def _is_done(state: State, ground: Ground) -> bool:
    """Whether nothing is missing if the work ends here."""
    is_round_over = state.round > 0 or state.slot == ground.fasteners - 1
    return is_round_over and not state.missed and state.last not in (Last.STROKING, Last.GAVE_UP)


def _heard(day: ShopDay, secret: Secret) -> list[_Heard]:
    """Each place with its readings, in the order of the plan."""
    own: defaultdict[tuple[str | None, int | None], list[int]] = defaultdict(list)
    last: dict[int, tuple[str | None, int | None]] = {}
    for index, touch in enumerate(day.truth):
        if touch.joint is not None:
            own[touch.joint, touch.stage].append(index)
            last[secret.stream_of[index]] = (touch.joint, touch.stage)
    return [
        _Heard(place, sights_of(day, secret, place, own[key]), key in last.values()) for key, place in secret.places.items()
    ]


def _by_joint(heard: Sequence[_Heard]) -> list[list[_Heard]]:
    joints: defaultdict[str, list[_Heard]] = defaultdict(list)
    for one in heard:
        joints[one.place.joint].append(one)
    return list(joints.values())


def _log(value: float) -> float:
    return math.log(value) if value > 0 else -math.inf


def _log_sum(logs: Sequence[float]) -> float:
    best = max(logs)
    return best if best == -math.inf else best + math.log(sum(math.exp(one - best) for one in logs))
