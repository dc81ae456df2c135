"""What a check looks at: each joint of a plan with its line, its torque and its thread, and what is known around the plan."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache

from schemas.findings.finding import NotChecked, PlanFinding, finding
from schemas.mechanics.preload import KRange
from schemas.mechanics.strength import Grade, read_grade
from schemas.mechanics.thread import Thread, read_thread
from schemas.plan.load import LoadedPlan
from schemas.plan.model import JointModel
from schemas.route import Joint, Route
from schemas.units import find_unit, to_nm
from schemas.wrench import Wrench


@dataclass(frozen=True, slots=True)
class Seen:
    """One joint. `label` is its id in the file, which two mirrored joints share; `torque_nm` the torque that stretches it.

    `torque_nm` is the stated torque in N·m, or the middle of the stated edges, None where none is stated; `low_nm` and
    `high_nm` are its edges; all three without an added drag. `thread` is None where none is stated or its pitch is open, and
    where it is none: then `thread_fault` says why.
    """

    index: int
    label: str
    model: JointModel
    joint: Joint
    torque_nm: Decimal | None
    low_nm: Decimal
    high_nm: Decimal
    thread: Thread | None
    thread_fault: str | None
    grade: Grade | None


@dataclass(frozen=True, slots=True)
class Subject:
    """A plan and what surrounds it; `earlier` are other contents of the same plan, the latest first."""

    loaded: LoadedPlan
    joints: tuple[Seen, ...]
    wrenches: tuple[Wrench, ...]
    earlier: tuple[Route, ...]
    k_ranges: Mapping[str, KRange]

    def line(self, seen: Seen, field: str) -> int:
        """The line of a field of a joint, or of the joint where the field does not stand there."""
        return self.loaded.tree.line(self.loaded.origin(("joints", seen.index, field)))

    def found(self, name: str, seen: Seen, field: str, what: str, remedy: str | None = None) -> PlanFinding:
        """A finding at a field of a joint."""
        return finding(name, seen.label, self.line(seen, field), what, remedy)

    def apart(self, name: str, groups: tuple[tuple[Seen, ...], ...], field: str, what: str) -> PlanFinding:
        """A finding about joints that differ; it stands at the one that is alone with its value, or at the last such."""
        odd = min(reversed(groups), key=len)[0]
        labels = tuple(tuple(dict.fromkeys(seen.label for seen in group)) for group in groups)
        return replace(self.found(name, odd, field, what), apart=labels)


def subject_of(
    loaded: LoadedPlan, wrenches: tuple[Wrench, ...], earlier: tuple[Route, ...], k_ranges: Mapping[str, KRange]
) -> Subject:
    """Look at every joint of a plan once."""
    pairs = zip(loaded.plan.joints, loaded.route.joints, strict=True)
    joints = tuple(_seen(loaded, index, model, joint) for index, (model, joint) in enumerate(pairs))
    others = tuple(route for route in earlier if route.content_sha256 != loaded.route.content_sha256)
    return Subject(loaded, joints, wrenches, others, k_ranges)


def stated_torque(model: JointModel) -> Decimal | None:
    """The torque in the joint's unit as the plan states it, the middle of its edges where it gives those."""
    if model.low is not None and model.high is not None:
        return (Decimal(model.low) + Decimal(model.high)) / 2
    return None if model.torque in (None, "not stated") else Decimal(str(model.torque))


def quoted(seen: Seen) -> str:
    """The torque as the plan states it, with its unit."""
    if seen.model.low is not None:
        return f"{seen.model.low} to {seen.model.high} {seen.joint.unit}"
    return "not stated" if seen.torque_nm is None else f"{seen.model.torque} {seen.joint.unit}"


def torque_field(seen: Seen) -> str:
    """The field that states the torque."""
    return "torque" if seen.model.low is None else "low"


def missing(check: str, seen: Seen, what: str) -> NotChecked:
    """That a joint did not get a check, and what is missing for it."""
    return NotChecked(check, seen.label, what)


def _seen(loaded: LoadedPlan, index: int, model: JointModel, joint: Joint) -> Seen:
    _, place = loaded.origin(("joints", index))
    stated = stated_torque(model)
    torque_nm = None if stated is None else to_nm(stated, find_unit(joint.unit)[0])
    thread, fault = _thread(model.thread) if model.thread else (None, None)
    zero = Decimal(0)
    band = joint.final.band if joint.stages else None
    drag_nm = zero if band is None or torque_nm is None else band.target_nm - torque_nm
    return Seen(
        index=index,
        label=loaded.written.joints[int(place)].id,
        model=model,
        joint=joint,
        torque_nm=torque_nm,
        low_nm=zero if band is None else band.low_nm - drag_nm,
        high_nm=zero if band is None else band.high_nm - drag_nm,
        thread=thread,
        thread_fault=fault,
        grade=read_grade(model.grade) if model.grade else None,
    )


@lru_cache(maxsize=256)
def _thread(text: str) -> tuple[Thread | None, str | None]:
    try:
        return read_thread(text), None
    except ValueError as error:
        return None, str(error)
