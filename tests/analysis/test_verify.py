"""Attacks on a real file: each is named, with the entry or the row that it hurt; a clean file has no finding."""

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from analysis.verify import verify_file
from analysis.verify_shape import MOST_FINDINGS, Checked
from collector.cli.main import main
from collector.record.checks import add_checks
from schemas.bodies import CheckMade, HandedOver, JointAdded, PlanChanged, PlanKept
from schemas.database import PROJECTIONS, SCHEMA_VERSION, TRIGGER_SQL
from schemas.entry import Entry, canonical, decode_entry
from schemas.errors import RecordError
from schemas.frame import LinkChange
from schemas.plan.load import load_plan
from schemas.route_body import joint_to_body, route_to_body
from schemas.screen import Press, PressWord
from schemas.tree import leaf_hash, root_of
from schemas.words import Link

Attack = Callable[[sqlite3.Connection], object]


@pytest.fixture
def day(floor) -> Path:
    """The file of a small day: some pulls, a revision, a name, a signature, an unreadable line."""
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        add_checks(recorder, [CheckMade("W-7", "2026-03-02", "100", "101", "N·m", "100", "101")], "person-1")
        floor.run(
            bench, LinkChange("serial:/dev/bench", Link.OPEN, floor.clock.now(), 1), floor.pull(50), floor.pull(40),
            floor.pull(60), floor.pull(100), floor.pull(101), Press(PressWord.YES), Press(PressWord.YES, name="Ole Brand"),
            floor.frame(b"@half"), floor.pull(80),
        )  # fmt: skip
    return floor.path


@pytest.fixture
def handed_over(day, floor) -> Path:
    """The file of that day, on which then a joint was added, the work handed over, and the plan changed."""
    with floor.recorder() as recorder, recorder.transaction():
        guard = {**joint_to_body(recorder.load_job("1").route.joint("guard")), "id": "spare", "name": "Spare wheel clamp"}
        recorder.append(JointAdded("1", guard, "Shop sheet 9"), "person-1")
        for signs, by in (("leaver", "person-1"), ("taker", "person-2")):
            recorder.append(HandedOver("1", signs, "person-1", "person-2", ("Guard: not begun",)), by)
        later = floor.text.replace("fasteners: 2, torque: 20", "fasteners: 3, torque: 20").encode()
        route = load_plan(later, "drawbar.yaml")
        kept = PlanKept(route.plan, "drawbar.yaml", "ab" * 32, route.content_sha256, later.decode(), route_to_body(route))
        recorder.append(PlanChanged("1", recorder.append(kept), "the guard has three bolts"), "person-1")
    return day


