"""What happens within a joint at one stage: how many fasteners are done, and what the last click was."""

from collections.abc import Callable, Mapping
from enum import IntEnum
from math import comb
from typing import TypeVar

from collector.expect.habits import Habits
from collector.expect.odds import Odds

T = TypeVar("T")
State = int
"""In one number, for speed: the last click (4 bits), how many fasteners were touched (10 bits: a plan has at
most 999), whether the last one took strokes, so that there is no room to swing (1 bit), how many were checked again
or, opened unseen, done anew."""
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
    LOW_ALONE = 8
    """As `NEW_LOW`, after a fastener that took one pull: there is room to swing."""


SHORT = (Did.NEW_LOW, Did.ON_LOW, Did.LOW_ALONE)
"""Those that ended below the band, perhaps to be continued."""
START: State = int(Did.NOTHING)
_NEW, _NEW_LOW, _ON, _ON_LOW, _AGAIN, _CHECK, _REDO, _LOW_ALONE = (int(did) for did in Did if did)
_DID, _DONE = 0xF, 0x3FF
_TOUCHED, _CHECKED = 4, 15
ONLY_DONE: State = _DONE << _TOUCHED
"""Of a state how many fasteners were touched, and nothing else."""
CRAMPED: State = 1 << 14
"""Of a state whether the last fastener took strokes."""
LASTING: State = ONLY_DONE | CRAMPED
"""Of a state what is left of it once the wrench has gone."""
ONE_DONE: State = 1 << _TOUCHED
_ODDS = {name: number for number, name in enumerate(Odds._fields)}
_AS_NEW, _AS_ON, _AS_AGAIN, _AS_REDO = _ODDS["new"], _ODDS["on"], _ODDS["again"], _ODDS["redo"]
_AS_CHECK, _AS_CHECK_FIRST = _ODDS["check"], _ODDS["check_first"]
_AS_UNDER, _ENTER_UNDER = _ODDS["under"], _ODDS["enter_under"]
_ENTER_NEW, _ENTER_CHECK, _ENTER_REDO = _ODDS["enter_new"], _ODDS["enter_check"], _ODDS["enter_redo"]


def state_of(done: int, did: Did, checked: int = 0) -> State:
    """The state after so many fasteners and that click."""
    return checked << _CHECKED | done << _TOUCHED | did


def done_of(state: State) -> int:
    """How many fasteners were touched."""
    return state >> _TOUCHED & _DONE


def did_of(state: State) -> Did:
    """What the last click was."""
    return Did(state & _DID)


def is_check(state: State) -> bool:
    """Whether the last click was one of a round over tight fasteners."""
    return state & _DID == _CHECK


def is_redo(state: State) -> bool:
    """Whether the last click was on a fastener that was opened unseen."""
    return state & _DID == _REDO


