"""The one question that a person is asked now, if any: stripes of a finished joint, a hold point, a snug round."""

from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.screen import Ask, AskWord, Target
from schemas.words import Role, StepWord


def expect_answer(so_far: JobState, target: Target | None) -> Ask | None:
    """What to ask before the next fastener is pulled; None where nothing is asked.

    The stripes of a joint come first, of the joint in hand before others, since it can still be reached. Then the hold
    points that stand in the plan before the next fastener (all that are left where none is), then its snug round.
    """
    return _ask_stripes(so_far) or _ask_hold_point(so_far, target) or _ask_snug(so_far, target)


def _ask_stripes(so_far: JobState) -> Ask | None:
    waiting = [state for state in so_far.joints.values() if state.waits_for_stripes]
    waiting.sort(key=lambda state: state.joint.id != so_far.in_hand)
    for state in waiting:
        return _stripes(state)
    return None


def _stripes(state: JointState) -> Ask:
    joint = state.joint
    text = f"{joint.name}: stripes: {joint.fasteners} of {joint.fasteners}?"
    return Ask(AskWord.STRIPES, text, Role.FITTER, joint.id, None, joint.fasteners)


def _ask_hold_point(so_far: JobState, target: Target | None) -> Ask | None:
    before = len(so_far.route.steps) + 1
    if target is not None:
        before = next(step.number for step, joint in so_far.passes() if joint.id == target.joint.id)
    for step in so_far.route.steps:
        if step.word is StepWord.HOLD_POINT and step.number < before and step.hold_point not in so_far.hold_points:
            return Ask(AskWord.HOLD_POINT, step.text, step.sign or Role.FITTER, None, step.hold_point)
    return None


def _ask_snug(so_far: JobState, target: Target | None) -> Ask | None:
    if target is None or not target.joint.snug or so_far.joints[target.joint.id].is_snug(target.position):
        return None
    return Ask(AskWord.SNUG, f"{target.joint.name}: all {target.joint.fasteners} snug?", Role.FITTER, target.joint.id)