def attack(path: Path, act: Attack, triggers: bool = True) -> None:
    """Alter the file as somebody with a plain SQLite program can: without its triggers, put back afterwards."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for sql in TRIGGER_SQL:
            db.execute(f"DROP TRIGGER {sql.split()[2]}")
        act(db)
        if triggers:
            for sql in TRIGGER_SQL:
                db.execute(sql)
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def seq_of(path: Path, kind: str, nth: int = 0) -> int:
    with closing(sqlite3.connect(path)) as db:
        sql = "SELECT seq FROM ledger WHERE json_extract(entry, '$.kind') = ? ORDER BY seq LIMIT 1 OFFSET ?"
        return int(db.execute(sql, (kind, nth)).fetchone()[0])


def size_of(path: Path) -> int:
    with closing(sqlite3.connect(path)) as db:
        return int(db.execute("SELECT max(seq) FROM ledger").fetchone()[0])


def heads_of(path: Path) -> list[int]:
    with closing(sqlite3.connect(path)) as db:
        return [row[0] for row in db.execute("SELECT size FROM tree_head ORDER BY size")]


def put(db: sqlite3.Connection, seq: int, entry: bytes, leaf: bytes | None = None) -> None:
    db.execute("UPDATE ledger SET entry = ? WHERE seq = ?", (entry.decode(), seq))
    if leaf is not None:
        db.execute("UPDATE ledger SET leaf = ? WHERE seq = ?", (leaf, seq))


def get(db: sqlite3.Connection, seq: int) -> bytes:
    return db.execute("SELECT CAST(entry AS BLOB) FROM ledger WHERE seq = ?", (seq,)).fetchone()[0]


def renumber(db: sqlite3.Connection, first: int, by: int) -> None:
    db.execute("UPDATE ledger SET seq = -seq WHERE seq >= ?", (first,))
    db.execute("UPDATE ledger SET seq = -seq + ? WHERE seq < 0", (by,))


def commit_range(path: Path, seq: int) -> str:
    """The entries of the commit that an entry was written in, as verify names them."""
    heads = [0, *heads_of(path)]
    place = next(place for place, size in enumerate(heads) if size >= seq)
    first, last = heads[place - 1] + 1, heads[place]
    return str(first) if first == last else f"{first} to {last}"


def found(path: Path) -> list[str]:
    return verify_file(path).findings


@pytest.fixture
def command(capsys):
    """Runs `witnessmark verify` and gives its exit status and standard output."""

    def run(path: Path, *more: str) -> tuple[int, str]:
        status = main(["verify", str(path), *more])
        return status, capsys.readouterr().out

    return run


def test_a_file_that_nobody_touched_is_clean(day, command):
    size = size_of(day)
    with closing(sqlite3.connect(day)) as db:
        head = root_of(row[0] for row in db.execute("SELECT leaf FROM ledger ORDER BY seq")).hex()

    assert verify_file(day) == Checked(SCHEMA_VERSION, False, size, head)
    assert command(day) == (0, f"{day}: nothing was altered: {size} entries, derived tables equal, tree head {head}\n")
    status, said = command(day, "--json")
    assert (status, json.loads(said)) == (
        0, {"format": 1, "file": str(day), "entries": size, "tree_head": head, "findings": []},
    )  # fmt: skip


def test_a_file_with_a_joint_added_a_hand_over_and_another_plan_is_clean(handed_over):
    assert verify_file(handed_over).findings == []


def test_verifying_does_not_change_the_file(day):
    before = day.read_bytes()

    verify_file(day)

    assert day.read_bytes() == before


def test_a_file_is_verified_while_it_is_written(floor, recorder):
    floor.run(floor.bench(recorder), floor.pull(50))

    assert verify_file(floor.path).findings == []


def test_a_simulated_file_says_so(floor, command):
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder, simulated=True), floor.pull(50))

    status, said = command(floor.path)
    assert (status, said.endswith(" SIMULATED\n")) == (0, True)
    assert json.loads(command(floor.path, "--json")[1])["simulated"] == 1


def test_a_file_with_nothing_but_its_first_entry_is_clean(floor):
    with floor.recorder():
        pass

    checked = verify_file(floor.path)
    assert (checked.size, checked.findings, checked.simulated) == (1, [], False)


# --- entries


def test_one_changed_byte_of_an_entry_is_named(day, command):
    seq = seq_of(day, "reading", 3)
    before = verify_file(day)
    attack(day, lambda db: put(db, seq, get(db, seq).replace(b'"torque":"100"', b'"torque":"109"')))

    assert (verify_file(day).size, verify_file(day).head == before.head) == (before.size, False)
    assert found(day) == [f"entry {seq} was changed: its content does not fit the hash it was stored with"]
    status, said = command(day)
    assert status == 1
    assert f"{day}: entry {seq} was changed" in said
    assert f"{day}: ALTERED or damaged: 1 findings; {size_of(day)} entries, tree head " in said


def test_a_changed_entry_with_its_hash_made_anew_is_found_in_its_commit(day):
    seq = seq_of(day, "reading", 3)

    def act(db):
        forged = get(db, seq).replace(b'"torque":"100"', b'"torque":"109"')
        put(db, seq, forged, leaf_hash(forged))

    attack(day, act)

    assert found(day) == [
        f"entry {commit_range(day, seq)}: changed, swapped, inserted or removed; the tree head stored then differs"
    ]


def test_changed_entry_hash_and_following_heads_leave_other_rows_that_do_not_fit(day):
    # Who alters the entry, every head after it and the derived rows makes a whole new record: only a head that left the
    # building shows that. Who forgets one derived row is found.
    seq = seq_of(day, "reading", 3)

    def act(db):
        forged = get(db, seq).replace(b'"torque":"100","torque_nm":"100"', b'"torque":"109","torque_nm":"109"')
        put(db, seq, forged, leaf_hash(forged))
        leaves = [row[0] for row in db.execute("SELECT leaf FROM ledger ORDER BY seq")]
        for size in heads_of(day):
            db.execute("UPDATE tree_head SET root = ? WHERE size = ?", (root_of(leaves[:size]), size))

    before = verify_file(day).head
    attack(day, act)

    checked = verify_file(day)
    assert checked.findings == [
        f"projection reading, row ({seq}): torque, torque_nm, torque_nm_real differs from what the entries say"
    ]
    assert checked.head != before


def test_an_entry_taken_out_of_the_middle_is_named(day):
    seq = seq_of(day, "reading", 2)
    attack(day, lambda db: db.execute("DELETE FROM ledger WHERE seq = ?", (seq,)))

    assert found(day) == [f"entry {seq} is missing from the ledger"]


def test_entries_taken_out_of_the_middle_are_named(day):
    seq = seq_of(day, "reading", 2)
    attack(day, lambda db: db.execute("DELETE FROM ledger WHERE seq BETWEEN ? AND ?", (seq, seq + 2)))

    assert found(day) == [f"entry {seq} to {seq + 2} are missing from the ledger"]


def test_an_entry_taken_out_and_the_rest_renumbered_is_found_in_its_commit(day):
    seq, size = seq_of(day, "not read"), size_of(day)
    where = commit_range(day, seq)

    def act(db):
        db.execute("DELETE FROM ledger WHERE seq = ?", (seq,))
        renumber(db, seq + 1, -1)

    attack(day, act)

    findings = found(day)
    assert f"entry {where}: changed, swapped, inserted or removed; the tree head stored then differs" in findings
    assert f"entry {size} missing: a tree head of {size} entries is stored" in findings


@pytest.mark.parametrize("the_same", [False, True], ids=["another-salt", "the-very-same-entry"])
def test_an_entry_put_in_is_found_in_its_commit(day, the_same):
    seq = seq_of(day, "reading", 3) - 1
    where = commit_range(day, seq)

    def act(db):
        entry = decode_entry(get(db, seq))
        forged = entry if the_same else Entry(entry.kind, entry.at, entry.mono_ns, entry.by, "0" * 32, entry.body)
        renumber(db, seq, 1)
        raw = forged.encode()
        db.execute("INSERT INTO ledger VALUES (?, ?, ?)", (seq, raw.decode(), leaf_hash(raw)))

    attack(day, act)

    findings = found(day)
    assert any(finding.startswith(f"entry {where}: changed, swapped, inserted or removed") for finding in findings)
    assert f"entry {size_of(day)} not covered by any tree head: inserted by another program" in findings


def test_an_entry_put_at_the_end_is_named(day):
    size = size_of(day)

    def act(db):
        raw = get(db, size)
        db.execute("INSERT INTO ledger VALUES (?, ?, ?)", (size + 1, raw.decode(), leaf_hash(raw)))

    attack(day, act)

    assert found(day) == [f"entry {size + 1} not covered by any tree head: inserted by another program"]


def test_an_entry_put_before_the_first_is_named(day):
    def act(db):
        raw = get(db, 1)
        db.execute("INSERT INTO ledger VALUES (-4, ?, ?)", (raw.decode(), leaf_hash(raw)))

    attack(day, act)

    assert found(day)[0] == "entry -4 was inserted: the ledger's numbers begin with 1"


def swap(db: sqlite3.Connection, one: int, other: int, leaves: bool) -> None:
    first, second = get(db, one), get(db, other)
    put(db, one, second, leaf_hash(second) if leaves else None)
    put(db, other, first, leaf_hash(first) if leaves else None)


def test_two_swapped_entries_without_their_hashes_are_both_named(day):
    one, other = seq_of(day, "frame", 2), seq_of(day, "frame", 3)
    attack(day, lambda db: swap(db, one, other, leaves=False))

    assert found(day) == [
        f"entry {seq} was changed: its content does not fit the hash it was stored with" for seq in (one, other)
    ]


def test_two_swapped_entries_with_their_hashes_are_found_from_the_first_on(day):
    one, other = seq_of(day, "frame", 2), seq_of(day, "frame", 3)
    attack(day, lambda db: swap(db, one, other, leaves=True))

    assert found(day) == [
        f"entry {commit_range(day, one)}: changed, swapped, inserted or removed; the tree head stored then differs"
    ]


def test_two_swapped_entries_that_cannot_follow_each_other_are_named(day):
    # The match would come before its reading.
    reading = seq_of(day, "reading", 3)
    attack(day, lambda db: swap(db, reading, reading + 1, leaves=True))

    said = "cannot be what was recorded: the ledger speaks of job 1, or of a reading in it, before it is there"
    assert found(day)[0].startswith(f"entry {reading} {said}")


def test_a_tail_taken_off_is_named_by_the_heads_that_stayed(day):
    size = size_of(day)
    attack(day, lambda db: db.execute("DELETE FROM ledger WHERE seq > ?", (size - 5,)))

    assert found(day) == [f"entry {size - 4} to {size} missing: a tree head of {size} entries is stored"]


def test_a_tail_taken_off_with_its_heads_is_found_by_the_derived_tables(day):
    cut = heads_of(day)[-2]

    def act(db):
        db.execute("DELETE FROM ledger WHERE seq > ?", (cut,))
        db.execute("DELETE FROM tree_head WHERE size > ?", (cut,))

    attack(day, act)

    findings = found(day)
    assert f"projection reading has a row ({cut + 2}) that no entry makes" in findings
    assert "projection job, row (1): doubtful, missed, readings differs from what the entries say" in findings


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"not JSON", id="no-json"),
        pytest.param(b"[]", id="a-list"),
        pytest.param(b'{"v":1}', id="too-little"),
        pytest.param(b'{"v":2}', id="a-later-form"),
        pytest.param(b"[" * 2000, id="deep"),
    ],
)
def test_an_entry_that_is_none_is_named(day, raw):
    seq = seq_of(day, "match")
    attack(day, lambda db: (put_raw(db, seq, raw), db.execute("UPDATE ledger SET leaf = ? WHERE seq = ?", (leaf_hash(raw), seq))))

    assert any(finding.startswith(f"entry {seq} cannot be what was recorded: ") for finding in found(day))


def put_raw(db: sqlite3.Connection, seq: int, raw: bytes) -> None:
    for name in ("ledger_job", "ledger_kind"):
        db.execute(f"DROP INDEX {name}")
    db.execute("UPDATE ledger SET entry = CAST(? AS TEXT) WHERE seq = ?", (raw, seq))


def test_an_entry_that_is_no_text_any_more_is_named(day):
    seq = seq_of(day, "match")
    attack(day, lambda db: put_raw(db, seq, b"\xff\xfe{"))

    assert f"entry {seq} was changed: its content does not fit the hash it was stored with" in found(day)


@pytest.mark.parametrize("column", ["entry", "leaf"])
def test_an_emptied_entry_is_named(day, column):
    seq = seq_of(day, "match")
    with closing(sqlite3.connect(day)) as db:
        (sql,) = db.execute("SELECT sql FROM sqlite_schema WHERE name = 'ledger'").fetchone()
    # NOT NULL stands in the schema only, and who can write the file can write that, and put it back.
    for text, act in ((sql.replace(" NOT NULL", ""), f"UPDATE ledger SET {column} = NULL WHERE seq = {seq}"), (sql, "SELECT 1")):
        with closing(sqlite3.connect(day, isolation_level=None)) as db:
            db.execute("PRAGMA writable_schema = ON")
            db.execute("UPDATE sqlite_schema SET sql = ? WHERE name = 'ledger'", (text,))
        attack(day, lambda db, act=act: db.execute(act))

    assert f"entry {seq} was changed: its content does not fit the hash it was stored with" in found(day)


OTHER_VALUES = (None, 0, -7, 2**52, "", "x", "1e9999999", [], [[]], {}, {"a": 1})


def test_a_body_of_any_other_values_never_stops_the_check(day):
    with closing(sqlite3.connect(day)) as db:
        originals = dict(db.execute("SELECT seq, entry FROM ledger").fetchall())
    first_of_kind: dict[str, int] = {}
    for seq, text in originals.items():
        first_of_kind.setdefault(json.loads(text)["kind"], seq)
    tried = 0

    attack(day, lambda db: db.execute("DROP INDEX ledger_job"), triggers=False)
    with closing(sqlite3.connect(day, isolation_level=None)) as db:
        for seq in first_of_kind.values():
            document = json.loads(originals[seq])
            for name in document["body"]:
                for value in OTHER_VALUES:
                    forged = canonical({**document, "body": {**document["body"], name: value}})
                    put(db, seq, forged, leaf_hash(forged))
                    findings = found(day)
                    assert any(finding.startswith("entry ") for finding in findings), (seq, name, value)
                    tried += 1
            put(db, seq, originals[seq].encode(), leaf_hash(originals[seq].encode()))

    assert tried > 500


# --- private values


def test_a_changed_name_is_named(day):
    seq = seq_of(day, "person", 1)
    attack(day, lambda db: db.execute("UPDATE private SET value = 'Somebody Else' WHERE seq = ?", (seq,)))

    assert found(day) == [f"private value `name` of entry {seq} is not the one that was recorded"]


@pytest.mark.parametrize("salt", ["", "ab", "no hex", "0" * 32], ids=["empty", "short", "no-hex", "another"])
def test_a_changed_salt_of_an_item_is_named(day, salt):
    seq = seq_of(day, "job")
    attack(day, lambda db: db.execute("UPDATE private SET salt = ? WHERE seq = ?", (salt, seq)))

    assert found(day) == [f"private value `item` of entry {seq} is not the one that was recorded"]


def test_a_value_that_no_entry_holds_is_named(day):
    seq = seq_of(day, "job")

    def act(db):
        db.execute("INSERT INTO private SELECT ?, 'plate', salt, value FROM private LIMIT 1", (seq,))
        db.execute("INSERT INTO private SELECT 999, 'name', salt, value FROM private LIMIT 1")

    attack(day, act)

    assert found(day) == [
        f"private value `plate` of entry {seq} is not the one that was recorded",
        "private value `name` of entry 999 is not the one that was recorded",
    ]


def test_an_erased_name_is_no_finding(day, command):
    attack(day, lambda db: db.execute("DELETE FROM private"))

    assert found(day) == []
    assert command(day)[0] == 0


# --- derived tables, triggers


@pytest.mark.parametrize("table", [table for table in PROJECTIONS if table.name != "report"], ids=lambda table: table.name)
def test_a_row_taken_out_of_any_derived_table_is_named(handed_over, table):
    with closing(sqlite3.connect(handed_over)) as db:
        row = db.execute(table.select_sql()).fetchone()
    where = " AND ".join(f"{name} = ?" for name in table.names[: table.keys])
    key = row[: table.keys]
    attack(handed_over, lambda db: db.execute(f"DELETE FROM {table.name} WHERE {where}", key))

    assert found(handed_over) == [f"projection {table.name} lacks the row ({', '.join(map(str, key))})"]


@pytest.mark.parametrize("table", [table for table in PROJECTIONS if table.name != "report"], ids=lambda table: table.name)
def test_a_changed_value_in_any_derived_table_is_named(handed_over, table):
    column = table.names[-1]
    with closing(sqlite3.connect(handed_over)) as db:
        key = db.execute(table.select_sql()).fetchone()[: table.keys]
    where = " AND ".join(f"{name} = ?" for name in table.names[: table.keys])
    change = f"UPDATE {table.name} SET {column} = coalesce({column}, 0) || '7' WHERE {where}"
    attack(handed_over, lambda db: db.execute(change, key))

    where = f"row ({', '.join(map(str, key))})"
    assert found(handed_over) == [f"projection {table.name}, {where}: {column} differs from what the entries say"]


def test_an_added_row_is_named(day):
    attack(day, lambda db: db.execute("INSERT INTO report VALUES (7, '1', 'x', 'person-1', 'html', 'ab', 1, 1, 'ab')"))

    assert found(day) == ["projection report has a row (7) that no entry makes"]


def test_after_so_many_findings_only_their_number_is_told(day):
    def act(db):
        for number in range(MOST_FINDINGS + 3):
            db.execute("INSERT INTO person VALUES (?, 1)", (f"person-{number + 100}",))

    attack(day, act)

    findings = found(day)
    assert len(findings) == MOST_FINDINGS + 1
    assert findings[-1] == "… and 3 more of this sort"


@pytest.mark.parametrize("trigger", [sql.split()[2] for sql in TRIGGER_SQL])
def test_a_trigger_taken_away_is_named(day, command, trigger):
    with closing(sqlite3.connect(day)) as db:
        db.execute(f"DROP TRIGGER {trigger}")
        db.commit()

    assert found(day) == [f"trigger {trigger} is missing or changed"]
    assert command(day)[0] == 1


# --- damage


def ledger_page(day: Path) -> tuple[int, int]:
    """First byte and size of a page that holds entries (SQLite file format, section 1.6: a leaf of a table begins with 13)."""
    with closing(sqlite3.connect(day)) as db:
        page_size = db.execute("PRAGMA page_size").fetchone()[0]
    data = day.read_bytes()
    for start in range(page_size, len(data), page_size):
        if data[start] == 13 and b'"kind":"match"' in data[start : start + page_size]:
            return start, page_size
    raise AssertionError("no page holds a match")


def flip(path: Path, place: int, mask: int = 0x01) -> None:
    data = bytearray(path.read_bytes())
    data[place] ^= mask
    path.write_bytes(data)


def test_one_flipped_bit_on_the_disk_is_named_by_its_entry(day, command):
    seq = seq_of(day, "match")
    with closing(sqlite3.connect(day)) as db:
        raw = get(db, seq)
    place = day.read_bytes().index(raw) + raw.index(b'"verdict":"in band"') + 12
    flip(day, place)

    assert found(day)[0] == f"entry {seq} was changed: its content does not fit the hash it was stored with"
    assert command(day)[0] == 1


def test_a_page_whose_head_is_flipped_is_damage(day, command):
    start, _ = ledger_page(day)
    flip(day, start, 0xFF)

    findings = found(day)
    assert findings
    assert all(finding.startswith("the file is damaged: ") for finding in findings)
    assert command(day)[0] == 1


def logical(path: Path) -> object:
    """Everything that the file says, or None where SQLite cannot say it."""
    try:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as db:
            db.text_factory = bytes
            tables = [row[0].decode() for row in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")]
            return [db.execute(f"SELECT * FROM {table}").fetchall() for table in tables], db.execute(
                "SELECT type, name, sql FROM sqlite_schema WHERE type = 'trigger' ORDER BY name"
            ).fetchall()
    except (sqlite3.Error, UnicodeDecodeError):
        return None


def test_no_flipped_byte_is_missed_and_none_stops_the_check(day):
    whole, before = day.read_bytes(), logical(day)
    changed = 0

    for place in (*range(0, 101, 3), *range(101, len(whole), 389)):
        flip(day, place, 0xFF)
        try:
            findings = verify_file(day).findings
        except RecordError as error:
            findings = [str(error)]
        if logical(day) != before:
            changed += 1
            assert findings, place
        day.write_bytes(whole)

    assert changed > 50


def test_a_file_cut_short_is_damage(day, command):
    start, _ = ledger_page(day)
    day.write_bytes(day.read_bytes()[:start])

    assert found(day) == ["the file is damaged: SQLite says database disk image is malformed"]
    assert command(day)[0] == 1


def test_a_file_of_ours_whose_first_bytes_are_damaged_is_damage(day, command):
    flip(day, 3)

    assert found(day) == ["the file is damaged: SQLite says file is not a database"]
    assert command(day)[0] == 1


# --- what is no audit database


def foreign(path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE ledger (seq)")
        db.commit()


@pytest.mark.parametrize(
    ("make", "message"),
    [
        pytest.param(lambda path: None, "there is no such file", id="missing"),
        pytest.param(lambda path: path.write_text("time,torque\n" * 99), "is not a Witnessmark audit database", id="text"),
        pytest.param(lambda path: path.write_bytes(b""), "is not a Witnessmark audit database", id="empty"),
        pytest.param(foreign, "is not a Witnessmark audit database", id="foreign-sqlite"),
        pytest.param(lambda path: path.mkdir(), "there is no such file", id="folder"),
    ],
)
def test_a_file_that_is_not_ours_is_no_finding_but_an_error(floor, capsys, make, message):
    make(floor.path)

    assert main(["verify", str(floor.path)]) == 2
    out, said = capsys.readouterr()
    assert out == ""
    assert message in said
    assert said.count("\n") == 1


def test_a_newer_schema_is_refused_with_both_numbers(day, capsys):
    with closing(sqlite3.connect(day)) as db:
        db.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")

    assert main(["verify", str(day)]) == 2
    assert f"has schema {SCHEMA_VERSION + 1}, this program reads up to schema {SCHEMA_VERSION}" in capsys.readouterr().err


def test_a_file_of_ours_without_a_ledger_is_damage(day):
    attack(day, lambda db: db.execute("DROP TABLE ledger"), triggers=False)

    assert any("no such table: ledger" in finding for finding in found(day))


@pytest.mark.parametrize(
    ("changed", "what", "used_by"),
    [
        pytest.param({"torque_nm": "much"}, "ValueError", ("reading", 0), id="row-of-the-reading"),
        # It is the match of the last stage that asks whether the wrench of all of them was fit.
        pytest.param({"unfit": 7}, "TypeError", ("match", 4), id="row-of-the-fastener"),
    ],
)
def test_an_entry_of_which_no_row_can_be_made_is_named(day, changed, what, used_by):
    seq = seq_of(day, "reading")

    def act(db):
        entry = decode_entry(get(db, seq))
        raw = replace(entry, body={**entry.body, **changed}).encode()
        put(db, seq, raw, leaf_hash(raw))

    attack(day, act)

    named = [finding for finding in found(day) if "cannot be what was recorded" in finding]
    assert len(named) == 1
    assert named[0].startswith(f"entry {seq_of(day, *used_by)} cannot be what was recorded: {what}(")
