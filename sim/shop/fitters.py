"""The people of the made-up shops: how fast each works, how each pulls, and how often each goes wrong."""

import math
import random
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Habits:
    """What one fitter does on one day. Rates are probabilities at each chance, times medians in s, shares 0.01 for 1 %.

    A chance is a fastener of a round (`skip`, `slip`, `repeat`, `gave_up`, `redo`, `over`), a joint (`cramped`,
    `recheck_round`, `recheck_late`), a visit to a joint (`trial`, `interrupt`, `out_of_order`,
    `interleave`) or a day (`left_first`, `other_vehicle`). `slip`: he clicks the fastener just done once more and takes it
    for the next one. `forgets_joint` is asked at each joint as well; what does not differ between people stands in the chain.
    """

    fitter: str
    move_s: float
    between_s: float
    past: float
    pull_spread: float
    skip: float
    slip: float
    repeat: float
    gave_up: float
    redo: float
    over: float
    cramped: float
    recheck_round: float
    recheck_late: float
    forgets_joint: float
    trial: float
    interrupt: float
    out_of_order: float
    interleave: float
    left_first: float
    other_vehicle: float


@dataclass(frozen=True, slots=True)
class Fitter:
    """What stays the same about a person from day to day; the lower part multiplies the rates of the shop.

    `past` is how far above the set torque the pulls end, `pull_spread` how unevenly, both as shares.
    """

    move_s: float
    between_s: float
    past: float
    pull_spread: float
    careless: float = 1
    muddled: float = 1
    double: float = 1
    weak: float = 1
    opens: float = 1
    checks: float = 1
    roams: float = 1
    tries: float = 1


FITTERS = {
    "Aldous": Fitter(4.2, 30, 0.003, 0.004, careless=1.4, double=0.4, checks=0.2, muddled=1.5),
    "Brona": Fitter(8, 90, 0.012, 0.008, careless=0.5, checks=2, tries=1.5, muddled=0.3),
    "Casimir": Fitter(12, 210, 0.045, 0.015, double=2, weak=1.5, opens=1.5, muddled=1),
    "Dunja": Fitter(6, 50, 0.02, 0.006, roams=2, double=1.3, tries=0.3, careless=0.8),
    "Eskil": Fitter(14, 120, 0.008, 0.01, careless=0.7, double=2.5, checks=1.5, muddled=2),
    "Fenna": Fitter(5, 24, 0.03, 0.012, careless=1.6, weak=2, roams=0.4, muddled=0.5),
    "Gorm": Fitter(10, 160, 0.015, 0.02, double=1.6, opens=2, tries=2.5, checks=0.6, careless=1.2),
    "Hedda": Fitter(6.5, 70, 0.001, 0.005, double=0.6, roams=1.6, weak=0.5, careless=0.9, muddled=1.3, checks=2.5),
}
"""Everybody whose days can be drawn."""

HELD_OUT = ("Gorm", "Hedda")
"""Those whose days no parameter is ever chosen by: they are there to measure with."""


@dataclass(frozen=True, slots=True)
class Shop:
    """How a shop works on average: rates as in `Habits`; `two_fitters`, `log_stops`, `lone_skip` are shares of days.

    `lone_skip` is one fastener forgotten in a joint where nothing else happens; a shop has that or `skip`.
    `wrench_spread` is the range, as shares, that its wrenches lie in.
    """

    skip: float
    lone_skip: float
    slip: float
    repeat: float
    gave_up: float
    redo: float
    over: float
    cramped: float
    recheck_round: float
    recheck_late: float
    forgets_joint: float
    trial: float
    interrupt: float
    out_of_order: float
    interleave: float
    left_first: float
    other_vehicle: float
    two_fitters: float
    log_stops: float
    wrench_spread: tuple[float, float]


SHOP_OF = {
    "tidy": Shop(
        skip=0, lone_skip=0.1, slip=0, repeat=0.002, gave_up=0.002, redo=0.0003, over=0.0005, cramped=0.05, recheck_round=0.01,
        recheck_late=0.001, forgets_joint=0, trial=0.01, interrupt=0.01, out_of_order=0.002, interleave=0.05, left_first=0.02,
        other_vehicle=0.02, two_fitters=0, log_stops=0, wrench_spread=(0.005, 0.015),
    ),
    "usual": Shop(
        skip=0.0028, lone_skip=0, slip=0.00008, repeat=0.03, gave_up=0.01, redo=0.002, over=0.003, cramped=0.12,
        recheck_round=0.1, recheck_late=0.01, forgets_joint=0.0006, trial=0.04, interrupt=0.02, out_of_order=0.02,
        interleave=0.1, left_first=0.1, other_vehicle=0.15, two_fitters=0.1, log_stops=0.03, wrench_spread=(0.005, 0.025),
    ),
    "rough": Shop(
        skip=0.0085, lone_skip=0, slip=0.0006, repeat=0.1, gave_up=0.03, redo=0.007, over=0.01, cramped=0.25,
        recheck_round=0.25, recheck_late=0.04, forgets_joint=0.002, trial=0.12, interrupt=0.05, out_of_order=0.06,
        interleave=0.2, left_first=0.2, other_vehicle=0.4, two_fitters=0.2, log_stops=0.06, wrench_spread=(0.008, 0.03),
    ),
}  # fmt: skip
"""The shops by name."""


def draw_habits(shop: Shop, name: str, rng: random.Random) -> Habits:
    """One day of the fitter of that name in that shop: the shop's rates, times the person, times the day."""
    who = FITTERS[name]

    def rate(base: float, person: float = 1.0) -> float:
        return min(0.5, base * person * math.exp(rng.gauss(0, 0.35)))

    return Habits(
        fitter=name,
        move_s=min(15.0, max(4.0, who.move_s * math.exp(rng.gauss(0, 0.12)))),
        between_s=min(240.0, max(20.0, who.between_s * math.exp(rng.gauss(0, 0.2)))),
        past=who.past,
        pull_spread=who.pull_spread,
        skip=rate(shop.skip, who.careless),
        slip=rate(shop.slip, who.muddled),
        repeat=rate(shop.repeat, who.double),
        gave_up=rate(shop.gave_up, who.weak),
        redo=rate(shop.redo, who.opens),
        over=rate(shop.over, who.opens),
        cramped=rate(shop.cramped),
        recheck_round=rate(shop.recheck_round, who.checks),
        recheck_late=rate(shop.recheck_late, who.checks),
        forgets_joint=rate(shop.forgets_joint, who.careless),
        trial=rate(shop.trial, who.tries),
        interrupt=rate(shop.interrupt, who.roams),
        out_of_order=rate(shop.out_of_order, who.roams),
        interleave=rate(shop.interleave, who.roams),
        left_first=rate(shop.left_first, who.roams),
        other_vehicle=rate(shop.other_vehicle),
    )
