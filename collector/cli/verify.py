"""`witnessmark verify` and `witnessmark rebuild`."""

import argparse
import json
from pathlib import Path

from collector.cli.place import SystemClock, say, tell, version


def run_verify(chosen: argparse.Namespace) -> int:
    """Say whether a file is what was recorded; 1 where it is not."""
    return check_file(Path(chosen.file), chosen.json)


def check_file(path: Path, as_json: bool = False) -> int:
    """Recompute a database and print what was found; 1 where anything does not fit."""
    from analysis.verify import verify_file

    checked = verify_file(path)
    if as_json:
        answer = {"format": 1, "file": str(path), "entries": checked.size, "tree_head": checked.head}
        answer |= {"simulated": 1} if checked.simulated else {}
        say(json.dumps(answer | {"findings": checked.findings}, ensure_ascii=False, indent=1))
        return 1 if checked.findings else 0
    mark = " SIMULATED" if checked.simulated else ""
    for finding in checked.findings:
        say(f"{path}: {finding}")
    if checked.findings:
        found = f"{len(checked.findings)} findings; {checked.size} entries, tree head {checked.head}"
        say(f"{path}: ALTERED or damaged: {found}{mark}")
        return 1
    tables = f"derived tables of schema {checked.schema} not compared" if checked.older else "derived tables equal"
    say(f"{path}: nothing was altered: {checked.size} entries, {tables}, tree head {checked.head}{mark}")
    return 0


def run_rebuild(chosen: argparse.Namespace) -> int:
    """Make the derived tables anew."""
    from collector.record.recorder import Recorder
    from schemas.errors import RecordError

    path = Path(chosen.file)
    if not path.exists():
        raise RecordError(f"{path}: there is no such file; name an audit database")
    with Recorder(path, SystemClock(), version(), "witnessmark rebuild") as recorder:
        tell(f"{path}: derived tables made anew from {recorder.rebuild()} entries")
    return 0
