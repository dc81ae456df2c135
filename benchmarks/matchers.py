"""Which matcher places readings right, finds what was missed and does not cry wolf: days of made-up fitters, truth at hand."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from benchmarks.bins import brier, sure_and_right
from benchmarks.days import SEED, STRANGERS, Sort, score_days
from benchmarks.live_days import Lived, lived_days
from benchmarks.score import SURE, Claims, Score, Total, all_claims, percent, total_of
from benchmarks.table import Row
from sim.shop.day import SHOPS

OWN = "smooth"
RULES = (OWN, "in order", "assignment")
ORACLE = "oracle"
DAYS = 500
FEWER_DAYS = 150
"""Of logs without times, which are told for information."""
STRANGER_DAYS = 100
LIVE_DAYS = 500
ORACLE_DAYS = 40
"""It takes seconds a day, so it is asked about the shops that the numbers are about, and logs with times."""
TRUE_SHARE = 0.985

_Value = Callable[[Total], float | None]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a sort of days asks for; None asks for nothing. Shares; `joints` is the median questioned on a day without a miss."""

    placed: float | None = None
    false_complete: float | None = None
    questioned: float | None = None
    joints: float | None = None


def wanted_of(sort: Sort) -> Wanted:
    """The numbers to reach on that sort of days; a log without times is told for information."""
    if not sort.times:
        return Wanted()
    match sort.shop, sort.angle:
        case "tidy", angle:
            return Wanted(1.0, None, 0.02 if angle else None)
        case "usual", True:
            return Wanted(0.996, 0.03, 0.10)
        case "usual", False:
            return Wanted(0.993, 0.01, None, 2)
        case _:
            return Wanted(0.98, 0.05 if sort.angle else None)


def rows(quick: bool) -> list[Row]:
    """Three rows a sort of days beside the other contestants; strangers; what the probabilities are worth; days lived live."""
    days, fewer, strangers, few, live = (2, 1, 1, 1, 1) if quick else (DAYS, FEWER_DAYS, STRANGER_DAYS, ORACLE_DAYS, LIVE_DAYS)
    claims: dict[str, list[Score]] = {}
    found: list[Row] = []
    for sort in (Sort(shop, angle, times) for shop, angle, times in product(SHOPS, (True, False), (True, False))):
        scores = score_days(sort, range(SEED, SEED + (days if sort.times else fewer)), RULES)
        totals = {name: total_of(of_name) for name, of_name in scores.items()}
        if sort.times and sort.shop != "rough":
            totals[f"oracle on {few} days"] = total_of(score_days(sort, range(SEED, SEED + few), [ORACLE])[ORACLE])
        claims.setdefault(f"{sort.shop} shop", []).extend(scores[OWN])
        found += _sort_rows(sort, totals)
        if sort == Sort("usual", True, True):
            found.append(_speed_row(totals))
    for (group, stranger), shop, angle in product(STRANGERS.items(), ("usual", "rough"), (True, False)):
        sort = replace(stranger, shop=shop, angle=angle)
        own = score_days(sort, range(SEED, SEED + strangers), [OWN])[OWN]
        claims.setdefault(group, []).extend(own)
        found.append(_stranger_row(group, sort, total_of(own)))
    found += [row for group, scores in claims.items() for row in _claim_rows(group, all_claims(scores))]
    return found + [row for shop in SHOPS for row in _live_rows(shop, lived_days(shop, range(SEED, SEED + live)))]


def _sort_rows(sort: Sort, totals: Mapping[str, Total]) -> Iterator[Row]:
    wanted, own, name = wanted_of(sort), totals[OWN], _name(sort)
    wrong = 0 if own.placed is None else round((1 - own.placed) * own.readings)
    reached = None if wanted.placed is None or own.placed is None else own.placed >= wanted.placed
    yield Row(
        f"{name}: joint and stage right, kind right",
        _others(totals, lambda total: total.placed, lambda total: total.kinds),
        f"{percent(own.placed, 2)} ({wrong:,} of {own.readings:,} wrong, {percent(own.alike, 0)} of them at an alike joint), "
        f"kind {percent(own.kinds, 2)}",
        _errors(totals), _limit("at least", wanted.placed), reached,
    )  # fmt: skip
    yield Row(
        f"{name}: days with a miss called complete, misses found",
        _others(totals, lambda total: total.false_complete, lambda total: total.found),
        f"{percent(own.false_complete)} of {own.miss_days}, found {percent(own.found)}",
        "–", _limit("at most", wanted.false_complete), _is_most(own.false_complete, wanted.false_complete),
    )  # fmt: skip
    asked = f"median of joints at most {wanted.joints:g}" if wanted.joints is not None else _limit("at most", wanted.questioned)
    within = _is_most(own.questioned, wanted.questioned) if wanted.joints is None else _is_most(own.joints, wanted.joints)
    yield Row(
        f"{name}: days without a miss questioned, median of joints questioned",
        _others(totals, lambda total: total.questioned),
        f"{percent(own.questioned)} of {own.days - own.miss_days}, joints {'–' if own.joints is None else f'{own.joints:g}'}",
        "–", asked, within,
    )  # fmt: skip


