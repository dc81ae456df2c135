"""A file that a program of an earlier schema wrote: read as it is, brought up in one step, never half, and still checked.

`schema-1.db` was written by the program of schema 1: a job whose pulls came from a log, with a short pull, an over-pull, a
line that could not be read and a missing number; 39 entries. `schema-2.db` by that of schema 2: a job from a log with a short
pull, an over-pull, an opening, a signature that came too late and a check of the wrench; 35 entries. `schema-3.db` by that of
schema 3: a job from a log whose joint of two stages is confirmed by its stripes, another one let stand by the lead, a bolt not
fitted, and one matched by order only; 46 entries.
"""

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from analysis.load.checks import load_checks
from analysis.load.database import open_audit
from analysis.load.register import load_wrenches
from analysis.verify import verify_file
from collector.cli.main import main
from collector.record import rebuild
from collector.record.recorder import Recorder
from schemas.database import DERIVED_STEP, INDEX_SQL, LEDGER_SQL, PROJECTIONS, SCHEMA_VERSION, TRIGGER_SQL, derived_sql
from schemas.errors import RecordError

DATA = Path(__file__).parents[1] / "data"
HEAD = "8f2f426c50d7beb0b53a7baf059a300ba6ae2274e24a4933d0bb11f286516a26"
HEAD_2 = "313f8dfee0e57b3a1be4c740ddf088c5a0e1fa10669774fb50454fe265901b07"
HEAD_3 = "efac215df53bc6127080b33ecdf02837e6b148b9c16716ae0156492844a38709"
ENTRIES = 39
NOT_COMPARED = "nothing was altered: 39 entries, derived tables of schema 1 not compared, tree head"


@pytest.fixture(name="old")
def _old(tmp_path):
    return Path(shutil.copy(DATA / "schema-1.db", tmp_path / "audit.db"))


