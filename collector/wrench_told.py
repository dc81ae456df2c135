"""What a reading's record says of its wrench, beside the torque: whether it proves anything, notes, and what a fitter is told."""

from datetime import date

from collector.flag_wrench import UNIT_CHANGED, UNIT_FITS
from schemas.errors import FrameError
from schemas.fastener_state import Pull
from schemas.frame import Reading
from schemas.wrench import Wrench, unfit_because

BATTERY_LOW = "battery low: change after this joint"
"""What is noted and shown of a live reading whose record says so; its value counts."""
_BATTERY_LOW_AS_DECODED = "battery low"
_SERIAL_DIFFERS = "serial number differs"
_UNKNOWN = ("is not in the register", "the record names no wrench")


def unfit_of(
    reading: Reading, wrench: Wrench | None, named: str | None, pulled_on: date | None, *, simulated: bool
) -> str | None:
    """Why a reading of that wrench proves nothing, None where it does; `simulated` says that no wrench sent it."""
    if wrench is not None and wrench.simulated and not simulated:
        return f"wrench {named} is a simulated one, which proves nothing of a real pull"
    if wrench is not None and reading.serial is not None and reading.serial != wrench.serial:
        sent = f"{reading.serial} sent, {wrench.serial} in the register"
        return f"{_SERIAL_DIFFERS} ({sent}): is this wrench {named}?"
    return unfit_because(wrench, named, reading.torque_nm, pulled_on)


def notes_of(reading: Reading, wrench: Wrench | None, *, is_live: bool) -> tuple[str, ...]:
    """The decoder's notes, and what the register says otherwise than the record."""
    notes = list(reading.notes)
    # Of a log the joint is long done.
    if reading.battery_low and is_live:
        notes = [BATTERY_LOW, *(note for note in notes if note != _BATTERY_LOW_AS_DECODED)]
    if wrench is not None and reading.measures is not None and reading.measures != wrench.measures:
        notes.append(f"the record says that its value is `{reading.measures}`, the register has `{wrench.measures}`")
    return tuple(notes)


def news_of_wrench(taken: Pull | FrameError | None) -> str:
    """What the fitter has to be told of the wrench beside the verdict on a pull, in one line; "" for nothing."""
    if not isinstance(taken, Pull):
        return ""
    reading, news = taken.reading, []
    if reading.unfit is not None and reading.unfit.startswith(_SERIAL_DIFFERS):
        news.append(reading.unfit)
    if reading.unfit is not None and any(why in reading.unfit for why in _UNKNOWN):
        news.append(f"{reading.unfit}: what it pulls stays doubtful")
    if BATTERY_LOW in (reading.notes or ()):
        news.append(f"{reading.wrench or 'wrench'}: {BATTERY_LOW}")
    of_unit = [note for note in reading.notes or () if note.startswith((UNIT_CHANGED, UNIT_FITS))]
    news += [f"{reading.wrench or 'wrench'}: {note}" for note in of_unit]
    return "; ".join(news)
