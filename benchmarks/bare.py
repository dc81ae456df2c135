"""The baselines on SQLite: a bare table that takes the same bytes as the ledger, and nothing else."""

import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from pathlib import Path


class BareTable:
    """One table of texts in WAL with `synchronous=FULL`, as the audit database has it."""

    def __init__(self, path: Path) -> None:
        self._db = sqlite3.connect(path, isolation_level=None)
        self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")
        self._db.execute("CREATE TABLE bare (seq INTEGER PRIMARY KEY, entry TEXT NOT NULL)")

    def commit(self, text: str) -> None:
        """One INSERT and its commit."""
        self._db.execute("BEGIN IMMEDIATE")
        self._db.execute("INSERT INTO bare (entry) VALUES (?)", (text,))
        self._db.execute("COMMIT")

    def commit_all(self, texts: Iterable[str]) -> None:
        """Many INSERTs and one commit."""
        self._db.execute("BEGIN IMMEDIATE")
        self._db.executemany("INSERT INTO bare (entry) VALUES (?)", ((text,) for text in texts))
        self._db.execute("COMMIT")

    def close(self) -> None:
        """Close the file."""
        self._db.close()


def entry_texts(path: Path, after: int = 0) -> Sequence[str]:
    """The texts of the ledger's entries after one number, in order."""
    with closing(sqlite3.connect(path)) as db:
        return [row[0] for row in db.execute("SELECT entry FROM ledger WHERE seq > ? ORDER BY seq", (after,))]
