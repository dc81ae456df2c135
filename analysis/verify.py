"""Recomputes an audit database from its own entries and says what does not fit: leaves, tree heads, projections."""

import sqlite3
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from analysis.load.database import open_as_is
from analysis.verify_ledger import check_ledger, ledger_rows, plain_rows
from analysis.verify_shape import Checked, check_shape
from schemas.database import APPLICATION_ID, PROJECTIONS, Row, Table
from schemas.entry import decode_entry, fits_private
from schemas.errors import AuditError, RecordError
from schemas.fold import NOT_RECORDED, Fold, by_table, many_entries
from schemas.job_rows import TableRow


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
    check_shape(db, checked)
    fold = Fold()
    check_ledger(db, checked, partial(_fold_entry, fold))
    rows = _made_rows(db, checked, fold)
    _check_private(db, checked)
    if not checked.older and not any(finding.startswith("entry") for finding in checked.findings):
        _check_projections(db, checked, rows)
    jobs = any(state.opened.simulated for state in fold.jobs.values())
    checked.simulated = jobs or any(wrench.simulated for wrench in fold.wrenches.values())


def _fold_entry(fold: Fold, seq: int, raw: bytes) -> str | None:
    def apply() -> None:
        fold.take_entry(seq, decode_entry(raw))

    return _trouble(apply)


def _made_rows(db: sqlite3.Connection, checked: Checked, fold: Fold) -> list[TableRow]:
    """Every row that the entries make; none where one of them makes none, and that entry is then looked for."""
    rows: list[TableRow] = []
    if _trouble(lambda: rows.extend(fold.take_rows())):
        checked.findings.append(_first_without_rows(db))
    return rows


def _first_without_rows(db: sqlite3.Connection) -> str:
    fold = Fold()
    troubles = ((seq, _fold_entry(fold, seq, raw) or _trouble(fold.take_rows)) for seq, raw, _ in ledger_rows(db))
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
    rows = db.execute(
        "SELECT private.seq, field, salt, value, json_extract(entry, '$.body.' || field || '_sha256') FROM private "
        "LEFT JOIN ledger ON ledger.seq = private.seq WHERE json_valid(entry) OR entry IS NULL"
    )
    checked.find(
        [
            f"private value `{name}` of entry {seq} is not the one that was recorded"
            for seq, name, salt, value, expected in rows
            if not fits_private(salt, value, expected)
        ]
    )


def _check_projections(db: sqlite3.Connection, checked: Checked, rows: list[TableRow]) -> None:
    expected = by_table(rows)
    wrong: list[str] = []
    for table in PROJECTIONS:
        wrong += _differences(db, table, expected[table.name])
    checked.find(wrong)


def _differences(db: sqlite3.Connection, table: Table, expected: dict[Row, Row]) -> Iterator[str]:
    for row in plain_rows(db, table.select_sql()):
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
