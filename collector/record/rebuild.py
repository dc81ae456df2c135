"""Makes every derived table anew from the ledger, in one transaction."""

import sqlite3

from schemas.database import PROJECTIONS, derived_sql
from schemas.fold import derived_rows


def rebuild_projections(connection: sqlite3.Connection) -> int:
    """Empty all projections and fill them from the ledger; gives the number of entries. To be called inside a transaction."""
    rows = derived_rows(connection.execute("SELECT seq, entry FROM ledger ORDER BY seq"))
    for table in PROJECTIONS:
        connection.execute(f"DELETE FROM {table.name}")
    for table, row in rows:
        connection.execute(table.upsert_sql(), row)
    return int(connection.execute("SELECT count(*) FROM ledger").fetchone()[0])


def remake_derived(connection: sqlite3.Connection) -> None:
    """Take away the derived tables of an older version, make those of the present one and fill them; inside a transaction."""
    # By name, so that a table that another program put there stays for `verify` to find.
    for table in PROJECTIONS:
        connection.execute(f"DROP TABLE IF EXISTS {table.name}")
    for statement in derived_sql():
        connection.execute(statement)
    rebuild_projections(connection)
