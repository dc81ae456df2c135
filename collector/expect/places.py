"""The places that a reading can belong to: each measured stage of each joint, in the order in which the plan works them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from schemas.adapter import band_through_adapter
from schemas.passes import passes_of
from schemas.route import Joint, Route, Stage
from schemas.words import StageWord

NOWHERE = -1
"""The place of a reading that belongs to nothing of this job, and of a wrench that has not begun."""


@dataclass(frozen=True, slots=True)
class Place:
    """One stage of one joint in one pass of the plan; `index` counts from 0 in the plan's order.

    `low_nm` and `target_nm`, `high_nm` as the band has them, seen at the fastener. `turns` says that a tightening here turns
    the fastener; a check of tight ones does not. `begins` says that the joint's own round before it is another place.
    """

    index: int
    joint: Joint
    stage: Stage
    order: tuple[int, ...]
    low_nm: float
    target_nm: float
    high_nm: float
    turns: bool
    by_angle: bool
    begins: bool

    @property
    def fasteners(self) -> int:
        """How many are to be pulled here."""
        return len(self.order)

    def shown_share(self, length_mm: float | None) -> float:
        """What a wrench of that length shows of the torque at the fastener: less than 1 with an adapter that makes it longer."""
        adapter = self.joint.adapter
        if adapter is None or adapter.by_wrench or length_mm is None:
            return 1.0
        try:
            seen = band_through_adapter(self.stage.band, Decimal(str(length_mm)), adapter.length_mm, adapter.angle_deg)
        except ValueError:
            return 1.0
        return float(seen.target_nm / self.stage.band.target_nm)

    def shown_band(self, length_mm: float | None) -> tuple[float, float, float]:
        """What a wrench of that length shows at the low edge, the target and the high edge, in N·m."""
        if length_mm is None or self.joint.adapter is None:
            return self.low_nm, self.target_nm, self.high_nm
        share = self.shown_share(length_mm)
        return self.low_nm * share, self.target_nm * share, self.high_nm * share


def numbers_of(places: Sequence[Place]) -> dict[tuple[str, int], int]:
    """By joint and stage the index of the place."""
    return {(place.joint.id, place.stage.number): place.index for place in places}


def places_of(route: Route, answered: Mapping[str, frozenset[int]] | None = None) -> tuple[Place, ...]:
    """All places, in the order in which the plan works them; none for a joint whose torque is not stated.

    `answered` names by joint the positions that a person answers for: no pull is waited for there.
    """
    found: list[Place] = []
    for one in passes_of(route):
        gone = (answered or {}).get(one.joint.id, frozenset())
        for stage in one.stages:
            order = tuple(position for position in one.joint.order_of(stage) if position not in gone)
            if order:
                found.append(_place(len(found), one.joint, stage, order, begins=stage is one.stages[0]))
    return tuple(found)


def _place(index: int, joint: Joint, stage: Stage, order: tuple[int, ...], begins: bool) -> Place:
    band = stage.band
    return Place(
        index, joint, stage, order, float(band.low_nm), float(band.target_nm), float(band.high_nm),
        stage.word is not StageWord.RECHECK, stage.word is StageWord.ANGLE, begins,
    )  # fmt: skip
