"""What a wrench shows when an offset adapter changes its lever, in decimal, both ways.

setting = T L / (L + E cos a), FAA AC 43.13-1B 7-40 and TM 1-1500-204-23-9 (read): L from the wrench's drive to the point of the
grip where the hand pulls, E from the drive to the fastener, a between the two: 0 with the adapter straight ahead, 90 at a
right angle (which changes nothing), 180 pointing back to the hand. Only as good as the pull at that very point.
"""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Context, Decimal, localcontext
from math import cos, radians

from schemas.route import Band

IN_LINE = "a socket extension in line with the fastener leaves the lever as it is: nothing is corrected for it"
"""What to say about a bar that only lengthens the socket."""

_PRECISION = Context(prec=50)
_EXACT_COSINES = {0: Decimal(1), 60: Decimal("0.5"), 90: Decimal(0), 120: Decimal("-0.5"), 180: Decimal(-1)}
_STEP = Decimal("0.001")
_STEPS_IN_BAND = 20


def set_value(torque: Decimal, length_mm: Decimal, offset_mm: Decimal, angle_deg: Decimal) -> Decimal:
    """What the wrench has to show so that the fastener gets `torque`; in the torque's own unit, not rounded (50 digits).

    At 0, 60, 90, 120 and 180 degrees the cosine is exact, elsewhere good to 15 digits (binary floats).

    Raises ValueError where a length is not above zero, the angle lies outside 0 to 180, or the adapter reaches back to the
    hand or past it, so that no lever is left.
    """
    with localcontext(_PRECISION):
        return torque * length_mm / _lever(length_mm, offset_mm, angle_deg)


def applied(setting: Decimal, length_mm: Decimal, offset_mm: Decimal, angle_deg: Decimal) -> Decimal:
    """What the fastener gets when the wrench shows `setting`: the inverse of `set_value`, which says units and errors."""
    with localcontext(_PRECISION):
        return setting * _lever(length_mm, offset_mm, angle_deg) / length_mm


def band_through_adapter(band: Band, length_mm: Decimal, offset_mm: Decimal, angle_deg: Decimal) -> Band:
    """The band that the wrench has to show, for a `band` at the fastener; raises as `set_value` does.

    The edges are rounded inward, low up and high down, to 0.001 of the joint's unit and of N·m: a quotient has no last
    digit, and whatever lies in the rounded band puts the fastener into its own. A band of less than 20 such steps is rounded
    finer. The target is rounded half to even, to ten steps (0.01), and kept in the band. `high_is_in_band` stays.
    """
    low, target, high, low_nm, target_nm, high_nm = (
        set_value(value, length_mm, offset_mm, angle_deg)
        for value in (band.low, band.target, band.high, band.low_nm, band.target_nm, band.high_nm)
    )
    with localcontext(_PRECISION):
        shown = _inward(low, target, high, band.high_is_in_band)
        judged = _inward(low_nm, target_nm, high_nm, band.high_is_in_band)
    return Band(*shown, *judged, band.high_is_in_band)


def _lever(length_mm: Decimal, offset_mm: Decimal, angle_deg: Decimal) -> Decimal:
    if length_mm <= 0 or offset_mm <= 0:
        raise ValueError("the length of wrench or adapter is not above zero; give both in mm, from drive centre")
    if not 0 <= angle_deg <= 180:
        raise ValueError(f"{angle_deg:f} degrees is no angle of an adapter; give it from 0 (straight ahead) to 180 (back)")
    lever = length_mm + offset_mm * _cosine(angle_deg)
    if lever <= 0:
        raise ValueError(
            f"an adapter of {offset_mm:f} mm at {angle_deg:f} degrees reaches back to the hand of a wrench of {length_mm:f} mm;"
            " turn it, or take a longer wrench"
        )
    return lever


def _cosine(angle_deg: Decimal) -> Decimal:
    exact = _EXACT_COSINES.get(int(angle_deg)) if angle_deg == int(angle_deg) else None
    return Decimal(cos(radians(float(angle_deg)))) if exact is None else exact


def _inward(low: Decimal, target: Decimal, high: Decimal, high_is_in_band: bool) -> tuple[Decimal, Decimal, Decimal]:
    step = min(_STEP, Decimal(1).scaleb(((high - low) / _STEPS_IN_BAND).adjusted()))
    low, high = low.quantize(step, ROUND_CEILING), high.quantize(step, ROUND_FLOOR)
    top = high if high_is_in_band else high - step
    target = min(max(target.quantize(step.scaleb(1), ROUND_HALF_EVEN), low), top)
    return _trimmed(low), _trimmed(target), _trimmed(high)


def _trimmed(value: Decimal) -> Decimal:
    # Closing zeros of a computed value say nothing.
    return Decimal(f"{value.normalize():f}")
