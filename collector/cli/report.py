"""`witnessmark job report`: record that a report is issued, then write it, as PDF or as HTML."""

import argparse
import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from collector.cli.chart import report_chart
from collector.cli.outfile import form_of, whole_file
from collector.cli.place import LOG, SystemClock, database_path, log_beside, tell, version
from collector.record.compare import refuse_altered
from collector.record.recorder import Recorder
from schemas.bodies import ReportIssued
from schemas.clock import Clock, rfc3339

if TYPE_CHECKING:
    from analysis.load import JobRecord
    from analysis.report.pdf import Chart

FORMS = ("pdf", "html")


def run_report(chosen: argparse.Namespace) -> int:
    """Write the report of a job; 1 where the torque record is not complete."""
    database, clock = database_path(chosen.db), SystemClock()
    named = [chosen.to] if chosen.to else [f"job-{chosen.job}.{form}" for form in FORMS]
    complete = True
    for target in map(Path, named):
        complete = write_report(database, chosen.job, target, clock)
        answer = "complete" if complete else "NOT complete; page one says why"
        tell(f"{target}: the torque record of job {chosen.job} is {answer}")
    return 0 if complete else 1


def write_report(database: Path, job: str, target: Path, clock: Clock) -> bool:
    """Make the report of a job, record its hash, write the file; gives whether the torque record is complete.

    RecordError where the job is not there or the file cannot be written; then no report counts as issued in vain: the
    file is tried before the entry is made.
    """
    from analysis.load import load_job, open_audit

    form = form_of(target, *FORMS)
    with closing(open_audit(database)) as db, log_beside(database):
        record = load_job(db, job)
        page = _pdf(db, record, clock) if form == "pdf" else _html(record, clock)
    with whole_file(target, database) as part:
        part.write_bytes(page)
        with Recorder(database, clock, version(), "witnessmark job report") as recorder, recorder.transaction():
            recorder.load_job(job)
            refuse_altered(recorder, job)
            digest = hashlib.sha256(page).hexdigest()
            recorder.append(ReportIssued(job, form, digest, len(page), record.tree.size, record.tree.head))
    return record.complete


def _html(record: "JobRecord", clock: Clock) -> bytes:
    from analysis.report.html import report_html

    return report_html(record, made_at=rfc3339(clock.now()))


def _pdf(db: sqlite3.Connection, record: "JobRecord", clock: Clock) -> bytes:
    from analysis.report.pdf import report_pdf

    return report_pdf(record, _charts(db, record, clock), made_at=rfc3339(clock.now()))


def _charts(db: sqlite3.Connection, record: "JobRecord", clock: Clock) -> tuple["Chart", ...]:
    """A chart of each wrench used that was ever checked; where one cannot be drawn, log, terminal and report say so."""
    from analysis.measure_wrench import measure_wrench
    from analysis.report.pdf import Chart

    charts = []
    for used in record.wrenches:
        if used.serial is None:
            continue
        try:
            drift = measure_wrench(db, used.wrench)
            if drift.lines:
                charts.append(report_chart(drift, clock.now().date()))
        except Exception:  # noqa: BLE001  # whatever a drawing library stumbles over must not keep a record from its owner
            LOG.exception("the chart of a wrench could not be drawn")
            charts.append(Chart(used.wrench))
            tell(f"the chart of wrench {used.wrench} could not be drawn and is left out; the log beside the database says why")
    return tuple(charts)
