"""Probabilities as the ledger keeps them and as people read them, and from where on one counts as sure. Pure."""

import re
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, Context, Decimal
from math import isnan

P_LIMIT = Decimal("0.99")
"""From this probability on something counts as sure, unless the shop asks for more; below it a person has to confirm it."""

_STEP = Decimal("0.0001")
_HIGHEST = Decimal("0.9999")
_LIMIT = re.compile(r"0\.99[0-9]{0,2}")
_EXACT = Context(prec=28)
WRONG = Decimal("0.02")
"""Who counts the stripes of a joint and says yes is wrong this often: a guess on the safe side (common practice, no source)."""


def p_text(p: float | Decimal) -> str:
    """A probability as four decimals, rounded down, so that none crosses 0.9 or 0.99 upwards; `0.0000` to `0.9999`.

    What lies outside by an error of floats is brought inside: nothing is ever told to be certain. ValueError for no number.
    """
    if isnan(p):
        raise ValueError("a probability that is no number cannot be kept; look at what worked it out")
    kept = min(max(Decimal(str(p)), Decimal(0)), _HIGHEST)
    return f"{kept.quantize(_STEP, ROUND_DOWN):f}"


def read_p(text: str) -> Decimal:
    """A probability from its digit string; ValueError, or an ArithmeticError, for what is none from 0 to 1."""
    p = Decimal(text)
    if not 0 <= p <= 1:
        raise ValueError(f"`{text}` is no probability; it lies outside 0 to 1")
    return p


def read_limit(text: str | None) -> Decimal:
    """The limit that a shop asks for, P_LIMIT where it asks for none; ValueError where it is below, or can never be reached."""
    if text is None:
        return P_LIMIT
    if _LIMIT.fullmatch(text) is None:
        raise ValueError(f"`{text}` is no limit for a probability; write one from 0.99 to 0.9999, four decimals at most")
    return Decimal(text)


def confirmed_p(p: Decimal) -> Decimal:
    """A probability after a person has counted and said yes, by Bayes' rule, the yes being wrong in 2 of 100 cases.

    p * 0.98 / (p * 0.98 + (1 - p) * 0.02), to 28 digits: what the readings speak against, no count makes sure.
    """
    is_so, is_not = _EXACT.multiply(p, 1 - WRONG), _EXACT.multiply(_EXACT.subtract(Decimal(1), p), WRONG)
    return _EXACT.divide(is_so, _EXACT.add(is_so, is_not))


def p_shown(p: Decimal, limit: Decimal = P_LIMIT) -> str:
    """A probability for people: two decimals, or as many as the limit has, and more where it would read as one that it is not.

    Below the limit it never reads as the limit, and below 1 never as 1.
    """
    rounded = (
        p.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN) for places in range(max(2, _decimals(limit)), _EXACT.prec)
    )
    shown = next((one for one in rounded if (one >= limit, one >= 1) == (p >= limit, p >= 1)), p)
    return f"{shown:f}"


def _decimals(limit: Decimal) -> int:
    return -int(limit.as_tuple().exponent)
