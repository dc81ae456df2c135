"""Opens the database for one act on a job that is there already, away from the bench."""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from collector.cli.place import SystemClock, database_path, version
from collector.record.recorder import Recorder
from schemas.errors import RecordError
from schemas.job_state import JobState


@contextmanager
def job_writer(chosen: argparse.Namespace, holder: str) -> Iterator[tuple[Recorder, JobState]]:
    """The writer and the state of the job named, be it closed; RecordError where there is no such file or job."""
    path: Path = database_path(chosen.db)
    if not path.exists():
        raise RecordError(f"{path}: there is no such file; open a job first, or name another database with --db")
    with Recorder(path, SystemClock(), version(), f"witnessmark job {holder}") as recorder:
        yield recorder, recorder.load_job(chosen.job)


def refuse_closed(state: JobState) -> None:
    """RecordError where nothing is added to a job any more."""
    if state.closed is not None:
        raise RecordError(f"job {state.opened.job} is closed; nothing is added to it")


def name_of(recorder: Recorder, person: str) -> str:
    """The name of a person's id; an erased name is said to be erased."""
    rows = recorder.query(
        "SELECT value FROM person JOIN private ON private.seq = person.seq AND field = 'name' WHERE person = ?", person
    )
    return str(rows[0][0]) if rows else f"{person} (name erased)"
