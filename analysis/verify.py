"""Recomputes an audit database from its own entries and says what does not fit: leaves, tree heads, projections."""

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from analysis.load.database import open_as_is
from schemas.bodies import parse_body
from schemas.database import (
    APPLICATION_ID,
    DERIVED_STEP,
    LEDGER_SQL,
    PROJECTIONS,
    SCHEMA_VERSION,
    TRIGGER_SQL,
    Row,
    Table,
    derived_sql,
    schema_sql,
)
from schemas.entry import decode_entry, private_hash
from schemas.errors import AuditError, RecordError
from schemas.fold import NOT_RECORDED, Fold, many_entries
from schemas.job_rows import TableRow
from schemas.job_state import At
from schemas.tree import Frontier, leaf_hash

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


def verify_file(path: Path) -> Checked:
    """Check a whole file; RecordError only where it is not an audit database of ours or cannot be read at all."""
    checked = Checked()
    try:
        db, checked.schema = open_as_is(path)
        db.row_factory = sqlite3.Row
    except RecordError as error:
        if not _is_ours_and_damaged(path, error.__cause__):
            raise
        checked.findings.append(f"the file is damaged: SQLite says {error.__cause__}")
        return checked
    try:
        db.execute("BEGIN")
        with many_entries():
            _check(db, checked)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        # Names and messages out of a damaged schema need not be text.
        checked.findings.append(f"the file is damaged: SQLite says {error}")
    finally:
        db.close()
    return checked


def _is_ours_and_damaged(path: Path, cause: BaseException | None) -> bool:
    """Whether a file that SQLite cannot make sense of still bears our mark where an SQLite file has its application id."""
    if getattr(cause, "sqlite_errorcode", None) not in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return False
    with path.open("rb") as file:
        return file.read(72)[68:] == APPLICATION_ID.to_bytes(4, "big")


def _check(db: sqlite3.Connection, checked: Checked) -> None:
    damage = [str(row[0]) for row in db.execute("PRAGMA integrity_check") if row[0] != "ok"]
    checked.find([f"the file is damaged: {line}" for line in damage])
    _check_triggers(db, checked)
    fold = Fold()
    check_ledger(db, checked, partial(_fold_entry, fold))
    rows = _made_rows(db, checked, fold)
    _check_private(db, checked)
    if not checked.older and not any(finding.startswith("entry") for finding in checked.findings):
        _check_projections(db, checked, rows)
    jobs = any(state.opened.simulated for state in fold.jobs.values())
    checked.simulated = jobs or any(wrench.simulated for wrench in fold.wrenches.values())


def _check_triggers(db: sqlite3.Connection, checked: Checked) -> None:
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


def check_ledger(db: sqlite3.Connection, checked: Checked, take: Callable[[int, bytes], str | None]) -> None:
    """Leaves, numbers and tree heads; `take` is given each entry and says what is wrong with its content, if anything.

    From the first entry on that is missing, inserted or wrong in itself, nothing is given to `take` any more.
    """
    heads = dict(db.execute("SELECT size, root FROM tree_head ORDER BY size").fetchall())
    tree, wrong, expected, good_head = Frontier(), [], 1, 0
    foldable = True
    for seq, raw, leaf in _ledger_rows(db):
        if seq != expected:
            wrong.append(_misplaced(expected, seq))
            foldable = False
            expected = max(expected, seq)
        if seq == expected:
            expected += 1
        recomputed = leaf_hash(raw)
        if recomputed != leaf:
            wrong.append(f"entry {seq} was changed: its content does not fit the hash it was stored with")
        tree.append(recomputed)
        if foldable:
            trouble = take(seq, raw)
            if trouble:
                wrong.append(f"entry {seq} cannot be what was recorded: {trouble}")
                foldable = False
        head = heads.get(seq)
        if head is not None and tree.size == seq:
            if tree.root() == head:
                good_head = seq
            elif not wrong:
                where = _range(good_head + 1, seq)
                wrong.append(f"entry {where}: changed, swapped, inserted or removed; the tree head stored then differs")
    last = max(heads, default=0)
    if last >= expected:
        wrong.append(f"entry {_range(expected, last)} missing: a tree head of {last} entries is stored")
    elif last < tree.size:
        wrong.append(f"entry {_range(last + 1, tree.size)} not covered by any tree head: inserted by another program")
    checked.size, checked.head = tree.size, tree.root().hex()
    checked.find(wrong)


