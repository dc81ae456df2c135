"""`witnessmark job due`: the retorques that jobs still ask for, the one that is due first on top."""

import argparse
import json
from contextlib import closing
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from collector.cli.place import SystemClock, database_path, say, tell
from collector.cli.wording import plain
from schemas.errors import RecordError
from schemas.follow_up import Followed

if TYPE_CHECKING:
    from analysis.load.due import RetorqueRow


def run_due(chosen: argparse.Namespace) -> int:
    """Print every retorque that waits to be done; --all prints those that were done, offered, or not tightened yet too."""
    from analysis.load.database import open_audit
    from analysis.load.due import load_retorques

    if chosen.within is not None and chosen.within < 0:
        raise RecordError(f"--within {chosen.within}: a number of days from 0 on is wanted")
    now = SystemClock().now()
    with closing(open_audit(database_path(chosen.db))) as db:
        rows = [row for row in load_retorques(db) if _is_asked(row, chosen, now)]
    if chosen.json:
        say(json.dumps({"format": 1, "due": [_json(row, now) for row in rows]}, ensure_ascii=False, indent=1))
        return 0
    for row in rows:
        say(_line(row, now))
    if not rows:
        tell("no retorque is waiting" if not chosen.all else "no plan of these jobs asks for a retorque")
    return 0


def _is_asked(row: "RetorqueRow", chosen: argparse.Namespace, now: datetime) -> bool:
    if chosen.item is not None and _key(row.item or "") != _key(chosen.item):
        return False
    if not chosen.all and (row.is_settled or row.since is None):
        return False
    # Nobody knows on which day a distance is driven, so a number of days leaves none of those out.
    return chosen.within is None or row.due_at is None or row.due_at <= now + timedelta(days=chosen.within)


def _key(item: str) -> str:
    return " ".join(item.split()).casefold()


def _line(row: "RetorqueRow", now: datetime) -> str:
    cells = (
        f"job {row.job} step {row.step}",
        row.item or "(item erased)",
        "; ".join(row.names),
        f"{row.span}, {row.method}",
        _since(row),
        *_followed(row),
    )
    mark = "  SIMULATED" if row.simulated else ""
    return "  ".join(plain(cell) for cell in (_when(row, now), *cells)) + mark


def _when(row: "RetorqueRow", now: datetime) -> str:
    if row.is_settled:
        return str(row.state)
    if row.due_at is None:
        return "by distance" if row.since else "not yet"
    return f"{'OVERDUE' if row.is_overdue(now) else 'due'} {_time(row.due_at, row)}"


def _time(at: datetime, row: "RetorqueRow") -> str:
    """A day; with the minute where less than a day was given."""
    is_short = row.since is not None and row.due_at is not None and row.due_at - row.since < timedelta(days=1)
    return f"{at:%Y-%m-%d %H:%M} UTC" if is_short else f"{at:%Y-%m-%d}"


def _since(row: "RetorqueRow") -> str:
    if row.since is None:
        return "not tightened yet"
    told = _time(row.since, row)
    return f"tightened {told}" if row.since_is_certain else f"tightened before {told} (when it was recorded)"


def _followed(row: "RetorqueRow") -> tuple[str, ...]:
    last = row.follow_ups[-1] if row.follow_ups else None
    match None if last is None else last.state:
        case Followed.OPEN:
            return (f"job {row.follow_ups[-1].job} is open for it",)
        case Followed.UNFINISHED:
            return (f"job {row.follow_ups[-1].job} was closed with {row.follow_ups[-1].untouched} not pulled",)
        case Followed.DONE:
            return (f"in job {row.follow_ups[-1].job}{row.follow_ups[-1].remarks}",)
        case Followed.NOT_DONE:
            return (f"job {row.follow_ups[-1].job}: {row.follow_ups[-1].reason or 'no reason given'}",)
    return ()


def _json(row: "RetorqueRow", now: datetime) -> dict[str, Any]:
    return {
        "job": row.job,
        "step": row.step,
        "item": row.item,
        "order": row.order_no,
        "plan": row.plan,
        "revision": row.revision,
        "joints": list(row.joints),
        "names": list(row.names),
        "span": row.span,
        "method": row.method,
        "since": _iso(row.since),
        "since_is_certain": row.since_is_certain,
        "due_at": _iso(row.due_at),
        "late_at": _iso(row.late_at),
        "overdue": row.is_overdue(now) if not row.is_settled else False,
        "state": str(row.state),
        "follow_ups": [
            {"job": one.job, "state": str(one.state), "complete": one.complete, "reason": one.reason} for one in row.follow_ups
        ],
        **({"simulated": 1} if row.simulated else {}),
    }  # fmt: skip


def _iso(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat()
