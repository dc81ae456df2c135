"""The bands that a torque is judged by, exact in decimal: the final's from the plan, the intermediate ones from it."""

from decimal import Context, Decimal, Inexact, InvalidOperation, Overflow

from schemas.plan.tolerance import Side, Tolerance
from schemas.route import Band
from schemas.units import Unit, find_unit, to_nm

# Trapping Inexact turns any silent rounding into an error; the digits that a plan may have keep far below 100.
_EXACT = Context(prec=100, traps=[Inexact, InvalidOperation, Overflow])
_PERCENT = Decimal("0.01")
_HALF = Decimal("0.5")
_BELOW_A_SHARE = Decimal("0.9")


def band_of_torque(torque: Decimal, tolerance: Tolerance, unit: Unit) -> Band:
    """The final's band around a stated torque, which is above zero.

    Raises ValueError where the tolerance is in another unit or reaches down to zero, UnitError where its unit is none.
    """
    low = _trimmed(_EXACT.subtract(torque, _width(torque, tolerance.below, unit)))
    high = _trimmed(_EXACT.add(torque, _width(torque, tolerance.above, unit)))
    if low <= 0:
        raise ValueError(f"the tolerance reaches down to {low:f} {unit.symbol}; write a smaller one")
    return _band(low, torque, high, unit)


def band_of_limits(low: Decimal, high: Decimal, unit: Unit) -> Band:
    """The final's band between stated edges; its target is their middle.

    Raises ValueError where low is not below high.
    """
    if low >= high:
        raise ValueError(f"`low` {low:f} is not below `high` {high:f}; correct one of them")
    return _band(low, _trimmed(_EXACT.multiply(_EXACT.add(low, high), _HALF)), high, unit)


def stage_band(share_percent: Decimal, final: Band, unit: Unit) -> Band:
    """The band of an intermediate stage: from 10 % below its share of the final's target to just under the final's low.

    Raises ValueError where the share lies in the final's band, so that no torque could meet stage and share.
    """
    target = _share(final.target, share_percent)
    if target >= final.low:
        raise ValueError(
            f"stage {share_percent:f} % is {target:f} {unit.symbol}, which is not below the final's lower edge"
            f" {final.low:f}; write a smaller share"
        )
    return _band(_trimmed(_EXACT.multiply(target, _BELOW_A_SHARE)), target, final.low, unit, high_is_in_band=False)


def counts_drag(drag: Decimal, third_of: Decimal | None) -> bool:
    """Whether the drag of a prevailing nut is added: from a third of a torque on, both in one unit; None: always.

    Public rules disagree: FAA AC 43.13-1B para 7-40 and NASA-STD-5020B add it always, the US Army's TB 43-0218 only from a
    third of the recommended torque on.
    """
    return third_of is None or 3 * drag >= third_of


def band_with_drag(band: Band, drag: Decimal, unit: Unit) -> Band:
    """The band of what a wrench shows that also turns a nut that drags: every edge higher by `drag`, in the joint's unit."""
    low, target, high = (_trimmed(_EXACT.add(value, drag)) for value in (band.low, band.target, band.high))
    return _band(low, target, high, unit, high_is_in_band=band.high_is_in_band)


def _width(torque: Decimal, side: Side, unit: Unit) -> Decimal:
    if side.unit == "%":
        return _share(torque, side.value)
    own, _remark = find_unit(side.unit)
    # Most pairs of units convert only with rounding, so the edges would not be exact in the joint's unit.
    if own != unit:
        raise ValueError(f"the tolerance is in {own.symbol} and the torque in {unit.symbol}; write both in {unit.symbol}")
    return side.value


def _share(torque: Decimal, percent: Decimal) -> Decimal:
    return _trimmed(_EXACT.multiply(_EXACT.multiply(torque, percent), _PERCENT))


def _band(low: Decimal, target: Decimal, high: Decimal, unit: Unit, *, high_is_in_band: bool = True) -> Band:
    low_nm, target_nm, high_nm = (to_nm(value, unit) for value in (low, target, high))
    return Band(low, target, high, low_nm, target_nm, high_nm, high_is_in_band)


def _trimmed(value: Decimal) -> Decimal:
    """The same value without closing zeros: those of a computed value say nothing, those of the file are kept."""
    return Decimal(f"{_EXACT.normalize(value):f}")
