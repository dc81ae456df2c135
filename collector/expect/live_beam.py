"""The beam of a running job: fed with readings and with what persons say, in the order of the record."""

from collections import deque
from dataclasses import dataclass
from itertools import takewhile
from math import inf

from collector.expect.beam import Beam, Effort
from collector.expect.bounds import placed_by_person
from collector.expect.evidence import expect_joint, keep_from
from collector.expect.habits import Habits
from collector.expect.job_clicks import click_of
from collector.expect.live_gaps import LiveGaps
from collector.expect.odds import Seen
from collector.expect.own import Own
from collector.expect.places import Place, numbers_of, places_of
from collector.expect.smooth_job import COPY, answered_for, tell, what_is_new
from collector.expect.ways import Node
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.words import Link, Said, StepWord

LAG = 12
"""Readings further back than this are settled live; only the closing pass looks at them again."""
_EFFORT = Effort(1e-3, width=20)
"""Fewer ways than for a whole log: a fitter waits, and the closing pass looks again. Still fewer would lose alike joints."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading that the beam has taken, with the ways, the pauses and the hint as they stood before it.

    `said` and `links` count the decisions and the states of the link that had been heard by then.
    """

    seq: int
    before: list[Node]
    gaps: LiveGaps
    hint: str | None
    said: int
    links: int


class LiveBeam:
    """Follows one job; `recent` are the last readings taken, oldest first, with their places in `shares`; `seen` are all that
    were taken, `order` their entries; `touched` are the joints that persons have spoken of since it was last emptied.
    `numbers` are those of the places, `within` the moves within each.

    It is made anew from the record where the plan or what persons answer for has changed, or where a person places a
    reading that lies too far back.
    """

    def __init__(self, habits: Habits) -> None:
        self._habits = habits
        self.places: tuple[Place, ...] = ()
        self.own = Own(habits)
        self.touched: set[str] = set()
        self._reset(None)

    def _reset(self, state: JobState | None) -> None:
        self._answered = answered_for(state) if state else {}
        self._looked_at = len(state.decisions) if state else 0
        self._route = state.route if state else None
        self.places = places_of(state.route, self._answered) if state else ()
        self.beam = Beam(self.places, self.own, _EFFORT) if self.places else None
        self.within = self.beam.within if self.beam is not None else []
        self.numbers = numbers_of(self.places)
        self.order: list[int] = []
        self.recent: deque[Taken] = deque(maxlen=LAG)
        self._gaps = LiveGaps()
        self.seen: dict[int, Seen] = {}
        self._upto, self._said, self._links = 0, 0, 0
        self._hint: str | None = None
        self._left_out: set[int] = set()

    def follow(self, state: JobState, upto: int | None = None) -> None:
        """Take everything of the record that was not taken yet, up to the reading of that entry; None: all of it."""
        if state.route is not self._route or self._is_answered_otherwise(state):
            self._reset(state)
        by_person = placed_by_person(state)
        if self._left_out - by_person:
            # A person has taken back what placed it: it is evidence again.
            self._reset(state)
        self._left_out = by_person
        self._forget(state, by_person & self.seen.keys())
        for pull in _pulls_after(state, self._upto):
            if upto is not None and pull.seq > upto:
                break
            self._hear(state, pull.seq)
            if pull.seq not in by_person and (pull.match is None or pull.match.reason != COPY):
                self._take(pull, _kept_back(state, pull.seq))
            self._upto = pull.seq
        if upto is None:
            self._hear(state, inf)

    def _is_answered_otherwise(self, state: JobState) -> bool:
        """Whether persons answer for other fasteners than before; looked at only where somebody has said something."""
        if len(state.decisions) == self._looked_at and not any(self._answered.values()):
            return False
        self._looked_at = len(state.decisions)
        return answered_for(state) != self._answered

    def _forget(self, state: JobState, seqs: set[int]) -> None:
        """A person has placed these readings: what came after the first of them is taken, and heard, again without them."""
        if not seqs:
            return
        first = min(seqs)
        taken = next((one for one in self.recent if one.seq == first), None)
        if taken is None or self.beam is None:
            self._reset(state)
            return
        while self.recent and self.recent[-1].seq >= first:
            del self.seen[self.recent.pop().seq]
            self.order.pop()
            self.beam.layers.pop()
            self.beam.taken -= 1
        self.beam.nodes, self._gaps, self._hint = taken.before, taken.gaps, taken.hint
        self._said, self._links = taken.said, taken.links
        self._upto = first - 1

    def shares(self) -> list[dict[int, float]]:
        """For each of the recent readings the probability of each place, as far as is known now."""
        if self.beam is None:
            return []
        weights = [node.weight for node in self.beam.nodes]
        layers = self.beam.layers[-len(self.recent) :] if self.recent else []
        found: list[dict[int, float]] = []
        for number in range(len(layers) - 1, -1, -1):
            layer, shares = layers[number], dict[int, float]()
            for place, weight in zip(layer.places, weights, strict=True):
                shares[place] = shares.get(place, 0.0) + weight
            found.append(shares)
            if not number:
                break
            before = [0.0] * len(layers[number - 1].places)
            for parent, child, share in zip(layer.parents, layer.children, layer.shares, strict=True):
                if weight := weights[child]:
                    before[parent] += weight * share
            weights = before
        found.reverse()
        return found

    def _take(self, pull: Pull, kept_back: frozenset[str]) -> None:
        if self.beam is None:
            return
        self.recent.append(Taken(pull.seq, self.beam.nodes, self._gaps.copy(), self._hint, self._said, self._links))
        seen = self.seen[pull.seq] = self._gaps.see(click_of(pull))
        self.order.append(pull.seq)
        self.beam.take(seen)
        # What lies further back than the recent readings is not looked at again.
        del self.beam.layers[:-LAG]
        if kept_back:
            keep_from(self.beam, kept_back)
        if self._hint is not None:
            expect_joint(self.beam, self._hint)
            self._hint = None

    def _hear(self, state: JobState, before: float) -> None:
        while self._said < len(state.decisions) and state.decisions[self._said][0].seq < before:
            at, decided = state.decisions[self._said]
            self._said += 1
            self.touched |= {decided.joint} if decided.joint is not None else set()
            if decided.said == Said.OTHER_JOINT:
                self._hint = decided.joint
            elif self.beam is not None and (news := what_is_new(state, at, decided)) is not None:
                tell(self.beam, news)
        while self._links < len(state.links) and state.links[self._links][0].seq < before:
            if state.links[self._links][1].link == Link.LOST:
                self._gaps.link_was_lost()
            self._links += 1


def _pulls_after(state: JobState, seq: int) -> list[Pull]:
    """The readings of the record after an entry, in order; quick where only the last one is new."""
    return list(takewhile(lambda pull: pull.seq > seq, reversed(state.pulls.values())))[::-1]


def _kept_back(state: JobState, seq: int) -> frozenset[str]:
    """The joints all of whose steps wait for a hold point that was not signed before that entry."""
    torqued = [step for step in state.route.steps if step.word is StepWord.TORQUE]
    asked = {step.hold_point for step in state.route.steps if step.word is StepWord.HOLD_POINT}
    signed = {name for name, signature in state.hold_points.items() if signature.at.seq < seq}
    free = {joint for step in torqued if not asked.intersection(step.after) - signed for joint in step.joints}
    return frozenset(joint for step in torqued for joint in step.joints if joint not in free)