@pytest.fixture(name="new")
def _new(old):
    """The same file, brought to the present schema."""
    assert main(["job", "close", "1", "--by", "Runa Veld", "--db", str(old)]) == 0
    with closing(sqlite3.connect(old)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return old


@pytest.fixture(name="run")
def _run(capsys):
    def run(*arguments):
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return run


def alter(path, *statements):
    """What somebody with a plain SQLite program can do: take the triggers off, alter, put them back."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for sql in TRIGGER_SQL:
            db.execute(f"DROP TRIGGER {sql.split()[2]}")
        for sql in (*statements, *TRIGGER_SQL):
            db.execute(sql)


def version(path):
    with closing(sqlite3.connect(path)) as db:
        return db.execute("PRAGMA user_version").fetchone()[0]


def shape(path):
    with closing(sqlite3.connect(path)) as db:
        return {sql for (sql,) in db.execute("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL")}


def contents(path):
    """Everything in the file, by table."""
    with closing(sqlite3.connect(path)) as db:
        names = [name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        return {name: db.execute(f"SELECT * FROM {name}").fetchall() for name in names}


@pytest.mark.parametrize(
    ("number", "entries", "head"),
    [
        pytest.param(1, ENTRIES, HEAD, id="schema-1"),
        pytest.param(2, 35, HEAD_2, id="schema-2"),
        pytest.param(3, 46, HEAD_3, id="schema-3"),
    ],
)
def test_a_fixture_is_what_the_program_of_its_schema_wrote(number, entries, head):
    path = DATA / f"schema-{number}.db"
    # SQLite file format, section 1.3: user version at 60, application id at 68; the write-ahead log is off (18 and 19).
    header = path.read_bytes()[:100]

    assert (header[68:72], int.from_bytes(header[60:64], "big")) == (b"WMK1", number)
    checked = verify_file(path)
    assert (checked.size, checked.head, checked.findings, checked.older) == (entries, head, [], True)
    assert set(LEDGER_SQL) | set(TRIGGER_SQL) <= shape(path)
    assert not set(derived_sql()) <= shape(path)


# As the derived tables of the files have them, and as their programs told them.
LET_STAND = "the lead lets it stand (hub was turned before the caps went on)"
TOLD = {
    1: [
        *(("hub-nuts", number, "doubtful", "matched by order only and not confirmed") for number in (1, 2, 3, 4)),
        ("guard", 1, "failed", "over-torque at reading 10: not opened, not done again"),
        ("guard", 2, "missed", "no tightening of the final stage"),
    ],
    2: [
        ("hub", 1, "doubtful", "matched by order only and not confirmed"),
        ("hub", 2, "missed", "no tightening of the final stage"),
        ("hub", 3, "doubtful", "matched by order only and not confirmed"),
        ("hub", 4, "doubtful", "matched by order only and not confirmed"),
        ("caps", 1, "doubtful", "torqued before `turns` was signed; matched by order only and not confirmed"),
        ("caps", 2, "failed", "over-torque at reading 7: not opened, not done again"),
    ],
    3: [
        *(("hub", number, "proven", "") for number in (1, 2, 3, 4)),
        *(("caps", number, "proven", f"torqued before `turns` was signed: {LET_STAND}") for number in (1, 2)),
        ("guard", 1, "doubtful", "matched by order only and not confirmed"),
        ("guard", 2, "not fitted", "bolt on order"),
    ],
}
PROVEN = {1: 0, 2: 0, 3: 6}
PROOFS_SQL = "SELECT joint, position, proof, why FROM fastener ORDER BY joint, position"


@pytest.mark.parametrize("number", sorted(TOLD))
def test_what_an_old_program_proved_is_proven_today_and_nothing_more(tmp_path, number):
    path = Path(shutil.copy(DATA / f"schema-{number}.db", tmp_path / "audit.db"))
    with closing(sqlite3.connect(path)) as db:
        written = db.execute(PROOFS_SQL).fetchall()
    assert written == sorted(TOLD[number])

    with closing(open_audit(path)) as db:
        assert [tuple(row) for row in db.execute(PROOFS_SQL)] == written
    assert main(["rebuild", str(path)]) == 0
    with closing(sqlite3.connect(path)) as db:
        assert db.execute(PROOFS_SQL).fetchall() == written
        assert db.execute("SELECT complete, proven, p_complete, p_limit FROM job").fetchall() == [(0, PROVEN[number], None, None)]
        assert db.execute("SELECT DISTINCT p_complete FROM joint").fetchall() == [(None,)]
    assert verify_file(path).findings == []


@pytest.mark.parametrize("number", sorted(TOLD))
def test_every_row_of_an_old_file_stands_in_the_present_tables_as_it_was(tmp_path, number):
    """All but the columns that its version did not have."""
    path = Path(shutil.copy(DATA / f"schema-{number}.db", tmp_path / "audit.db"))
    with closing(sqlite3.connect(path)) as old, closing(open_audit(path)) as new:
        names = {name for (name,) in old.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        for table in (table for table in PROJECTIONS if table.name in names):
            columns = ", ".join(row[1] for row in old.execute(f"PRAGMA table_info({table.name})"))
            sql = f"SELECT {columns} FROM {table.name} ORDER BY {', '.join(table.names[: table.keys])}"
            assert [tuple(row) for row in new.execute(sql)] == old.execute(sql).fetchall(), table.name


def test_there_is_a_fixture_of_every_version_before_the_present_one():
    assert {path.name for path in DATA.glob("schema-*.db")} == {f"schema-{number}.db" for number in range(1, SCHEMA_VERSION)}


@pytest.mark.parametrize(
    ("command", "code", "says"),
    [
        pytest.param(("job", "list"), 0, "1  open  WM·T 4711  hubs rev 1  0 of 6 proven  Jonna Brandt", id="job-list"),
        pytest.param(("job", "show", "1"), 1, "1 fastener failed: Guard bolts, 1 (over-torque at reading 10", id="job-show"),
        pytest.param(("job", "show", "1", "--json"), 1, '"complete": false', id="job-show-json"),
        pytest.param(("wrench", "list"), None, "W-140", id="wrench-list"),
        pytest.param(("export", "readings", "--to", "-"), 0, "W-140", id="export"),
        pytest.param(("export", "checks", "--to", "-"), 0, "time,wrench,reference", id="export-no-checks"),
    ],
)
def test_reading_works_and_leaves_the_file_and_its_folder_as_they_are(old, capfdbinary, command, code, says):
    before = old.read_bytes(), sorted(path.name for path in old.parent.iterdir())

    given = main([*command, "--db", str(old)])
    sys.stdout.flush()

    assert code in (given, None)
    assert says in capfdbinary.readouterr().out.decode()
    assert (old.read_bytes(), sorted(path.name for path in old.parent.iterdir())) == before
    assert version(old) == 1


def test_what_later_versions_know_of_a_wrench_is_read_out_of_the_old_entries(old):
    with closing(open_audit(old)) as db:
        (wrench,) = load_wrenches(db)
        assert (wrench.id, str(wrench.limit_percent), wrench.adjusted_on) == ("W-140", "4", None)
        assert str(wrench.due_on) == "2026-11-25"
        assert len(load_checks(db)) == 0


def test_what_is_read_can_not_be_written(old):
    with closing(open_audit(old)) as db, pytest.raises(sqlite3.OperationalError, match="attempt to write a readonly database"):
        db.execute("UPDATE job SET proven = 6")
    with closing(open_audit(old)) as db, pytest.raises(sqlite3.OperationalError, match="attempt to write a readonly database"):
        db.execute("INSERT INTO kept.ledger VALUES (40, '{}', zeroblob(32))")


def test_what_is_read_comes_from_the_ledger_and_not_from_old_tables_that_were_altered(old, run):
    shown = run("job", "show", "1", "--json", "--db", old)[1]
    alter(old, "UPDATE job SET proven = 6, complete = 1", "UPDATE fastener SET proof = 'proven'", "DELETE FROM reading")

    assert run("job", "show", "1", "--json", "--db", old)[1] == shown


def test_verify_says_that_old_derived_tables_are_not_compared(old, run):
    assert run("verify", old) == (0, f"{old}: {NOT_COMPARED} {HEAD}\n", "")


@pytest.mark.parametrize(
    ("statement", "finding"),
    [
        pytest.param("UPDATE ledger SET entry = replace(entry, '9', '8') WHERE seq = 30", "entry 30 was changed", id="entry"),
        pytest.param("DELETE FROM ledger WHERE seq = 20", "entry 20 is missing from the ledger", id="entry-gone"),
        pytest.param("DELETE FROM ledger WHERE seq = 39", "entry 39 missing", id="last-entry-gone"),
        pytest.param("UPDATE private SET value = 'Somebody Else'", "is not the one that was recorded", id="name"),
        pytest.param("CREATE TRIGGER sly AFTER INSERT ON ledger BEGIN SELECT 1; END", "trigger sly does not", id="trigger"),
        pytest.param(
            "CREATE TRIGGER sly AFTER UPDATE ON reading BEGIN SELECT 1; END",
            "trigger sly does not belong in the file",
            id="trigger-on-a-derived-table",
        ),
        pytest.param("CREATE VIEW seen AS SELECT 1", "view seen does not belong in the file", id="view"),
        pytest.param("DROP INDEX ledger_kind", "missing or changed in the file: CREATE INDEX ledger_kind", id="index"),
    ],
)
def test_verify_finds_what_was_altered_in_an_old_file(old, run, statement, finding):
    alter(old, statement)

    code, out, _ = run("verify", old)

    assert code == 1
    assert finding in out
    assert "ALTERED or damaged" in out


@pytest.mark.parametrize("trigger", [sql.split()[2] for sql in TRIGGER_SQL])
def test_a_trigger_taken_out_of_an_old_file_is_found_and_the_file_not_written(old, run, trigger):
    with closing(sqlite3.connect(old)) as db:
        db.execute(f"DROP TRIGGER {trigger}")
    before = contents(old)

    assert f"trigger {trigger} is missing or changed" in run("verify", old)[1]
    assert run("job", "close", "1", "--by", "Li", "--db", old)[0] == 2
    assert (version(old), contents(old)) == (1, before)


def test_a_foreign_trigger_on_a_derived_table_is_not_taken_away_in_silence(old, run):
    alter(old, "CREATE TRIGGER sly AFTER UPDATE ON reading BEGIN SELECT 1; END")

    code, _, error = run("job", "close", "1", "--by", "Li", "--db", old)

    assert code == 2
    assert "trigger sly does not belong there: somebody altered the file; run `verify`" in error
    assert version(old) == 1
    assert "trigger sly does not belong in the file" in run("verify", old)[1]


def test_opening_for_writing_brings_it_up_with_the_same_answer(old, run):
    shown = run("job", "show", "1", "--json", "--db", old)[1]
    kept = {name: rows for name, rows in contents(old).items() if name in ("ledger", "tree_head", "private")}

    run("wrench", "check", "W-140", "--reference", "100", "--shown", "101", "--at", "2026-03-02", "--db", old)

    assert version(old) == SCHEMA_VERSION
    assert set(derived_sql()) <= shape(old)
    assert run("job", "show", "1", "--json", "--db", old)[1] == shown
    now = contents(old)
    assert all(now[name][: len(rows)] == rows for name, rows in kept.items())
    code, out, _ = run("verify", old)
    assert code == 0
    assert "derived tables equal" in out
    with closing(open_audit(old)) as db:
        assert list(load_checks(db)["error_percent"]) == [1.0]


def test_it_is_brought_up_once_and_a_second_opening_makes_nothing_anew(new, monkeypatch):
    def refuse():
        raise AssertionError

    monkeypatch.setattr(rebuild, "derived_sql", refuse)

    assert main(["rebuild", str(new)]) == 0
    assert verify_file(new).findings == []


@pytest.mark.parametrize(
    "statements",
    [
        pytest.param(lambda: (*derived_sql(), "CREATE TABEL x"), id="a-bad-statement-at-the-end"),
        pytest.param(lambda: ("CREATE TABEL x",), id="a-bad-statement-after-the-old-tables-were-dropped"),
        pytest.param(lambda: (*derived_sql()[:-1], f"{INDEX_SQL[-1]} AND nothing = 1"), id="a-bad-index"),
    ],
)
def test_a_step_that_fails_leaves_the_file_as_it_was(old, run, monkeypatch, statements):
    before = contents(old)
    with monkeypatch.context() as patch:
        patch.setattr(rebuild, "derived_sql", statements)
        code, _, error = run("job", "close", "1", "--by", "Li", "--db", old)

    assert code == 2
    assert "cannot be opened for writing" in error
    assert error.count("\n") == 1
    assert (version(old), contents(old)) == (1, before)
    assert run("verify", old)[:2] == (0, f"{old}: {NOT_COMPARED} {HEAD}\n")
    assert run("job", "close", "1", "--by", "Li", "--db", old)[0] == 0
    assert version(old) == SCHEMA_VERSION


def test_a_program_killed_in_the_middle_of_the_step_leaves_the_file_as_it_was(old, run):
    before = contents(old)
    script = (
        "import os, sys\nfrom collector.record import rebuild\nfrom collector.cli.main import main\n"
        "rebuild.rebuild_projections = lambda connection: os._exit(9)\n"
        "main(['job', 'close', '1', '--by', 'Li', '--db', sys.argv[1]])"
    )

    done = subprocess.run([sys.executable, "-c", script, str(old)], check=False)

    assert done.returncode == 9
    assert (version(old), contents(old)) == (1, before)
    assert run("job", "close", "1", "--by", "Li", "--db", old)[0] == 0
    assert verify_file(old).findings == []


def test_a_file_whose_making_was_stopped_before_its_derived_tables_is_read_and_made_to_the_end(monkeypatch, run, floor):
    def stop():
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(rebuild, "derived_sql", stop)
        with pytest.raises(KeyboardInterrupt):
            floor.recorder().__enter__()
    assert version(floor.path) == 0

    assert run("job", "list", "--db", floor.path)[:2] == (0, "")
    with floor.recorder():
        pass
    assert version(floor.path) == SCHEMA_VERSION
    assert verify_file(floor.path).findings == []


def test_a_foreign_table_is_not_dropped_and_is_found(old, run):
    alter(old, "CREATE TABLE mine (note TEXT)", "INSERT INTO mine VALUES ('keep')")

    assert run("job", "close", "1", "--by", "Li", "--db", old)[0] == 0
    assert contents(old)["mine"] == [("keep",)]
    code, out, _ = run("verify", old)
    assert code == 1
    assert "table mine does not belong in the file" in out


def test_a_view_in_the_place_of_a_table_stops_the_step(old, run):
    alter(old, "DROP TABLE report", "CREATE VIEW report AS SELECT 1")

    assert "cannot be opened for writing" in run("job", "close", "1", "--by", "Li", "--db", old)[2]
    assert version(old) == 1
    assert "view report does not belong in the file" in run("verify", old)[1]


@pytest.mark.parametrize(
    "more",
    [
        pytest.param((), id="version-alone"),
        pytest.param(("DROP INDEX reading_job",), id="with-an-index-taken-away"),
        pytest.param(("DROP TABLE report",), id="with-a-table-taken-away"),
        pytest.param((f"DELETE FROM _sqlite_migrations WHERE name = '{DERIVED_STEP}'",), id="without-the-note-of-the-step"),
    ],
)
@pytest.mark.parametrize("stated", [0, 1])
def test_a_lowered_version_does_not_get_altered_tables_past_verify(new, run, stated, more):
    alter(new, f"PRAGMA user_version = {stated}", "UPDATE job SET proven = 6, complete = 1", *more)

    code, out, _ = run("verify", new)

    assert code == 1
    assert f"the schema's version reads {stated}, it should be {SCHEMA_VERSION}" in out
    if "DROP TABLE report" not in more:
        assert "projection job, row (1): complete, proven differs from what the entries say" in out


def test_a_file_made_to_look_older_in_every_way_is_read_and_made_anew_from_its_ledger(new, run):
    shown = run("job", "show", "1", "--json", "--db", new)[1]
    alter(
        new, "PRAGMA user_version = 1", f"DELETE FROM _sqlite_migrations WHERE name = '{DERIVED_STEP}'", "DROP INDEX reading_job",
        "UPDATE job SET proven = 6, complete = 1",
    )  # fmt: skip

    assert "derived tables of schema 1 not compared" in run("verify", new)[1]
    assert run("job", "show", "1", "--json", "--db", new)[1] == shown
    assert run("rebuild", new)[0] == 0
    assert "derived tables equal" in run("verify", new)[1]


@pytest.mark.parametrize("name", ["older", "present"])
def test_a_newer_schema_is_refused_with_both_numbers_and_left_alone(request, run, name):
    path = request.getfixturevalue("old" if name == "older" else "new")
    alter(path, f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    before = path.read_bytes()

    for command in (("job", "list", "--db", path), ("verify", path), ("job", "close", "1", "--by", "Li", "--db", path)):
        code, out, error = run(*command)
        assert (code, out) == (2, "")
        assert f"has schema {SCHEMA_VERSION + 1}, this program" in error
        assert f" {SCHEMA_VERSION};" in error
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        pytest.param(
            "UPDATE ledger SET entry = replace(entry, '\"due_on\":\"2026-11-25\"', '\"due_on\":\"soon\"') WHERE seq = 5",
            "entry 5 cannot be what was recorded (ValueError(",
            id="no-day",
        ),
        pytest.param(
            "UPDATE ledger SET entry = replace(entry, '\"high_nm\":\"200\"', '\"high_nm\":\"x\"') WHERE seq = 3",
            "entry 3 cannot be what was recorded (InvalidOperation(",
            id="no-torque",
        ),
        pytest.param(
            "UPDATE ledger SET entry = json_set(entry, '$.body.job', json('[1]')) WHERE seq = 12",
            "entry 12 cannot be what was recorded (TypeError(",
            id="no-job",
        ),
        pytest.param(
            "UPDATE ledger SET entry = json_set(entry, '$.body.torque_nm', 'x') WHERE seq = 12",
            "an entry cannot be what was recorded (ValueError(",
            id="no-number-in-a-row",
        ),
        pytest.param("UPDATE ledger SET entry = '{}' WHERE seq = 12", "is none of ours", id="no-entry"),
        pytest.param("DROP TABLE ledger", "no such table", id="no-ledger"),
    ],
)
def test_an_old_file_that_was_altered_so_that_nothing_can_be_made_of_it_is_one_line(old, run, statement, says):
    with closing(sqlite3.connect(old, isolation_level=None)) as db:
        for sql in TRIGGER_SQL:
            db.execute(f"DROP TRIGGER {sql.split()[2]}")
        db.execute(statement)
        for sql in TRIGGER_SQL:
            if "DROP" not in statement or " ON ledger" not in sql:
                db.execute(sql)
    before = contents(old)

    code, out, error = run("job", "list", "--db", old)
    assert (code, out) == (2, "")
    assert says in error
    assert error.count("\n") == 1
    assert run("job", "close", "1", "--by", "Li", "--db", old)[0] == 2
    assert (version(old), contents(old)) == (1, before)
    assert run("verify", old)[0] == 1


def test_the_present_file_has_the_tables_of_the_present_version_and_no_more(new):
    with closing(sqlite3.connect(new)) as db:
        names = {name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}

    assert names == {"ledger", "tree_head", "private", "_sqlite_migrations", *(table.name for table in PROJECTIONS)}


def test_a_writer_is_refused_before_a_file_is_brought_up_by_another(old, floor):
    with Recorder(old, floor.clock, "test", "the first"), pytest.raises(RecordError, match="another program writes to it"):
        Recorder(old, floor.clock, "test", "the second").__enter__()
