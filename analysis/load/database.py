"""Opens the audit database for reading and reads rows out of it; nothing here can change the file."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import fields
from pathlib import Path
from typing import Any, TypeVar

from schemas.bodies import PROGRAM
from schemas.database import APPLICATION_ID, SCHEMA_VERSION, derived_sql
from schemas.errors import RecordError
from schemas.fold import derived_rows

_Made = TypeVar("_Made")


def open_audit(path: Path) -> sqlite3.Connection:
    """A reading connection to an audit database; it never writes and never checkpoints. The caller closes it.

    Of a file of an older schema the derived tables are made anew in memory, and the file itself stays as it is.

    Raises:
        RecordError: no such file, not an audit database of ours, of a newer schema, or not readable.
    """
    db, version = open_as_is(path)
    if version < SCHEMA_VERSION:
        db = _with_present_tables(db, path)
    db.row_factory = sqlite3.Row
    return db


def open_as_is(path: Path) -> tuple[sqlite3.Connection, int]:
    """A reading connection to the file with the tables that it holds, and the version of its schema; errors as above."""
    if not path.is_file():
        raise RecordError(f"{path}: there is no such file; open a job first, or name another database with --db")
    # Plain sqlite3 on purpose: sqlite_utils takes 0.3 s to load and adds nothing to reading.
    db: sqlite3.Connection | None = None
    try:
        db = sqlite3.connect(_uri(path), uri=True, isolation_level=None)
        application_id, version = (int(db.execute(f"PRAGMA {name}").fetchone()[0]) for name in ("application_id", "user_version"))
    except sqlite3.Error as error:
        if db is not None:
            db.close()
        if getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_NOTADB:
            raise _foreign(path) from error
        raise RecordError(f"{path}: cannot be read ({error}); check the file and its folder") from error
    if application_id != APPLICATION_ID:
        db.close()
        raise _foreign(path)
    if version > SCHEMA_VERSION:
        db.close()
        raise RecordError(f"{path}: has schema {version}, this program reads up to schema {SCHEMA_VERSION}; use a newer program")
    return db, version


def _uri(path: Path) -> str:
    # Where no -wal lies beside the file, nobody writes: a plain reader would leave -wal and -shm behind, unasked.
    alone = "" if path.with_name(f"{path.name}-wal").exists() else "&immutable=1"
    return f"{path.resolve().as_uri()}?mode=ro{alone}"


def _with_present_tables(old: sqlite3.Connection, path: Path) -> sqlite3.Connection:
    """The file's ledger with derived tables of the present version in memory, which hide those of the file."""
    old.close()
    db = sqlite3.connect("file::memory:", uri=True, isolation_level=None)
    try:
        db.execute("ATTACH ? AS kept", (_uri(path),))
        for statement in derived_sql():
            db.execute(statement)
        for table, row in derived_rows(db.execute("SELECT seq, entry FROM kept.ledger ORDER BY seq")):
            db.execute(table.upsert_sql(), row)
        db.execute("PRAGMA query_only = ON")
    except sqlite3.Error as error:
        db.close()
        raise RecordError(f"{path}: cannot be read ({error}); run `witnessmark verify` on it") from error
    except RecordError:
        db.close()
        raise
    return db


def _foreign(path: Path) -> RecordError:
    return RecordError(f"{path} is not a Witnessmark audit database; name another file with --db")


@contextmanager
def snapshot(db: sqlite3.Connection) -> Iterator[None]:
    """Everything read inside is of one moment, also while a writer goes on; RecordError where the file is damaged."""
    try:
        db.execute("BEGIN")
        yield
    except sqlite3.Error as error:
        file = db.execute("SELECT file FROM pragma_database_list WHERE file <> ''").fetchone()[0]
        raise RecordError(f"{file}: cannot be read ({error}); run `witnessmark verify` on it") from error
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")


def made(kind: Callable[..., _Made], row: sqlite3.Row, **more: object) -> _Made:
    """A record from the columns that bear the names of its fields; `more` are those that no column holds."""
    known: Any = kind
    columns = {
        field.name: bool(row[field.name]) if field.type is bool else row[field.name]
        for field in fields(known)
        if field.name not in more
    }
    return kind(**columns, **more)


def person_names(db: sqlite3.Connection) -> dict[str, str]:
    """The name of each id that an entry can be by; an erased name is said to be erased."""
    rows = db.execute(
        "SELECT person.person, private.value FROM person LEFT JOIN private ON private.seq = person.seq AND private.field = 'name'"
    )
    names = {person: f"{person} (name erased)" if name is None else name for person, name in rows}
    return {"": "not named", PROGRAM: "the program", **names}
