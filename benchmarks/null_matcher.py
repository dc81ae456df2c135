"""A matcher that places nothing, so that everything but matching can be timed."""

from schemas.bodies import Decided, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.screen import Target


class NullMatcher:
    """Expects nothing and gives no match: a reading is kept with its bytes and value, and belongs nowhere."""

    def expect_next(self, so_far: JobState) -> Target | None:
        """Nothing."""
        return None

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        """No match."""
        return ()

    def match_said(self, so_far: JobState, decided: Decided) -> tuple[MatchKept, ...]:
        """No match."""
        return ()
