"""Opening for reading: only our own file, never a newer one, and nothing in it is ever changed."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from analysis.load import load_job, load_jobs, open_audit
from schemas.database import APPLICATION_ID, SCHEMA_VERSION
from schemas.errors import RecordError


def made_file(path: Path, application_id: int, version: int) -> Path:
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE other (a)")
        db.execute(f"PRAGMA application_id = {application_id}")
        db.execute(f"PRAGMA user_version = {version}")
        db.commit()
    return path


def test_a_missing_file_is_named_and_not_made(path: Path) -> None:
    with pytest.raises(RecordError, match=r"1\.db: there is no such file; open a job first"):
        open_audit(path)

    assert not path.exists()


def test_a_text_file_is_no_audit_database(path: Path) -> None:
    path.write_text("time,wrench,torque,unit\n" * 100)

    with pytest.raises(RecordError, match="is not a Witnessmark audit database; name another file with --db"):
        open_audit(path)


def test_another_programs_database_is_refused(path: Path) -> None:
    with pytest.raises(RecordError, match="is not a Witnessmark audit database"):
        open_audit(made_file(path, application_id=42, version=1))


def test_a_newer_schema_is_refused_with_both_numbers(path: Path) -> None:
    newer = SCHEMA_VERSION + 1

    with pytest.raises(RecordError, match=f"has schema {newer}, this program reads up to schema {SCHEMA_VERSION}"):
        open_audit(made_file(path, APPLICATION_ID, newer))


def test_a_damaged_file_gives_one_line_and_no_trace(path: Path) -> None:
    damaged = made_file(path, APPLICATION_ID, SCHEMA_VERSION)

    with closing(open_audit(damaged)) as db, pytest.raises(RecordError, match=r"cannot be read \(no such table.*verify"):
        load_jobs(db)


@pytest.fixture
def reader(shop, path: Path) -> Iterator[sqlite3.Connection]:
    with closing(open_audit(path)) as db:
        yield db


@pytest.mark.parametrize(
    "statement",
    [
        pytest.param("INSERT INTO person VALUES ('x', 1)", id="insert"),
        pytest.param("DELETE FROM job", id="delete"),
        pytest.param("PRAGMA user_version = 9", id="pragma"),
    ],
)
def test_the_connection_cannot_write(reader: sqlite3.Connection, statement: str) -> None:
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        reader.execute(statement)


def test_reading_leaves_the_file_and_its_log_as_they_are(shop, path: Path) -> None:
    shop.do_all()
    log = path.with_name(path.name + "-wal")
    before = path.read_bytes(), log.read_bytes()

    with closing(open_audit(path)) as db:
        load_job(db, shop.job)

    assert (path.read_bytes(), log.read_bytes()) == before


def test_jobs_are_listed_in_the_order_of_opening(shop, make_shop, path: Path) -> None:
    second = make_shop(job="2026-0002", simulated=1)
    second.open(item="Flatbed LT 9", fitter="Ole Brand", order="")

    with closing(open_audit(path)) as db:
        jobs = load_jobs(db)

    assert [(job.job, job.item, job.fitter, job.order_no, job.simulated) for job in jobs] == [
        ("2026-0001", "Box trailer WX 17", "Mira Tannwald", "4711", False),
        ("2026-0002", "Flatbed LT 9", "Ole Brand", "", True),
    ]
    assert (jobs[0].title, jobs[0].fasteners, jobs[0].missed, jobs[0].complete) == ("Box trailer, hubs", 6, 6, False)


def test_an_unknown_job_names_the_known_ones(reader: sqlite3.Connection) -> None:
    with pytest.raises(RecordError, match="job `7` is not in this database; the latest are 2026-0001"):
        load_job(reader, "7")
