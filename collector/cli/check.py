"""`witnessmark wrench check`: keep a check typed in, or a file of checks, or take one back."""

import argparse
import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, tzinfo
from pathlib import Path

from collector.acquire.check_file import CheckRows, read_check_file
from collector.acquire.check_header import CheckLine
from collector.cli.place import SystemClock, database_path, say, tell, version
from collector.decode.check import DecodedCheck, decode_check
from collector.record.checks import FileRow, SameMoment, Taken, add_checks, take_check_file, void_check
from collector.record.recorder import Recorder
from schemas.bodies import CheckFile
from schemas.check import day_of
from schemas.clock import rfc3339
from schemas.errors import FrameError, RecordError
from schemas.log_time import zone_of
from schemas.wrench import Wrench

_ASKED = {
    "wrench": ("a wrench", ("reference", "shown", "unit", "at", "zone")),
    "file": ("--from", ("zone",)),
    "void": ("--void", ("why",)),
}
"""What can be asked, by the name of its argument: how it is said, and the options that belong to it."""
MOST_TOLD = 20
"""After so many rows of one sort only their number is told; --json tells all."""


def run_check(chosen: argparse.Namespace) -> int:
    """Keep checks; 1 where a row was not taken, or a check says that somebody has to look."""
    _refuse_mixture(chosen)
    zone = _zone(chosen.zone)
    # Read first, so that a file that is none leaves no trace in the database.
    read = None if chosen.file is None else read_check_file(Path(chosen.file))
    with Recorder(database_path(chosen.db), SystemClock(), version(), "witnessmark wrench check") as recorder:
        if chosen.void is not None:
            return _void(recorder, chosen)
        if read is not None:
            return _take_file(recorder, chosen, read, zone)
        return _take_typed(recorder, chosen, zone)


def _refuse_mixture(chosen: argparse.Namespace) -> None:
    """Stop where two things are asked at once, or an option is given that would be passed over in silence."""
    asked = [name for name in _ASKED if getattr(chosen, name) is not None]
    if asked == ["wrench", "file"]:
        # A file can be read for one wrench.
        asked = ["file"]
    if len(asked) != 1:
        raise RecordError("say one thing: a wrench with --reference and --shown, or --from FILE, or --void ENTRY with --why")
    said, own = _ASKED[asked[0]]
    for option in (option for _, options in _ASKED.values() for option in options):
        if option not in own and getattr(chosen, option) is not None:
            raise RecordError(f"--{option} says nothing beside {said}; leave it out")
    if chosen.void is not None and not (chosen.why or "").strip():
        raise RecordError("--void needs --why: the reason stands in the record beside the check")
    if asked == ["wrench"] and None in (chosen.reference, chosen.shown):
        raise RecordError("a check needs --reference and --shown: what the reference read, and what the wrench showed")


def _void(recorder: Recorder, chosen: argparse.Namespace) -> int:
    void_check(recorder, chosen.void, chosen.why.strip(), recorder.person(chosen.by))
    tell(f"the check in entry {chosen.void} is taken back; it stays on record and counts no more")
    return 0


def _take_typed(recorder: Recorder, chosen: argparse.Namespace, zone: tzinfo | None) -> int:
    wrench = recorder.fold.wrenches.get(chosen.wrench)
    if wrench is None:
        raise RecordError(f"wrench {chosen.wrench} is not in the register; add it with `witnessmark wrench add`")
    now = SystemClock().now()
    row = {
        "wrench": wrench.id,
        "time": chosen.at or rfc3339(now),
        "reference": chosen.reference,
        "shown": chosen.shown,
        "unit": chosen.unit or wrench.unit,
    }
    try:
        decoded = decode_check(row, recorder.fold.wrenches, zone)
    except FrameError as error:
        raise RecordError(f"this check cannot be kept: {error}") from error
    remarks = (*decoded.remarks, *_late(decoded, now), *SameMoment(recorder).add(decoded.check))
    (entry,) = add_checks(recorder, [decoded.check], recorder.person(chosen.by))
    if chosen.json:
        say(json.dumps(_typed_json(decoded, wrench, entry, remarks), ensure_ascii=False))
    else:
        says = f"{wrench.id} shows {chosen.shown} at {chosen.reference} {decoded.check.unit}: {decoded.error_percent:+.2f} %"
        where = f"{'inside' if decoded.inside else 'OUTSIDE'} ±{wrench.limit_percent} %"
        say(f"{says}, {where} (entry {entry}){_mark(wrench.simulated)}")
    for remark in remarks:
        tell(f"mind: {remark}")
    if decoded.inside:
        return 0
    _tell_use_no_more(wrench.id)
    return 1


def _tell_use_no_more(wrench: str) -> None:
    tell(f"use {wrench} no more until somebody has looked at it; what it has torqued may have to be opened again")


