"""The one writer of the ledger: entries, tree head and projections in one transaction, durable before anybody is told."""

import platform
import secrets
import sqlite3
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from collector.record.database import WriterLock, connect_writer
from collector.record.rebuild import rebuild_projections
from schemas.bodies import PROGRAM, Body, PersonNamed, SessionOpened, pack_body
from schemas.clock import Clock, rfc3339
from schemas.database import LEDGER_FORMAT, PLAN_FORMAT, PROJECTIONS
from schemas.entry import Entry, decode_entry, private_hash
from schemas.errors import RecordError
from schemas.fastener_state import At
from schemas.fold import Fold
from schemas.job_state import JobState
from schemas.tree import Frontier, leaf_hash

_REGISTER_KINDS = ("person", "wrench", "wrench length", "calibration", "habits")
# The plan that a job was opened with, and each that it was taken over to.
JOB_PLANS_SQL = (
    "SELECT DISTINCT json_extract(entry, '$.body.plan') FROM ledger WHERE json_extract(entry, '$.body.job') = ?"
    " AND json_extract(entry, '$.kind') IN ('job', 'plan changed') ORDER BY 1"
)
_UPSERTS = {table.name: table.upsert_sql() for table in PROJECTIONS}


class Recorder:
    """Appends entries to the ledger of one file; use it as a context manager, on one thread.

    Nothing may be shown as recorded before the `transaction` that holds it has ended without an error. After a
    RecordError in a transaction nothing more can be written: what was committed before is safe.
    """

    def __init__(self, path: Path, clock: Clock, program: str, holder: str = "witnessmark") -> None:
        self.path = path
        self._clock = clock
        self._program = program
        self._lock = WriterLock(path, holder)
        self._depth = 0
        self._broken = False
        self.fold = Fold()

    def __enter__(self) -> "Recorder":
        self._lock.take()
        try:
            self._db = connect_writer(self.path)
        except RecordError:
            self._lock.give_back()
            raise
        try:
            self._restore()
            with self.transaction():
                self.append(
                    SessionOpened(self._program, LEDGER_FORMAT, PLAN_FORMAT, platform.python_version(), sqlite3.sqlite_version)
                )
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self._db.close()
        self._lock.give_back()

    def _restore(self) -> None:
        self._tree = Frontier.from_leaves(row[0] for row in self._read("SELECT leaf FROM ledger ORDER BY seq"))
        head = next(self._read("SELECT size, root FROM tree_head ORDER BY size DESC LIMIT 1"), None)
        if (head or (0, self._tree.root())) != (self._tree.size, self._tree.root()):
            raise RecordError(f"{self.path}: the ledger does not fit its tree head, so it was altered; run `witnessmark verify`")
        self._head_size = self._tree.size
        for seq, entry in self.register_entries():
            self.fold.take_entry(seq, entry)
        self.fold.take_rows()

    def entries(self, where: str, *values: str | int) -> Iterator[tuple[int, Entry]]:
        """Ledger entries in order, as (number, entry), of the rows that an SQL condition names."""
        for seq, text in list(self._read(f"SELECT seq, entry FROM ledger WHERE {where} ORDER BY seq", *values)):
            yield seq, decode_entry(text)

    def register_entries(self) -> Iterator[tuple[int, Entry]]:
        """The entries of persons, wrenches, calibrations and learned habits."""
        return self.entries(f"json_extract(entry, '$.kind') IN ({', '.join('?' * len(_REGISTER_KINDS))})", *_REGISTER_KINDS)

    def job_entries(self, job: str) -> Iterator[tuple[int, Entry]]:
        """The entries of a job's plans, then all of the job; RecordError where there is none of that number."""
        if not self.query("SELECT plan_seq FROM job WHERE job = ?", job):
            raise RecordError(f"{self.path}: there is no job {job}; see `witnessmark job list`")
        for (plan,) in self.query(JOB_PLANS_SQL, job):
            yield from self.entries("seq = ?", int(str(plan)))
        yield from self.entries("json_extract(entry, '$.body.job') = ?", job)

    def query(self, sql: str, *values: str | int | None) -> list[tuple[object, ...]]:
        """Rows of a question to the projections."""
        try:
            return self._db.execute(sql, values).fetchall()
        except sqlite3.Error as error:
            raise self._unreadable(error) from error

    def _read(self, sql: str, *values: str | int | None) -> Iterator[tuple[Any, ...]]:
        try:
            yield from self._db.execute(sql, values)
        except sqlite3.Error as error:
            raise self._unreadable(error) from error

    def _unreadable(self, error: sqlite3.Error) -> RecordError:
        return RecordError(f"{self.path}: cannot be read ({error}); run `witnessmark verify` on it")

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Everything appended inside becomes durable together at its end; inside another one it belongs to that."""
        if self._depth:
            yield
            return
        if self._broken:
            raise RecordError(f"{self.path}: an earlier write failed; start again, what was shown as recorded is there")
        try:
            self._db.execute("BEGIN IMMEDIATE")
            self._depth = 1
            try:
                yield
                self._write_rows()
                self._db.execute("COMMIT")
            except BaseException:
                # Tree and fold in memory are ahead of the file from here on.
                self._broken = True
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise
            finally:
                self._depth = 0
        except sqlite3.Error as error:
            raise RecordError(
                f"{self.path}: cannot be written ({error}); this pull is NOT recorded, everything shown as recorded before is: "
                "free disk space or mend the disk, then start again"
            ) from error

    def append(self, body: Body, by: str = PROGRAM, at: datetime | None = None, mono_ns: int | None = None) -> int:
        """Append one entry inside a transaction; gives its number. `at` and `mono_ns` are now where not given."""
        entry = Entry(
            body.KIND,
            rfc3339(at or self._clock.now()),
            self._clock.monotonic_ns() if mono_ns is None else mono_ns,
            by,
            secrets.token_hex(16),
            pack_body(body),
        )
        data = entry.encode()
        leaf = leaf_hash(data)
        seq = self._tree.size + 1
        self._db.execute("INSERT INTO ledger (seq, entry, leaf) VALUES (?, ?, ?)", (seq, data.decode(), leaf))
        self._tree.append(leaf)
        self.fold.apply(At(seq, entry.at, by), body)
        return seq

    def _write_rows(self) -> None:
        by_table: dict[str, list[tuple[object, ...]]] = {}
        for table, key in self.fold.take_gone():
            self._db.execute(table.delete_sql(), key)
        for table, row in self.fold.take_rows():
            by_table.setdefault(table.name, []).append(row)
        for table in PROJECTIONS:
            if rows := by_table.get(table.name):
                self._db.executemany(_UPSERTS[table.name], rows)
        if self._tree.size > self._head_size:
            self._db.execute("INSERT INTO tree_head (size, root) VALUES (?, ?)", (self._tree.size, self._tree.root()))
            self._head_size = self._tree.size

    def private(self, field: str, value: str) -> tuple[str, tuple[str, str, str]]:
        """The hash that an entry holds for a private value, and what `keep_private` needs to keep the value itself.

        The salt is the value's own and lies with it in the side table, so that erasing the row leaves nothing to guess by.
        """
        salt = secrets.token_bytes(16)
        return private_hash(salt, value), (field, salt.hex(), value)

    def keep_private(self, seq: int, kept: tuple[str, str, str]) -> None:
        """Keep a private value beside the entry that holds its hash."""
        self._db.execute("INSERT INTO private (seq, field, salt, value) VALUES (?, ?, ?, ?)", (seq, *kept))

    def person(self, name: str) -> str:
        """The id of a person of that name, a new one where the name is new."""
        name = " ".join(unicodedata.normalize("NFC", name).split())
        if not _as_read(name):
            raise RecordError("a name is empty; say who it is")
        known = self.query(
            "SELECT value, person.person FROM person JOIN private ON private.seq = person.seq AND field = 'name'"
        )
        for value, person in known:
            if _as_read(str(value)) == _as_read(name):
                return str(person)
        new = f"person-{self._count('person') + 1}"
        with self.transaction():
            hashed, kept = self.private("name", name)
            self.keep_private(self.append(PersonNamed(new, hashed)), kept)
            # Written at once, so that the same name inside one transaction is found again.
            self._write_person_rows()
        return new

    def _write_person_rows(self) -> None:
        for table, row in self.fold.take_rows():
            self._db.execute(_UPSERTS[table.name], row)

    def _count(self, table: str) -> int:
        return int(str(self.query(f"SELECT count(*) FROM {table}")[0][0]))

    def load_plan(self, seq: int, entry: Entry) -> None:
        """Give the fold a plan that an earlier run kept."""
        if seq not in self.fold.routes:
            self.fold.take_entry(seq, entry)

    def load_check(self, seq: int) -> None:
        """Give the fold the check in that entry, which an earlier run kept."""
        if not self.fold.register.has_check(seq):
            for at_seq, entry in self.entries("seq = ?", seq):
                self.fold.take_entry(at_seq, entry)
            self.fold.take_rows()

    def rebuild(self) -> int:
        """Make every projection anew from the ledger; gives the number of entries read."""
        with self.transaction():
            return rebuild_projections(self._db)

    def load_job(self, job: str) -> JobState:
        """The state of a job from the ledger; RecordError where there is none of that number."""
        if job not in self.fold.jobs:
            for seq, entry in self.job_entries(job):
                # Another job after the same plan may have brought it in.
                if seq not in self.fold.routes:
                    self.fold.take_entry(seq, entry)
            self.fold.take_rows()
        return self.fold.jobs[job]


def _as_read(name: str) -> str:
    """A name as a reader sees it: what differs by case or by signs that cannot be seen is one person."""
    return "".join(sign for sign in name.casefold() if unicodedata.category(sign) != "Cf")
