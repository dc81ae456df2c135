"""The one interface of a matcher: the plan and what was so far, a reading, and where it belongs."""

from typing import Protocol

from schemas.bodies import CountKept, Decided, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.screen import Target


class Matcher(Protocol):
    """Says which fastener is expected and where readings belong; `so_far` holds the plan's route and all that happened.

    A match has no verdict yet. One with `revises` takes the place of an earlier match; its own reading's match has none.
    Probabilities are digit strings, or None where the matcher has no measured reliability behind them.
    """

    def expect_next(self, so_far: JobState) -> Target | None:
        """The fastener expected next; None where every stage of every fastener is done."""

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        """Revisions of earlier matches that a reading shows to be wrong, and then where it belongs itself."""

    def match_said(self, so_far: JobState, decided: Decided) -> tuple[MatchKept, ...]:
        """The matches that a person's word about a reading puts in place of earlier ones; empty where it changes none."""

    def count(self, so_far: JobState) -> tuple[CountKept, ...]:
        """How sure it is that no fastener was left out, of what has changed; asked once the matches are on record."""
