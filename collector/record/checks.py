"""Keeps checks of wrenches: typed in, from a file with every row accounted for, or taken back by name."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from collector.record.recorder import Recorder
from schemas.bodies import CheckFile, CheckMade, CheckNotTaken, CheckVoided
from schemas.check import check_identity, check_key
from schemas.errors import RecordError

_TOO_LARGE = 2**63


@dataclass(frozen=True, slots=True)
class FileRow:
    """One row of a file: its line, its raw bytes, and the check that it states or the reason why it states none.

    `remarks` are what a person should know of the check, mostly nothing.
    """

    line: int
    raw: bytes
    check: CheckMade | None
    reason: str = ""
    remarks: tuple[str, ...] = ()
    is_outside: bool = False
    is_gross: bool = False


@dataclass(slots=True)
class Taken:
    """What became of the rows of a file; each is in one of the two lists, or was stored before."""

    checks: list[FileRow] = field(default_factory=list)
    not_taken: list[FileRow] = field(default_factory=list)
    already_stored: int = 0


def take_check_file(recorder: Recorder, file: CheckFile, rows: Sequence[FileRow], by: str) -> Taken:
    """Keep every row of a file in one transaction: as a check, or raw with the reason why it is none.

    A check that states all that an earlier one does is the same check, as often as it was stored before: reading a file
    again adds nothing, while equal rows of one file are as many checks.
    """
    taken = Taken()
    stored, refused = _identities(recorder), _refused_before(recorder)
    seen: Counter[tuple[str, ...]] = Counter()
    with recorder.transaction():
        file_seq: int | None = None
        for row in rows:
            identity = ""
            if row.check is not None:
                key = check_key(row.check)
                seen[key] += 1
                identity = check_identity(row.check, seen[key])
                if identity in stored:
                    taken.already_stored += 1
                    continue
            if row.check is None:
                taken.not_taken.append(row)
                if (row.raw.hex(), row.reason) in refused:
                    continue
            if file_seq is None:
                file_seq = recorder.append(file, by)
            if row.check is None:
                recorder.append(CheckNotTaken(file_seq, row.line, row.raw.hex(), row.reason), by)
            else:
                kept = replace(row.check, file=file_seq, line=row.line, raw=row.raw.hex(), identity=identity)
                recorder.append(kept, by)
                taken.checks.append(row)
    return taken


def add_checks(recorder: Recorder, checks: Iterable[CheckMade], by: str) -> list[int]:
    """Keep checks that a person made and typed in, each as one more than the equal ones that are stored; gives their entries."""
    stored, entries = _identities(recorder), []
    with recorder.transaction():
        for check in checks:
            nth = 1
            while (identity := check_identity(check, nth)) in stored:
                nth += 1
            stored.add(identity)
            entries.append(recorder.append(replace(check, identity=identity), by))
    return entries


def void_check(recorder: Recorder, seq: int, reason: str, by: str) -> None:
    """Take back the check in that entry; RecordError where none is there, or it was taken back before."""
    # A number beyond what SQLite can hold is none of an entry.
    found = recorder.query("SELECT void FROM wrench_check WHERE seq = ?", seq) if 0 < seq < _TOO_LARGE else []
    if not found:
        raise RecordError(f"entry {seq} is no check; `witnessmark export checks --to -` names each check's entry")
    if found[0][0] is not None:
        raise RecordError(f"the check in entry {seq} was taken back already ({found[0][0]})")
    recorder.load_check(seq)
    with recorder.transaction():
        recorder.append(CheckVoided(seq, reason), by)


def _identities(recorder: Recorder) -> set[str]:
    return {str(identity) for (identity,) in recorder.query("SELECT identity FROM wrench_check WHERE identity IS NOT NULL")}


def _refused_before(recorder: Recorder) -> set[tuple[str, str]]:
    where = "json_extract(entry, '$.kind') = ?"
    return {(str(entry.body["raw"]), str(entry.body["reason"])) for _, entry in recorder.entries(where, CheckNotTaken.KIND)}
