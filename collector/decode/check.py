"""Reads one row of checks: wrench, time, reference and shown value, or a named reason why it cannot be one. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from decimal import Decimal

from collector.decode.number import plain_digits, why_not_plain
from schemas.bodies import CheckMade
from schemas.check import GROSS_PERCENT, error_percent, unit_hint
from schemas.clock import rfc3339
from schemas.errors import Fate, FrameError, UnitError
from schemas.units import Unit, find_unit, to_nm, torque_text
from schemas.wrench import Wrench

COLUMNS = ("time", "wrench", "reference", "shown", "unit")
"""The fields of a row, as its header names them."""


@dataclass(frozen=True, slots=True)
class DecodedCheck:
    """A check that can be kept, with what a person should know of it (lines, mostly none)."""

    check: CheckMade
    error_percent: float
    remarks: tuple[str, ...]

    @property
    def is_gross(self) -> bool:
        """Whether it lies so far off that somebody has to look."""
        return abs(self.error_percent) > GROSS_PERCENT


def decode_check(row: Mapping[str, str], wrenches: Mapping[str, Wrench], zone: tzinfo | None = None) -> DecodedCheck:
    """The check that a row states.

    Args:
        row: texts by the names of `COLUMNS`, and `void` where the row was taken back; a missing one counts as empty.
        wrenches: the register by id.
        zone: the zone of times that state no offset; without it such a time is refused.

    Raises:
        FrameError: a field is missing or cannot be read, the wrench is not registered, the reference is not above 0.
    """
    if row.get("void"):
        raise _refused(f"the check was taken back where it was exported ({row['void']})")
    named = row.get("wrench", "")
    wrench = wrenches.get(named)
    if wrench is None:
        what = f"wrench {named} is not in the register; add it, then read the file again"
        raise _refused(what if named else "no wrench is named")
    checked_at = _checked_at(row.get("time", ""), zone)
    unit, remark = _unit(row.get("unit", ""))
    reference, shown = (_torque(row.get(name, ""), name) for name in ("reference", "shown"))
    if reference == 0:
        raise _refused("`reference` is 0, and an error in percent needs a torque above 0")
    reference_nm, shown_nm = to_nm(reference, unit), to_nm(shown, unit)
    error = error_percent(reference_nm, shown_nm)
    check = CheckMade(
        wrench.id, checked_at, torque_text(reference), torque_text(shown), unit.symbol, torque_text(reference_nm),
        torque_text(shown_nm), simulated=1 if wrench.simulated else None,
    )  # fmt: skip
    found = [remark, _outside(wrench, reference_nm), _gross(reference, shown, unit, error)]
    return DecodedCheck(check, error, tuple(filter(None, found)))


def _refused(reason: str) -> FrameError:
    return FrameError(reason, Fate.SET_ASIDE)


def _checked_at(text: str, zone: tzinfo | None) -> str:
    try:
        return str(date.fromisoformat(text)) if len(text) == len("2026-03-02") else _instant(text, zone)
    except ValueError as error:
        raise _refused(f"time `{text}` is not ISO 8601; write a day as 2026-03-02, or 2026-03-02T07:30+01:00") from error


def _instant(text: str, zone: tzinfo | None) -> str:
    instant = datetime.fromisoformat(text)
    if instant.tzinfo is None:
        if zone is None:
            raise _refused(f"time `{text}` states no offset from UTC; add one (+01:00), give the day alone, or name --zone")
        instant = instant.replace(tzinfo=zone)
    try:
        return rfc3339(instant)
    except OverflowError as error:
        raise _refused(f"time `{text}` is beyond any calendar; correct it") from error


def _torque(text: str, name: str) -> Decimal:
    if not text:
        raise _refused(f"`{name}` is empty")
    digits = plain_digits(text, ".")
    if digits is None:
        raise _refused(f"`{name}` {text} {why_not_plain(text, '.')}")
    value = Decimal(digits)
    if value < 0:
        raise _refused(f"`{name}` {text} is below 0, and only checks in the tightening direction are kept in this version")
    return value


def _unit(text: str) -> tuple[Unit, str | None]:
    try:
        return find_unit(text)
    except UnitError as error:
        raise _refused(str(error)) from error


def _outside(wrench: Wrench, reference_nm: Decimal) -> str | None:
    if wrench.low_nm <= reference_nm <= wrench.high_nm:
        return None
    span = f"{torque_text(wrench.low_nm)} to {torque_text(wrench.high_nm)} N·m"
    return f"the reference of {torque_text(reference_nm)} N·m lies outside the range of wrench {wrench.id} ({span})"


def _gross(reference: Decimal, shown: Decimal, unit: Unit, error: float) -> str | None:
    if abs(error) <= GROSS_PERCENT:
        return None
    hint = unit_hint(reference, shown, unit) if shown else None
    ask = f"were units mixed up? {hint}" if hint else "look at the wrench, and at what was typed"
    says = f"shows {torque_text(shown)} at {torque_text(reference)} {unit.symbol}, {error:+.1f} %"
    return f"{says}: kept, and in no drift line; {ask}"
