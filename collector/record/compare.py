"""Holds what the database shows of one job against what its entries say, so that no report goes out on altered tables."""

from collections.abc import Iterator

from collector.record.recorder import REGISTER_KINDS, Recorder
from schemas.bodies import parse_body
from schemas.database import PROJECTIONS, Row, Table
from schemas.entry import Entry, private_hash
from schemas.errors import RecordError
from schemas.fold import Fold
from schemas.job_state import At

_PRIVATE = """
SELECT private.seq, field, salt, value, json_extract(entry, '$.body.' || field || '_sha256')
FROM private JOIN ledger ON ledger.seq = private.seq
WHERE json_extract(entry, '$.kind') = 'person' OR json_extract(entry, '$.body.job') = ?
"""


def refuse_altered(recorder: Recorder, job: str) -> None:
    """RecordError where a derived row of a job, of its plan or of the register, or a name in it, is not what was recorded.

    The whole file is looked at by `verify` alone; this looks at what a report of the job is made from.
    """
    fold = Fold()
    for seq, entry in _entries(recorder, job):
        fold.apply(At(seq, entry.at, entry.by), parse_body(entry.kind, entry.body))
    made: dict[str, dict[Row, Row]] = {table.name: {} for table in PROJECTIONS}
    for table, row in fold.take_rows():
        made[table.name][row[: table.keys]] = row
    for table in PROJECTIONS:
        if _there(recorder, table, job) != made[table.name]:
            raise _altered(recorder, f"the derived table `{table.name}` is not what the entries of job {job} make")
    for entry_seq, field, salt, value, expected in recorder.query(_PRIVATE, job):
        if private_hash(bytes.fromhex(str(salt)), str(value)) != expected:
            raise _altered(recorder, f"the private value `{field}` of entry {entry_seq} is not the one that was recorded")


def _altered(recorder: Recorder, what: str) -> RecordError:
    return RecordError(f"{recorder.path}: {what}, so the file was altered; run `witnessmark verify` on it, nothing was issued")


def _entries(recorder: Recorder, job: str) -> Iterator[tuple[int, Entry]]:
    yield from recorder.entries("json_extract(entry, '$.kind') IN (?, ?, ?)", *REGISTER_KINDS)
    for (plan_seq,) in recorder.query("SELECT plan_seq FROM job WHERE job = ?", job):
        yield from recorder.entries("seq = ?", int(str(plan_seq)))
    yield from recorder.entries("json_extract(entry, '$.body.job') = ?", job)


def _there(recorder: Recorder, table: Table, job: str) -> dict[Row, Row]:
    """The rows of a table that belong to the job; of tables without jobs those of the register and of the job's plan."""
    columns = ", ".join(table.names)
    if "job" in table.names:
        rows = recorder.query(f"SELECT {columns} FROM {table.name} WHERE job = ?", job)
    elif table.name == "plan":
        rows = recorder.query(f"SELECT {columns} FROM plan WHERE seq = (SELECT plan_seq FROM job WHERE job = ?)", job)
    elif table.name in ("person", "wrench"):
        rows = recorder.query(f"SELECT {columns} FROM {table.name}")
    else:
        rows = []
    return {row[: table.keys]: row for row in rows}  # type: ignore[misc]  # SQLite gives what a Row holds
