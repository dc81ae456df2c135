"""`witnessmark plan`: check a plan, print the schema."""

import argparse
import json
from contextlib import closing
from pathlib import Path

from collector.cli.place import database_path, say, tell
from collector.record.jobs import PlanFile
from schemas.errors import PlanError, PlanFault, SourceError, SourceReason
from schemas.plan.cover import uncovered
from schemas.plan.load import load_plan
from schemas.wrench import Wrench


def read_plan(path: str) -> PlanFile:
    """A plan from its file; SourceError where it is missing, PlanError where it is wrong."""
    file = Path(path)
    try:
        data = file.read_bytes()
    except OSError as error:
        raise SourceError(f"{path}: cannot be read ({error.strerror}); name a plan file", SourceReason.MISSING) from error
    return PlanFile(file.name, data, load_plan(data, path))


def refuse_unworkable(plan: PlanFile, wrenches: dict[str, Wrench]) -> None:
    """Stop on what this version would have to ignore, and on torques that no registered wrench covers."""
    faults = [*plan.route.not_obeyed, *_not_covered(plan, wrenches)]
    if faults:
        raise PlanError(plan.name, tuple(PlanFault(0, "", text) for text in faults))


def _not_covered(plan: PlanFile, wrenches: dict[str, Wrench]) -> list[str]:
    ranges = [(wrench.id, wrench.low_nm, wrench.high_nm) for wrench in wrenches.values()]
    return [f"joint {gap.joint}: {gap.what}" for gap in uncovered(plan.route, ranges)]


def run_check(chosen: argparse.Namespace) -> int:
    """Print every finding; 1 where there is one."""
    findings: list[dict[str, object]] = []
    try:
        plan = read_plan(chosen.plan)
    except PlanError as error:
        findings = [{"line": fault.line, "field": fault.field, "what": fault.what} for fault in error.faults]
        told = [str(line) for line in str(error).splitlines()]
    else:
        texts = [*plan.route.not_obeyed, *_not_covered(plan, _registered(chosen.db))]
        findings = [{"line": None, "field": "", "what": text} for text in texts]
        told = [f"{chosen.plan}: {text}" for text in texts]
        for note in plan.route.notes:
            tell(f"{chosen.plan}: note: {note}")
    if chosen.json:
        say(json.dumps({"format": 1, "findings": findings}, ensure_ascii=False, indent=1))
    else:
        for line in told:
            say(line)
        if not told:
            joints = plan.route.joints
            fasteners = sum(joint.fasteners for joint in joints)
            plural = "" if len(joints) == 1 else "s"
            say(f"{chosen.plan}: nothing wrong found: {fasteners} fasteners in {len(joints)} joint{plural}")
    return 1 if findings else 0


def _registered(named: str | None) -> dict[str, Wrench]:
    """The register, where there is a database; a plan can be checked without one."""
    path = database_path(named)
    if not path.exists():
        return {}
    from analysis.load.database import open_audit
    from analysis.load.register import load_wrenches

    with closing(open_audit(path)) as db:
        return {wrench.id: wrench for wrench in load_wrenches(db)}


def run_schema(_: argparse.Namespace) -> int:
    """Print the JSON Schema."""
    from schemas.plan.json_schema import plan_schema_text

    say(plan_schema_text().rstrip("\n"))
    return 0
