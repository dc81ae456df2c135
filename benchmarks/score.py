"""What an answer about a day is worth: scored against the truth, day by day, and summed over many days."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from benchmarks.mistakes import ALIKE, mistake_of
from collector.expect.smooth import LogAnswer, Placed
from schemas.route import Route
from schemas.words import Kind
from sim.shop.truth import ShopDay, Touch

SURE = 0.99
"""The probability from which a claim counts as made."""

Claim = tuple[float, bool]
"""A probability, and whether what it was said of was right."""


@dataclass(frozen=True, slots=True)
class Score:
    """One day's answer against the truth.

    `placed` and `kinds` are readings whose joint and stage, and whose kind, are right. `misses` are places (a joint's stage)
    with a fastener missed, `found` those of them that are short of tightenings or below `SURE`. `joints` are those with a
    place below `SURE`. `claimed` says that the whole day was called complete. The claims are of every reading's joint and
    stage, of every place and of the day. `mistakes` has one a reading that is wrong in any way.
    """

    readings: int
    placed: int
    kinds: int
    misses: int
    found: int
    joints: int
    claimed: bool
    reading_claims: tuple[Claim, ...]
    place_claims: tuple[Claim, ...]
    day_claim: Claim
    mistakes: tuple[str, ...] = ()
    seconds: float = 0.0

    @property
    def has_miss(self) -> bool:
        """Whether a fastener of the day was missed."""
        return self.misses > 0

    @property
    def is_false_complete(self) -> bool:
        """Whether the day was called complete though a fastener was missed: the worst error of all."""
        return self.claimed and self.has_miss


def is_placed(told: Placed, true: Touch) -> bool:
    """Whether joint and stage of a reading are right; a stray is right when it is said to be one."""
    if true.kind is Kind.STRAY or told.kind is Kind.STRAY:
        return told.kind is true.kind
    return (told.joint, told.stage) == (true.joint, true.stage)


def score_day(route: Route, day: ShopDay, answer: LogAnswer, seconds: float = 0.0) -> Score:
    """Score an answer; one that places no reading at all is scored by its probabilities alone.

    Raises ValueError where an answer places some
    readings and not others, KeyError where it leaves out a place of the plan.
    """
    pairs = list(zip(answer.readings, day.truth, strict=True)) if answer.readings else []
    right = [is_placed(told, true) for told, true in pairs]
    missed = {(joint, stage) for joint, stage, _ in day.missed}
    counts = {(joint.id, stage.number): joint.fasteners for joint in route.joints for stage in joint.own_stages}
    doubted = {place for place in counts if answer.p_places[place] < SURE}
    short = {place for place, count in counts.items() if answer.tightened.get(place, count) < count}
    return Score(
        readings=len(pairs),
        placed=sum(right),
        kinds=sum(told.kind is true.kind for told, true in pairs),
        misses=len(missed),
        found=len(missed & (doubted | short)),
        joints=len({joint for joint, _ in doubted}),
        claimed=answer.p_complete >= SURE,
        reading_claims=tuple((told.p, is_right) for (told, _), is_right in zip(pairs, right, strict=True)),
        place_claims=tuple((answer.p_places[place], place not in missed) for place in counts),
        day_claim=(answer.p_complete, not missed),
        mistakes=tuple(what for told, true in pairs if (what := mistake_of(route, told, true)) is not None),
        seconds=seconds,
    )


@dataclass(frozen=True, slots=True)
class Total:
    """Many days' scores in one; a share of nothing is None, and `joints` the median over days without a miss.

    `placed`, `kinds`: of readings; `alike`: of those wrongly placed, at a joint that looks the same; `found`: of places with a
    miss; `false_complete`: of days with a miss; `questioned`: of days without one, not claimed complete. `per_s` are readings a
    second of the answering alone, None where none was placed.
    """

    days: int
    miss_days: int
    readings: int
    placed: float | None
    kinds: float | None
    found: float | None
    false_complete: float | None
    questioned: float | None
    joints: float | None
    per_s: float | None
    alike: float | None
    claims: "Claims"


@dataclass(frozen=True, slots=True)
class Claims:
    """All claims of many days by what they were said of."""

    readings: tuple[Claim, ...]
    places: tuple[Claim, ...]
    days: tuple[Claim, ...]

    def by_what(self) -> tuple[tuple[str, tuple[Claim, ...]], ...]:
        """Each kind of claim with its name."""
        return (("joint and stage", self.readings), ("place complete", self.places), ("day complete", self.days))


def total_of(scores: Sequence[Score]) -> Total:
    """Sum the scores of one contestant."""
    with_miss = [score for score in scores if score.has_miss]
    clean = [score for score in scores if not score.has_miss]
    readings, seconds = sum(score.readings for score in scores), sum(score.seconds for score in scores)
    return Total(
        days=len(scores),
        miss_days=len(with_miss),
        readings=readings,
        placed=_share(sum(score.placed for score in scores), readings),
        kinds=_share(sum(score.kinds for score in scores), readings),
        found=_share(sum(score.found for score in scores), sum(score.misses for score in scores)),
        false_complete=_share(sum(score.claimed for score in with_miss), len(with_miss)),
        questioned=_share(sum(not score.claimed for score in clean), len(clean)),
        joints=median(score.joints for score in clean) if clean else None,
        per_s=readings / seconds if readings and seconds else None,
        alike=_share(sum(score.mistakes.count(ALIKE) for score in scores), readings - sum(score.placed for score in scores)),
        claims=all_claims(scores),
    )


def all_claims(scores: Iterable[Score]) -> Claims:
    """The claims of many days in one."""
    scores = list(scores)
    return Claims(
        tuple(claim for score in scores for claim in score.reading_claims),
        tuple(claim for score in scores for claim in score.place_claims),
        tuple(score.day_claim for score in scores),
    )


def percent(share: float | None, digits: int = 1) -> str:
    """A share as it is printed."""
    return "–" if share is None else f"{100 * share:.{digits}f} %"


def _share(part: int, whole: int) -> float | None:
    return part / whole if whole else None
