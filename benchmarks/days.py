"""Days in bulk for the matchers, and a command that shows what this program's matcher makes of them.

`python -m benchmarks.days --shop usual --days 200 --angle --times` scores days; `--show SEED` prints one of them whole.
"""

import argparse
import os
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

from benchmarks import other_days
from benchmarks.bins import reliability_lines
from benchmarks.contest import CONTESTANTS
from benchmarks.mistakes import mistake_lines
from benchmarks.score import Score, percent, score_day, total_of
from benchmarks.show_day import shown_day
from collector.expect.click import Click
from schemas.plan.load import load_plan
from schemas.route import Route
from sim.shop.day import SHOPS, live_day
from sim.shop.fitters import HELD_OUT
from sim.shop.truth import ShopDay

SEED = 1_000_000
"""The first day's seed of what is measured, far from those that a parameter is tuned on."""
_WORST = 12
_FEW = 20
_Of = TypeVar("_Of")


@dataclass(frozen=True, slots=True)
class Sort:
    """What sort of days: which shop, what the log has, whose generator.

    `fitters` None are all of the shop's; the other generator has no choice of them.
    """

    shop: str
    angle: bool
    times: bool
    generator: str = "shop"
    fitters: tuple[str, ...] | None = None

    def day(self, seed: int) -> ShopDay:
        """The day of that seed."""
        if self.generator == "other":
            return other_days.live_day(self.shop, seed, angle=self.angle, times=self.times)
        return live_day(self.shop, seed, angle=self.angle, times=self.times, fitters=self.fitters)


STRANGERS: Mapping[str, Sort] = {
    "fitters that nothing was tuned on": Sort("usual", True, True, fitters=HELD_OUT),
    "another author's days": Sort("usual", True, True, generator="other"),
}
"""Whose days a matcher has to cope with unprepared."""


def clicks_of(day: ShopDay) -> tuple[Click, ...]:
    """The day's log as a matcher sees it, without any truth."""
    return tuple(
        Click(n, float(one.torque), one.wrench, one.at_s, None if one.angle is None else float(one.angle))
        for n, one in enumerate(day.readings, start=1)
    )


def route_of(day: ShopDay) -> Route:
    """The day's plan as it is walked."""
    return load_plan(day.plan.encode(), "plan.yaml")


def score_seed(sort: Sort, names: Sequence[str], seed: int) -> Mapping[str, Score]:
    """The day of a seed, answered by each of the contestants named."""
    day = sort.day(seed)
    route, clicks = route_of(day), clicks_of(day)
    scores = {}
    for name in names:
        contestant = CONTESTANTS[name](day)
        begun = time.perf_counter()
        answer = contestant.answer(route, clicks)
        scores[name] = score_day(route, day, answer, time.perf_counter() - begun)
    return scores


def score_days(sort: Sort, seeds: Sequence[int], names: Sequence[str]) -> Mapping[str, list[Score]]:
    """The scores of each contestant, in the order of the seeds; many days are shared out over the cores."""
    done = over_cores(partial(score_seed, sort, names), seeds)
    return {name: [scores[name] for scores in done] for name in names}


def over_cores(one: Callable[[int], _Of], seeds: Sequence[int]) -> list[_Of]:
    """What each seed gives, in their order; where there are many, every core does a part of them."""
    if len(seeds) < _FEW:
        return [one(seed) for seed in seeds]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        return list(pool.map(one, seeds, chunksize=4))


def told_days(sort: Sort, seeds: Sequence[int], names: Sequence[str]) -> Iterator[str]:
    """What the command prints of many days: a block a contestant, then the worst days of this matcher and its reliability."""
    scores = score_days(sort, seeds, names)
    for name in names:
        total = total_of(scores[name])
        speed = "–" if total.per_s is None else f"{total.per_s:,.0f} readings a second"
        yield f"{name}: {total.days} days, {total.miss_days} with a miss, {total.readings:,} readings placed, {speed}"
        yield f"  joint and stage right {percent(total.placed, 2)}, kind right {percent(total.kinds, 2)}"
        false = percent(total.false_complete)
        yield f"  days with a miss called complete {false}, places with a miss found {percent(total.found)}"
        yield f"  days without a miss questioned {percent(total.questioned)}, joints questioned on them: median {total.joints}"
    own = scores["smooth"]
    yield "mistakes:"
    yield from mistake_lines(what for score in own for what in score.mistakes)
    yield from _worst(seeds, own)
    for what, claims in total_of(own).claims.by_what():
        yield from reliability_lines(what, claims)


def _worst(seeds: Sequence[int], scores: Sequence[Score]) -> Iterator[str]:
    paired = list(zip(seeds, scores, strict=True))
    false = [f"{seed}" for seed, score in paired if score.is_false_complete]
    yield f"seeds with false complete ({len(false)}): {' '.join(false) or 'none'}"
    wrong = sorted(((score.readings - score.placed, seed) for seed, score in paired), key=lambda one: (-one[0], one[1]))
    yield f"seeds with most readings wrong: {' '.join(f'{seed}:{count}' for count, seed in wrong[:_WORST] if count) or 'none'}"
    asked = sorted(((score.joints, seed) for seed, score in paired if not score.has_miss), key=lambda one: (-one[0], one[1]))
    yield f"seeds without a miss, most joints questioned: {' '.join(f'{seed}:{n}' for n, seed in asked[:_WORST] if n) or 'none'}"


def main() -> int:
    """Score days, or show one."""
    chosen = _chosen()
    sort = Sort(chosen.shop, chosen.angle, chosen.times, chosen.generator, chosen.fitters)
    if chosen.show is not None:
        day = sort.day(chosen.show)
        route, clicks = route_of(day), clicks_of(day)
        lines = shown_day(route, day, clicks, CONTESTANTS["smooth"](day).answer(route, clicks))
    else:
        names = list(CONTESTANTS) if chosen.all else ["smooth"]
        lines = told_days(sort, range(chosen.seed0, chosen.seed0 + chosen.days), names)
    for line in lines:
        print(line)
    return 0


def _chosen() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.days", description="Shows how the matcher does on made-up days.")
    parser.add_argument("--shop", choices=SHOPS, default="usual")
    parser.add_argument("--days", type=int, default=200)
    parser.add_argument("--seed0", type=int, default=0, help="the seed of the first day; each day after it has the next one")
    parser.add_argument("--angle", action="store_true", help="the wrench reports angles")
    parser.add_argument("--times", action="store_true", help="the log has times")
    parser.add_argument("--generator", choices=("shop", "other"), default="shop")
    parser.add_argument("--fitters", type=lambda text: tuple(text.split(",")), metavar="NAME,…", help="only days of these")
    parser.add_argument("--all", action="store_true", help="every contestant, not this program's matcher alone")
    parser.add_argument("--show", type=int, metavar="SEED", help="print this one day, reading by reading")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
