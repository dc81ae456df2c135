"""The matcher of a running job: the likeliest place of each reading, with its probability, revised in the open."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from collector.expect.bounds import as_confirmed, bound_of, is_confirmed, is_fixed, is_news
from collector.expect.held_over import REASON as HELD
from collector.expect.held_over import held_over
from collector.expect.in_order import InOrder
from collector.expect.learned import Set
from collector.expect.live_beam import LiveBeam, Taken
from collector.expect.live_place import LivePlaces, Story
from collector.expect.places import NOWHERE, Place
from schemas.bodies import CountKept, Decided, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.likelihood import p_text
from schemas.screen import Target
from schemas.words import Kind, PositionBy, Said, Verdict

REASON = "by torque, pause, angle and order"
REVISED = "later readings show it better"
_MOST_REVISIONS = 3
_SURE_ENOUGH = 0.75
"""What was shown is taken back only by what is as sure as this; else it waits for more readings."""


@dataclass(frozen=True, slots=True)
class _Sight:
    """How the last readings are seen now, oldest first: their places, how sure each is, and the story of each place."""

    recent: list[Taken]
    chosen: list[int]
    shares: list[dict[int, float]]
    stories: dict[int, Story]


class Probable:
    """Keeps the ways through a job as readings and decisions come, and takes back openly what turns out to be wrong.

    What is expected next is the plan's order. A reading is revised at most three times, while it is among the last ones, as
    long as no person has confirmed it and it came in during this run.
    """

    def __init__(self, habits: Set) -> None:
        self._habits = habits
        self._order = InOrder()
        self._live = LiveBeam(habits.figures)
        self._places = LivePlaces(self._live)
        self._since: int | None = None
        self._to_count: set[str] = set()

    def expect_next(self, so_far: JobState) -> Target | None:
        """The first fastener and stage without a good tightening, from the joint in hand on."""
        return self._order.expect_next(so_far)

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        """Revisions of earlier readings that this one shows to be wrong, then where it belongs itself."""
        if self._since is None:
            self._since = pull.seq - 1
        self._live.follow(so_far, pull.seq)
        sight = self._look(so_far)
        if sight is None:
            return (self._stray(so_far, pull, 0.0),)
        found = [*self._revisions(so_far, sight, sight.recent[:-1])]
        found.append(self._match(so_far, pull, sight.chosen[-1], sight.shares[-1], sight.stories))
        # Whoever says to which joint the work goes on has left the one before already.
        before = so_far.last_placed(pull.seq)
        left = before.match.joint if before is not None and before.match is not None else None
        self._to_count |= {joint for joint in (left, so_far.in_hand, *(match.joint for match in found)) if joint is not None}
        return tuple(found)

    def match_said(self, so_far: JobState, decided: Decided) -> tuple[MatchKept, ...]:
        """What a person places stays there. Where not all stripes are seen, the readings are looked at in that light.

        Where that moves none of them away from the joint, its last pull was a second click.
        """
        matches: tuple[MatchKept, ...] = ()
        if decided.said == Said.STRIPES and decided.count is None:
            self._live.follow(so_far)
            sight = self._look(so_far)
            found = [*self._revisions(so_far, sight, sight.recent)] if sight is not None else []
            pulls = (so_far.pulls[match.reading] for match in found if match.takes_back)
            if any(pull.match is not None and pull.match.joint == decided.joint for pull in pulls):
                matches = tuple(found)
        matches = matches or self._order.match_said(so_far, decided)
        self._to_count |= {match.joint for match in matches if match.joint is not None}
        pull = so_far.pulls.get(decided.reading or 0)
        if pull is not None and pull.match is not None and pull.match.joint is not None:
            self._to_count.add(pull.match.joint)
        return matches

    def count(self, so_far: JobState) -> tuple[CountKept, ...]:
        """How sure it is that no fastener of the joints just worked on was left out, where that is news."""
        self._live.follow(so_far)
        touched, found = self._to_count | self._live.touched, []
        for place in self._live.places:
            if place.joint.id in touched and (count := self._count(so_far, place)) is not None:
                found.append(count)
        self._live.touched.clear()
        self._to_count.clear()
        return tuple(found)

    def _count(self, so_far: JobState, place: Place) -> CountKept | None:
        joint, number, beam = place.joint.id, place.stage.number, self._live.beam
        state = so_far.joints[joint]
        whole = all(one.is_settled or one.stages[number - 1] is not None for one in state.fasteners)
        begun = any(one.stages[number - 1] is not None for one in state.fasteners)
        kept = so_far.counted.get((joint, number))
        # While it is under way there is nothing to be sure of yet.
        if beam is None or not (whole or kept is not None or (begun and so_far.in_hand != joint)):
            return None
        p = p_text(beam.p_full(place.index))
        if kept is not None and state.p_counted(number) is not None and bound_of(kept[1]) == bound_of(p):
            return None
        return CountKept(so_far.opened.job, p, joint, number, self._habits.seq, so_far.opened.simulated)

    def differing(self, so_far: JobState) -> list[int]:
        """The numbers of readings whose place on record is not the one found by going through the record again."""
        if so_far.last_pull is None:
            return []
        self._live.follow(so_far)
        differs = []
        for one, share in zip(self._live.recent, self._live.shares(), strict=False):
            match, found = so_far.pulls[one.seq].match, max(share, key=share.__getitem__)
            if match is None or (found == NOWHERE and match.reason == HELD):
                continue
            if self._places.number_of(match) != found:
                differs.append(so_far.pulls[one.seq].n)
        return differs

    def _look(self, so_far: JobState) -> _Sight | None:
        """How the last readings are seen now; None where there are none."""
        shares = self._live.shares()
        if not shares:
            return None
        recent = list(self._live.recent)
        before = [self._places.number_of(so_far.pulls[one.seq].match) for one in recent]
        # What a person has said of its fastener stays where it is, however the ways see it.
        stays = (is_confirmed(so_far.pulls[one.seq].match) for one in recent)
        chosen = [
            place if stay else max(share, key=share.__getitem__)
            for place, stay, share in zip(before, stays, shares, strict=True)
        ]
        moved = (place for pair in zip(chosen, before, strict=True) if pair[0] != pair[1] for place in pair)
        places = {place for place in (chosen[-1], *moved) if place != NOWHERE}
        stories = {place: self._places.story(so_far, place, recent, chosen) for place in places}
        return _Sight(recent, chosen, shares, stories)

    def _revisions(self, so_far: JobState, sight: _Sight, of: list[Taken]) -> Iterator[MatchKept]:
        for one, place, share in zip(of, sight.chosen, sight.shares, strict=False):
            pull = so_far.pulls[one.seq]
            before = pull.match
            if before is None or pull.seq <= (self._since or 0) or pull.revisions >= _MOST_REVISIONS:
                continue
            if is_fixed(so_far, pull) or (place != NOWHERE and place not in sight.stories):
                continue
            match = as_confirmed(before, replace(self._match(so_far, pull, place, share, sight.stories), reason=REVISED))
            takes_back = _takes_back(before, match)
            if _is_news(before, match) and not (takes_back and share[place] < _SURE_ENOUGH):
                yield replace(match, takes_back=1 if takes_back else None)

    def _match(
        self, so_far: JobState, pull: Pull, place: int, share: dict[int, float], stories: dict[int, Story]
    ) -> MatchKept:
        if place == NOWHERE:
            return self._stray(so_far, pull, share.get(place, 0.0))
        at, (kind, position) = self._live.places[place], stories[place][pull.seq]
        return MatchKept(
            pull.reading.job, pull.seq, str(kind), REASON, at.joint.id, at.stage.number, position, str(PositionBy.ORDER),
            p=p_text(share.get(place, 0.0)), revises=pull.match_seq, simulated=pull.reading.simulated,
        )  # fmt: skip

    def _stray(self, so_far: JobState, pull: Pull, p: float) -> MatchKept:
        stray = MatchKept(
            pull.reading.job, pull.seq, Kind.STRAY, REASON, p=p_text(p), revises=pull.match_seq,
            simulated=pull.reading.simulated,
        )  # fmt: skip
        return held_over(so_far, pull, stray)


def _is_news(before: MatchKept, match: MatchKept) -> bool:
    if before.kind == Kind.TIGHTENING and before.verdict == Verdict.UNDER and match.kind == Kind.SHORT_PULL:
        # That it was continued is told by the verdict on the pull that continues it.
        return (before.joint, before.stage) != (match.joint, match.stage)
    return is_news(before, match)


def _takes_back(before: MatchKept, match: MatchKept) -> bool:
    """Whether the fitter was shown something else: another joint or stage, or that it counts, or that it does not."""
    if before.verdict == Verdict.OVER and before.position != match.position:
        # The lead opens the fastener that the fitter was shown.
        return True
    place = before.joint, before.stage
    return place != (match.joint, match.stage) or (before.kind == Kind.TIGHTENING) != (match.kind == Kind.TIGHTENING)
