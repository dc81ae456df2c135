"""Mirrored joints of a plan as the two that they are, each named by the steps that name the pair."""

from dataclasses import dataclass
from typing import TypeVar

from schemas.plan.model import AcceptedModel, JointModel, PlanModel, StepModel
from schemas.plan.text import Path

_Part = TypeVar("_Part", StepModel, AcceptedModel)

SIDES = ("left", "right")
_NAMING = ("fit", "loose", "torque", "open", "recheck", "retorque", "after", "covers")


@dataclass(frozen=True, slots=True)
class Expanded:
    """A plan without mirrors, with the side of each joint and where each joint and each name stands in the file.

    `ids` are those that each joint of the file takes: its own, and where it is mirrored those of its two sides.
    """

    plan: PlanModel
    sides: tuple[str | None, ...]
    ids: tuple[tuple[str, ...], ...]
    _joints: tuple[int, ...]
    _names: dict[Path, Path]

    def origin(self, path: Path) -> Path:
        """The place in the file of a place in the expanded plan."""
        if path[:1] == ("joints",) and len(path) > 1 and isinstance(path[1], int):
            return ("joints", self._joints[path[1]], *path[2:])
        return self._names.get(path, path)


def expanded(plan: PlanModel) -> Expanded:
    """Two joints for each that has `mirror`, ids and names with their side; everything else as it stands.

    The right one keeps the numbers of its positions: its picture is mirrored, so the same sequence of numbers runs the
    other way round.
    """
    joints: list[JointModel] = []
    sides: list[str | None] = []
    origins: list[int] = []
    ids: list[tuple[str, ...]] = []
    pairs: dict[str, tuple[str, ...]] = {}
    for index, joint in enumerate(plan.joints):
        both = SIDES if joint.mirror else (None,)
        sided = [_sided(joint, side) for side in both]
        names_of = tuple(one.id for one in sided)
        pairs.setdefault(joint.id, names_of)
        ids.append((joint.id, *names_of) if joint.mirror else names_of)
        joints += sided
        sides += both
        origins += [index] * len(both)
    renamed = _Renamed(pairs, {})
    steps = plan.steps and [renamed.naming(step, ("steps", index), _NAMING) for index, step in enumerate(plan.steps)]
    accepted = plan.accepted and [
        renamed.naming(one, ("accepted", index), ("joints",)) for index, one in enumerate(plan.accepted)
    ]
    whole = plan.model_copy(update={"joints": joints, "steps": steps, "accepted": accepted})
    return Expanded(whole, tuple(sides), tuple(ids), tuple(origins), renamed.names)


def _sided(joint: JointModel, side: str | None) -> JointModel:
    if side is None:
        return joint
    return joint.model_copy(update={"id": f"{joint.id}-{side}", "name": f"{joint.name}, {side}"})


@dataclass(frozen=True, slots=True)
class _Renamed:
    """Puts both sides in the place of a pair's name, and keeps where in the file each name stands."""

    pairs: dict[str, tuple[str, ...]]
    names: dict[Path, Path]

    def naming(self, part: _Part, path: Path, fields: tuple[str, ...]) -> _Part:
        changed = {}
        for field in fields:
            listed = getattr(part, field, None)
            if not isinstance(listed, list):
                continue
            both: list[str] = []
            for place, name in enumerate(listed):
                for one in self.pairs.get(name, (name,)):
                    self.names[*path, field, len(both)] = (*path, field, place)
                    both.append(one)
            if both != listed:
                changed[field] = both
        return part.model_copy(update=changed) if changed else part
