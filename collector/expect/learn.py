"""What a shop's confirmed jobs show of how it pulls, in the figures of `habits`; the method is stated at `learn`."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import chain, pairwise
from math import log, sqrt
from statistics import median

from collector.expect.bounds import is_fixed
from collector.expect.drawn import BELL, drawn_middle, drawn_sd, drawn_share, own_part
from collector.expect.gaps import see
from collector.expect.habits import Habits
from collector.expect.job_clicks import clicks_of
from collector.expect.odds import Seen
from collector.expect.places import Place, places_of
from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.words import Kind

WORTH_PULLS, LEAST_PULLS = 100.0, 20
"""What every pull shows: the usual value counts as much as so many readings; below so few it stays as it is."""
WORTH_SELDOM, LEAST_SELDOM = 25.0, 5
"""The same for what a joint or a round shows once, or a second click."""
_LEAST_SD = 0.25
"""Of the logarithm of a pause or a turn: a few equal ones are no proof of a steady hand."""
_MOST_SHARE = 0.5
"""What happens more often than not is no slip; such a share comes of a record that was matched wrongly."""
_TURNED_DEG = 8.0
"""Below this a turn is hardly one, whatever the fastener did."""
_NEW = (Kind.TIGHTENING, Kind.SHORT_PULL)
_CLICKED = (Kind.REPEAT, Kind.RECHECK)


@dataclass(frozen=True, slots=True)
class Learned:
    """`figures` are digit strings by the name of the parameter; `readings` of so many `joints` of jobs are behind them."""

    figures: Mapping[str, str]
    readings: int
    joints: int


def learn(jobs: Sequence[JobState], usual: Habits) -> Learned:
    """The figures that confirmed joints show, each drawn towards the usual value by what stands behind it.

    Only readings of joints that a person has counted are looked at, at the place on record when it was done, and clicks that
    came on such a joint later; never what the program has placed since. A pause is told from the reading before of the same
    wrench, where that one is confirmed too: its middle is the median of the logarithms, its deviation the median of absolute
    deviations from it. Torque spread, and turns within a joint, are told from the differences of neighbours (of a wrench in
    a job, of a joint), over the square root of two, so that the level of a wrench or a joint drops out. A share is found of
    all. With n readings behind it a figure of logarithms or spread is n / (n + worth) its own and the rest the usual value; a
    share counts the usual value as so many more cases. Where fewer are behind it than the least, it is not in the mapping.
    """
    heard = _Heard()
    for state in jobs:
        heard.take_job(state)
    found = {**_pauses(heard, usual), **_shares(heard, usual), **_spread(heard, usual), **_angles(heard, usual)}
    return Learned({name: _digits(value) for name, value in found.items()}, heard.readings, len(heard.joints))


@dataclass(frozen=True, slots=True)
class _Here:
    """A confirmed reading at its place; `is_on` says that it continues the one before on the same fastener."""

    place: Place
    match: MatchKept
    seen: Seen
    is_on: bool


@dataclass(slots=True)
class _Heard:
    """All that is taken of confirmed readings: logarithms of pauses and turns, ratios to the target, and counts."""

    pauses: dict[str, list[float]] = field(default_factory=dict)
    ratios: dict[tuple[str, str | None], list[float]] = field(default_factory=dict)
    turns: dict[tuple[str, int], list[float]] = field(default_factory=dict)
    still_deg: list[float] = field(default_factory=list)
    joints: set[tuple[str, str]] = field(default_factory=set)
    places: set[tuple[str, int]] = field(default_factory=set)
    gone_round: set[tuple[str, int]] = field(default_factory=set)
    readings: int = 0
    begun: int = 0
    low: int = 0
    done: int = 0
    again: int = 0

    def take_job(self, state: JobState) -> None:
        """Go through one job in the order in which it was pulled."""
        # A check of tight fasteners is another kind of work.
        places = {(place.joint.id, place.stage.number): place for place in places_of(state.route) if place.turns}
        pulled, last = clicks_of(state.pulls.values()), dict[str | None, _Here | None]()
        for one, seen in zip(pulled, see([one.click for one in pulled]), strict=True):
            match, wrench, here = one.pull.match, one.click.wrench, None
            before = last.get(wrench)
            if match is not None and _is_confirmed(state, one.pull, match):
                place = places.get((match.joint or "", match.stage or 0))
                here = None if place is None else _Here(place, match, seen, _continues(before, match))
            last[wrench] = here
            if here is not None:
                self._take(state.opened.job, before, here)

    def _take(self, job: str, before: _Here | None, here: _Here) -> None:
        key, kind = (job, here.place.index), here.match.kind
        self.readings += 1
        self.joints.add((job, here.place.joint.id))
        reason = None if before is None else _reason(before, here)
        if reason is not None and here.seen.gap_s:
            self.pauses.setdefault(reason, []).append(log(here.seen.gap_s))
        self.again += kind == Kind.REPEAT
        self.done += kind != Kind.SHORT_PULL
        if kind in _CLICKED:
            if here.seen.click.angle_deg is not None:
                self.still_deg.append(abs(here.seen.click.angle_deg))
            if kind == Kind.RECHECK and before is not None and before.place is here.place and before.match.kind != kind:
                self.gone_round.add(key)
            return
        self.places.add(key)
        self._take_pull(job, here, before is not None and before.is_on and before.place is here.place)

    def _take_pull(self, job: str, here: _Here, is_cramped: bool) -> None:
        place, click = here.place, here.seen.click
        share, torque_nm = place.shown_share(click.length_mm), abs(click.torque_nm or 0.0)
        is_low = click.torque_nm is not None and torque_nm < place.low_nm * share
        # Where the fastener before took strokes there is no room to swing, and that has a share of its own.
        if not here.is_on and not is_cramped:
            self.begun += 1
            self.low += is_low
        if place.by_angle or is_low:
            return
        if click.torque_nm is not None and torque_nm <= place.high_nm * share:
            self.ratios.setdefault((job, click.wrench), []).append(torque_nm / (place.target_nm * share) - 1.0)
        if not here.is_on and click.angle_deg is not None and abs(click.angle_deg) > _TURNED_DEG:
            self.turns.setdefault((job, place.index), []).append(log(abs(click.angle_deg)))


def _is_confirmed(state: JobState, pull: Pull, match: MatchKept) -> bool:
    """Whether a person counted the joint after it was placed there, or it was a click on a joint that was counted already."""
    joint = state.joints.get(match.joint or "")
    if joint is None or joint.confirmed_seq is None or match.kind not in (*_NEW, *_CLICKED):
        return False
    if joint.changed is not None and pull.seq < joint.changed[0]:
        # It was pulled by another revision, at other figures.
        return False
    return is_fixed(state, pull) or (match.kind in _CLICKED and pull.seq > joint.confirmed_seq)


def _continues(before: _Here | None, match: MatchKept) -> bool:
    if before is None or before.match.kind != Kind.SHORT_PULL or match.kind not in _NEW:
        return False
    was = before.match
    return (was.joint, was.stage, was.position) == (match.joint, match.stage, match.position)


def _reason(before: _Here, here: _Here) -> str | None:
    """What the pause between two readings of a wrench was for, by the name of its figures; None where nothing is told."""
    was, now = before.match, here.match
    if was.joint != now.joint:
        return "joint"
    if was.stage != now.stage:
        return "round" if now.kind in _NEW else None
    if was.position == now.position:
        return "stroke" if here.is_on else "again" if now.kind == Kind.REPEAT else None
    return "next" if now.kind in _NEW else None


def _pauses(heard: _Heard, usual: Habits) -> dict[str, float]:
    found = {}
    for reason, logs in heard.pauses.items():
        worth, least = (WORTH_PULLS, LEAST_PULLS) if reason == "next" else (WORTH_SELDOM, LEAST_SELDOM)
        if len(logs) >= least:
            own, middle = own_part(len(logs), worth), median(logs)
            found[f"{reason}_s"] = drawn_middle(own, middle, getattr(usual, f"{reason}_s"))
            sd = max(_deviation(value - middle for value in logs), _LEAST_SD)
            found[f"{reason}_sd"] = drawn_sd(own, sd, getattr(usual, f"{reason}_sd"))
    return found


def _shares(heard: _Heard, usual: Habits) -> dict[str, float]:
    found = {}
    if heard.done >= LEAST_PULLS:
        found["again"] = _share(heard.again, heard.done, usual.again, WORTH_PULLS)
    if heard.begun >= LEAST_PULLS:
        found["low"] = _share(heard.low, heard.begun, usual.low, WORTH_PULLS)
    if len(heard.places) >= LEAST_SELDOM:
        found["check"] = _share(len(heard.gone_round), len(heard.places), usual.check, WORTH_SELDOM)
    return found


def _spread(heard: _Heard, usual: Habits) -> dict[str, float]:
    steps = _steps(heard.ratios.values())
    if len(steps) < LEAST_PULLS:
        return {}
    drawn = drawn_sd(own_part(len(steps), WORTH_PULLS), _deviation(steps), usual.spread)
    return {"spread": max(drawn, usual.spread_floor)}


def _angles(heard: _Heard, usual: Habits) -> dict[str, float]:
    """What fasteners turn, by joint since those of one are alike, and what a tight one seems to turn."""
    found = {}
    if len(heard.turns) >= LEAST_SELDOM:
        own, middle = own_part(len(heard.turns), WORTH_SELDOM), median(map(median, heard.turns.values()))
        found["turn_deg"] = drawn_middle(own, middle, usual.turn_deg)
        sd = max(_deviation(value - middle for value in chain.from_iterable(heard.turns.values())), _LEAST_SD)
        found["turn_sd"] = drawn_sd(own, sd, usual.turn_sd)
    if len(heard.still_deg) >= LEAST_SELDOM:
        own = own_part(len(heard.still_deg), WORTH_SELDOM)
        # The median of an exponential is its mean times the logarithm of two.
        found["still_deg"] = own * median(heard.still_deg) / log(2.0) + (1.0 - own) * usual.still_deg
    return found


def _share(found: int, of: int, usual: float, worth: float) -> float:
    return min(drawn_share(found, of, usual, worth), _MOST_SHARE)


def _deviation(values: Iterable[float]) -> float:
    return BELL * median(map(abs, values))


def _steps(rows: Iterable[Sequence[float]]) -> list[float]:
    return [(after - before) / sqrt(2.0) for row in rows for before, after in pairwise(row)]


def _digits(value: float) -> str:
    """Four significant digits, in plain writing."""
    return f"{Decimal(f'{value:.3e}'):f}"
