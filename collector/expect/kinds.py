"""What each reading of a place was, once it is settled which readings are its own: kind and position."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from collector.expect.chain import Moves, best_path
from collector.expect.odds import Odds
from collector.expect.places import Place
from collector.expect.within import SHORT, START, Did, State, Within, checked_of, did_of, done_of, opened
from schemas.words import Kind

if TYPE_CHECKING:
    from collector.expect.settle import AtPlace

_ON = (Did.ON, Did.ON_LOW)
_DROP = 1e-6
"""States so much less likely than the best one are not looked at: many readings at a place make many states."""


def path_at(
    within: Within, odds: Sequence[Odds | None], begins: Sequence[bool], stop: float | None = None
) -> tuple[State, ...]:
    """The likeliest states after each reading of a place; empty where no way explains them.

    `odds` are those of each reading there, None for a loosening; `begins` says which came after a reading elsewhere. `stop` is
    how likely a log ends anywhere, where nothing comes any more; None while the work goes on.
    """
    steps = [_step(within, one, begin, rank) for rank, (one, begin) in enumerate(zip(odds, begins, strict=True))]
    if stop is None:
        return best_path({START: 1.0}, steps, drop=_DROP)[0]

    def over(state: State) -> list[tuple[State, float]]:
        return [(state, within.stopped(state, stop))]

    return best_path({START: 1.0}, [*steps, over], drop=_DROP)[0][:-1]


def kinds_of(at: "AtPlace") -> list[tuple[Kind, int]]:
    """Kind and position of each reading of a place, along its path of states.

    Positions are counted in the order of the stage; a second click is on the fastener before it.
    """
    place, path, loosened = at.place, at.path, at.loosened
    if not path:
        # No way explains them: all that is certain is that they were here.
        return [
            (Kind.TIGHTENING if rank < place.fasteners else Kind.RECHECK, _at(place, rank + 1)) for rank in range(len(loosened))
        ]
    found: list[tuple[Kind, int]] = []
    for rank, state in enumerate(path):
        did, done = did_of(state), done_of(state)
        after = did_of(path[rank + 1]) if rank + 1 < len(path) else Did.NOTHING
        if loosened[rank]:
            found.append((Kind.LOOSENING, _at(place, done + 1)))
        elif did == Did.CHECK and (not rank or path[rank - 1] != state):
            found.append((Kind.RECHECK, _at(place, checked_of(state))))
        elif did in (Did.AGAIN, Did.CHECK):
            found.append((Kind.REPEAT, found[-1][1] if found else _at(place, done)))
        else:
            is_short = did in SHORT and after in _ON
            found.append((Kind.SHORT_PULL if is_short else Kind.TIGHTENING, _at(place, done)))
    return found


def _at(place: Place, count: int) -> int:
    return place.order[min(max(count, 1), place.fasteners) - 1]


def _step(within: Within, odds: Odds | None, begins: bool, rank: int) -> Moves[State]:
    if odds is None:
        return _open
    enters = begins or not rank

    def moves(state: State) -> list[tuple[State, float]]:
        leaving = within.leaves[state] if begins and rank else 1.0
        found = (within.enters if enters else within.stays)[odds[0]][state]
        moves = [(after, leaving * share * odds[what]) for after, share, what in found]
        if begins and rank:
            # Or it was left for one fastener of another place, in turn with this one.
            pausing = within.takes_turns * within.pauses[state]
            moves += [(after, pausing * share * odds[what]) for after, share, what in within.turns[odds[0]][state]]
        return moves

    return moves


def _open(state: State) -> Iterable[tuple[State, float]]:
    return opened({state: 1.0}).items()
