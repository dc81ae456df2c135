"""One pull, and one fastener as its pulls, openings and decisions make it."""

from dataclasses import dataclass, field
from datetime import datetime

from schemas.bodies import Decided, MatchKept, ReadingKept
from schemas.words import Kind, Verdict


@dataclass(frozen=True, slots=True)
class At:
    """Where an entry stands: its number in the ledger, its time as text, who made it."""

    seq: int
    at: str
    by: str


@dataclass(frozen=True, slots=True)
class Saying:
    """What a named person said of a joint, and where the entry stands."""

    at: At
    decided: Decided


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

    @property
    def pulled_at(self) -> datetime | None:
        """When it was pulled: ours where it came live, the tool's own where it came in a log; None where that is not certain."""
        try:
            at = datetime.fromisoformat(self.at if self.reading.log is None else self.reading.tool_time or "")
        except ValueError:
            return None
        return at if at.tzinfo is not None else None


Event = Pull | Saying | int
"""What happens to a joint: a pull, what a person said, or the number of the entry that says that the link was lost."""


def entry_of(event: Event) -> int:
    """The number of the entry of an event."""
    if isinstance(event, Pull):
        return event.seq
    return event.at.seq if isinstance(event, Saying) else event


def is_continued_by(before: MatchKept, after: MatchKept) -> bool:
    """Whether a tightening below the band only became a short pull in the same place."""
    was_under = before.kind == Kind.TIGHTENING and before.verdict == after.verdict == Verdict.UNDER
    same_place = (before.joint, before.stage, before.position) == (after.joint, after.stage, after.position)
    return was_under and same_place and after.kind == Kind.SHORT_PULL


@dataclass(slots=True)
class FastenerState:
    """One fastener: its counting pull of each measured stage, and an over-torque that is not made good.

    `earlier` are the tightenings of each stage since the fastener was last opened, the counting one last. `declared` and
    `not_fitted` are what a person said of it, `turned` that it was marked and turned by its angle. `opened_in` are the steps
    of the plan that opened it.
    """

    stages: list[Pull | None]
    earlier: list[list[Pull]]
    over: Pull | None = None
    opened_seq: int = 0
    renewed_seq: int = 0
    opened_since_over: bool = False
    decided_since_over: bool = False
    declared: Saying | None = None
    not_fitted: Saying | None = None
    turned: Saying | None = None
    checked_again: bool = False
    rounds: int = 0
    opened_in: set[int] = field(default_factory=set)

    def open(self, seq: int) -> None:
        """It was opened, as entry `seq` says: every stage has to be done again."""
        self._clear()
        self.opened_since_over = True
        self.opened_seq = seq
        self.declared = self.not_fitted = None
        self.checked_again = False

    def decide(self) -> None:
        """A person decided on it; what was done since it was opened may have been done to the part that was replaced."""
        self.decided_since_over = True
        if self.over is not None and self.opened_since_over:
            self._clear()

    def _clear(self) -> None:
        self.stages = [None] * len(self.stages)
        self.earlier = [[] for _ in self.stages]
        self.turned = None

    def go_again(self, stage: int) -> None:
        """A round is gone once more from the beginning: its pulls stay on record and count no more."""
        self.stages[stage - 1] = None
        self.earlier[stage - 1] = []

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
        self.checked_again |= match.kind == Kind.RECHECK
        if match.kind == Kind.TIGHTENING and match.stage is not None:
            self.stages[match.stage - 1] = pull
            self.earlier[match.stage - 1].append(pull)
            # Whoever pulls it has it in hand, whatever was said of it before.
            self.declared = self.not_fitted = None
            if match.stage <= self.rounds:
                # What was turned before is turned again from this torque on.
                self.turned = None
        if match.verdict == Verdict.OVER:
            self.over, self.opened_since_over, self.decided_since_over = pull, False, False
        elif self.over is not None and self.opened_since_over and self.decided_since_over and self.all_in_band:
            self.over = None

    @property
    def all_in_band(self) -> bool:
        """Each round of torque has a counting pull in band, or one that held where it is only checked."""
        return all(pull is not None and pull.verdict in (Verdict.IN_BAND, Verdict.HELD) for pull in self.stages[: self.rounds])

    @property
    def is_settled(self) -> bool:
        """A person answers for it, so that no pull is waited for."""
        return self.declared is not None or self.not_fitted is not None
