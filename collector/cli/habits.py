"""`witnessmark habits`: the figures that matching goes by, what is learned of this shop, and the way back."""

import argparse
import ast
import inspect
import json
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from collector.cli.place import SystemClock, database_path, say, tell, version
from collector.cli.wording import plain
from collector.expect.habits import USUAL, Habits
from collector.expect.learn import WORTH_PULLS, WORTH_SELDOM, Learned, learn
from collector.expect.learned import habits_of
from collector.record.recorder import Recorder
from schemas.bodies import HabitsLearned
from schemas.entry import decode_entry
from schemas.errors import RecordError
from schemas.fastener_state import At
from schemas.fold import Fold

if TYPE_CHECKING:
    from analysis.load.record import JobSummary

_MOST_NAMED = 12
_SETS = "SELECT seq, entry FROM ledger WHERE json_extract(entry, '$.kind') = ? ORDER BY seq"
_FORGET = "back to the figures that come with the program"


@dataclass(frozen=True, slots=True)
class _Kept:
    """The last set on record: its entry, with the name of who entered it, and whether simulated jobs are behind it."""

    at: At
    body: HabitsLearned
    simulated: bool


def run_show(chosen: argparse.Namespace) -> int:
    """Print each figure with its value, where it comes from, and its reason."""
    kept, _ = _read(database_path(chosen.db))
    figures, usual, why = _figures(kept), asdict(USUAL), _reasons()
    rows = [
        {
            "name": name,
            "value": value,
            "of_program": usual[name],
            "version": kept.body.version if kept is not None and name in kept.body.figures else 0,
            "reason": why[name],
        }
        for name, value in figures.items()
    ]
    if chosen.json:
        say(json.dumps({"format": 1, **_told(kept), "figures": rows}, ensure_ascii=False, indent=1))
        return 0
    say(_headline(kept))
    for row in rows:
        source = f"version {row['version']}; the program: {row['of_program']:g}" if row["version"] else "the program"
        say(f"  {row['name']} = {row['value']:g} ({source}): {row['reason']}")
    return 0


def run_learn(chosen: argparse.Namespace) -> int:
    """Learn from jobs and record the figures as a new version; say what changes."""
    from analysis.load.database import open_audit
    from analysis.load.state import load_state

    path = database_path(chosen.db)
    kept, jobs = _read(path)
    names = _chosen(jobs, chosen.job, chosen.simulated)
    with closing(open_audit(path)) as db:
        learned = learn([load_state(db, job) for job in names], USUAL)
    if not learned.figures:
        raise RecordError(_too_few(learned, names, chosen.simulated))
    body = HabitsLearned(
        _next(kept.body if kept else None), learned.figures, names, _method(learned, chosen.simulated),
        1 if chosen.simulated else None,
    )  # fmt: skip
    if chosen.dry_run:
        _say_changes(kept, body)
        tell("nothing was recorded: --dry-run")
        return 0
    return _record(path, chosen.by, kept, body)


def run_forget(chosen: argparse.Namespace) -> int:
    """Record a new version that holds no figure, so that those of the program count."""
    path = database_path(chosen.db)
    kept, _ = _read(path)
    if kept is None or not kept.body.figures:
        raise RecordError("the figures that come with the program count already; there is nothing to forget")
    return _record(path, chosen.by, kept, HabitsLearned(_next(kept.body), {}, (), _FORGET))


def _record(path: Path, name: str, kept: _Kept | None, body: HabitsLearned) -> int:
    with Recorder(path, SystemClock(), version(), "witnessmark habits") as recorder:
        by = recorder.person(name)
        with recorder.transaction():
            seq = recorder.append(body, by)
    _say_changes(kept, body)
    tell(f"version {body.version} of the habits is entry {seq}; readings are matched by it from now on")
    return 0


def _read(path: Path) -> tuple[_Kept | None, "tuple[JobSummary, ...]"]:
    """The last set on record, and every job of the file."""
    from analysis.load.database import open_audit, person_names, snapshot
    from analysis.load.jobs import load_jobs

    fold, last = Fold(), None
    with closing(open_audit(path)) as db:
        jobs = load_jobs(db)
        with snapshot(db):
            names = person_names(db)
            for seq, text in db.execute(_SETS, (HabitsLearned.KIND,)):
                entry = decode_entry(text)
                fold.take_entry(seq, entry)
                last = At(seq, entry.at, names.get(entry.by, entry.by))
    if last is None or fold.habits is None:
        return None, jobs
    body = fold.habits[1]
    return _Kept(last, body, any(job.simulated for job in jobs if job.job in body.jobs)), jobs


