"""What one check of a wrench against a reference says: its error in percent, its day, and whether units were mixed up."""

import hashlib
import json
from datetime import UTC, date, datetime
from decimal import Context, Decimal, Inexact

from schemas.bodies import CheckMade
from schemas.units import UNITS, Unit

GROSS_PERCENT = 25.0
"""A check further off than this is kept and shown, but no line of drift is laid through it: no wrench in use is so far off,
so it is units mixed up, a slip of the pen, or a broken tool, and somebody has to look (common practice, no source)."""

# Between units there are ratios of 1.02 and 1.15; a wrench can be so far off by itself, so there the ratio must fit better.
_NEAR_A_FACTOR_GROSS = Decimal("0.03")
_NEAR_A_FACTOR = Decimal("0.01")
EPOCH = date(1970, 1, 1)
"""Days of checks are counted from here on, with fractions."""
_DAY_S = 86400
# An error in percent is for lists and charts; nothing is judged by its last digits.
_SHOWN = Context(prec=28)
# A torque of ours has 1,000 digits at most, so that nothing is rounded away here.
_EXACT = Context(prec=4000, traps=[Inexact])


def error_percent(reference_nm: Decimal, shown_nm: Decimal) -> float:
    """(shown - reference) / reference in percent; the reference is above 0.

    The sign is that of ISO 6789's deviation (from memory): a wrench that shows too much, and so delivers too little, is
    above 0.
    """
    difference = _SHOWN.subtract(shown_nm, reference_nm)
    return float(_SHOWN.multiply(_SHOWN.divide(difference, reference_nm), Decimal(100)))


def is_gross(percent: float) -> bool:
    """Whether an error in percent lies so far off that somebody has to look."""
    return abs(percent) > GROSS_PERCENT


def is_inside(reference_nm: Decimal, shown_nm: Decimal, limit_percent: Decimal) -> bool:
    """Whether a check lies inside a permissible error to either side, both edges included; nothing is rounded."""
    off = _EXACT.subtract(shown_nm, reference_nm).copy_abs()
    return _EXACT.multiply(off, Decimal(100)) <= _EXACT.multiply(reference_nm, limit_percent)


def day_number(day: date) -> float:
    """Days since 1970-01-01."""
    return float((day - EPOCH).days)


def day_of(checked_at: str) -> float:
    """Days since 1970-01-01 of a day (`2026-03-02`), or with their fraction of an RFC 3339 instant."""
    if len(checked_at) == len("2026-03-02"):
        return day_number(date.fromisoformat(checked_at))
    instant = datetime.fromisoformat(checked_at).astimezone(UTC)
    return (instant - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds() / _DAY_S


def unit_hint(reference: Decimal, shown: Decimal, unit: Unit) -> str | None:
    """Which value of a check looks as if it were in another unit than `unit`; None where none does.

    Looked at only where a check lies outside its limit. Both values are above 0 and in `unit`; a ratio within 1 % of that of
    two units counts, within 3 % where the error is gross.
    """
    near = _NEAR_A_FACTOR_GROSS if is_gross(error_percent(reference, shown)) else _NEAR_A_FACTOR
    best: tuple[Decimal, str] | None = None
    for name, ratio in (("shown", _SHOWN.divide(shown, reference)), ("reference", _SHOWN.divide(reference, shown))):
        for other in UNITS:
            factor = _SHOWN.divide(unit.nm_per_unit, other.nm_per_unit)
            off = abs(_SHOWN.subtract(_SHOWN.divide(ratio, factor), Decimal(1)))
            if other != unit and off <= near and (best is None or off < best[0]):
                best = off, f"`{name}` looks like {other.symbol}"
    return None if best is None else best[1]


def check_key(check: CheckMade) -> tuple[str, ...]:
    """What a check states: equal for two rows that say the same.

    Closing zeros do not matter: a spreadsheet keeps 120.50 as the number 120.5, and it is the same check in either form.
    """
    reference, shown = (_without_closing_zeros(digits) for digits in (check.reference, check.shown))
    return check.wrench, check.checked_at, reference, shown, check.unit


def _without_closing_zeros(digits: str) -> str:
    return digits.rstrip("0").rstrip(".") if "." in digits else digits


def check_identity(check: CheckMade, nth: int) -> str:
    """What tells a check from every other, as hex; `nth` counts checks of one `check_key`, from 1."""
    return hashlib.sha256(json.dumps(["check", *check_key(check), nth]).encode()).hexdigest()
