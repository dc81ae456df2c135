"""What the checks of wrenches say, read in one moment: the wrench, its checks, a line of drift for each check torque."""

import sqlite3
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.load import ledger
from analysis.load.checks import load_checks
from analysis.load.database import snapshot
from analysis.load.register import load_wrenches
from analysis.measure_drift import DriftLine, measure_drift, with_theil_sen
from schemas.bodies import Calibrated
from schemas.check import day_of
from schemas.errors import RecordError
from schemas.wrench import Wrench

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class WrenchDrift:
    """One wrench with its checks (columns as `load_checks`), lines by check torque, and days of calibration with a label."""

    wrench: Wrench
    checks: "pd.DataFrame"
    lines: tuple[DriftLine, ...]
    calibrations: tuple[tuple[float, str], ...]


def measure_wrench(db: sqlite3.Connection, wrench_id: str) -> WrenchDrift:
    """The drift of one wrench; RecordError where the register has no such wrench."""
    wrenches = {wrench.id: wrench for wrench in load_wrenches(db)}
    if wrench_id not in wrenches:
        there = f"there are {', '.join(list(wrenches)[:10])}" if wrenches else "it is empty"
        raise RecordError(f"wrench `{wrench_id}` is not in the register; {there}")
    checks = load_checks(db, wrench_id)
    lines = tuple(with_theil_sen(line, checks) for line in measure_drift(checks))
    return WrenchDrift(wrenches[wrench_id], checks, lines, _calibrations(db, wrench_id))


def _calibrations(db: sqlite3.Connection, wrench_id: str) -> tuple[tuple[float, str], ...]:
    where = "json_extract(entry, '$.body.wrench') = ?"
    with snapshot(db):
        found = [calibrated for _, calibrated in ledger.entries(db, Calibrated, where, wrench_id)]
    return tuple((day_of(paper.calibrated_on), "adjusted" if paper.adjusted else "calibrated") for paper in found)