def _misplaced(expected: int, seq: int) -> str:
    if seq < expected:
        return f"entry {seq} was inserted: the ledger's numbers begin with 1"
    return f"entry {_range(expected, seq - 1)} {'is' if seq - 1 == expected else 'are'} missing from the ledger"


def _range(first: int, last: int) -> str:
    return str(first) if first >= last else f"{first} to {last}"


def _ledger_rows(db: sqlite3.Connection) -> Iterator[tuple[int, bytes, bytes]]:
    # As bytes: an altered entry need not be text any more.
    return _plain_rows(
        db, "SELECT seq, coalesce(CAST(entry AS BLOB), x''), coalesce(CAST(leaf AS BLOB), x'') FROM ledger ORDER BY seq"
    )


def _plain_rows(db: sqlite3.Connection, sql: str) -> Iterator[Any]:
    """Rows as tuples without names, of which there can be very many."""
    cursor = db.cursor()
    cursor.row_factory = None
    return cursor.execute(sql)


def _fold_entry(fold: Fold, seq: int, raw: bytes) -> str | None:
    def apply() -> None:
        entry = decode_entry(raw)
        fold.apply(At(seq, entry.at, entry.by), parse_body(entry.kind, entry.body))

    return _trouble(apply)


def _made_rows(db: sqlite3.Connection, checked: Checked, fold: Fold) -> list[TableRow]:
    """Every row that the entries make; none where one of them makes none, and that entry is then looked for."""
    rows: list[TableRow] = []
    if _trouble(lambda: rows.extend(fold.take_rows())):
        checked.findings.append(_first_without_rows(db))
    return rows


def _first_without_rows(db: sqlite3.Connection) -> str:
    fold = Fold()
    troubles = ((seq, _fold_entry(fold, seq, raw) or _trouble(fold.take_rows)) for seq, raw, _ in _ledger_rows(db))
    seq, trouble = next((seq, trouble) for seq, trouble in troubles if trouble)
    return f"entry {seq} cannot be what was recorded: {trouble}"


def _trouble(attempt: Callable[[], object]) -> str | None:
    """What is wrong with an entry's content, as it shows where something is made of it."""
    try:
        attempt()
    except AuditError as error:
        return str(error)
    except NOT_RECORDED as error:
        return repr(error)
    return None


def _check_private(db: sqlite3.Connection, checked: Checked) -> None:
    """A name, item or plate that is still kept must be the one whose hash its entry holds."""
    wrong = []
    rows = db.execute(
        "SELECT private.seq, field, salt, value, json_extract(entry, '$.body.' || field || '_sha256') FROM private "
        "LEFT JOIN ledger ON ledger.seq = private.seq WHERE json_valid(entry) OR entry IS NULL"
    )
    for seq, name, salt, value, expected in rows:
        try:
            fits = private_hash(bytes.fromhex(salt), value) == expected
        except (ValueError, RecordError):
            fits = False
        if not fits:
            wrong.append(f"private value `{name}` of entry {seq} is not the one that was recorded")
    checked.find(wrong)


def _check_projections(db: sqlite3.Connection, checked: Checked, rows: list[TableRow]) -> None:
    expected: dict[str, dict[Row, Row]] = {table.name: {} for table in PROJECTIONS}
    for table, row in rows:
        expected[table.name][row[: table.keys]] = row
    wrong: list[str] = []
    for table in PROJECTIONS:
        wrong += _differences(db, table, expected[table.name])
    checked.find(wrong)


def _differences(db: sqlite3.Connection, table: Table, expected: dict[Row, Row]) -> Iterator[str]:
    for row in _plain_rows(db, table.select_sql()):
        right = expected.pop(row[: table.keys], None)
        if right is None:
            yield f"projection {table.name} has a row {_key(row, table)} that no entry makes"
        elif right != row:
            names = ", ".join(name for name, a, b in zip(table.names, row, right, strict=True) if a != b)
            yield f"projection {table.name}, row {_key(row, table)}: {names} differs from what the entries say"
    for key in expected:
        yield f"projection {table.name} lacks the row {_key(key, table)}"


def _key(row: Row, table: Table) -> str:
    return "(" + ", ".join(str(value) for value in row[: table.keys]) + ")"
