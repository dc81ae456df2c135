"""`witnessmark job add-joint`: a joint that the plan does not have, by a named person, with the source of its figures."""

import argparse

from collector.cli.job_entry import record
from collector.cli.place import tell
from schemas.bodies import JointAdded
from schemas.errors import PlanError, RecordError
from schemas.job_state import JobState
from schemas.plan.load import load_plan
from schemas.route import Joint
from schemas.route_body import joint_to_body

# As a plan of one joint it goes through the same rules as every other joint.
_PLAN = "plan: added\ntitle: added\nrevision: added\nsource: added\njoints:\n  - "
_FIELDS = ("id", "name", "fasteners", "torque", "low", "high", "unit", "tolerance", "order", "thread", "grade", "prep")


def run_add_joint(chosen: argparse.Namespace) -> int:
    """Add a joint to an open job; it is torqued after the plan's own."""
    joint = added_joint(chosen)

    def make(state: JobState, _by: str) -> JointAdded:
        if joint.id in state.joints or joint.id in state.former:
            raise RecordError(f"joint `{joint.id}` is in this job already; give the new one another id")
        if any(step.hold_point == joint.id for step in state.route.steps):
            raise RecordError(f"`{joint.id}` is a hold point of this job; give the joint another id")
        return JointAdded(chosen.job, joint_to_body(joint), chosen.source)

    record(chosen, "add-joint", make)
    tell(f"recorded: joint `{joint.id}`, {joint.fasteners} fasteners, source {chosen.source}")
    return 0


def added_joint(chosen: argparse.Namespace) -> Joint:
    """The joint as it was typed; RecordError with what the rules of a plan refuse."""
    lines = [f"{field}: {_quoted(str(value))}" for field in _FIELDS if (value := getattr(chosen, field)) is not None]
    text = _PLAN + "\n    ".join(lines)
    try:
        return load_plan(text.encode(), "joint").joints[0]
    except PlanError as error:
        raise RecordError("; ".join(f"{fault.field.removeprefix('joints.')}: {fault.what}" for fault in error.faults)) from error


def _quoted(text: str) -> str:
    return "'" + " ".join(text.split()).replace("'", "''") + "'"
