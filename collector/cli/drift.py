"""`witnessmark wrench list` and `wrench drift`: what has to be done first, and how the error of a wrench goes over time."""

import argparse
import json
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from collector.cli.chart import write_chart
from collector.cli.place import SystemClock, database_path, say, tell
from schemas.units import torque_text

if TYPE_CHECKING:
    from analysis.measure_due import Due


def run_list(chosen: argparse.Namespace) -> int:
    """Print every wrench, what has to be done first on top."""
    from analysis.load.checks import load_checks
    from analysis.load.database import open_audit
    from analysis.load.register import load_wrenches
    from analysis.measure_due import measure_due

    with closing(open_audit(database_path(chosen.db))) as db:
        found = measure_due(load_wrenches(db), load_checks(db), SystemClock().now().date())
    if chosen.json:
        say(json.dumps({"format": 1, "wrenches": [_json(due) for due in found]}, ensure_ascii=False, indent=1))
    else:
        for due in found:
            _say_due(due)
    if not found:
        tell("the register is empty; add a wrench with `witnessmark wrench add`")
    return 0


def _say_due(due: "Due") -> None:
    wrench = due.wrench
    span = f"{torque_text(wrench.low_nm)} to {torque_text(wrench.high_nm)} N·m"
    say(f"{wrench.id}: {'OVERDUE: ' if due.is_overdue else ''}{due.what}{' SIMULATED' if wrench.simulated else ''}")
    say(f"    {wrench.type}, serial {wrench.serial}, {span}; {due.calibration}; {due.checked}")
    for finding in due.findings:
        say(f"    {finding}")


def _json(due: "Due") -> dict[str, Any]:
    wrench = due.wrench
    return {
        "wrench": wrench.id,
        "serial": wrench.serial,
        "type": wrench.type,
        "low_nm": torque_text(wrench.low_nm),
        "high_nm": torque_text(wrench.high_nm),
        "measures": wrench.measures,
        "limit_percent": str(wrench.limit_percent),
        "certificate": wrench.certificate,
        "calibrated_on": _iso(wrench.calibrated_on),
        "due_on": _iso(wrench.due_on),
        "adjusted_on": _iso(wrench.adjusted_on),
        "last_check": _iso(due.last_day),
        "do_first": due.what,
        "do_by": _iso(due.by),
        "overdue": due.is_overdue,
        "findings": list(due.findings),
        **({"simulated": 1} if wrench.simulated else {}),
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else str(day)


def run_drift(chosen: argparse.Namespace) -> int:
    """Say how the error of a wrench goes, and draw it where asked; 1 where its last check, or its line there, lies outside."""
    from analysis.answer_drift import drift_json
    from analysis.load.database import open_audit
    from analysis.measure_wrench import measure_wrench
    from analysis.wording_drift import finding

    today = SystemClock().now().date()
    database = database_path(chosen.db)
    with closing(open_audit(database)) as db:
        drift = measure_wrench(db, chosen.wrench)
    if chosen.chart:
        write_chart(drift, Path(chosen.chart), database, today)
        tell(f"{chosen.chart}: the drift of wrench {drift.wrench.id}")
    limit = float(drift.wrench.limit_percent)
    if chosen.json:
        say(json.dumps(drift_json(drift, today), ensure_ascii=False, indent=1))
    else:
        mark = " SIMULATED" if drift.wrench.simulated else ""
        for line in drift.lines:
            say(f"{finding(line, limit, today)}{mark}")
    if not drift.lines:
        since = f" since it was adjusted on {drift.wrench.adjusted_on}" if drift.wrench.adjusted_on else ""
        tell(f"wrench {drift.wrench.id} has no checks{since}; record them with `witnessmark wrench check`")
    return 1 if any(line.is_outside(limit) for line in drift.lines) else 0

