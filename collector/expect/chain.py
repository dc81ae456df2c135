"""A hidden Markov chain over few live states: forward, smoothed and best path, exact.

A step gives for a state the states that can follow, each with a weight: the probability of the move times the likelihood of
what was observed after it. Formulas: L. R. Rabiner, A Tutorial on Hidden Markov Models and Selected Applications in Speech
Recognition, Proceedings of the IEEE 77 (1989), equations 19 to 27 and 32 to 35; beliefs are scaled to a sum of one a step.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, log
from typing import Generic, TypeVar

S = TypeVar("S", bound=Hashable)
Moves = Callable[[S], Iterable[tuple[S, float]]]
"""The states that can follow a state, each with a weight of nought or more."""


@dataclass(frozen=True, slots=True)
class Smoothed(Generic[S]):
    """Beliefs after each step given all of them, each with a sum of one; `log_sum` is the log of the weight of all paths."""

    beliefs: tuple[Mapping[S, float], ...]
    log_sum: float


def forward(belief: Mapping[S, float], moves: Moves[S]) -> tuple[dict[S, float], float]:
    """The belief one step on, with a sum of one, and the weight that it had before; an empty belief where that is nought."""
    reached: dict[S, float] = {}
    for state, weight in belief.items():
        for after, odds in moves(state):
            reached[after] = reached.get(after, 0.0) + weight * odds
    total = sum(reached.values())
    if total <= 0.0:
        return {}, 0.0
    # The share can be nought where the weight is not: such a state would leave the smoothed belief without any weight.
    return {state: share for state, weight in reached.items() if (share := weight / total) > 0.0}, total


def smooth(start: Mapping[S, float], steps: Sequence[Moves[S]]) -> Smoothed[S]:
    """The belief after each step, given what was observed at all of them.

    `start` is the belief before the first step. Empty beliefs and a `log_sum` of minus infinity where no path is possible.
    """
    beliefs, log_sum = [dict(start)], 0.0
    for moves in steps:
        belief, total = forward(beliefs[-1], moves)
        beliefs.append(belief)
        log_sum = log_sum + log(total) if total > 0.0 else -inf
    if log_sum == -inf:
        return Smoothed(tuple({} for _ in steps), -inf)
    ahead = dict.fromkeys(beliefs[-1], 1.0)
    smoothed = [beliefs[-1]] if steps else []
    for belief, moves in zip(reversed(beliefs[1:-1]), reversed(steps[1:]), strict=True):
        ahead = _backward(belief, moves, ahead)
        both = {state: weight * ahead[state] for state, weight in belief.items()}
        total = sum(both.values())
        smoothed.append({state: weight / total for state, weight in both.items()})
    return Smoothed(tuple(reversed(smoothed)), log_sum)


def _backward(belief: Mapping[S, float], moves: Moves[S], ahead: Mapping[S, float]) -> dict[S, float]:
    found = {state: sum(odds * ahead.get(after, 0.0) for after, odds in moves(state)) for state in belief}
    # Scaled as the forward beliefs are: only proportions count.
    largest = max(found.values(), default=0.0) or 1.0
    return {state: weight / largest for state, weight in found.items()}


def best_path(start: Mapping[S, float], steps: Sequence[Moves[S]], *, drop: float = 0.0) -> tuple[tuple[S, ...], float]:
    """The states after each step on the path of the greatest weight, and the log of that weight; no path gives minus infinity.

    States whose best path weighs less than the share `drop` of the best one's are given up; with nought it is exact.
    """
    best = {state: log(weight) for state, weight in start.items() if weight > 0.0}
    came: list[dict[S, S]] = []
    for moves in steps:
        reached: dict[S, float] = {}
        before: dict[S, S] = {}
        for state, weight in best.items():
            for after, odds in moves(state):
                if odds > 0.0 and weight + log(odds) > reached.get(after, -inf):
                    reached[after], before[after] = weight + log(odds), state
        if drop and reached:
            least = max(reached.values()) + log(drop)
            reached = {state: weight for state, weight in reached.items() if weight > least}
        best = reached
        came.append(before)
    if not best:
        return (), -inf
    last = max(best, key=best.__getitem__)
    path, state = [], last
    for before in reversed(came):
        path.append(state)
        state = before[state]
    return tuple(reversed(path)), best[last]
