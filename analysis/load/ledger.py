"""What of a job stands in the ledger only: the route, raw bytes, every match, gaps in the numbers, calibrations."""

import sqlite3
from bisect import bisect_right
from collections.abc import Iterator
from typing import TypeVar

from analysis.load.record import Calibration, LogFile, Tree
from analysis.load.record_pulls import MissingNumbers, Raw
from analysis.load.shown import raw_of_hex
from schemas.bodies import Body, Calibrated, FindingsOpen, JobOpened, LogTaken, MatchKept, PlanKept, ReadingKept, parse_body
from schemas.entry import decode_entry
from schemas.errors import RecordError
from schemas.fastener_state import At
from schemas.job_state import JobState
from schemas.route import Route

_BodyT = TypeVar("_BodyT", bound=Body)

# Written as in the index, or SQLite would not use it.
OF_JOB = "json_extract(entry, '$.body.job') = ?"
_OF_KIND = "json_extract(entry, '$.kind') = ?"


def entries(db: sqlite3.Connection, body: type[_BodyT], where: str, *values: str | int) -> Iterator[tuple[At, _BodyT]]:
    """Entries of one kind in the ledger's order, of the rows that an SQL condition names."""
    sql = f"SELECT seq, entry FROM ledger WHERE {where} AND {_OF_KIND} ORDER BY seq"
    for seq, text in db.execute(sql, (*values, body.KIND)):
        entry = decode_entry(text)
        parsed = parse_body(entry.kind, entry.body)
        if isinstance(parsed, body):
            yield At(seq, entry.at, entry.by), parsed


def entry_at(db: sqlite3.Connection, body: type[_BodyT], seq: int) -> tuple[At, _BodyT]:
    """The entry of that number; RecordError where it is missing or of another kind."""
    for found in entries(db, body, "seq = ?", seq):
        return found
    raise RecordError(f"entry {seq} of the ledger is missing or no {body.KIND} entry; run `witnessmark verify`")


def plan_at(db: sqlite3.Connection, seq: int) -> PlanKept:
    """The plan entry of that number."""
    return entry_at(db, PlanKept, seq)[1]


def raw_bytes(db: sqlite3.Connection, job: str) -> dict[int, Raw]:
    """Raw bytes of the job by the number of the entry that holds them: a frame, or a row of a log."""
    sql = (
        "SELECT seq, json_extract(entry, '$.body.raw') FROM ledger "
        f"WHERE {OF_JOB} AND json_extract(entry, '$.kind') IN ('frame', 'reading', 'not read')"
    )
    return {seq: raw_of_hex(raw) for seq, raw in db.execute(sql, (job,)) if raw is not None}


def matches(db: sqlite3.Connection, job: str) -> dict[int, list[tuple[At, MatchKept]]]:
    """Every match that was ever kept, by the number of its reading's entry, the first one first."""
    found: dict[int, list[tuple[At, MatchKept]]] = {}
    for at, match in entries(db, MatchKept, OF_JOB, job):
        found.setdefault(match.reading, []).append((at, match))
    return found


def missing_numbers(db: sqlite3.Connection, job: str, job_seq: int, route: Route) -> tuple[MissingNumbers, ...]:
    """The sequence numbers that are missing, by the same rule as when they were recorded."""
    state = JobState(entry_at(db, JobOpened, job_seq)[1], At(job_seq, "", ""), route)
    for at, reading in entries(db, ReadingKept, OF_JOB, job):
        state.apply(at, reading)
    return tuple(MissingNumbers(*gap) for gap in state.missing)


def log_files(db: sqlite3.Connection, job: str) -> tuple[LogFile, ...]:
    """The log files that were read into the job."""
    return tuple(LogFile(at.at, log.file, log.sha256) for at, log in entries(db, LogTaken, OF_JOB, job))


def open_findings(db: sqlite3.Connection, job: str) -> tuple[str, ...]:
    """What was open on the plan when the job was opened, one line each."""
    return tuple(line for _, kept in entries(db, FindingsOpen, OF_JOB, job) for line in kept.findings)


def calibrations(db: sqlite3.Connection, wrench: str, reading_seqs: list[int]) -> tuple[Calibration, ...]:
    """The calibrations of a wrench that counted when these readings were stored, by the rule of `schemas.wrench.calibrate`."""
    where = "json_extract(entry, '$.body.wrench') = ?"
    found = list(entries(db, Calibrated, where, wrench))
    ledger_seqs = [at.seq for at, _ in found]
    days = [calibrated.calibrated_on for _, calibrated in found]
    counts: list[int] = []
    for place, day in enumerate(days):
        # An older certificate that is entered late does not come to count.
        counts.append(counts[-1] if counts and day < days[counts[-1]] else place)
    entered = {bisect_right(ledger_seqs, seq) - 1 for seq in reading_seqs} - {-1}
    used = sorted({counts[place] for place in entered})
    return tuple(
        Calibration(one.certificate, one.calibrated_on, one.due_on, one.low_nm, one.high_nm)
        for _, one in (found[place] for place in used)
    )


def tree(db: sqlite3.Connection) -> Tree:
    """The last tree head of the file."""
    entries_there = int(db.execute("SELECT coalesce(max(seq), 0) FROM ledger").fetchone()[0])
    head = db.execute("SELECT size, root FROM tree_head ORDER BY size DESC LIMIT 1").fetchone()
    if head is None:
        raise RecordError("the database has no tree head, so it was altered or never written; run `witnessmark verify`")
    return Tree(head["size"], head["root"].hex(), entries_there)
