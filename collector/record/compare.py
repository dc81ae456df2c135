"""Holds what the database shows of one job against what its entries say, so that no report goes out on altered tables."""

from itertools import chain

from collector.record.recorder import JOB_PLANS_SQL, Recorder
from schemas.database import PROJECTIONS, Row, Table
from schemas.entry import fits_private
from schemas.errors import RecordError
from schemas.fold import Fold, by_table

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
    for seq, entry in chain(recorder.register_entries(), recorder.job_entries(job)):
        fold.take_entry(seq, entry)
    made = by_table(fold.take_rows())
    for table in PROJECTIONS:
        if _there(recorder, table, job) != made[table.name]:
            raise _altered(recorder, f"the derived table `{table.name}` is not what the entries of job {job} make")
    for entry_seq, field, salt, value, expected in recorder.query(_PRIVATE, job):
        if not fits_private(str(salt), str(value), expected):
            raise _altered(recorder, f"the private value `{field}` of entry {entry_seq} is not the one that was recorded")


def _altered(recorder: Recorder, what: str) -> RecordError:
    return RecordError(f"{recorder.path}: {what}, so the file was altered; run `witnessmark verify` on it, nothing was issued")


def _there(recorder: Recorder, table: Table, job: str) -> dict[Row, Row]:
    """The rows of a table that belong to the job; of tables without jobs those of the register and of the job's plans."""
    columns = ", ".join(table.names)
    if "job" in table.names:
        rows = recorder.query(f"SELECT {columns} FROM {table.name} WHERE job = ?", job)
    elif table.name == "plan":
        rows = recorder.query(f"SELECT {columns} FROM plan WHERE seq IN ({JOB_PLANS_SQL})", job)
    elif table.name in ("person", "wrench"):
        rows = recorder.query(f"SELECT {columns} FROM {table.name}")
    else:
        rows = []
    return {row[: table.keys]: row for row in rows}  # type: ignore[misc]  # SQLite gives what a Row holds