def checked_of(state: State) -> int:
    """How many fasteners were gone over again in the round that is under way, to check them or to do them anew."""
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
        missing = [fasteners - done for done in range(fasteners + 1)]
        self.believed = [min(comb(fasteners, count) * habits.skip**count, 1.0) for count in missing]
        self.stays = _Kept(lambda state: self._stay(state, False)), _Kept(lambda state: self._stay(state, True))
        """By state the moves by a reading at the same place as the one before; the second ones by one below its band."""
        self.enters = _Kept(lambda state: self._enter(state, False)), _Kept(lambda state: self._enter(state, True))
        """The same by the first reading after the wrench came from elsewhere; without the odds of the way there."""
        self.stays_in_turn = _Kept(lambda state: self._in_turn(state, False)), _Kept(lambda state: self._in_turn(state, True))
        """As `stays`, where the next fastener is mostly one of another place, in turn with this one."""
        self.takes_turns = habits.turns
        """How likely these turns are begun."""
        self.turns = _Kept(lambda state: self._turn(state, False)), _Kept(lambda state: self._turn(state, True))
        """By state the moves by the first reading after one at that other place."""
        goes_round = _Kept(lambda state: self._once_more(state, _CHECK, _ENTER_CHECK))
        self.goes_round = goes_round, goes_round
        """By state the moves by the first reading of a place that is gone round again, in a row with others."""
        redoes = _Kept(lambda state: self._once_more(state, _REDO, _ENTER_REDO))
        self.redoes = redoes, redoes
        """By state the moves by a reading on a fastener that was opened unseen, and is done anew from stage to stage."""
        self._ends = {_NEW_LOW: 1.0 - habits.continued, _ON_LOW: 1.0 - habits.continued, _LOW_ALONE: 1.0 - habits.continued_alone}
        self.pauses = _Kept(lambda state: self._ends.get(state & _DID, 1.0))
        """How likely no fastener is in the midst of its strokes, by state."""
        self.leaves = _Kept(self._leave)
        """How likely the place is left, by state."""

    def stopped(self, state: State, stop: float) -> float:
        """How likely nothing comes any more in that state; `stop`: how likely a log ends anywhere."""
        return self.leaves[state] + stop

    def _stay(self, state: State, is_low: bool) -> list[Move]:
        habits, done, did = self._habits, state >> _TOUCHED & _DONE, state & _DID
        lasting = state & LASTING
        if did in self._ends:
            ends, more = self._ends[did], habits.stroke_more if is_low else 1.0 - habits.stroke_more
            found = [(lasting | CRAMPED | (_ON_LOW if is_low else _ON), (1.0 - ends) * more, _AS_ON)]
            if done < self.fasteners:
                # Whoever strokes on goes on to the click: after one that was given up the next one is as anywhere.
                begun = self._begun(state & ~CRAMPED, is_low, _AS_NEW, _AS_UNDER)
                found += [(after, ends * one, what) for after, one, what in begun]
            return found
        if did == _CHECK:
            return self._check(state, done, is_low)
        found = [
            (lasting | _AGAIN, habits.again, _AS_AGAIN),
            (1 << _CHECKED | lasting | _CHECK, habits.check * self.believed[done], _AS_CHECK_FIRST),
        ]
        redone = state >> _CHECKED if did == _REDO else 0
        if redone < max(done, 1):
            found.append((redone + 1 << _CHECKED | lasting | _REDO, habits.redo_on if redone else habits.redo, _AS_REDO))
        if done < self.fasteners:
            goes_on = 1.0 - habits.again - habits.early
            has_room = did in (_NEW, _AGAIN) and not state & CRAMPED
            begun = self._begun(state, is_low, _AS_NEW, _AS_UNDER, has_room)
            found += [(after, one * goes_on, what) for after, one, what in begun]
        return found

    def _check(self, state: State, done: int, is_low: bool) -> list[Move]:
        habits = self._habits
        found = [(state, habits.again, _AS_AGAIN)]
        if state >> _CHECKED < self.fasteners:
            found.append((state + (1 << _CHECKED), habits.check_on, _AS_CHECK))
        if done < self.fasteners:
            # The one that was missed is found: it turns, and the round goes on.
            begun = self._begun(state, is_low, _AS_NEW, _AS_UNDER)
            found += [(after, habits.found * one, what) for after, one, what in begun]
        return found

    def _enter(self, state: State, is_low: bool) -> list[Move]:
        habits, done, lasting = self._habits, state >> _TOUCHED & _DONE, state & LASTING
        if not done:
            return self._turn(state, is_low)
        found = [
            (1 << _CHECKED | lasting | _CHECK, habits.check_late * self.believed[done], _ENTER_CHECK),
            (1 << _CHECKED | lasting | _REDO, habits.redo, _ENTER_REDO),
        ]
        anew = self.believed[done] * habits.reopened
        found += [(after, anew * one, what) for after, one, what in self._turn(state & CRAMPED, is_low)]
        return found + [(after, habits.back * one, what) for after, one, what in self._turn(state, is_low)]

    def _once_more(self, state: State, did: int, what: int) -> list[Move]:
        """By a reading on the first fastener of a place that is believed to be complete."""
        return [(1 << _CHECKED | state & LASTING | did, self.believed[state >> _TOUCHED & _DONE], what)]

    def _in_turn(self, state: State, is_low: bool) -> list[Move]:
        on = 1.0 - self._habits.turns_on
        return [
            (after, share * on if after & _DID in (_NEW, _NEW_LOW, _LOW_ALONE) else share, what)
            for after, share, what in self.stays[is_low][state]
        ]

    def _turn(self, state: State, is_low: bool) -> list[Move]:
        if state >> _TOUCHED & _DONE >= self.fasteners:
            return []
        return self._begun(state, is_low, _ENTER_NEW, _ENTER_UNDER)

    def _begun(self, state: State, is_low: bool, new: int, under: int, has_room: bool = False) -> list[Move]:
        """By a pull on a new fastener, done or ended short; `has_room`: the one before took one pull."""
        low = self._habits.low_more if state & CRAMPED else self._habits.low
        done = (state & ONLY_DONE) + ONE_DONE
        if not is_low:
            return [(done | _NEW, 1.0 - low, new)]
        short = _LOW_ALONE if has_room else _NEW_LOW
        return [(done | state & CRAMPED | short, low, new), (done | _NEW, 1.0 - low, under)]

    def _leave(self, state: State) -> float:
        habits, done, did = self._habits, state >> _TOUCHED & _DONE, state & _DID
        if did == _CHECK:
            # Whoever goes round again believes in it already.
            return 1.0 if state >> _CHECKED >= self.fasteners else 1.0 - habits.check_on
        odds = self.believed[done] + (habits.early if done < self.fasteners else 0.0)
        return odds * self._ends.get(did, 1.0)


def opened(belief: Mapping[State, float], *, whole: bool = False) -> dict[State, float]:
    """The belief after one fastener was opened: one fewer is done, whatever the last click was; `whole`: all of them were."""
    found: dict[State, float] = {}
    for state, weight in belief.items():
        done = 0 if whole else done_of(state)
        after = state_of(max(done - 1, 0), Did.NEW if done > 1 else Did.NOTHING) | state & CRAMPED
        found[after] = found.get(after, 0.0) + weight
    return found
