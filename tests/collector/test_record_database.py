"""The file itself: its shape, what its triggers refuse to any SQLite program, who may open it for writing."""

import hashlib
import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from collector.record import database as record_database
from collector.record.database import WriterLock, connect_writer
from schemas.database import APPLICATION_ID, LEDGER_SQL, PROJECTIONS, SCHEMA_VERSION
from schemas.errors import RecordError

LEDGER_COLUMNS = "seq, entry, leaf"
REFUSED = "ledger is append-only: write a correction as a new entry"


@pytest.fixture
def stranger(floor) -> Iterator[sqlite3.Connection]:
    """Another program's plain connection to a file with a few entries; `recursive_triggers` is off, as it is by default."""
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder), floor.pull(50))
    with closing(sqlite3.connect(floor.path, isolation_level=None)) as db:
        yield db


def dump(db: sqlite3.Connection) -> list[tuple[object, ...]]:
    return db.execute(f"SELECT {LEDGER_COLUMNS} FROM ledger").fetchall() + db.execute("SELECT * FROM tree_head").fetchall()


def test_the_file_names_its_program_and_its_schema(stranger):
    # Offsets from the SQLite file format, section 1.3: user version at 60, application id at 68.
    header = Path(stranger.execute("PRAGMA database_list").fetchone()[2]).read_bytes()[:100]

    assert header[68:72] == b"WMK1"
    assert int.from_bytes(header[60:64], "big") == SCHEMA_VERSION
    assert int.from_bytes(header[68:72], "big") == APPLICATION_ID


def test_every_table_of_ours_is_strict(stranger):
    # PRAGMA table_list has the column `strict` since SQLite 3.37.
    tables = {row[1]: row[5] for row in stranger.execute("PRAGMA table_list") if not row[1].startswith(("sqlite_", "_sqlite_"))}

    assert tables == dict.fromkeys(("ledger", "tree_head", "private", *(table.name for table in PROJECTIONS)), 1)


def test_a_strict_table_refuses_a_value_of_another_type(stranger):
    with pytest.raises(sqlite3.IntegrityError, match=r"cannot store TEXT value in INTEGER column person\.seq"):
        stranger.execute("INSERT INTO person VALUES ('person-9', 'nine')")


def test_the_writer_works_in_wal_with_full_synchronisation(recorder):
    assert recorder.query("PRAGMA journal_mode") == [("wal",)]
    assert recorder.query("PRAGMA synchronous") == [(2,)]  # 2 is FULL: SQLite documentation, PRAGMA synchronous
    assert recorder.query("PRAGMA foreign_keys") == [(1,)]


@pytest.mark.parametrize(
    "statement",
    [
        pytest.param("UPDATE ledger SET entry = '{}' WHERE seq = 2", id="update"),
        pytest.param("UPDATE ledger SET seq = 99 WHERE seq = 2", id="renumber"),
        pytest.param("DELETE FROM ledger WHERE seq = 2", id="delete-in-the-middle"),
        pytest.param("DELETE FROM ledger", id="delete-all"),
        pytest.param("INSERT OR REPLACE INTO ledger VALUES (2, '{}', zeroblob(32))", id="insert-or-replace"),
        pytest.param("REPLACE INTO ledger VALUES (2, '{}', zeroblob(32))", id="replace"),
        pytest.param("INSERT INTO ledger VALUES (2, '{}', zeroblob(32))", id="insert-over-a-key"),
        pytest.param("INSERT OR IGNORE INTO ledger VALUES (2, '{}', zeroblob(32))", id="insert-or-ignore"),
        pytest.param(
            "INSERT INTO ledger VALUES (2, '{}', zeroblob(32)) ON CONFLICT (seq) DO UPDATE SET entry = excluded.entry",
            id="upsert",
        ),
        pytest.param("INSERT INTO ledger VALUES ((SELECT max(seq) + 2 FROM ledger), '{}', zeroblob(32))", id="gap"),
        pytest.param("INSERT INTO ledger VALUES (0, '{}', zeroblob(32))", id="nought"),
        pytest.param("INSERT INTO ledger (entry, leaf) VALUES ('{}', zeroblob(32))", id="no-number"),
    ],
)
def test_the_ledger_refuses_everything_but_the_next_entry(stranger, statement):
    before = dump(stranger)

    assert stranger.execute("PRAGMA recursive_triggers").fetchone() == (0,)
    with pytest.raises(sqlite3.IntegrityError, match=REFUSED):
        stranger.execute(statement)
    assert dump(stranger) == before


