"""Which torques of a route no registered wrench covers; through an offset adapter it is the value to set that counts."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from schemas.adapter import set_value
from schemas.route import Joint, Route, Stage
from schemas.words import StageWord
from schemas.wrench import Wrench


@dataclass(frozen=True, slots=True)
class Uncovered:
    """A torque that no wrench covers; `stage` is its number, None where it is not about one. `id` is that of the finding."""

    joint: str
    stage: int | None
    what: str
    id: str = "no-wrench-covers"

    def __str__(self) -> str:
        return f"`joints.{self.joint}`: {self.what}"


def uncovered(route: Route, wrenches: Sequence[Wrench]) -> tuple[Uncovered, ...]:
    """The stages whose target lies in no usable range of the wrenches that their joint may use; both ends cover.

    `wrenches` are the registered ones; while there is none, nothing is looked at. A joint that names its wrenches may change
    between them from stage to stage; without names one wrench must cover all its stages.
    """
    if not wrenches:
        return ()
    return tuple(found for joint in route.joints for found in _of_joint(joint, wrenches))


def covering(joint: Joint, stage: Stage, wrenches: Sequence[Wrench]) -> list[Wrench]:
    """The wrenches that the joint may use and that cover a stage of it, in the order of the register."""
    return [wrench for wrench in _allowed(joint, wrenches) if _covers(wrench, joint, stage)]


def _allowed(joint: Joint, wrenches: Sequence[Wrench]) -> list[Wrench]:
    return [wrench for wrench in wrenches if not joint.wrenches or wrench.id in joint.wrenches]


def _of_joint(joint: Joint, wrenches: Sequence[Wrench]) -> list[Uncovered]:
    allowed = _allowed(joint, wrenches)
    names = ", ".join(joint.wrenches)
    if not allowed:
        what = f"none of its wrenches {names} is in the register; register one, or name another"
        return [Uncovered(joint.id, None, what)] if joint.stages else []
    if _needs_length(joint) and not any(wrench.length_mm for wrench in allowed):
        which = f"none of its wrenches {names}" if names else "no registered wrench"
        what = (
            f"{which} has a length in the register, which the value to set through the adapter hangs on; enter it with"
            " `witnessmark wrench length`, from drive to grip mark, or write `corrected_by: wrench` where the wrench is told of"
            " the adapter"
        )
        return [Uncovered(joint.id, None, what, "adapter-length-unknown")]
    return _out_of_range(joint, allowed)


def _out_of_range(joint: Joint, allowed: list[Wrench]) -> list[Uncovered]:
    which = f"none of its wrenches {', '.join(joint.wrenches)}" if joint.wrenches else "no registered wrench"
    through = ", set through the adapter" if _needs_length(joint) else ""
    stages = [stage for stage in joint.stages if stage.word is not StageWord.ANGLE]
    found = [
        Uncovered(
            joint.id,
            stage.number,
            f"{which} covers {stage.band.target:f} {joint.unit} of stage {stage.number}{through}; register one that does, or name"
            " another",
        )
        for stage in stages
        if not any(_covers(wrench, joint, stage) for wrench in allowed)
    ]
    if found or joint.wrenches or any(all(_covers(wrench, joint, stage) for stage in stages) for wrench in allowed):
        return found
    what = "no one registered wrench covers every stage; name the wrenches to use in `wrench`, or register one that does"
    return [Uncovered(joint.id, None, what)]


def _needs_length(joint: Joint) -> bool:
    """Whether what is to be set hangs on the wrench's length: not at a right angle, not where the wrench works it out."""
    adapter = joint.adapter
    return adapter is not None and not adapter.by_wrench and adapter.angle_deg != 90


def _covers(wrench: Wrench, joint: Joint, stage: Stage) -> bool:
    value = _to_set_nm(wrench, joint, stage.band.target_nm)
    return value is not None and wrench.low_nm <= value <= wrench.high_nm


def _to_set_nm(wrench: Wrench, joint: Joint, torque_nm: Decimal) -> Decimal | None:
    """What the wrench has to show, None where its length is not known or the adapter leaves it no lever."""
    adapter = joint.adapter
    if adapter is None or not _needs_length(joint):
        return torque_nm
    if wrench.length_mm is None:
        return None
    try:
        return set_value(torque_nm, wrench.length_mm, adapter.length_mm, adapter.angle_deg)
    except ValueError:
        return None
