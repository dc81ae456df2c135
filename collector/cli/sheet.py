"""`witnessmark plan sheet` and `plan picture`: a plan as a work sheet on paper, and the picture of one of its joints."""

import argparse
from difflib import get_close_matches
from pathlib import Path

from collector.cli.outfile import form_of, whole_file
from collector.cli.place import SystemClock, database_path, tell
from collector.cli.plan import read_plan
from schemas.clock import Clock, rfc3339
from schemas.errors import PlanError, PlanFault
from schemas.route import Joint, Route


def run_sheet(chosen: argparse.Namespace) -> int:
    """Write the work sheet of a plan as PDF."""
    route = read_plan(chosen.plan).route
    write_sheet(route, Path(chosen.to), SystemClock(), item=chosen.item, order_no=chosen.order)
    fasteners = sum(joint.fasteners for joint in route.joints)
    tell(f"{chosen.to}: work sheet of {route.plan}, revision {route.revision}, {fasteners} fasteners")
    return 0


def write_sheet(route: Route, target: Path, clock: Clock, *, item: str = "", order_no: str = "") -> None:
    """Make the work sheet and write it; RecordError where the ending is not .pdf or the file cannot be written."""
    from analysis.report.work_sheet import work_sheet_pdf

    form_of(target, "pdf")
    page = work_sheet_pdf(route, made_at=rfc3339(clock.now()), item=item, order_no=order_no)
    with whole_file(target, database_path(None)) as part:
        part.write_bytes(page)


def run_picture(chosen: argparse.Namespace) -> int:
    """Write the picture of one joint as SVG, and say its order in words."""
    from analysis.plot_pattern import pattern_svg, pattern_text

    joint = _joint(read_plan(chosen.plan).route, chosen.joint, chosen.plan)
    target = Path(chosen.to)
    form_of(target, "svg")
    with whole_file(target, database_path(None)) as part:
        part.write_bytes(pattern_svg(joint))
    tell(f"{target}: {joint.name}: {pattern_text(joint)}")
    return 0


def _joint(route: Route, joint_id: str, file: str) -> Joint:
    """The joint of that id; PlanError, naming the nearest ones, where the plan has none."""
    joints = route.by_id()
    if joint_id not in joints:
        near = ", ".join(f"`{one}`" for one in get_close_matches(joint_id, joints, n=5, cutoff=0))
        raise PlanError(file, (PlanFault(0, "", f"no joint has the id `{joint_id}`; nearest are {near}"),))
    return joints[joint_id]
