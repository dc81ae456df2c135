"""One pull, and one fastener as its pulls, openings and decisions make it."""

from dataclasses import dataclass

from schemas.bodies import MatchKept, ReadingKept
from schemas.words import Kind, Verdict


@dataclass(slots=True)
class Pull:
    """A reading with its latest match; `n` counts the job's readings from 1 in the order of arrival."""

    seq: int
    at: str
    by: str
    n: int
    reading: ReadingKept
    match: MatchKept | None = None
    match_seq: int | None = None
    revisions: int = 0

    @property
    def verdict(self) -> str | None:
        """The verdict of the latest match."""
        return self.match.verdict if self.match else None


@dataclass(slots=True)
class FastenerState:
    """One fastener: its counting pull of each measured stage, and an over-torque that is not made good.

    `earlier` are the tightenings of each stage since the fastener was last opened, the counting one last.
    """

    stages: list[Pull | None]
    earlier: list[list[Pull]]
    over: Pull | None = None
    opened_seq: int = 0
    opened_since_over: bool = False
    decided_since_over: bool = False

    def open(self, seq: int) -> None:
        """It was opened, as entry `seq` says: every stage has to be done again."""
        self._clear()
        self.opened_since_over = True
        self.opened_seq = seq

    def decide(self) -> None:
        """A person decided on it; what was done since it was opened may have been done to the part that was replaced."""
        self.decided_since_over = True
        if self.over is not None and self.opened_since_over:
            self._clear()

    def _clear(self) -> None:
        self.stages = [None] * len(self.stages)
        self.earlier = [[] for _ in self.stages]

    def drop(self, stage: int) -> None:
        """The counting pull of a stage no longer counts; the one before it, if any, does again."""
        earlier = self.earlier[stage - 1]
        earlier.pop()
        self.stages[stage - 1] = earlier[-1] if earlier else None

    def take(self, pull: Pull, match: MatchKept) -> None:
        """Take a pull that was matched here."""
        if match.kind == Kind.LOOSENING:
            self.open(pull.seq)
            return
        if match.kind == Kind.TIGHTENING and match.stage is not None:
            self.stages[match.stage - 1] = pull
            self.earlier[match.stage - 1].append(pull)
        if match.verdict == Verdict.OVER:
            self.over, self.opened_since_over, self.decided_since_over = pull, False, False
        elif self.over is not None and self.opened_since_over and self.decided_since_over and self.all_in_band:
            self.over = None

    @property
    def all_in_band(self) -> bool:
        """Each measured stage has a counting pull in band."""
        return all(pull is not None and pull.verdict == Verdict.IN_BAND for pull in self.stages)