@pytest.mark.parametrize(
    "statement",
    [
        pytest.param("UPDATE tree_head SET root = zeroblob(32)", id="update"),
        pytest.param("DELETE FROM tree_head", id="delete"),
        pytest.param("INSERT OR REPLACE INTO tree_head SELECT max(size), zeroblob(32) FROM tree_head", id="insert-or-replace"),
        pytest.param("INSERT INTO tree_head VALUES (2, zeroblob(32))", id="insert-behind-the-last"),
    ],
)
def test_the_tree_heads_only_grow(stranger, statement):
    before = dump(stranger)

    with pytest.raises(sqlite3.IntegrityError, match="tree_head is append-only: write a correction as a new entry"):
        stranger.execute(statement)
    assert dump(stranger) == before


def test_a_leaf_is_32_bytes(stranger):
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
        stranger.execute("INSERT INTO ledger VALUES ((SELECT max(seq) + 1 FROM ledger), '{}', zeroblob(31))")


@pytest.mark.parametrize(
    "trigger",
    ["ledger_update", "ledger_delete", "ledger_insert", "tree_head_update", "tree_head_delete", "tree_head_insert"],
)
def test_without_one_of_its_triggers_the_file_is_not_written(stranger, floor, trigger):
    stranger.execute(f"DROP TRIGGER {trigger}")
    before = dump(stranger)

    with pytest.raises(RecordError, match=f"trigger {trigger} is missing or changed: somebody altered the file; run `verify`"):
        floor.recorder().__enter__()
    assert dump(stranger) == before


def test_a_trigger_that_does_nothing_is_no_trigger(stranger, floor):
    stranger.execute("DROP TRIGGER ledger_update")
    stranger.execute("CREATE TRIGGER ledger_update BEFORE UPDATE ON ledger BEGIN SELECT 1; END")

    with pytest.raises(RecordError, match="trigger ledger_update is missing or changed"):
        floor.recorder().__enter__()


def test_a_newer_schema_is_refused_with_both_numbers_and_left_alone(stranger, floor):
    stranger.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    before = dump(stranger)

    with pytest.raises(RecordError, match=f"has schema {SCHEMA_VERSION + 1}, this program knows up to {SCHEMA_VERSION};"):
        floor.recorder().__enter__()
    assert dump(stranger) == before


def foreign_sqlite(path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE stock (part TEXT)")
        db.commit()


def damaged(path: Path) -> None:
    with closing(connect_writer(path)):
        pass
    data = bytearray(path.read_bytes())
    data[100:4096] = bytes(3996)  # page 1 keeps its file header and loses the schema
    path.write_bytes(data)


@pytest.mark.parametrize(
    ("make", "match"),
    [
        pytest.param(foreign_sqlite, "not an audit database of Witnessmark; name another file with --db", id="foreign-sqlite"),
        pytest.param(
            lambda path: path.write_text("time,torque\n" * 200),
            r"cannot be opened for writing \(file is not a database\)",
            id="text",
        ),
        pytest.param(damaged, r"cannot be opened for writing \(database disk image is malformed\)", id="damaged"),
    ],
)
def test_what_is_no_audit_database_is_refused_and_left_as_it_was(floor, make, match):
    make(floor.path)
    before = hashlib.sha256(floor.path.read_bytes()).hexdigest()

    with pytest.raises(RecordError, match=match):
        floor.recorder().__enter__()
    assert hashlib.sha256(floor.path.read_bytes()).hexdigest() == before


def test_a_folder_is_refused(floor):
    floor.path.mkdir()

    with pytest.raises(RecordError, match=r"audit\.db: is a folder; name a file with --db"):
        floor.recorder().__enter__()


def test_a_place_below_a_file_is_refused(floor, tmp_path):
    (tmp_path / "taken").write_text("a file")
    floor.path = tmp_path / "taken" / "audit.db"

    with pytest.raises(RecordError, match=r"audit\.db: cannot be locked for writing"):
        floor.recorder().__enter__()
    with pytest.raises(RecordError, match=r"audit\.db: cannot be opened for writing .*check the folder"):
        connect_writer(floor.path)


def test_missing_folders_are_made(floor, tmp_path):
    floor.path = tmp_path / "a" / "b" / "audit.db"

    with floor.recorder() as recorder:
        assert recorder.query("SELECT count(*) FROM ledger") == [(1,)]


@pytest.mark.parametrize("stopped_at", ["before the migrations", "in the first migration"])
def test_a_file_whose_making_was_stopped_is_made_to_the_end(floor, monkeypatch, stopped_at):
    if stopped_at == "before the migrations":
        with closing(sqlite3.connect(floor.path)) as db:
            db.execute("PRAGMA journal_mode = WAL")
    else:
        monkeypatch.setattr(record_database, "LEDGER_SQL", (*LEDGER_SQL, "CREATE TABLE this is no SQL"))
        with pytest.raises(RecordError, match="cannot be opened for writing"):
            floor.recorder().__enter__()
        monkeypatch.undo()
        with closing(sqlite3.connect(floor.path)) as db:
            assert db.execute("SELECT name FROM sqlite_schema WHERE name = 'ledger'").fetchall() == []

    with floor.recorder() as recorder:
        assert recorder.query("SELECT seq FROM ledger") == [(1,)]


def test_an_sqlite_without_strict_tables_is_refused(floor, monkeypatch):
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 36, 9))
    monkeypatch.setattr(sqlite3, "sqlite_version", "3.36.9")

    with pytest.raises(RecordError, match=r"SQLite 3\.36\.9 is too old; 3\.37 or newer is needed"):
        connect_writer(floor.path)