def _name(sort: Sort) -> str:
    return f"{sort.shop} shop, {'angles' if sort.angle else 'no angles'}, {'times' if sort.times else 'no times'}"


def _others(totals: Mapping[str, Total], *values: _Value) -> str:
    """The same numbers of the other contestants; one that has none of them is left out."""
    shares = {name: [value(total) for value in values] for name, total in totals.items() if name != OWN}
    told = [
        f"{name} {', '.join(percent(share) for share in of_name)}"
        for name, of_name in shares.items()
        if any(share is not None for share in of_name)
    ]
    return "; ".join(told) or "–"


def _errors(totals: Mapping[str, Total]) -> str:
    """Wrong places against those of the best rule."""
    best = max(total.placed for name, total in totals.items() if name != OWN and total.placed is not None)
    own = totals[OWN].placed
    return "–" if own is None or best == 1 else f"{(1 - own) / (1 - best):.2f} × the errors of the best rule"


def _limit(word: str, share: float | None) -> str:
    return "for information" if share is None else f"{word} {100 * share:g} %"


def _is_most(value: float | None, most: float | None) -> bool | None:
    return None if value is None or most is None else value <= most


def _speed_row(totals: Mapping[str, Total]) -> Row:
    speeds = {name: total.per_s for name, total in totals.items() if total.per_s is not None}
    others = "; ".join(f"{name} {speed:,.0f}" for name, speed in speeds.items() if name != OWN)
    own = speeds[OWN]
    return Row(
        "usual shop, angles, times: readings matched a second on one core", others, f"{own:,.0f} a second",
        f"{own / speeds['in order']:.4f} × in order", "1,000 readings a second", own >= 1000,
    )  # fmt: skip


def _stranger_row(group: str, sort: Sort, own: Total) -> Row:
    return Row(
        f"{group}, {_name(sort)}: joint and stage right, days with a miss called complete, others questioned", "–",
        f"{percent(own.placed, 2)}, {percent(own.false_complete)} of {own.miss_days}, "
        f"{percent(own.questioned)} of {own.days - own.miss_days}",
        "–", "for information", None,
    )  # fmt: skip


def _claim_rows(group: str, claims: Claims) -> Iterator[Row]:
    for what, of_it in claims.by_what():
        count, true = sure_and_right(of_it)
        score = brier(of_it)
        sure = [p for p, _ in of_it if p >= SURE]
        yield Row(
            f"{group}: {what}, claims at {SURE} or better that are true",
            f"as they say themselves: {percent(_mean(sure), 2)}",
            f"{percent(true / count if count else None, 2)} of {count:,}",
            "–" if score is None else f"Brier score {score:.4f}",
            _limit("at least", TRUE_SHARE), true / count >= TRUE_SHARE if count else None,
        )  # fmt: skip


def _live_rows(shop: str, days: Sequence[Lived]) -> Iterator[Row]:
    """What a day comes to when each reading is matched as it comes, with a truthful press at the end of each joint."""
    what = f"{shop} shop live, one truthful press a joint, {len(days)} days"
    with_miss, clean = [day for day in days if day.has_miss], [day for day in days if not day.has_miss]
    false, complete = sum(day.is_complete for day in with_miss), sum(day.is_complete for day in clean)
    yield Row(
        f"{what}: days with a miss complete after the closing pass", "–", f"{false} of {len(with_miss)}", "–", "none",
        false == 0 if with_miss else None,
    )  # fmt: skip
    readings = sum(day.readings for day in days)
    yield Row(
        f"{what}: days without a miss complete, joint and stage right", "–",
        f"{complete} of {len(clean)}, {percent(sum(day.right for day in days) / readings, 2)}", "–", "for information", None,
    )  # fmt: skip
    yield Row(
        f"{what}: questions a joint, taken back a day, readings a second on one core", "–",
        f"{sum(day.asked for day in days) / sum(day.joints for day in days):.2f}, "
        f"{sum(day.taken_back for day in days) / len(days):.1f}, {readings / sum(day.seconds for day in days):,.0f}",
        "–", "for information", None,
    )  # fmt: skip


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None
