"""The register of wrenches as the database holds it."""

import sqlite3
from datetime import date
from decimal import Decimal

from analysis.load.database import snapshot
from schemas.units import find_unit, to_nm
from schemas.wrench import Wrench


def load_wrenches(db: sqlite3.Connection) -> tuple[Wrench, ...]:
    """Every wrench of the register with its last calibration, by id."""
    with snapshot(db):
        rows = db.execute("SELECT * FROM wrench ORDER BY wrench").fetchall()
    return tuple(_wrench(row) for row in rows)


def _wrench(row: sqlite3.Row) -> Wrench:
    unit, _ = find_unit(row["unit"])
    low, high = (to_nm(Decimal(row[name]), unit) for name in ("low", "high"))
    return Wrench(
        row["wrench"], row["serial"], row["type"], low, high, row["unit"], row["measures"], Decimal(row["limit_percent"]),
        row["certificate"], _day(row["calibrated_on"]), _day(row["due_on"]), _decimal(row["span_low_nm"]),
        _decimal(row["span_high_nm"]), _day(row["adjusted_on"]), bool(row["simulated"]), _decimal(row["length_mm"]),
    )  # fmt: skip


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
