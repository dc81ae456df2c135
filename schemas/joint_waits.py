"""Whether a joint waits for a person: for its fasteners to be counted, or for a second pair of eyes. Pure."""

from typing import TYPE_CHECKING

from schemas.bodies import MatchKept
from schemas.joint_doubts import lacks_second
from schemas.route import Joint
from schemas.words import Kind, StageWord, Verdict

if TYPE_CHECKING:
    from schemas.joint_state import JointState


def waits_for_second(state: "JointState") -> bool:
    """A second person has to look at a critical joint, once its fitter has said that it is whole."""
    if not (state.joint.critical and state.all_done):
        return False
    is_whole = state.confirmed_seq is not None or all(fastener.is_settled for fastener in state.fasteners)
    return is_whole and any(lacks_second(state, fastener) for fastener in state.fasteners)


def waits_for_stripes(state: "JointState") -> bool:
    """Every final is done, or checked again, and nobody has said since how many there are."""
    if not state.all_done or state.denied is not None:
        return False
    if not _is_check_whole(state) if state.is_checked_since else state.confirmed_seq is not None:
        return False
    return any(not fastener.is_settled for fastener in state.fasteners)


def _is_check_whole(state: "JointState") -> bool:
    """Whether each check that was begun has gone over every fastener."""
    numbers = [stage.number for stage in state.joint.stages if stage.word is StageWord.RECHECK]
    rounds = ([one.stages[number - 1] for one in state.fasteners if not one.is_settled] for number in numbers)
    return all(all(pull and pull.verdict != Verdict.UNDER for pull in pulls) for pulls in rounds if any(pulls))


def is_later_check(joint: Joint, match: MatchKept) -> bool:
    """Whether a pull belongs to a check that a later step of the plan asks for."""
    is_check = match.stage is not None and joint.stages[match.stage - 1].word is StageWord.RECHECK
    return is_check and match.kind in (Kind.TIGHTENING, Kind.SHORT_PULL) and not joint.is_check
