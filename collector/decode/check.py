"""Reads one row of checks: wrench, time, reference and shown value, or a named reason why it cannot be one. Pure."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from decimal import Decimal

from collector.decode.number import plain_digits, why_not_plain
from collector.decode.simulated_cell import why_not_real
from schemas.bodies import CheckMade
from schemas.check import error_percent, is_gross, is_inside, unit_hint
from schemas.clock import rfc3339
from schemas.errors import Fate, FrameError, UnitError
from schemas.units import Unit, find_unit, to_nm, torque_text
from schemas.wrench import Wrench

MOST_DIGITS = 30
"""A torque of more signs than that was shown by no tool."""
_MOST_SHOWN = 40
# What Python reads beyond this is no instant: a week, a day without hyphens at midnight, any sign in the place of the T.
_TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[T ][0-9]{2}:[0-9]{2}.*)?")
_FIRST_YEAR = "1970"
# What spreadsheets count from 1900 or 1904 has five digits for any day from 1931 to 2173, with a fraction for its time.
_DAY_COUNT = re.compile(r"[0-9]{5}(?:\.[0-9]+)?")

COLUMNS = ("time", "wrench", "reference", "shown", "unit")
"""The fields of a row, as its header names them."""


@dataclass(frozen=True, slots=True)
class DecodedCheck:
    """A check that can be kept, with what a person should know of it (lines, mostly none).

    `inside` is whether it lies inside the permissible error of its wrench, edges included.
    """

    check: CheckMade
    error_percent: float
    inside: bool
    remarks: tuple[str, ...]

    @property
    def is_gross(self) -> bool:
        """Whether it lies so far off that somebody has to look."""
        return is_gross(self.error_percent)


def decode_check(row: Mapping[str, str], wrenches: Mapping[str, Wrench], zone: tzinfo | None = None) -> DecodedCheck:
    """The check that a row states.

    Args:
        row: texts by the names of `COLUMNS`, `void` where the row was taken back, `simulated` where it was made up; a missing
            one counts as empty.
        wrenches: the register by id.
        zone: the zone of times that state no offset; without it the day of such a time is kept, and its hour left out.

    Raises:
        FrameError: a field is missing or cannot be read, the wrench is not registered, the reference is not above 0, the row
            was taken back, or it is simulated and its wrench is not.
    """
    if row.get("void"):
        raise _refused(f"the check was taken back where it was exported ({_said(row['void'])})")
    wrench = _wrench(row, wrenches)
    checked_at, hourless = _checked_at(row.get("time", ""), zone)
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
    inside = is_inside(reference_nm, shown_nm, wrench.limit_percent)
    found = [hourless, remark, _outside(wrench, reference_nm), None if inside else _far_off(reference, shown, unit, error)]
    return DecodedCheck(check, error, inside, tuple(filter(None, found)))


def _wrench(row: Mapping[str, str], wrenches: Mapping[str, Wrench]) -> Wrench:
    named = row.get("wrench", "")
    wrench = wrenches.get(named)
    not_real = why_not_real(row.get("simulated", ""))
    # Before the register is looked at: whoever adds the wrench to read the file again would have made it a real one.
    if not_real and not (wrench and wrench.simulated):
        raise _refused(not_real)
    if wrench is None:
        what = f"wrench {_said(named)} is not in the register; add it, then read the file again"
        raise _refused(what if named else "no wrench is named")
    return wrench


def _refused(reason: str) -> FrameError:
    return FrameError(reason, Fate.SET_ASIDE)


def _said(text: str) -> str:
    # repr escapes what would break the line or turn its direction.
    return repr(text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}…")[1:-1]


def _checked_at(text: str, zone: tzinfo | None) -> tuple[str, str | None]:
    """The day or the instant of a time, and a remark where its hour says nothing."""
    if not _TIME.fullmatch(text):
        raise _no_time(text)
    if text[:4] < _FIRST_YEAR:
        raise _refused(f"time `{_said(text)}` lies before {_FIRST_YEAR}; correct its year")
    try:
        if len(text) == len("2026-03-02"):
            return str(date.fromisoformat(text)), None
        instant = datetime.fromisoformat(text)
        if instant.tzinfo is None and zone is None:
            # Of a check the day is enough, and no zone has to be guessed for it.
            hourless = f"the hour of `{text}` is left out, as it states no offset from UTC; --zone keeps it"
            return str(instant.date()), hourless
        return _instant(instant, zone), None
    except ValueError as error:
        raise _no_time(text) from error


def _no_time(text: str) -> FrameError:
    if _DAY_COUNT.fullmatch(text):
        do = "give its column the form of a date as 2026-03-02 there, and save the file anew"
        return _refused(f"time `{_said(text)}` is no whole ISO 8601 day; it looks like a spreadsheet's day count: {do}")
    return _refused(f"time `{_said(text)}` is no whole ISO 8601 day or time; write 2026-03-02, or 2026-03-02T07:30+01:00")


def _instant(instant: datetime, zone: tzinfo | None) -> str:
    try:
        return rfc3339(instant if instant.tzinfo is not None or zone is None else _placed(instant, zone))
    except OverflowError as error:
        raise _refused(f"time `{instant.isoformat()}` is beyond any calendar; correct it") from error


def _placed(instant: datetime, zone: tzinfo) -> datetime:
    """A time without offset in its zone; refused where it is no instant there, or two."""
    said = f"time `{instant.isoformat()}`"
    first, second = (instant.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first != second:
        if first < second:
            raise _refused(f"{said} comes twice in {zone}, as clocks are put back; add its offset (+01:00)")
        raise _refused(f"{said} does not exist in {zone}, as clocks are put forward; correct it, or add its offset (+01:00)")
    return first


def _torque(text: str, name: str) -> Decimal:
    if not text:
        raise _refused(f"`{name}` is empty")
    if len(text) > MOST_DIGITS:
        raise _refused(f"`{name}` {_said(text)} has {len(text)} signs, and no tool shows more than {MOST_DIGITS}")
    digits = plain_digits(text, ".")
    if digits is None:
        raise _refused(f"`{name}` {_said(text)} {why_not_plain(text, '.')}")
    value = Decimal(digits)
    if value < 0:
        raise _refused(f"`{name}` {text} is below 0, and only checks in the tightening direction are kept in this version")
    return value.copy_abs()  # -0 is 0


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


def _far_off(reference: Decimal, shown: Decimal, unit: Unit, error: float) -> str | None:
    """What to ask of a check outside its limit; None where there is nothing but that it lies there."""
    hint = unit_hint(reference, shown, unit) if shown else None
    if hint is None and not is_gross(error):
        return None
    ask = f"were units mixed up? {hint}" if hint else "look at the wrench, and at what was typed"
    says = f"shows {torque_text(shown)} at {torque_text(reference)} {unit.symbol}, {error:+.1f} %: "
    return f"{says}{'kept, and in no drift line; ' if is_gross(error) else ''}{ask}"
