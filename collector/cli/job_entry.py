"""One entry in an open job by a named person, made away from the bench once what it names is found in the job's plan."""

import argparse
from collections.abc import Callable

from collector.cli.job_writer import job_writer, refuse_closed
from schemas.bodies import Body
from schemas.errors import RecordError
from schemas.job_state import JobState
from schemas.joint_state import JointState

Entries = Body | tuple[Body, ...]


def record(chosen: argparse.Namespace, holder: str, make: Callable[[JobState, str], Entries]) -> JobState:
    """Append what `make` gives, of the job's state and the person's id, together; gives the state after it.

    RecordError where there is no such file or job, where the job is closed, and whatever `make` refuses.
    """
    with job_writer(chosen, holder) as (recorder, state):
        refuse_closed(state)
        with recorder.transaction():
            by = recorder.person(chosen.by)
            made = make(state, by)
            for body in made if isinstance(made, tuple) else (made,):
                recorder.append(body, by)
        return state


def joint_of(state: JobState, joint: str) -> JointState:
    """The joint of that id; RecordError, naming those that there are, where the job has none."""
    found = state.joints.get(joint)
    if found is None:
        raise RecordError(f"joint `{joint}` is not in the plan of this job; it has {', '.join(state.joints)}")
    return found


def check_position(state: JointState, position: int | None) -> None:
    """RecordError where the joint has no such position; None means all of it."""
    if position is not None and not 1 <= position <= state.joint.fasteners:
        raise RecordError(f"joint `{state.joint.id}` has positions 1 to {state.joint.fasteners}, not {position}")
