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
class WrenchFacts:
    """A wrench as its papers describe it: range in `unit`, calibrated over that range, both days inclusive."""

    id: str
    serial: str
    type: str
    low: Decimal
    high: Decimal
    unit: str
    measures: Measures
    certificate: str
    calibrated_on: date
    due_on: date


_TODAY = START_AT.date()

WRENCHES = (
    WrenchFacts(
        "W-140", "HL-88-0140", "indicating", Decimal(40), Decimal(200), "N·m", Measures.HIGHEST,
        "C-25-1187", _TODAY - timedelta(days=96), _TODAY + timedelta(days=268),
    ),
    WrenchFacts(
        "W-025", "HL-88-0025", "indicating", Decimal(5), Decimal(60), "N·m", Measures.HIGHEST,
        "C-25-1188", _TODAY - timedelta(days=96), _TODAY + timedelta(days=268),
    ),
)  # fmt: skip


def plan_bytes() -> bytes:
    """The bytes of the plan file, which lies beside this module."""
    return files("sim.workshop").joinpath(PLAN_FILE).read_bytes()
