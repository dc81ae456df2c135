"""The habits that matching goes by: those that come with the program, or those that the shop has learned."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

from collector.expect.habits import USUAL, Habits
from schemas.bodies import HabitsLearned
from schemas.job_state import JobState


@dataclass(frozen=True, slots=True)
class Set:
    """A set of habits with the entry that holds it; None of those that come with the program."""

    figures: Habits
    seq: int | None = None


def habits_for(state: JobState, sets: Sequence[tuple[int, HabitsLearned]]) -> Set:
    """The set that a job is matched by, to its end: the last one learned before it was opened.

    One learned from simulated jobs is for simulated jobs alone.
    """
    before = [one for one in sets if one[0] < state.at.seq and (state.opened.simulated or not one[1].simulated)]
    return habits_of(before[-1] if before else None)


def habits_of(learned: tuple[int, HabitsLearned] | None) -> Set:
    """The set that counts. A figure that this program does not know any more is left out."""
    if learned is None:
        return Set(USUAL)
    seq, body = learned
    known = {one.name for one in fields(Habits)}
    return Set(replace(USUAL, **{name: float(text) for name, text in body.figures.items() if name in known}), seq)
