"""What is known of a wrench, and whether it is fit: in use, calibration in date, torque inside its checked span."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from schemas.bodies import Calibrated, WrenchAdded


@dataclass(frozen=True, slots=True)
class Wrench:
    """A wrench of the register with the calibration that counts; torques in N·m, days inclusive.

    `limit_percent` is the permissible error to either side; `adjusted_on` the last day on which it was set anew.
    `length_mm` runs from the drive's centre to the grip mark, with the hand on it; None where nobody entered it.
    """

    id: str
    serial: str
    type: str
    low_nm: Decimal
    high_nm: Decimal
    unit: str
    measures: str
    limit_percent: Decimal
    certificate: str | None = None
    calibrated_on: date | None = None
    due_on: date | None = None
    span_low_nm: Decimal | None = None
    span_high_nm: Decimal | None = None
    adjusted_on: date | None = None
    simulated: bool = False
    length_mm: Decimal | None = None


_SMALL_TOOL_NM = Decimal(10)


def usual_limit_percent(high_nm: Decimal) -> Decimal:
    """The permissible error of a hand torque tool where its papers give none: 4 %, or 6 % for a tool of up to 10 N·m.

    ISO 6789-1:2017 gives these for most wrenches; from memory, as the text was not at hand. A maker's or a shop's own
    figure goes before it.
    """
    return Decimal(6) if high_nm <= _SMALL_TOOL_NM else Decimal(4)


def wrench_from(added: WrenchAdded) -> Wrench:
    """The register's wrench as it was added, not calibrated yet."""
    high_nm = Decimal(added.high_nm)
    limit = usual_limit_percent(high_nm) if added.limit_percent is None else Decimal(added.limit_percent)
    return Wrench(
        added.wrench, added.serial, added.type, Decimal(added.low_nm), high_nm, added.unit, added.measures, limit,
        simulated=bool(added.simulated), length_mm=None if added.length_mm is None else Decimal(added.length_mm),
    )  # fmt: skip


def calibrate(wrench: Wrench, calibrated: Calibrated) -> Wrench:
    """The same wrench after this calibration was entered.

    Its certificate counts unless one of a later day was entered before; of two of one day the one entered last counts.
    """
    on = date.fromisoformat(calibrated.calibrated_on)
    adjusted_on = max(on, wrench.adjusted_on or on) if calibrated.adjusted else wrench.adjusted_on
    if wrench.calibrated_on is not None and on < wrench.calibrated_on:
        return replace(wrench, adjusted_on=adjusted_on)
    return replace(
        wrench,
        certificate=calibrated.certificate,
        calibrated_on=on,
        due_on=date.fromisoformat(calibrated.due_on),
        span_low_nm=Decimal(calibrated.low_nm),
        span_high_nm=Decimal(calibrated.high_nm),
        adjusted_on=adjusted_on,
    )


def unfit_because(wrench: Wrench | None, named: str | None, torque_nm: Decimal | None, on: date | None) -> str | None:
    """Why a wrench was not fit for a pull, or None where it was.

    Args:
        wrench: its state, None where it is not registered.
        named: the id that the record gave, None where it gave none.
        torque_nm: the torque reached in N·m; None above the tool's range. Only tightening is in a calibration's span.
        on: the day of the pull, None where the record has no certain time.
    """
    if named is None:
        return "the record names no wrench"
    if wrench is None:
        return f"wrench {named} is not in the register"
    if wrench.due_on is None or wrench.calibrated_on is None:
        return f"wrench {named} has no calibration"
    if on is None:
        return f"no certain time was sent, so whether wrench {named} was in date is not known"
    if on < wrench.calibrated_on:
        return f"the pull is older than the calibration of wrench {named} ({wrench.calibrated_on})"
    if on > wrench.due_on:
        return f"calibration of wrench {named} ran out on {wrench.due_on}"
    if torque_nm is None or not _spans(wrench, torque_nm):
        return f"outside the calibrated span of wrench {named} ({wrench.span_low_nm} to {wrench.span_high_nm} N·m)"
    return None


def _spans(wrench: Wrench, torque_nm: Decimal) -> bool:
    return (
        wrench.span_low_nm is not None
        and wrench.span_high_nm is not None
        and wrench.span_low_nm <= torque_nm <= wrench.span_high_nm
    )
