"""The shape of the audit database, asserted on SQLite itself: append-only ledger, strict tables, rows put over a key."""

import sqlite3
from contextlib import closing

import pytest

from schemas import database as shape
from schemas.database import APPLICATION_ID, PROJECTIONS, Table, schema_sql

LEAF = bytes(32)


@pytest.fixture(name="db")
def _db():
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        for statement in schema_sql():
            db.execute(statement)
        db.execute("INSERT INTO ledger VALUES (1, '{\"kind\":\"frame\",\"body\":{\"job\":\"1\"}}', ?)", (LEAF,))
        db.execute("INSERT INTO tree_head VALUES (1, ?)", (LEAF,))
        yield db


def test_the_file_is_marked_with_four_letters():
    assert APPLICATION_ID.to_bytes(4, "big") == b"WMK1"


# A plain connection, without the setting that makes INSERT OR REPLACE fire delete triggers.
@pytest.mark.parametrize(
    ("table", "statement"),
    [
        pytest.param("ledger", "UPDATE ledger SET entry = '{}' WHERE seq = 1", id="update"),
        pytest.param("ledger", "DELETE FROM ledger", id="delete"),
        pytest.param("ledger", "INSERT INTO ledger VALUES (1, '{}', zeroblob(32))", id="insert-over-a-key"),
        pytest.param("ledger", "INSERT OR REPLACE INTO ledger VALUES (1, '{}', zeroblob(32))", id="replace"),
        pytest.param("ledger", "REPLACE INTO ledger (seq, entry, leaf) VALUES (1, '{}', zeroblob(32))", id="replace-short"),
        pytest.param(
            "ledger",
            "INSERT INTO ledger VALUES (1, '{}', zeroblob(32)) ON CONFLICT (seq) DO UPDATE SET entry = excluded.entry",
            id="upsert",
        ),
        pytest.param("ledger", "INSERT INTO ledger VALUES (3, '{}', zeroblob(32))", id="a-number-left-out"),
        pytest.param("ledger", "INSERT INTO ledger VALUES (0, '{}', zeroblob(32))", id="a-number-before-the-first"),
        pytest.param("tree_head", "UPDATE tree_head SET root = zeroblob(32)", id="head-update"),
        pytest.param("tree_head", "DELETE FROM tree_head", id="head-delete"),
        pytest.param("tree_head", "INSERT OR REPLACE INTO tree_head VALUES (1, zeroblob(32))", id="head-replace"),
        pytest.param("tree_head", "INSERT INTO tree_head VALUES (0, zeroblob(32))", id="head-of-an-earlier-size"),
    ],
)
def test_what_was_recorded_cannot_be_changed_by_mistake(db, table, statement):
    before = db.execute(f"SELECT * FROM {table}").fetchall()

    with pytest.raises(sqlite3.IntegrityError, match=f"{table} is append-only: write a correction as a new entry"):
        db.execute(statement)

    assert db.execute(f"SELECT * FROM {table}").fetchall() == before


def test_the_next_entry_and_a_later_head_are_taken(db):
    db.execute("INSERT INTO ledger VALUES (2, '{}', ?)", (LEAF,))
    db.execute("INSERT INTO tree_head VALUES (2, ?)", (LEAF,))

    assert db.execute("SELECT max(seq) FROM ledger").fetchone() == (2,)
    assert db.execute("SELECT max(size) FROM tree_head").fetchone() == (2,)


@pytest.mark.parametrize("length", [0, 31, 33])
def test_a_leaf_has_the_length_of_a_hash(db, length):
    with pytest.raises(sqlite3.IntegrityError, match=r"CHECK constraint failed: length\(leaf\) = 32"):
        db.execute("INSERT INTO ledger VALUES (2, '{}', ?)", (bytes(length),))


@pytest.mark.parametrize(
    ("where", "index"),
    [
        pytest.param("json_extract(entry, '$.body.job') = '1'", "ledger_job", id="of-a-job"),
        pytest.param("json_extract(entry, '$.kind') = 'frame'", "ledger_kind", id="of-a-kind"),
    ],
)
def test_entries_are_found_by_an_index_and_not_by_reading_the_whole_ledger(db, where, index):
    plan = " ".join(row[3] for row in db.execute(f"EXPLAIN QUERY PLAN SELECT seq FROM ledger WHERE {where}"))

    assert f"USING COVERING INDEX {index}" in plan or f"USING INDEX {index}" in plan
    assert db.execute(f"SELECT seq FROM ledger WHERE {where}").fetchall() == [(1,)]


