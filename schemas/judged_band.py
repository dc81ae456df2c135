"""The band that a pull on a fastener is judged by: its stage's, moved by a measured drag, seen through an offset adapter."""

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from schemas.adapter import band_through_adapter
from schemas.plan.bands import band_with_drag, counts_drag
from schemas.route import Band, Joint, Stage
from schemas.units import find_unit, to_nm

if TYPE_CHECKING:
    from schemas.joint_state import JointState


@dataclass(frozen=True, slots=True)
class Judged:
    """The edges for what the wrench shows. `band` None: not known, and `lever` says why. `drag_nm` None: none was measured."""

    band: Band | None
    lever: str | None = None
    drag_nm: Decimal | None = None


def band_to_reach(state: "JointState", stage: Stage, position: int) -> Band:
    """The band at the fastener itself, with a measured drag where the shop's rule counts it."""
    drag = state.drag(position)
    unit, _remark = find_unit(state.joint.unit)
    if drag is None or not counts_drag(to_nm(drag, unit), state.joint.drag_third_of_nm):
        return stage.band
    return band_with_drag(stage.band, drag, unit)


def judged_band(state: "JointState", stage: Stage, position: int, length_mm: Decimal | None) -> Judged:
    """The band for what a wrench of that length shows."""
    band, drag = band_to_reach(state, stage, position), state.drag(position)
    drag_nm = None if drag is None else to_nm(drag, find_unit(state.joint.unit)[0])
    adapter = state.joint.adapter
    if adapter is None or adapter.by_wrench:
        return Judged(band, lever_text(state.joint, None), drag_nm)
    if length_mm is None:
        return Judged(None, "the wrench's length is not in the register", drag_nm)
    try:
        seen = band_through_adapter(band, length_mm, adapter.length_mm, adapter.angle_deg)
    except ValueError as error:
        return Judged(None, str(error), drag_nm)
    return Judged(seen, lever_text(state.joint, length_mm), drag_nm)


def lever_text(joint: Joint, length_mm: Decimal | None) -> str | None:
    """The lever in words, as it is recorded beside the edges; None without an adapter."""
    adapter = joint.adapter
    if adapter is None:
        return None
    offset = f"adapter {adapter.length_mm:f} mm at {adapter.angle_deg:f}°"
    return f"{offset}, corrected by the wrench" if adapter.by_wrench else f"{offset}, wrench {length_mm:f} mm to the grip mark"