def _chosen(jobs: "Sequence[JobSummary]", named: Sequence[str] | None, simulated: bool) -> tuple[str, ...]:
    """The numbers of the jobs to learn from; real ones and simulated ones never together."""
    by_number = {job.job: job for job in jobs}
    for number in named or ():
        job = by_number.get(number)
        if job is None:
            raise RecordError(f"there is no job {number} in this database; see `witnessmark job list`")
        if job.closed_at is None:
            raise RecordError(f"job {number} is open; habits are learned from closed jobs: witnessmark job close {number}")
        if bool(job.simulated) != simulated:
            is_one, way = ("a simulated one", "add") if job.simulated else ("a real one", "leave out")
            raise RecordError(f"job {number} is {is_one}, and the two are never mixed; {way} --simulated")
    wanted = named or [job.job for job in jobs if job.closed_at is not None and bool(job.simulated) == simulated]
    return tuple(dict.fromkeys(wanted))


def _too_few(learned: Learned, names: Sequence[str], simulated: bool) -> str:
    if not names:
        return f"no {'simulated' if simulated else 'real'} job is closed, so there is nothing to learn from; close one first"
    if not learned.readings:
        return f"nothing is confirmed in {_named(names)}: a person has to count a joint before it is learned from"
    return f"{learned.readings} readings of {learned.joints} confirmed joints are too few for any figure; close more jobs first"


def _method(learned: Learned, simulated: bool) -> str:
    mark = "SIMULATED: " if simulated else ""
    return (
        f"{mark}medians and robust deviations of {learned.readings} readings of {learned.joints} confirmed joints, drawn towards "
        f"the program's figures, which count as {WORTH_PULLS:g} readings, or {WORTH_SELDOM:g} of what a joint shows once"
    )


def _next(last: HabitsLearned | None) -> int:
    return 1 if last is None else last.version + 1


def _figures(kept: _Kept | None) -> Mapping[str, float]:
    return asdict(USUAL if kept is None else habits_of((kept.at.seq, kept.body)).figures)


def _say_changes(kept: _Kept | None, body: HabitsLearned) -> None:
    say(f"version {body.version}: {body.method}" + (f"; {_named(body.jobs)}" if body.jobs else ""))
    before, after = _figures(kept), asdict(habits_of((0, body)).figures)
    changed = [f"  {name}: {value:g} becomes {after[name]:g}" for name, value in before.items() if value != after[name]]
    for line in changed or ["  no figure changes"]:
        say(line)


def _named(jobs: Sequence[str]) -> str:
    more = f" and {len(jobs) - _MOST_NAMED} more" if len(jobs) > _MOST_NAMED else ""
    return f"job{'s' if len(jobs) > 1 else ''} {', '.join(jobs[:_MOST_NAMED])}{more}"


def _told(kept: _Kept | None) -> dict[str, object]:
    if kept is None:
        return {"version": 0, "entry": None, "at": None, "by": None, "jobs": [], "method": None}
    body = kept.body
    told = {"version": body.version, "entry": kept.at.seq, "at": kept.at.at, "by": kept.at.by, "jobs": list(body.jobs)}
    return {**told, "method": body.method, **({"simulated": 1} if kept.simulated else {})}


def _headline(kept: _Kept | None) -> str:
    if kept is None:
        return "the figures that come with the program; nothing was learned yet"
    body, mark = kept.body, " SIMULATED" if kept.simulated else ""
    learned = f"learned from {_named(body.jobs)}: {body.method}" if body.jobs else body.method
    return plain(f"version {body.version} (entry {kept.at.seq}, {kept.at.at[:10]}, {kept.at.by}): {learned}") + mark


def _reasons() -> dict[str, str]:
    """By figure the text that stands below it in the program; a figure and its deviation share one."""
    found: dict[str, str] = {}
    waiting: list[str] = []
    for line in ast.walk(ast.parse(inspect.getsource(Habits))):
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name):
            waiting.append(line.target.id)
        elif waiting and isinstance(line, ast.Expr) and isinstance(line.value, ast.Constant):
            found |= dict.fromkeys(waiting, " ".join(str(line.value.value).split()))
            waiting.clear()
    return found
