"""The habits that matching goes by: those that come with the program, or those that the shop has learned."""

from dataclasses import dataclass, fields, replace

from collector.expect.habits import USUAL, Habits
from schemas.bodies import HabitsLearned


@dataclass(frozen=True, slots=True)
class Set:
    """A set of habits with the entry that holds it; None of those that come with the program."""

    figures: Habits
    seq: int | None = None


def habits_of(learned: tuple[int, HabitsLearned] | None) -> Set:
    """The set that counts. A figure that this program does not know any more is left out."""
    if learned is None:
        return Set(USUAL)
    seq, body = learned
    known = {one.name for one in fields(Habits)}
    return Set(replace(USUAL, **{name: float(text) for name, text in body.figures.items() if name in known}), seq)
