"""Made-up days lived live: each reading matched as it comes, one truthful press at the end of a joint, a closing pass last."""

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial

from benchmarks.days import over_cores
from collector.closing import closing_entries
from collector.expect.ask import expect_answer
from collector.expect.learned import habits_of
from collector.expect.probable import Probable
from collector.flag import flag_match
from schemas.bodies import Body, Decided, JobOpened, MatchKept, ReadingKept
from schemas.fastener_state import At
from schemas.job_state import JobState
from schemas.plan.load import load_plan
from schemas.screen import AskWord
from schemas.words import Kind, Proof, Said
from sim.shop.day import live_day
from sim.shop.truth import ShopDay, ShopReading

_BEGUN = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)


@dataclass(slots=True)
class Lived:
    """What came of a day: whether a fastener was missed, and whether every one is proven; then how many of its readings are
    right in joint and stage, questions asked, revisions, and those among them that took back what the fitter was shown.
    """

    readings: int
    joints: int
    has_miss: bool
    is_complete: bool = False
    asked: int = 0
    right: int = 0
    revised: int = 0
    taken_back: int = 0
    seconds: float = 0.0


def lived_days(shop: str, seeds: Sequence[int]) -> list[Lived]:
    """A day of each seed, with times; the wrench tells angles on every second one. Many are shared out over the cores."""
    return over_cores(partial(_lived, shop), seeds)


def _lived(shop: str, seed: int) -> Lived:
    return LiveDay(live_day(shop, seed, angle=seed % 2 == 0, times=True)).live()


class LiveDay:
    """One day without a database: the same matcher, verdicts and state as in a run, on entries numbered here."""

    def __init__(self, day: ShopDay) -> None:
        self._day = day
        route = load_plan(day.plan.encode(), "day.yaml")
        opened = JobOpened("1", 1, "0" * 64, "", "person-1", "made-up", 1)
        self.state = JobState(opened, At(1, _BEGUN.isoformat(), "person-1"), route)
        self._matcher = Probable(habits_of(None))
        self._seq = 1
        self.lived = Lived(len(day.readings), len(route.joints), bool(day.missed))

    def live(self) -> Lived:
        """All readings of the day, one after the other, then the closing pass."""
        begun = time.perf_counter()
        for number, reading in enumerate(self._day.readings):
            self._take(reading)
            self._answer(number + 1)
        for body in closing_entries(self.state, habits_of(None)):
            self._apply(body)
        self.lived.seconds = time.perf_counter() - begun
        proofs = [proof for joint in self.state.joints.values() for proof, _ in joint.summary.proofs]
        self.lived.is_complete = all(proof is Proof.PROVEN for proof in proofs)
        for pull, touch in zip(self.state.pulls.values(), self._day.truth, strict=True):
            match = pull.match
            self.lived.right += match is not None and (match.joint, match.stage) == (touch.joint, touch.stage)
            self.lived.revised += pull.revisions
        return self.lived

    def _apply(self, body: Body, at: datetime = _BEGUN) -> int:
        self._seq += 1
        self.lived.taken_back += isinstance(body, MatchKept) and body.takes_back is not None
        self.state.apply(At(self._seq, at.isoformat(), "person-1"), body)
        return self._seq

    def _take(self, reading: ShopReading) -> None:
        at = _BEGUN + timedelta(seconds=reading.at_s or 0.0)
        kept = ReadingKept(
            "1", wrench=reading.wrench, torque=reading.torque, unit="N·m", torque_nm=reading.torque, fit=1, simulated=1,
            angle_deg=reading.angle,
        )  # fmt: skip
        pull = self.state.pulls[self._apply(kept, at)]
        for match in self._matcher.match_reading(self.state, pull):
            for flagged in flag_match(match, self.state):
                self._apply(flagged, at)
        self._count()

    def _count(self) -> None:
        for count in self._matcher.count(self.state):
            self._apply(count)

    def _answer(self, readings: int) -> None:
        """Whoever is asked to count the stripes counts them, and says what is there."""
        ask = expect_answer(self.state, self._matcher.expect_next(self.state))
        while ask is not None and ask.word is AskWord.TAKEN_BACK:
            self._apply(Decided("1", str(Said.TAKEN_NOTE), ask.joint, reading=ask.reading, simulated=1))
            ask = expect_answer(self.state, self._matcher.expect_next(self.state))
        if ask is None or ask.word is not AskWord.STRIPES or ask.joint is None:
            return
        final = self.state.joints[ask.joint].joint.final.number
        there = {where for where in self._tight(readings) if where[:2] == (ask.joint, final)}
        whole = len(there) == self.state.joints[ask.joint].joint.fasteners
        self.lived.asked += 1
        decided = Decided("1", str(Said.STRIPES), ask.joint, count=ask.of if whole else None, of=ask.of, simulated=1)
        self._apply(decided)
        for match in self._matcher.match_said(self.state, decided):
            for flagged in flag_match(match, self.state):
                self._apply(flagged)
        self._count()

    def _tight(self, readings: int) -> Iterator[tuple[str | None, int | None, int | None]]:
        for touch in self._day.truth[:readings]:
            if touch.kind is Kind.TIGHTENING:
                yield touch.joint, touch.stage, touch.position
