"""Keeps checks of wrenches: typed in, from a file with every row accounted for, or taken back by name."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from collector.record.recorder import Recorder
from schemas.bodies import CheckFile, CheckMade, CheckNotTaken, CheckVoided
from schemas.check import check_identity, check_key
from schemas.errors import RecordError

_TOO_LARGE = 2**63
_DAY_SIGNS = len("2026-03-02")


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
    """What became of the rows of a file: each is in one of the first two lists, or was stored before.

    `standing` are the rows whose check is on record now and was not taken back, stored before or not, in the file's order.
    """

    checks: list[FileRow] = field(default_factory=list)
    not_taken: list[FileRow] = field(default_factory=list)
    already_stored: int = 0
    standing: list[FileRow] = field(default_factory=list)


class SameMoment:
    """Knows what the checks that count showed by wrench, instant and reference, to tell where two disagree.

    A day alone is no instant: a wrench may be checked more than once on one day.
    """

    def __init__(self, recorder: Recorder) -> None:
        self._shown: dict[tuple[str, str, Decimal], dict[Decimal, tuple[str, str]]] = {}
        sql = "SELECT wrench, at, reference_nm, shown_nm, shown, unit FROM wrench_check WHERE void IS NULL AND length(at) > ?"
        for row in recorder.query(sql, _DAY_SIGNS):
            wrench, at, reference_nm, shown_nm, shown, unit = map(str, row)
            self._shown.setdefault((wrench, at, Decimal(reference_nm)), {})[Decimal(shown_nm)] = (shown, unit)

    def add(self, check: CheckMade) -> tuple[str, ...]:
        """One line where another check of the same wrench, instant and reference shows another value; mostly none."""
        if len(check.checked_at) <= _DAY_SIGNS:
            return ()
        others = self._shown.setdefault((check.wrench, check.checked_at, Decimal(check.reference_nm)), {})
        shown_nm = Decimal(check.shown_nm)
        found = next((other for other_nm, other in others.items() if other_nm != shown_nm), None)
        others[shown_nm] = (check.shown, check.unit)
        if found is None:
            return ()
        value = found[0] if found[1] == check.unit else " ".join(found)
        return (f"another check of {check.wrench} at the same time and reference shows {value}",)


def take_check_file(recorder: Recorder, file: CheckFile, rows: Sequence[FileRow], by: str) -> Taken:
    """Keep every row of a file in one transaction: as a check, or raw with the reason why it is none.

    A check that states all that an earlier one does is the same check, as often as it was stored before: reading a file
    again adds nothing, while equal rows of one file are as many checks. One that disagrees with another check of the same
    instant and reference is kept with a remark.
    """
    taken, moments = Taken(), SameMoment(recorder)
    void, refused = _void_by_identity(recorder), _refused_before(recorder)
    seen: Counter[tuple[str, ...]] = Counter()
    with recorder.transaction():
        file_seq: int | None = None
        for row in rows:
            identity = ""
            if row.check is not None:
                key = check_key(row.check)
                seen[key] += 1
                identity = check_identity(row.check, seen[key])
                if identity in void:
                    taken.already_stored += 1
                    taken.standing += [] if void[identity] else [row]
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
                told = replace(row, remarks=(*row.remarks, *moments.add(row.check)))
                taken.checks.append(told)
                taken.standing.append(told)
    return taken


def add_checks(recorder: Recorder, checks: Iterable[CheckMade], by: str) -> list[int]:
    """Keep checks that a person made and typed in, each as one more than the equal ones that are stored; gives their entries."""
    stored, entries = set(_void_by_identity(recorder)), []
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


def _void_by_identity(recorder: Recorder) -> dict[str, bool]:
    """Each check that is stored by its identity, with whether it was taken back."""
    rows = recorder.query("SELECT identity, void IS NOT NULL FROM wrench_check WHERE identity IS NOT NULL")
    return {str(identity): bool(void) for identity, void in rows}


def _refused_before(recorder: Recorder) -> set[tuple[str, str]]:
    where = "json_extract(entry, '$.kind') = ?"
    return {(str(entry.body["raw"]), str(entry.body["reason"])) for _, entry in recorder.entries(where, CheckNotTaken.KIND)}
