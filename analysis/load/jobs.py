"""The list of jobs."""

import sqlite3

from analysis.load.database import made, person_names, snapshot
from analysis.load.record import JobSummary


def load_jobs(db: sqlite3.Connection) -> tuple[JobSummary, ...]:
    """Every job of the file, in the order in which they were opened."""
    with snapshot(db):
        names = person_names(db)
        rows = db.execute(
            "SELECT job.*, plan.title AS title, private.value AS item FROM job JOIN plan ON plan.seq = job.plan_seq "
            "LEFT JOIN private ON private.seq = job.seq AND private.field = 'item' ORDER BY job.seq"
        ).fetchall()
    return tuple(made(JobSummary, row, fitter=names.get(row["fitter"], row["fitter"])) for row in rows)