def _typed_json(decoded: DecodedCheck, wrench: Wrench, entry: int, remarks: tuple[str, ...]) -> dict[str, object]:
    answer = {"format": 1, "wrench": wrench.id, "entry": entry, "error_percent": decoded.error_percent, "inside": decoded.inside}
    answer |= {"limit_percent": str(wrench.limit_percent), "remarks": remarks}
    return answer | ({"simulated": 1} if wrench.simulated else {})


def _mark(simulated: bool) -> str:
    return " SIMULATED" if simulated else ""


def _late(decoded: DecodedCheck, now: datetime) -> tuple[str, ...]:
    at = decoded.check.checked_at
    return (f"its time {at} lies in the future",) if at > rfc3339(now) else ()


def _take_file(recorder: Recorder, chosen: argparse.Namespace, read: CheckRows, zone: tzinfo | None) -> int:
    now = SystemClock().now()
    rows = [_row(_of_wrench(line, chosen.wrench), recorder.fold.wrenches, zone, now) for line in read.rows]
    taken = take_check_file(recorder, CheckFile(read.file, read.sha256), rows, recorder.person(chosen.by))
    simulated = any(row.check is not None and row.check.simulated for row in rows)
    if chosen.json:
        mark = {"simulated": 1} if simulated else {}
        say(json.dumps({"format": 1, "file": read.file, **mark, **_json(taken)}, ensure_ascii=False, indent=1))
    else:
        outside = sum(row.is_outside for row in taken.checks)
        beyond = f" ({outside} of them outside the limit)" if outside else ""
        said = f"{read.file}: {_count(taken.checks, 'check')} taken{beyond}, {taken.already_stored} stored before"
        say(f"{said}, {_count(taken.not_taken, 'row')} not taken{_mark(simulated)}")
    _tell_rows(read.file, "not taken", [(row.line, row.reason) for row in taken.not_taken])
    remarks = [(row.line, remark) for row in taken.checks for remark in row.remarks]
    _tell_rows(read.file, "mind", remarks)
    failed = _failed_last(taken.standing, recorder.fold.wrenches)
    for wrench in failed:
        _tell_use_no_more(wrench)
    return 1 if taken.not_taken or failed or any(row.is_gross for row in taken.checks) else 0


def _failed_last(rows: Iterable[FileRow], wrenches: Mapping[str, Wrench]) -> list[str]:
    """The wrenches whose newest check of the file lies outside its limit, of two at one time the one further down."""
    newest: dict[str, tuple[float, bool]] = {}
    for check, is_outside in ((row.check, row.is_outside) for row in rows if row.check is not None):
        day, adjusted_on = day_of(check.checked_at), wrenches[check.wrench].adjusted_on
        # What was checked before it was set anew says nothing of the wrench as it is.
        set_anew = adjusted_on is not None and day < day_of(str(adjusted_on))
        if not set_anew and (check.wrench not in newest or newest[check.wrench][0] <= day):
            newest[check.wrench] = day, is_outside
    return [wrench for wrench, (_, is_outside) in newest.items() if is_outside]


def _count(rows: list[FileRow], word: str) -> str:
    return f"{len(rows)} {word}{'' if len(rows) == 1 else 's'}"


def _of_wrench(line: CheckLine, wrench: str | None) -> CheckLine:
    """The line of a file that is read for one wrench: a row without a name is its own, one of another wrench is none."""
    named = line.texts.get("wrench", "")
    if wrench is None or line.trouble or named == wrench:
        return line
    if named:
        return replace(line, texts={}, trouble=f"is of wrench {named}, and the file is read for {wrench} alone")
    return replace(line, texts=line.texts | {"wrench": wrench})


def _row(line: CheckLine, wrenches: Mapping[str, Wrench], zone: tzinfo | None, now: datetime) -> FileRow:
    if line.trouble:
        return FileRow(line.line, line.raw, None, line.trouble)
    try:
        decoded = decode_check(line.texts, wrenches, zone)
    except FrameError as error:
        return FileRow(line.line, line.raw, None, str(error))
    remarks = (*decoded.remarks, *_late(decoded, now))
    return FileRow(line.line, line.raw, decoded.check, "", remarks, not decoded.inside, decoded.is_gross)


def _json(taken: Taken) -> dict[str, object]:
    return {
        "taken": len(taken.checks),
        "already_stored": taken.already_stored,
        "not_taken": [
            {"line": row.line, "raw": row.raw.decode(errors="backslashreplace"), "reason": row.reason} for row in taken.not_taken
        ],
        "outside": [row.line for row in taken.checks if row.is_outside],
        "remarks": [{"line": row.line, "remark": remark} for row in taken.checks for remark in row.remarks],
    }


def _tell_rows(file: str, word: str, rows: list[tuple[int, str]]) -> None:
    for line, what in rows[:MOST_TOLD]:
        tell(f"{file}, line {line}, {word}: {what}")
    if len(rows) > MOST_TOLD:
        tell(f"{file}: {len(rows) - MOST_TOLD} more of this sort; --json tells all")


def _zone(text: str | None) -> tzinfo | None:
    try:
        return None if text is None else zone_of(text)
    except ValueError as error:
        raise RecordError(f"--zone {text}: {error}") from error
