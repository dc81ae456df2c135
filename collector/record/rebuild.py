"""Makes every projection anew from the ledger, in one transaction."""

import sqlite3

from schemas.bodies import parse_body
from schemas.database import PROJECTIONS
from schemas.entry import decode_entry
from schemas.fold import Fold
from schemas.job_state import At


def rebuild_projections(connection: sqlite3.Connection) -> int:
    """Empty all projections and fill them from the ledger; gives the number of entries. To be called inside a transaction."""
    fold = Fold()
    entries = 0
    for seq, text in connection.execute("SELECT seq, entry FROM ledger ORDER BY seq"):
        entry = decode_entry(text)
        fold.apply(At(seq, entry.at, entry.by), parse_body(entry.kind, entry.body))
        entries += 1
    for table in PROJECTIONS:
        connection.execute(f"DELETE FROM {table.name}")
    for table, row in fold.take_rows():
        connection.execute(table.upsert_sql(), row)
    return entries
