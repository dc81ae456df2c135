"""What `plan check` says: the findings of a plan beside the shop's register, its settings and earlier revisions."""

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from collector.cli.place import settings, tell
from collector.record.jobs import PlanFile
from schemas.errors import PlanError, PlanFault
from schemas.findings.check import PLAUSIBILITY, check_plan
from schemas.findings.finding import PlanFinding, findings_of
from schemas.plan.load import LoadedPlan, load_whole
from schemas.route import Route
from schemas.wrench import Wrench


@dataclass(frozen=True, slots=True)
class Placed:
    """A finding, and where it stands as people read it: `line 12`, or `cell B4` of a table."""

    finding: PlanFinding
    place: str


@dataclass(frozen=True, slots=True)
class Answer:
    """All that a check has to say; `size` is what was looked at, empty where the plan could not be read."""

    findings: tuple[Placed, ...]
    not_checked: tuple[str, ...]
    size: str = ""

    @property
    def open(self) -> tuple[Placed, ...]:
        """The findings that the plan does not accept."""
        return tuple(placed for placed in self.findings if placed.finding.accepted is None)


def of_faults(error: PlanError) -> Answer:
    """What is to be said of a plan that cannot be loaded."""
    places = (_place(fault) for fault in error.faults)
    findings = (Placed(*pair) for pair in zip(findings_of(error.faults), places, strict=True))
    return Answer(tuple(findings), ("everything else: it is checked once these errors are put right",))


def checked(loaded: LoadedPlan, database: Path, placed: Callable[[PlanError], PlanError] = lambda error: error) -> Answer:
    """What is to be said of a plan that holds together; `placed` gives the places of a plan that was made from a table.

    RecordError where the settings or the database cannot be read.
    """
    wrenches, earlier = _around(database, loaded.route.plan)
    found = check_plan(loaded, wrenches, earlier, settings(database).k)
    faults = tuple(PlanFault(finding.line, "", finding.what, finding.id) for finding in found.findings)
    places = placed(PlanError(loaded.route.plan, faults)).faults
    joints = loaded.route.joints
    fasteners = sum(joint.fasteners for joint in joints)
    return Answer(
        tuple(_placed(finding, fault) for finding, fault in zip(found.findings, places, strict=True)),
        found.not_checked,
        f"{fasteners} fastener{_s(fasteners)} in {len(joints)} joint{_s(len(joints))}",
    )


def _placed(finding: PlanFinding, fault: PlanFault) -> Placed:
    return Placed(replace(finding, line=fault.line), _place(fault))


def _place(fault: PlanFault) -> str:
    return str(getattr(fault, "place", "")) or (f"line {fault.line}" if fault.line else "")


def _around(database: Path, plan: str) -> tuple[tuple[Wrench, ...], tuple[Route, ...]]:
    """The register and the earlier contents of the plan, where there is a database; a plan can be checked without one."""
    if not database.exists():
        return (), ()
    from analysis.load.database import open_audit
    from analysis.load.plans import load_routes
    from analysis.load.register import load_wrenches

    with closing(open_audit(database)) as db:
        return load_wrenches(db), load_routes(db, plan)


def open_findings(plan: PlanFile, database: Path) -> tuple[str, ...]:
    """The open findings of a plan, one line each; a job may be opened all the same, and keeps them."""
    found = checked(load_whole(plan.data, plan.name), database).open
    if found:
        tell(
            f"{plan.name}: {len(found)} finding{_s(len(found))} open, kept with the job; read "
            f"{'it' if len(found) == 1 else 'them'} with `witnessmark plan check`"
        )
    told = (placed.finding for placed in found)
    return tuple(f"{finding.id}: {', '.join(finding.joints) or 'the plan'}: {finding.what}" for finding in told)


def answer_of(answer: Answer) -> dict[str, object]:
    """The answer as JSON."""
    return {
        "format": 1,
        "findings": [_json(placed) for placed in answer.findings],
        "not_checked": list(answer.not_checked),
    }


def _json(placed: Placed) -> dict[str, object]:
    finding = placed.finding
    told = asdict(finding)
    del told["apart"]
    if told["accepted"] is None:
        del told["accepted"]
    return told | {"joints": list(finding.joints), "place": placed.place}


def lines_of(file: str, answer: Answer) -> Iterator[str]:
    """The answer as a person reads it: what is open, what is accepted, what was not checked, and how much of each."""
    accepted = [placed for placed in answer.findings if placed.finding.accepted is not None]
    for placed in (*answer.open, *accepted):
        yield from _lines(file, placed)
    for line in answer.not_checked:
        yield f"{file}: not checked: {line}"
    levels = [placed.finding.level for placed in answer.open]
    errors, warnings = (levels.count(level) for level in ("error", "warning"))
    if answer.size and not levels:
        told = f"nothing wrong found: {answer.size}"
    else:
        told = f"{errors} error{_s(errors)} and {warnings} warning{_s(warnings)} open"
    if accepted:
        told += f"; {len(accepted)} accepted"
    yield f"{file}: {told}{f' ({PLAUSIBILITY})' if answer.size else ''}"


def _lines(file: str, placed: Placed) -> Iterator[str]:
    found = placed.finding
    where = ", ".join(filter(None, (file, placed.place, found.joint)))
    state = "accepted" if found.accepted else found.level
    yield f"{where}: {found.id} ({state})"
    yield f"    {found.what}"
    if found.accepted:
        yield f"    accepted: {found.accepted}"
        return
    yield f"    why: {found.why}"
    yield f"    what to do: {found.remedy}"


def _s(count: int) -> str:
    return "" if count == 1 else "s"
