"""The matcher of a log that is being read in: it places nothing, since the whole log is placed at once afterwards."""

from schemas.bodies import CountKept, Decided, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.screen import Target


class Later:
    """Expects nothing and gives no match: a reading is kept with its bytes and value, and belongs nowhere yet."""

    def expect_next(self, so_far: JobState) -> Target | None:
        """Nothing."""
        return None

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        """No match."""
        return ()

    def match_said(self, so_far: JobState, decided: Decided) -> tuple[MatchKept, ...]:
        """No match."""
        return ()

    def count(self, so_far: JobState) -> tuple[CountKept, ...]:
        """Nothing is counted."""
        return ()
