"""The plans that the database has kept, as the routes that were walked."""

import sqlite3

from analysis.load.database import snapshot
from analysis.load.ledger import plan_at
from schemas.route import Route
from schemas.route_body import route_from_body

MOST = 20
"""How many of one plan are read: an older one was compared with those that came after it."""


def load_routes(db: sqlite3.Connection, plan: str) -> tuple[Route, ...]:
    """The latest kept contents of a plan, the latest first; each content once."""
    with snapshot(db):
        rows = db.execute(
            "SELECT max(seq) AS latest FROM plan WHERE plan = ? GROUP BY content_sha256 ORDER BY latest DESC LIMIT ?",
            (plan, MOST),
        ).fetchall()
        return tuple(route_from_body(plan_at(db, row["latest"]).route) for row in rows)
