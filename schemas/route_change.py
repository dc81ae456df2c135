"""A route that changes while a job is open: a joint is added, or the job goes on after another revision. Pure."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from schemas.joint_state import JointState
from schemas.likelihood import P_LIMIT
from schemas.route import Joint, Route, Step
from schemas.words import StepWord


def with_joint(route: Route, joint: Joint) -> Route:
    """The route with a joint that the plan does not have, torqued in a step of its own before what comes after the job."""
    last = max((step.number for step in route.steps), default=0)
    step = Step(last + 1, StepWord.TORQUE, joints=(joint.id,))
    return replace(route, joints=(*route.joints, joint), steps=(*route.steps, step))


def changed_states(
    before: Mapping[str, JointState], route: Route, seq: int, limit: Decimal = P_LIMIT
) -> tuple[dict[str, JointState], dict[str, JointState]]:
    """The states of the joints of another revision, from entry `seq` on, and of those that it took out.

    A joint that is as it was keeps its state. One that is changed keeps what was done where its fasteners and stages still
    are as many, in doubt until it was done again; else it begins anew. `limit` is that of the job.
    """
    states: dict[str, JointState] = {}
    for joint in route.joints:
        old = before.get(joint.id)
        states[joint.id] = JointState(joint, limit=limit) if old is None else _carried(old, joint, (seq, route.revision))
        states[joint.id].loose, states[joint.id].to_open = False, ()
    for step in route.steps:
        for state in (states[name] for name in step.joints):
            if step.word is StepWord.LOOSE:
                state.loose = True
            elif step.word is StepWord.OPEN:
                state.to_open = (*state.to_open, step.number)
    return states, {name: state for name, state in before.items() if name not in states}


def _carried(old: JointState, joint: Joint, changed: tuple[int, str]) -> JointState:
    if old.joint == joint:
        return old
    if _without_steps(old.joint) == _without_steps(joint):
        # Only the steps of the plan have other numbers.
        return _with(joint, old, old.changed)
    seq, revision = changed
    shape = (old.joint.fasteners, [stage.word for stage in old.joint.stages])
    if shape != (joint.fasteners, [stage.word for stage in joint.stages]):
        over = {position: one.over for position, one in enumerate(old.fasteners, 1) if one.over is not None}
        # No revision makes an over-pull good; of one whose place is gone nobody knows which fastener it is now.
        still_over = {min(place, joint.fasteners): pull for place, pull in over.items()}
        return JointState(joint, since=seq, still_over=still_over, limit=old.limit, counted=old.counted)
    return _with(joint, old, (seq, f"done before revision {revision} changed this joint"))


def _with(joint: Joint, old: JointState, changed: tuple[int, str] | None) -> JointState:
    new = JointState(
        joint, events=old.events, unmet=old.unmet, snugs=old.snugs, seconds=old.seconds, changed=changed, since=old.since,
        still_over=old.still_over, limit=old.limit, counted=old.counted,
    )  # fmt: skip
    new.replay()
    return new


def _without_steps(joint: Joint) -> Joint:
    return replace(joint, stages=tuple(replace(stage, step=None) for stage in joint.stages))