def test_every_table_is_strict(db):
    listed = "SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND name NOT LIKE 'sqlite_%'"
    tables = db.execute(listed).fetchall()

    assert {name for name, _ in tables} == {"ledger", "tree_head", "private", *(table.name for table in PROJECTIONS)}
    assert all(strict for _, strict in tables)


def row_of(table, text="x"):
    values = {"TEXT": text, "INTEGER": 1, "REAL": 1.5}
    return tuple(values[kind.split()[0]] for _, kind in table.columns)


@pytest.mark.parametrize("table", PROJECTIONS, ids=lambda table: table.name)
def test_a_row_is_put_over_the_one_of_the_same_key_and_read_back_in_the_order_of_the_key(db, table):
    first, second = row_of(table), row_of(table, "y")
    keys = tuple(2 if value == 1 else value for value in second[: table.keys])
    second = (*keys, *second[table.keys :])

    for row in (second, first, first):
        db.execute(table.upsert_sql(), row)

    assert db.execute(table.select_sql()).fetchall() == [first, second]


@pytest.mark.parametrize("table", [shape.JOINT, shape.FASTENER, shape.TIGHTENING], ids=lambda table: table.name)
def test_a_row_is_taken_out_by_its_whole_key(db, table):
    rows = [row_of(table)]
    for place in range(table.keys):
        other = [*rows[0]]
        other[place] = 2 if other[place] == 1 else "y"
        rows.append(tuple(other))
    for row in rows:
        db.execute(table.upsert_sql(), row)

    db.execute(table.delete_sql(), rows[0][: table.keys])

    assert sorted(db.execute(table.select_sql()).fetchall()) == sorted(rows[1:])


@pytest.mark.parametrize("table", PROJECTIONS, ids=lambda table: table.name)
def test_only_columns_that_say_so_may_be_empty(db, table):
    for place, (name, kind) in enumerate(table.columns):
        row = [*row_of(table)]
        row[place] = None
        if "NOT NULL" in kind and name != "seq":
            with pytest.raises(sqlite3.IntegrityError, match=f"NOT NULL constraint failed: {table.name}.{name}"):
                db.execute(table.upsert_sql(), row)
        elif "NOT NULL" not in kind:
            db.execute(table.upsert_sql(), row)


def test_a_newer_value_takes_the_place_of_the_older_one_in_every_other_column(db):
    db.execute(shape.FASTENER.upsert_sql(), ("1", "hub", 2, "missed", "no tightening"))
    db.execute(shape.FASTENER.upsert_sql(), ("1", "hub", 2, "proven", ""))

    assert db.execute(shape.FASTENER.select_sql()).fetchall() == [("1", "hub", 2, "proven", "")]


def test_a_table_of_nothing_but_keys_keeps_its_row():
    table = Table("stripe", (("joint", "TEXT NOT NULL"), ("position", "INTEGER NOT NULL")), 2)
    with closing(sqlite3.connect(":memory:")) as db:
        db.execute(table.create_sql())
        db.execute(table.upsert_sql(), ("hub", 1))
        db.execute(table.upsert_sql(), ("hub", 1))

        assert db.execute(table.select_sql()).fetchall() == [("hub", 1)]


def test_a_text_is_no_number_in_a_strict_table(db):
    with pytest.raises(sqlite3.IntegrityError, match=r"cannot store TEXT value in INTEGER column"):
        db.execute(shape.FASTENER.upsert_sql(), ("1", "hub", "two", "missed", ""))


@pytest.mark.parametrize("table", [shape.READING, shape.NOT_READ], ids=lambda table: table.name)
def test_a_record_of_a_log_is_stored_once_and_readings_without_identity_as_often_as_they_come(db, table):
    identity = table.names.index("identity")

    def row(seq, value):
        values = [*row_of(table)]
        values[0], values[identity] = seq, value
        return values

    for seq, value in ((1, None), (2, None), (3, "a"), (4, "b")):
        db.execute(table.upsert_sql(), row(seq, value))

    with pytest.raises(sqlite3.IntegrityError, match=f"UNIQUE constraint failed: {table.name}.identity"):
        db.execute(table.upsert_sql(), row(5, "a"))
