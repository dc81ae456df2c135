"""Which fasteners are still to be pulled at a stage: one answer for the matcher and for the list of what is open. Pure."""

from schemas.joint_state import JointState
from schemas.route import Stage
from schemas.words import StageWord, Verdict


def is_to_pull(state: JointState, stage: Stage, position: int) -> bool:
    """Whether a fastener is to be pulled at a stage; of one that a person answers for nothing is expected."""
    fastener = state.fasteners[position - 1]
    if fastener.is_settled or (stage.word is StageWord.ANGLE and fastener.turned is not None):
        return False
    is_later_check = stage.word is StageWord.RECHECK and not state.joint.is_check
    if is_later_check and (state.is_past(stage) or fastener.stages[state.joint.final.number - 1] is None):
        # What was missed is tightened first; what was opened since is not checked any more.
        return False
    pull = fastener.stages[stage.number - 1]
    # An over-pull is not pulled again before it was opened; an under-pull is continued.
    return pull is None or pull.verdict == Verdict.UNDER


def positions_to_pull(state: JointState, stage: Stage) -> tuple[int, ...]:
    """The positions still to be pulled at a stage, in the order of that stage."""
    return tuple(position for position in state.joint.order_of(stage) if is_to_pull(state, stage, position))
