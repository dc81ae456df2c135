"""Which torques of a route no registered wrench covers."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from schemas.route import Joint, Route, Stage


@dataclass(frozen=True, slots=True)
class Uncovered:
    """A torque that no wrench covers; `stage` is its number, None where each stage has a wrench but no one has all."""

    joint: str
    stage: int | None
    what: str

    def __str__(self) -> str:
        return f"`joints.{self.joint}`: {self.what}"


def uncovered(route: Route, wrenches: Sequence[tuple[str, Decimal, Decimal]]) -> tuple[Uncovered, ...]:
    """The stages whose target lies in no usable range of the wrenches that their joint may use; both ends cover.

    `wrenches` are (id, low_nm, high_nm) of the registered ones; while there is none, nothing is looked at. A joint that
    names its wrenches may change between them from stage to stage; without names one wrench must cover all its stages.
    """
    if not wrenches:
        return ()
    return tuple(found for joint in route.joints for found in _of_joint(joint, wrenches))


def _of_joint(joint: Joint, wrenches: Sequence[tuple[str, Decimal, Decimal]]) -> list[Uncovered]:
    usable = [(low, high) for name, low, high in wrenches if not joint.wrenches or name in joint.wrenches]
    which = f"none of its wrenches {', '.join(joint.wrenches)}" if joint.wrenches else "no registered wrench"
    found = [
        Uncovered(
            joint.id,
            stage.number,
            f"{which} covers {stage.band.target:f} {joint.unit} of stage {stage.number}; register one that does, or name another",
        )
        for stage in joint.stages
        if not any(_covers(edges, stage) for edges in usable)
    ]
    if found or joint.wrenches or any(all(_covers(edges, stage) for stage in joint.stages) for edges in usable):
        return found
    what = "no one registered wrench covers every stage; name the wrenches to use in `wrench`, or register one that does"
    return [Uncovered(joint.id, None, what)]


def _covers(edges: tuple[Decimal, Decimal], stage: Stage) -> bool:
    return edges[0] <= stage.band.target_nm <= edges[1]
