"""`witnessmark plan accept`: let a finding of `plan check` stand, with the reason, in the plan itself."""

import argparse

from collector.cli.place import tell
from collector.cli.plan_file import read_yaml, write_plan_file
from collector.cli.plan_insert import inserted
from collector.decode.plan_yaml import Entry, Said, Value
from schemas.errors import RecordError
from schemas.findings.accept import ABOUT_ACCEPTED
from schemas.findings.catalogue import CATALOGUE
from schemas.plan.columns import ACCEPTED_COLUMNS
from schemas.plan.faults import nearest
from schemas.plan.load import LoadedPlan, load_plan, load_whole
from schemas.plan.text import shown
from schemas.table import Place


def run_accept(chosen: argparse.Namespace) -> int:
    """Write the finding, its joints and the reason into the plan; every other byte of it stays."""
    _look_at_finding(chosen.finding)
    data = read_yaml(chosen.plan)
    whole = load_whole(data, chosen.plan)
    joints = tuple(dict.fromkeys(chosen.joint or ()))
    _look_at_joints(whole, joints, chosen.plan)
    if not chosen.reason.split():
        raise RecordError("--reason is empty; say why the finding may stand")
    if _is_accepted(whole, chosen.finding, joints):
        tell(f"{chosen.plan}: `{chosen.finding}` is accepted already; nothing is written")
        return 0
    values: dict[str, Value] = {"finding": chosen.finding, "joints": joints, "reason": " ".join(chosen.reason.split())}
    place = Place(0, "")
    entry = Entry(place, tuple(Said(column, values[column.name], place) for column in ACCEPTED_COLUMNS if values[column.name]))
    changed = inserted(data, "accepted", (entry,), chosen.plan)
    load_plan(changed, chosen.plan)
    write_plan_file(chosen.plan, changed)
    where = f" for {', '.join(joints)}" if joints else ""
    tell(f"{chosen.plan}: `{chosen.finding}` is accepted{where}; give the plan a new revision where it was in use")
    return 0


def _look_at_finding(finding: str) -> None:
    kind = CATALOGUE.get(finding)
    if kind is None:
        raise RecordError(f"there is no finding `{shown(finding)}`; {nearest(finding, CATALOGUE)}")
    if kind.level == "error":
        raise RecordError(f"`{finding}` is an error, and no reason makes such a plan workable; put it right in the plan")
    if finding in ABOUT_ACCEPTED:
        raise RecordError(f"`{finding}` is about `accepted` itself and cannot be accepted; put it right in the plan")


def _look_at_joints(whole: LoadedPlan, joints: tuple[str, ...], file: str) -> None:
    known = dict.fromkeys([joint.id for plan in (whole.written, whole.plan) for joint in plan.joints])
    for joint in joints:
        if joint not in known:
            raise RecordError(f"{file}: the plan has no joint `{shown(joint)}`; {nearest(joint, known)}")


def _is_accepted(whole: LoadedPlan, finding: str, joints: tuple[str, ...]) -> bool:
    for entry in whole.written.accepted or ():
        if entry.finding == finding and (not entry.joints or (joints and set(joints) <= set(entry.joints))):
            return True
    return False
