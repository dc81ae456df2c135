"""`witnessmark wrench add` and `wrench calibrate`: who is in the register, and which certificate counts."""

import argparse
import re
from datetime import date, timedelta
from decimal import Decimal

from collector.cli.place import SystemClock, database_path, tell, version
from collector.record.jobs import add_wrench, calibrate_wrench, measure_wrench
from collector.record.recorder import Recorder
from schemas.bodies import Calibrated, WrenchAdded, WrenchMeasured
from schemas.errors import RecordError
from schemas.plan.quantity import length_mm
from schemas.units import find_unit, to_nm, torque_text
from schemas.wrench import usual_limit_percent

_MOST_SHOWN = 40


def added_wrench(
    wrench: str, serial: str, kind: str, low: str, high: str, unit: str, measures: str, limit: str | None = None,
    simulated: bool = False, length: str | None = None,
) -> WrenchAdded:  # fmt: skip
    """A wrench for the register from what was typed; RecordError or UnitError where a value cannot be.

    The permissible error is kept with the wrench also where the usual one was taken, so that it never changes later.
    """
    if not wrench.strip() or not serial.strip():
        raise RecordError("a wrench needs an id and a serial number; neither can be empty")
    _refuse_odd_text(wrench, "the wrench's id")
    _refuse_odd_text(serial, "--serial")
    found, _ = find_unit(unit)
    edges = [_torque(low, "--low"), _torque(high, "--high")]
    if not 0 <= edges[0] < edges[1]:
        raise RecordError(f"wrench {wrench}: --low must be below --high, both not negative; got {low} and {high}")
    low_nm, high_nm = (torque_text(to_nm(edge, found)) for edge in edges)
    limit_percent = usual_limit_percent(Decimal(high_nm)) if limit is None else _percent(limit)
    return WrenchAdded(
        wrench, serial, kind, low, high, found.symbol, low_nm, high_nm, measures, 1 if simulated else None, str(limit_percent),
        None if length is None else _length(length),
    )  # fmt: skip


def _length(text: str) -> str:
    try:
        return f"{length_mm(text):f}"
    except ValueError as error:
        raise RecordError(f"--length {text}: {error}") from error


def run_length(chosen: argparse.Namespace) -> int:
    """Enter a wrench's length from the drive's centre to the grip mark."""
    body = WrenchMeasured(chosen.wrench, _length(chosen.length))
    with Recorder(database_path(chosen.db), SystemClock(), version(), "witnessmark wrench length") as recorder:
        measure_wrench(recorder, body, recorder.person(chosen.by))
    tell(f"wrench {chosen.wrench}: {body.length_mm} mm from the drive to the grip mark; pull with the hand on that mark")
    return 0


def _refuse_odd_text(text: str, what: str) -> None:
    """Stop where a name would look like another one, or would break the lines that it is shown in."""
    if not text or text != text.strip() or not text.isprintable():
        # ascii escapes what would do that here too.
        shown = ascii(text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}...")
        raise RecordError(f"{what} {shown}: is empty, has blanks at an end, or a sign that cannot be printed; correct it")


def _percent(text: str) -> Decimal:
    percent = _torque(text, "--limit")
    if not 0 < percent < 100:
        raise RecordError(f"--limit {text}: a permissible error lies above 0 and below 100 %")
    return percent


def _torque(text: str, option: str) -> Decimal:
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", text):
        raise RecordError(f"{option} {text}: not a number in plain digits, such as 12 or 12.5")
    return Decimal(text)


def _day(text: str, option: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise RecordError(f"{option} {text}: not a day; write it as 2026-01-31") from error


def run_add(chosen: argparse.Namespace) -> int:
    """Add a wrench."""
    added = added_wrench(
        chosen.wrench, chosen.serial, chosen.type, chosen.low, chosen.high, chosen.unit, chosen.measures, chosen.limit
    )
    with Recorder(database_path(chosen.db), SystemClock(), version(), "witnessmark wrench add") as recorder:
        add_wrench(recorder, added, recorder.person(chosen.by))
    tell(f"wrench {chosen.wrench} added; it counts as fit once its calibration is recorded: witnessmark wrench calibrate")
    return 0


def run_calibrate(chosen: argparse.Namespace) -> int:
    """Record a calibration over the wrench's whole range."""
    _refuse_odd_text(chosen.wrench, "the wrench's id")
    _refuse_odd_text(chosen.certificate, "--certificate")
    on, due, clock = _day(chosen.on, "--on"), _day(chosen.due, "--due"), SystemClock()
    if due < on:
        raise RecordError(f"--due {due} is before --on {on}; correct the days")
    # Where a new day begins first it is tomorrow by UTC already.
    if on > (today := clock.now().date()) + timedelta(days=1):
        raise RecordError(f"--on {on} lies in the future, as today is {today}; correct the day")
    with Recorder(database_path(chosen.db), clock, version(), "witnessmark wrench calibrate") as recorder:
        wrench = recorder.fold.wrenches.get(chosen.wrench)
        low, high = (torque_text(wrench.low_nm), torque_text(wrench.high_nm)) if wrench else ("0", "0")
        adjusted = 1 if chosen.adjusted else None
        calibrated = Calibrated(chosen.wrench, chosen.certificate, str(on), str(due), low, high, adjusted=adjusted)
        calibrate_wrench(recorder, calibrated, recorder.person(chosen.by))
        counts = recorder.fold.wrenches[chosen.wrench]
    tell(f"wrench {chosen.wrench}: certificate {chosen.certificate}, in date to {due}")
    if counts.calibrated_on != on:
        tell(f"certificate {counts.certificate} of {counts.calibrated_on} is newer and stays the one that counts")
    return 0
