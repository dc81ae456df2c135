"""What each reading of one place was, while the job runs: those on record and the last ones as they are seen now."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping

from collector.expect.live_beam import LiveBeam, Taken
from collector.expect.odds import Odds, Seen
from collector.expect.places import NOWHERE, Place
from collector.expect.positions import kept_of, story_of
from collector.expect.reading_odds import odds_of
from collector.expect.smooth_job import openings
from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.words import Kind

Story = Mapping[int, tuple[Kind, int]]
"""Kind and position of the readings of a place, by their entry."""


class LivePlaces:
    """Tells the story of a place; the odds of a reading there are worked out once."""

    def __init__(self, live: LiveBeam) -> None:
        self._live = live
        self._odds: dict[tuple[int, int], tuple[Seen, Odds | None]] = {}
        self._of: tuple[Place, ...] = ()

    def number_of(self, match: MatchKept | None) -> int:
        """The place of a match on record; NOWHERE for a stray, and where the plan has no such place any more."""
        if match is None or match.joint is None:
            return NOWHERE
        return self._live.numbers.get((match.joint, match.stage or 0), NOWHERE)

    def story(self, so_far: JobState, place: int, recent: list[Taken], chosen: list[int]) -> Story:
        """What each reading of a place was, on the likeliest path; those that a person has placed are left out.

        One of which a person has said which fastener it was stays there.
        """
        at = self._live.places[place]
        now = dict(zip((one.seq for one in recent), chosen, strict=True))
        rows = []
        for pull in so_far.joints[at.joint.id].pulls():
            if pull.seq not in now and pull.seq in self._live.seen and self.number_of(pull.match) == place:
                rows.append(pull)
        rows += [so_far.pulls[seq] for seq, where in now.items() if where == place]
        rows.sort(key=lambda pull: pull.seq)
        odds = [self._odds_of(pull, place) for pull in rows]
        begins = tuple(rank == 0 or _left_between(self._live, rows[rank - 1], pull, now, place) for rank, pull in enumerate(rows))
        opened = openings(so_far, at.joint.id, at.stage.number, [pull.seq for pull in rows])
        story = story_of(at, self._live.within[place], odds, begins, opened, kept_of(so_far, at, rows))
        return {pull.seq: one for pull, one in zip(rows, story, strict=True)}

    def _odds_of(self, pull: Pull, place: int) -> Odds | None:
        if self._of is not self._live.places:
            # Another plan has other places under the same numbers.
            self._odds, self._of = {}, self._live.places
        key, seen = (pull.seq, place), self._live.seen[pull.seq]
        known = self._odds.get(key)
        if known is None or known[0] is not seen:
            # Where a reading before it was taken back, it is seen after another one now.
            known = self._odds[key] = seen, odds_of(seen, self._live.places[place], self._live.own)
        return known[1]


def _left_between(live: LiveBeam, before: Pull, pull: Pull, now: Mapping[int, int], place: int) -> bool:
    """Whether the same wrench was at another place between two readings of one place, as far as the last readings show."""
    between = live.order[bisect_right(live.order, before.seq) : bisect_left(live.order, pull.seq)]
    return any(
        live.seen[seq].click.wrench == pull.reading.wrench and now.get(seq, place) not in (place, NOWHERE) for seq in between
    )