def test_a_second_writer_in_the_same_program_is_refused_and_told_who_writes(floor, recorder):
    with pytest.raises(RecordError, match=rf"another program writes to it \(test bench, pid {os.getpid()}\); wait for it"):
        floor.recorder("another").__enter__()

    floor.run(floor.bench(recorder), floor.pull(50))
    assert recorder.query("SELECT count(*) FROM reading") == [(1,)]


HOLDER = """\
import sys
from pathlib import Path
from collector.cli.place import SystemClock
from collector.record.recorder import Recorder
with Recorder(Path(sys.argv[1]), SystemClock(), "witnessmark 0", "the bench by the door"):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_a_second_writing_program_ends_with_2_and_names_the_first(floor, tmp_path):
    (tmp_path / "drawbar.yaml").write_text(floor.text, encoding="utf-8")
    opening = ["job", "open", str(tmp_path / "drawbar.yaml"), "--item", "WX 17", "--db", str(floor.path)]
    command = [sys.executable, "-m", "collector.cli.main", *opening]

    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(floor.path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout.readline() == "held\n"
        refused = subprocess.run(command, capture_output=True, text=True, check=False)
        holder.communicate()
    allowed = subprocess.run(command, capture_output=True, text=True, check=False)

    assert refused.returncode == 2
    assert refused.stdout == ""
    assert refused.stderr == (
        f"witnessmark: {floor.path}: another program writes to it (the bench by the door, pid {holder.pid}); "
        "wait for it, or do this on its screen\n"
    )
    assert (holder.returncode, allowed.returncode, allowed.stdout) == (0, 0, "1\n")


def test_a_writer_that_cannot_open_the_file_gives_its_place_back(floor):
    foreign_sqlite(floor.path)
    with pytest.raises(RecordError, match="not an audit database"):
        floor.recorder().__enter__()
    floor.path.unlink()

    with floor.recorder() as recorder:
        assert recorder.query("SELECT seq FROM ledger") == [(1,)]


def test_who_holds_the_file_may_be_unknown(floor, recorder):
    floor.path.with_name("audit.db.holder").unlink()

    with pytest.raises(RecordError, match=r"another program writes to it \(holder not known\)"):
        floor.recorder().__enter__()


def test_a_place_that_does_not_take_the_holder_is_given_back(floor):
    floor.path.with_name("audit.db.holder").mkdir()

    with pytest.raises(RecordError, match=r"audit\.db\.holder: cannot be written \(Is a directory\)"):
        floor.recorder().__enter__()
    floor.path.with_name("audit.db.holder").rmdir()
    with floor.recorder() as recorder:
        assert recorder.query("SELECT seq FROM ledger") == [(1,)]


def test_a_lock_that_cannot_be_made_is_an_error_of_ours(floor):
    floor.path.with_name("audit.db.lock").mkdir()

    with pytest.raises(RecordError, match=r"audit\.db: cannot be locked for writing"):
        floor.recorder().__enter__()


def test_a_place_that_was_never_taken_can_be_given_back(floor):
    WriterLock(floor.path, "nobody").give_back()

    assert not floor.path.with_name("audit.db.holder").exists()
