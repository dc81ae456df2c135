"""`witnessmark plan`: read a plan, check it, print the schema."""

import argparse
import json
from collections.abc import Sequence
from pathlib import Path

from collector.cli.place import database_path, say, tell
from collector.cli.plan_source import PlanText, plan_bytes
from collector.record.jobs import PlanFile
from schemas.errors import PlanError, PlanFault
from schemas.plan.cover import uncovered
from schemas.plan.load import load_plan, load_whole
from schemas.wrench import Wrench


def read_plan(path: str, ignored: Sequence[str] = ()) -> PlanFile:
    """A plan from its file; `ignored` are columns of a table to leave out.

    SourceError where it is missing, PlanError where it is wrong; what is to be known of a table's reading is told.
    """
    text = _text(path, ignored)
    try:
        return PlanFile(Path(path).name, text.data, load_plan(text.data, path))
    except PlanError as error:
        raise text.placed(error) from error


def _text(path: str, ignored: Sequence[str]) -> PlanText:
    text = plan_bytes(path, ignored)
    for note in text.notes:
        tell(f"{path}: note: {note}")
    return text


def refuse_unworkable(plan: PlanFile, wrenches: dict[str, Wrench]) -> None:
    """Stop on torques that no registered wrench covers, and on adapters whose value to set cannot be worked out."""
    gaps = uncovered(plan.route, list(wrenches.values()))
    if gaps:
        raise PlanError(plan.name, tuple(PlanFault(0, "", f"joint {gap.joint}: {gap.what}", gap.id) for gap in gaps))


def run_check(chosen: argparse.Namespace) -> int:
    """Print every finding; 1 where one is open."""
    from collector.cli.plan_check import answer_of, checked, lines_of, of_faults

    path = str(chosen.plan)
    try:
        text = _text(path, chosen.ignore)
        try:
            loaded = load_whole(text.data, path)
        except PlanError as error:
            raise text.placed(error) from error
    except PlanError as error:
        answer = of_faults(error)
    else:
        for note in loaded.route.notes:
            tell(f"{path}: note: {note}")
        answer = checked(loaded, database_path(chosen.db), text.placed)
    if chosen.json:
        say(json.dumps(answer_of(answer), ensure_ascii=False, indent=1))
    else:
        for line in lines_of(path, answer):
            say(line)
    return 1 if answer.open else 0


def run_schema(_: argparse.Namespace) -> int:
    """Print the JSON Schema."""
    from schemas.plan.json_schema import plan_schema_text

    say(plan_schema_text().rstrip("\n"))
    return 0
