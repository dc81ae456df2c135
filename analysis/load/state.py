"""The state of one job, folded from its entries, for what no table holds: what is open, what is next."""

import sqlite3

from analysis.load.database import snapshot
from schemas.entry import decode_entry
from schemas.errors import RecordError
from schemas.fold import NOT_RECORDED, Fold, many_entries
from schemas.job_state import JobState

# Its plans first, each before what names it; then what was recorded of the job itself.
_ENTRIES = (
    "SELECT seq, entry FROM ledger WHERE seq IN (SELECT json_extract(entry, '$.body.plan') FROM ledger "
    "WHERE json_extract(entry, '$.body.job') = ?1 AND json_extract(entry, '$.kind') IN ('job', 'plan changed')) "
    "OR json_extract(entry, '$.body.job') = ?1 ORDER BY seq"
)


def load_state(db: sqlite3.Connection, job: str) -> JobState:
    """The job as its entries make it. RecordError where the file has no such job, or is damaged."""
    fold = Fold()
    with snapshot(db), many_entries():
        for seq, text in db.execute(_ENTRIES, (job,)):
            try:
                fold.take_entry(seq, decode_entry(text))
            except NOT_RECORDED as error:
                what = f"entry {seq} cannot be what was recorded ({error!r}); run `witnessmark verify` on the file"
                raise RecordError(what) from error
    if job not in fold.jobs:
        raise RecordError(f"there is no job {job} in this database; see `witnessmark job list`")
    return fold.jobs[job]
