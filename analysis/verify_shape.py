"""What a check of a whole file has found, and its first part: whether the file has the shape that the program gave it."""

import sqlite3
from dataclasses import dataclass, field

from schemas.database import DERIVED_STEP, LEDGER_SQL, SCHEMA_VERSION, TRIGGER_SQL, derived_sql, schema_sql

LIBRARY_TABLE = "_sqlite_migrations"
"""Made by the library that keeps the schema up to date, in a form of its own."""
MOST_FINDINGS = 20
"""After so many findings of one sort only their number is told: the first ones say where to look."""


@dataclass(slots=True)
class Checked:
    """What was found: `findings` are lines, empty where all fits; `size` and `head` are recomputed, never read.

    `schema` is the version that the file states. Derived tables of an `older` one are not compared: readers never use them,
    and a program that writes makes them anew.
    """

    schema: int = SCHEMA_VERSION
    older: bool = False
    size: int = 0
    head: str = ""
    simulated: bool = False
    findings: list[str] = field(default_factory=list)

    def find(self, sort: list[str]) -> None:
        """Add the findings of one sort, the first ones in full."""
        self.findings += sort[:MOST_FINDINGS]
        if len(sort) > MOST_FINDINGS:
            self.findings.append(f"… and {len(sort) - MOST_FINDINGS} more of this sort")


def check_shape(db: sqlite3.Connection, checked: Checked) -> None:
    """Tables, indexes and triggers are those that the program made, all of them and no others."""
    there = {row[0] for row in db.execute("SELECT sql FROM sqlite_schema WHERE type = 'trigger'")}
    checked.find([f"trigger {sql.split()[2]} is missing or changed" for sql in TRIGGER_SQL if sql not in there])
    _check_schema(db, checked)


def _check_schema(db: sqlite3.Connection, checked: Checked) -> None:
    """Nothing may stand in the file that the program did not make: a foreign trigger or view can swallow what is written."""
    rows = db.execute("SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE sql IS NOT NULL").fetchall()
    there = {row["sql"] for row in rows}
    # Not by the stated version alone: whoever lowers it must not get his derived tables past the comparison.
    checked.older = (
        checked.schema < SCHEMA_VERSION
        and not there.issuperset(derived_sql())
        and not (any(row["name"] == LIBRARY_TABLE for row in rows) and _was_brought_up(db))
    )
    expected = (*LEDGER_SQL, *TRIGGER_SQL) if checked.older else schema_sql()
    wrong = [
        f"{row['type']} {row['name']} does not belong in the file"
        for row in rows
        if row["sql"] not in expected
        and (row["tbl_name"] != LIBRARY_TABLE or row["type"] == "trigger")
        and not (checked.older and row["type"] in ("table", "index"))
    ]
    wrong += [f"missing or changed in the file: {sql[:60]}" for sql in expected if sql not in {*there, *TRIGGER_SQL}]
    if checked.schema != SCHEMA_VERSION and not checked.older:
        wrong.append(f"the schema's version reads {checked.schema}, it should be {SCHEMA_VERSION}")
    checked.find(wrong)


def _was_brought_up(db: sqlite3.Connection) -> bool:
    return db.execute(f"SELECT 1 FROM {LIBRARY_TABLE} WHERE name = ?", (DERIVED_STEP,)).fetchone() is not None
