"""What is true in the made-up workshop: people, item, order, wrenches, the day and its plan."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from importlib.resources import files

from schemas.words import Measures

WORKSHOP = "Harbour Lane Trailer Works"
ITEM = "WM·T 4711"
ORDER = "HL-2603-017"
FITTER = "Jonna Brandt"
LEAD = "Tomasz Reed"

START_AT = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
"""When the day begins."""

ZONE = timezone(timedelta(hours=1))
"""The zone that the wrenches' own clocks are set to."""

PLAN_FILE = "rear-axle.yaml"


@dataclass(frozen=True, slots=True)
class Certificate:
    """A laboratory's certificate over the wrench's whole range, both days inclusive."""

    number: str
    calibrated_on: date
    due_on: date


@dataclass(frozen=True, slots=True)
class WrenchFacts:
    """A wrench as its papers describe it: range in `unit`, its certificates from the oldest on."""

    id: str
    serial: str
    type: str
    low: Decimal
    high: Decimal
    unit: str
    measures: Measures
    certificates: tuple[Certificate, ...]


@dataclass(frozen=True, slots=True)
class CheckPoint:
    """One torque at which a wrench is checked, in N·m, and what is wrong with the wrench there on the first day."""

    torque: float
    error_percent: float
    percent_per_year: float


_TODAY = START_AT.date()

_YEAR = timedelta(days=365)


def _certificates(*numbers: str) -> tuple[Certificate, ...]:
    """One a year, the last one some months old on the made-up day."""
    last = _TODAY - timedelta(days=96)
    days = [last - _YEAR * back for back in reversed(range(len(numbers)))]
    return tuple(Certificate(number, day, day + _YEAR - timedelta(days=1)) for number, day in zip(numbers, days, strict=True))


WRENCHES = (
    WrenchFacts(
        "W-140", "HL-88-0140", "indicating", Decimal(40), Decimal(200), "N·m", Measures.HIGHEST,
        _certificates("C-23-0931", "C-24-1042", "C-25-1187"),
    ),
    WrenchFacts(
        "W-025", "HL-88-0025", "indicating", Decimal(5), Decimal(60), "N·m", Measures.HIGHEST,
        _certificates("C-23-0932", "C-24-1043", "C-25-1188"),
    ),
)  # fmt: skip

CHECKED_WEEKLY_FROM = date(2023, 3, 6)
CHECKS = {
    "W-140": (CheckPoint(60, 0.3, 0.35), CheckPoint(120, 0.45, 1.06), CheckPoint(180, 0.2, 0.8)),
    "W-025": (CheckPoint(10, -0.4, 0.0), CheckPoint(30, 0.1, 0.0), CheckPoint(50, 0.3, 0.0)),
}
"""The torques at which each wrench is checked; the first wrench drifts."""


def plan_bytes() -> bytes:
    """The bytes of the plan file, which lies beside this module."""
    return files("sim.workshop").joinpath(PLAN_FILE).read_bytes()
