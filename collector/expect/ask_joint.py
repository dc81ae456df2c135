"""What a joint needs before its next fastener is pulled: prepared threads, snug fasteners, the drag of its nuts."""

from schemas.job_state import JobState
from schemas.screen import Ask, AskWord, Target
from schemas.words import Role


def ask_joint(so_far: JobState, target: Target | None) -> Ask | None:
    """The question before the next fastener; None where nothing is asked."""
    if target is None:
        return None
    return _ask_prepared(so_far, target) or _ask_snug(so_far, target) or _ask_drag(so_far, target)


def _ask_prepared(so_far: JobState, target: Target) -> Ask | None:
    joint, state = target.joint, so_far.joints[target.joint.id]
    needs = []
    if joint.prepare and not state.is_prepared(target.position):
        needs.append(joint.prep or "prepared")
    if joint.renew and not state.is_renewed(target.position):
        needs.append("new hardware")
    if not needs:
        return None
    return Ask(AskWord.PREPARED, f"{joint.name}: {' and '.join(needs)} on all {state.to_see}?", Role.FITTER, joint.id)


def _ask_snug(so_far: JobState, target: Target) -> Ask | None:
    state = so_far.joints[target.joint.id]
    if not target.joint.snug or state.is_snug(target.position):
        return None
    return Ask(AskWord.SNUG, f"{target.joint.name}: all {state.to_see} snug?", Role.FITTER, target.joint.id)


def _ask_drag(so_far: JobState, target: Target) -> Ask | None:
    joint = target.joint
    if joint.drag != "measured" or so_far.joints[joint.id].drag(target.position) is not None:
        return None
    return Ask(AskWord.DRAG, f"{joint.name}: torque to turn the nut before it seats", Role.FITTER, joint.id, value_in=joint.unit)
