"""`witnessmark job report`: record that a report is issued, then write it."""

import argparse
import hashlib
from contextlib import closing, suppress
from pathlib import Path

from collector.cli.place import SystemClock, database_path, tell, version
from collector.record.recorder import Recorder
from schemas.bodies import ReportIssued
from schemas.clock import Clock, rfc3339
from schemas.errors import RecordError


def run_report(chosen: argparse.Namespace) -> int:
    """Write the report of a job; 1 where the torque record is not complete."""
    target = Path(chosen.to or f"job-{chosen.job}.html")
    complete = write_report(database_path(chosen.db), chosen.job, target, SystemClock())
    tell(f"{target}: the torque record of job {chosen.job} is {'complete' if complete else 'NOT complete; page one says why'}")
    return 0 if complete else 1


def write_report(database: Path, job: str, target: Path, clock: Clock) -> bool:
    """Make the report of a job, record its hash, write the file; gives whether the torque record is complete.

    RecordError where the job is not there or the file cannot be written; then no report counts as issued in vain: the
    file is tried before the entry is made.
    """
    from analysis.load import load_job, open_audit
    from analysis.report.html import report_html

    with closing(open_audit(database)) as db:
        record = load_job(db, job)
    page = report_html(record, made_at=rfc3339(clock.now()))
    if target.resolve().name.startswith(database.name) and target.resolve().parent == database.resolve().parent:
        raise RecordError(f"{target}: belongs to the audit database; name another file with --to")
    # Written beside and moved into place, so that an earlier report stays whole until the new one is issued.
    part = target.with_name(f"{target.name}.part")
    try:
        part.write_bytes(page)
        with Recorder(database, clock, version(), "witnessmark job report") as recorder, recorder.transaction():
            recorder.load_job(job)
            digest = hashlib.sha256(page).hexdigest()
            recorder.append(ReportIssued(job, "html", digest, len(page), record.tree.size, record.tree.head))
        part.replace(target)
    except OSError as error:
        raise RecordError(f"{target}: cannot be written ({error.strerror}); name another file with --to") from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
    return record.complete
