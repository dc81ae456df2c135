"""What happens within a joint at one stage: how many fasteners are done, and what the last click was."""

from collections.abc import Callable, Mapping
from enum import IntEnum
from math import comb
from typing import TypeVar

from collector.expect.habits import Habits
from collector.expect.odds import Odds

T = TypeVar("T")
State = int
"""In one number, for speed: the last click (3 bits), how many fasteners were touched (10 bits: a plan has at
most 999), how many checked again."""
Move = tuple[State, float, int]
"""A state that can follow, how likely people go on so, and which of the `Odds` the reading then has."""


class Did(IntEnum):
    """What the last click was."""

    NOTHING = 0
    NEW = 1
    NEW_LOW = 2
    ON = 3
    ON_LOW = 4
    AGAIN = 5
    CHECK = 6
    REDO = 7


START: State = int(Did.NOTHING)
_NEW, _NEW_LOW, _ON, _ON_LOW, _AGAIN, _CHECK, _REDO = (int(did) for did in Did if did)
_DONE = 0x3FF
_CHECKED = 13
ONLY_DONE: State = _DONE << 3
"""Of a state how many fasteners were touched, and nothing else."""
_ODDS = {name: number for number, name in enumerate(Odds._fields)}
_AS_NEW, _AS_ON, _AS_AGAIN, _AS_REDO = _ODDS["new"], _ODDS["on"], _ODDS["again"], _ODDS["redo"]
_AS_CHECK, _AS_CHECK_FIRST = _ODDS["check"], _ODDS["check_first"]
_ENTER_NEW, _ENTER_CHECK, _ENTER_REDO = _ODDS["enter_new"], _ODDS["enter_check"], _ODDS["enter_redo"]


def state_of(done: int, did: Did, checked: int = 0) -> State:
    """The state after so many fasteners and that click."""
    return checked << _CHECKED | done << 3 | did


def done_of(state: State) -> int:
    """How many fasteners were touched."""
    return state >> 3 & _DONE


def did_of(state: State) -> Did:
    """What the last click was."""
    return Did(state & 7)


def checked_of(state: State) -> int:
    """How many fasteners were gone over again in the round that is under way."""
    return state >> _CHECKED


class _Kept(dict[State, T]):
    """What was worked out once for a state."""

    def __init__(self, find: Callable[[State], T]) -> None:
        self._find = find

    def __missing__(self, state: State) -> T:
        found = self[state] = self._find(state)
        return found


class Within:
    """The moves within a place of so many fasteners, by the habits; each is worked out once."""

    def __init__(self, fasteners: int, habits: Habits) -> None:
        self.fasteners = fasteners
        self._habits = habits
        # Believed to be complete with so many done, the others passed over unseen.
        self.believed = [comb(fasteners, fasteners - done) * habits.skip ** (fasteners - done) for done in range(fasteners + 1)]
        self.stays = _Kept(lambda state: self._stay(state, False)), _Kept(lambda state: self._stay(state, True))
        """By state the moves by a reading at the same place as the one before; the second ones by one below its band."""
        self.enters = _Kept(lambda state: self._enter(state, False)), _Kept(lambda state: self._enter(state, True))
        """The same by the first reading after the wrench came from elsewhere; without the odds of the way there."""
        self.leaves = _Kept(self._leave)
        """How likely the place is left, by state."""

    def stopped(self, state: State, stop: float) -> float:
        """How likely nothing comes any more in that state; `stop`: how likely a log ends anywhere."""
        return self.leaves[state] + stop

    def _stay(self, state: State, is_low: bool) -> list[Move]:
        habits, done, did = self._habits, state >> 3 & _DONE, state & 7
        new, on = (_NEW_LOW, _ON_LOW) if is_low else (_NEW, _ON)
        low = habits.low if is_low else 1.0 - habits.low
        low_more = habits.low_more if is_low else 1.0 - habits.low_more
        if did in (_NEW_LOW, _ON_LOW):
            more = habits.stroke_more if is_low else 1.0 - habits.stroke_more
            found = [(done << 3 | on, habits.continued * more, _AS_ON)]
            if done < self.fasteners:
                found.append((done + 1 << 3 | new, (1.0 - habits.continued), _AS_NEW))
            return found
        if did == _CHECK:
            return self._check(state, done, new, low)
        found = [
            (done << 3 | _AGAIN, habits.again, _AS_AGAIN),
            (1 << _CHECKED | done << 3 | _CHECK, habits.check * self.believed[done], _AS_CHECK_FIRST),
            (done << 3 | _REDO, habits.redo, _AS_REDO),
        ]
        if done < self.fasteners:
            goes_on = 1.0 - habits.again - habits.early
            found.append((done + 1 << 3 | new, (low_more if did == _ON else low) * goes_on, _AS_NEW))
        return found

    def _check(self, state: State, done: int, new: int, low: float) -> list[Move]:
        habits = self._habits
        found = [(state, habits.again, _AS_AGAIN)]
        if state >> _CHECKED < self.fasteners:
            found.append((state + (1 << _CHECKED), habits.check_on, _AS_CHECK))
        if done < self.fasteners:
            # The one that was missed is found: it turns, and the round goes on.
            found.append((done + 1 << 3 | new, habits.found * low, _AS_NEW))
        return found

    def _enter(self, state: State, is_low: bool) -> list[Move]:
        habits, done = self._habits, state >> 3 & _DONE
        new, low = (_NEW_LOW, habits.low) if is_low else (_NEW, 1.0 - habits.low)
        if not done:
            return [(1 << 3 | new, low, _ENTER_NEW)]
        found = [
            (1 << _CHECKED | done << 3 | _CHECK, habits.check_late * self.believed[done], _ENTER_CHECK),
            (done << 3 | _REDO, habits.redo, _ENTER_REDO),
        ]
        if done < self.fasteners:
            found.append((done + 1 << 3 | new, habits.back * low, _ENTER_NEW))
        return found

    def _leave(self, state: State) -> float:
        habits, done, did = self._habits, state >> 3 & _DONE, state & 7
        if did == _CHECK:
            # Whoever goes round again believes in it already.
            return 1.0 if state >> _CHECKED >= self.fasteners else 1.0 - habits.check_on
        odds = self.believed[done] + (habits.early if done < self.fasteners else 0.0)
        return odds * (1.0 - habits.continued) if did in (_NEW_LOW, _ON_LOW) else odds


def opened(belief: Mapping[State, float]) -> dict[State, float]:
    """The belief after one fastener was opened: one fewer is done, whatever the last click was."""
    found: dict[State, float] = {}
    for state, weight in belief.items():
        done = done_of(state)
        after = state_of(max(done - 1, 0), Did.NEW if done > 1 else Did.NOTHING)
        found[after] = found.get(after, 0.0) + weight
    return found
