"""How hard the hand pulls: a torque for one attempt, drawn by seed, spot and attempt alone."""

import random
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from enum import StrEnum

from schemas.route import Band

_TENTHS = Decimal(10)


class Aim(StrEnum):
    """Where a pull ends."""

    IN_BAND = "in band"
    UNDER = "under"
    OVER = "over"


def draw_torque(band: Band, aim: Aim, rng: random.Random) -> Decimal:
    """A torque in the joint's unit with one decimal.

    In band it lies around the target, well inside both edges; under and over it misses the edge by 5 to 12 % of the
    target. A wide band (an intermediate stage) is used only as far above the target as below it.
    """
    match aim:
        case Aim.UNDER:
            return _between(band.low - band.target * Decimal("0.12"), band.low - band.target * Decimal("0.05"), rng)
        case Aim.OVER:
            return _between(band.high + band.target * Decimal("0.05"), band.high + band.target * Decimal("0.12"), rng)
    half = min(band.target - band.low, band.high - band.target)
    return _around(band.target, half, rng)


def _between(low: Decimal, high: Decimal, rng: random.Random) -> Decimal:
    return _shown(rng.randint(_tenths(low, ROUND_CEILING), _tenths(high, ROUND_FLOOR)))


def _around(target: Decimal, half: Decimal, rng: random.Random) -> Decimal:
    """Bell-shaped around the target, three deviations to the edge, cut off at two thirds of the way to it."""
    reach = half * 2 / 3
    lowest, highest = _tenths(target - reach, ROUND_CEILING), _tenths(target + reach, ROUND_FLOOR)
    drawn = round(rng.gauss(float(target * _TENTHS), float(half * _TENTHS) / 3))
    return _shown(min(max(drawn, lowest), highest))


def _tenths(value: Decimal, rounding: str) -> int:
    return int((value * _TENTHS).to_integral_value(rounding))


def _shown(tenths: int) -> Decimal:
    # Scaled and not divided, so that a whole number keeps its closing zero as a display does.
    return Decimal(tenths).scaleb(-1)
