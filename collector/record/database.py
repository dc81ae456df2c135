"""Opens the audit database for writing: one writer a file, schema made or checked, triggers in place."""

import os
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from collector.record.rebuild import remake_derived
from schemas.database import APPLICATION_ID, DERIVED_STEP, LEDGER_SQL, SCHEMA_VERSION, TRIGGER_SQL
from schemas.errors import RecordError

if TYPE_CHECKING:
    from sqlite_utils import Database

OLDEST_SQLITE = (3, 37, 0)  # the first with STRICT tables


_TRIGGER_NAMES = {sql.split()[2] for sql in TRIGGER_SQL}


class WriterLock:
    """The one place for a writer beside a database file; it holds who has it, for the others to read."""

    def __init__(self, path: Path, holder: str) -> None:
        if not path.name or path.is_dir():
            raise RecordError(f"{path}: is a folder; name a file with --db")
        self._path = path
        self._lock = FileLock(path.with_name(path.name + ".lock"))
        self._holder_path = path.with_name(path.name + ".holder")
        self._holder = f"{holder}, pid {os.getpid()}"

    def take(self) -> None:
        """Take the place; RecordError naming the holder where somebody has it."""
        try:
            self._lock.acquire(timeout=0)
        except Timeout as error:
            raise RecordError(
                f"{self._path}: another program writes to it ({self._other()}); wait for it, or do this on its screen"
            ) from error
        except OSError as error:
            raise RecordError(f"{self._path}: cannot be locked for writing ({error.strerror}); choose another file") from error
        try:
            self._holder_path.write_text(self._holder, encoding="utf-8")
        except OSError as error:
            self.give_back()
            raise RecordError(
                f"{self._holder_path}: cannot be written ({error.strerror}); free disk space, or choose another place"
            ) from error

    def _other(self) -> str:
        try:
            return self._holder_path.read_text(encoding="utf-8")
        except OSError:
            return "holder not known"

    def give_back(self) -> None:
        """Leave the place to others."""
        if self._lock.is_locked:
            # What is left of it harms nobody: the next writer writes it anew.
            with suppress(OSError):
                self._holder_path.unlink()
            self._lock.release()


def connect_writer(path: Path) -> sqlite3.Connection:
    """A connection to a new or existing audit database, durable at each commit (WAL, synchronous=FULL).

    RecordError where the file is not ours, is newer than this program, is damaged, or where a trigger is missing.
    """
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise RecordError(f"SQLite {sqlite3.sqlite_version} is too old; 3.37 or newer is needed: use a newer Python")
    new = not path.exists() or path.stat().st_size == 0
    connection: sqlite3.Connection | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(path, isolation_level=None)
        if not new:
            _refuse_foreign(connection, path)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        _migrate(connection)
        _check_triggers(connection, path)
    except (sqlite3.Error, OSError) as error:
        if connection is not None:
            connection.close()
        raise RecordError(f"{path}: cannot be opened for writing ({error}); check the folder, or choose another file") from error
    except RecordError:
        if connection is not None:
            connection.close()
        raise
    return connection


def _refuse_foreign(connection: sqlite3.Connection, path: Path) -> None:
    application_id = connection.execute("PRAGMA application_id").fetchone()[0]
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if application_id == version == 0 and _is_half_made(connection):
        return
    if application_id != APPLICATION_ID:
        raise RecordError(f"{path}: not an audit database of Witnessmark; name another file with --db")
    if version > SCHEMA_VERSION:
        raise RecordError(
            f"{path}: has schema {version}, this program knows up to {SCHEMA_VERSION}; use the program that wrote it"
        )
    # Already here: a new schema takes the triggers on derived tables away, and with them what tells of an altered file.
    _check_triggers(connection, path)


def _is_half_made(connection: sqlite3.Connection) -> bool:
    """Whether the program that began to make the file was stopped before it came to the first migration."""
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    return tables <= {"_sqlite_migrations"}


def _migrate(connection: sqlite3.Connection) -> None:
    """Bring the schema up to date; each step and the note that it was done are one transaction.

    Files of schema 1 have the first step behind them. The ledger keeps its shape for good; every later version makes the
    derived tables anew from it, so that one step serves all versions.
    """
    from sqlite_utils import Database, Migrations

    migrations = Migrations("witnessmark")

    @migrations(name="schema-1")
    def _ledger(database: "Database") -> None:
        for statement in (*LEDGER_SQL, *TRIGGER_SQL):
            database.execute(statement)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")

    @migrations(name=DERIVED_STEP)
    def _derived(_: "Database") -> None:
        remake_derived(connection)
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")

    migrations.apply(Database(connection))


def _check_triggers(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse a ledger whose triggers are missing or changed: someone has been at it by hand."""
    triggers = dict(connection.execute("SELECT sql, name FROM sqlite_schema WHERE type = 'trigger'").fetchall())
    there = set(triggers)
    foreign = sorted(triggers[sql] for sql in there.difference(TRIGGER_SQL) if triggers[sql] not in _TRIGGER_NAMES)
    if foreign:
        raise RecordError(f"{path}: trigger {foreign[0]} does not belong there: somebody altered the file; run `verify`")
    missing = [sql.split()[2] for sql in TRIGGER_SQL if sql not in there]
    if missing:
        raise RecordError(f"{path}: trigger {missing[0]} is missing or changed: somebody altered the file; run `verify`")
