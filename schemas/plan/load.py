"""A plan's bytes to the route that is walked, or everything that is wrong with it at once."""

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from hashlib import sha256
from itertools import chain, islice

from pydantic import ValidationError

from schemas.errors import PlanError, PlanFault, UnitError
from schemas.plan.bands import band_of_limits, band_of_torque, band_with_drag, counts_drag, stage_band
from schemas.plan.compile import compiled_joint, compiled_steps, recheck_stages
from schemas.plan.expand import expanded
from schemas.plan.faults import faults_of
from schemas.plan.model import JointModel, PlanModel
from schemas.plan.rules import Finding, drag_value, joint_findings, stages_what
from schemas.plan.step_rules import step_findings
from schemas.plan.text import Path, Tree, read_tree
from schemas.plan.tolerance import read_tolerance
from schemas.route import Band, Joint, Route, Stage
from schemas.units import Unit, find_unit, to_nm

_MOST_FAULTS = 200


@dataclass(frozen=True, slots=True)
class LoadedPlan:
    """A plan that holds together: as it was written, without its mirrors, where each thing stands, and the route of it."""

    written: PlanModel
    plan: PlanModel
    tree: Tree
    route: Route
    origin: Callable[[Path], Path]


def load_plan(data: bytes, file: str) -> Route:
    """Read a plan into a route; `file` is the name shown in messages.

    Raises PlanError with every fault found, at most 200, in the order of lines: first what the text says must be settled,
    then each field by itself, then the plan as a whole (structure, units, bands).
    """
    return load_whole(data, file).route


def load_whole(data: bytes, file: str) -> LoadedPlan:
    """Read a plan with all that `plan check` looks at; PlanError as `load_plan`."""
    tree = read_tree(data, file)
    try:
        written = PlanModel.model_validate(tree.root)
    except ValidationError as error:
        raise PlanError(file, _told(faults_of(error, tree))) from error
    whole = expanded(written)
    findings = list(islice(chain(joint_findings(whole), step_findings(whole.plan)), 2 * _MOST_FAULTS + 1))
    worked = _Work(whole.plan, findings)
    joints = tuple(worked.joint(index, joint, whole.sides[index]) for index, joint in enumerate(whole.plan.joints))
    if findings:
        # Of two mirrored joints both have the same fault at the same place.
        placed = dict.fromkeys(Finding(whole.origin(path), what, name) for path, what, name in findings)
        raise PlanError(file, _told(tree.fault(*finding) for finding in placed))
    route = Route(
        plan=written.plan,
        title=written.title,
        revision=written.revision,
        source=written.source,
        content_sha256=content_sha256(written),
        joints=tuple(joint for joint in joints if joint is not None),
        steps=compiled_steps(whole.plan),
        notes=tuple(worked.notes),
        item=written.item,
    )
    return LoadedPlan(written, whole.plan, tree, route, whole.origin)


def _told(faults: Iterable[PlanFault]) -> tuple[PlanFault, ...]:
    """The faults in the order of lines; nobody reads thousands, and to word each takes time."""
    first = list(islice(faults, _MOST_FAULTS + 1))
    told = sorted(first[:_MOST_FAULTS], key=lambda fault: fault.line)
    if len(first) > _MOST_FAULTS:
        what = f"there are more faults than these {_MOST_FAULTS}; correct these and check the plan again"
        told.append(PlanFault(told[-1].line, "", what, "more-faults"))
    return tuple(told)


def content_sha256(plan: PlanModel) -> str:
    """The hex SHA-256 of what the plan says: comments, layout and the order of fields do not change it.

    It is taken over compact JSON with sorted keys in UTF-8, numbers as the digits of the file, defaults filled in and
    fields without a value left out.
    """
    content = plan.model_dump(by_alias=True, exclude_none=True)
    text = json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


class _Work:
    """Works out units, bands and orders of the joints; what goes wrong is added to the findings."""

    def __init__(self, plan: PlanModel, findings: list[Finding]) -> None:
        self.notes: dict[str, None] = {}
        self._plan = plan
        self._findings = findings
        self._plan_unit = self._unit(("unit",), plan.unit)
        self._rechecks = recheck_stages(plan)

    def joint(self, index: int, joint: JointModel, side: str | None) -> Joint | None:
        """The joint as it is worked, None where its unit or its bands are at fault."""
        path: Path = ("joints", index)
        unit = self._plan_unit if joint.unit is None else self._unit((*path, "unit"), joint.unit)
        if unit is None:
            if joint.unit is None and self._plan.unit is None:
                what = "neither the joint nor the plan has a unit; write `unit: N·m` at the top of the plan"
                self._findings.append(Finding((*path, "unit"), what, "no-unit"))
            return None
        stages: tuple[Stage, ...] = ()
        if joint.torque != "not stated":
            final = self._final(path, joint, unit)
            stages = self._stages(path, joint, unit, final) if final is not None else ()
        made = compiled_joint(joint, unit, stages, side, self._drag_third(joint, unit), self._rechecks.get(joint.id, ()))
        return replace(made, drag="left out") if made.drag == "added" and self._is_left_out(joint, unit) else made

    def _unit(self, path: Path, spelling: str | None) -> Unit | None:
        if spelling is None:
            return None
        try:
            unit, note = find_unit(spelling)
        except UnitError as error:
            self._findings.append(Finding(path, str(error), "unknown-unit"))
            return None
        if note is not None:
            self.notes[note] = None
        return unit

    def _final(self, path: Path, joint: JointModel, unit: Unit) -> Band | None:
        text = self._plan.tolerance if joint.tolerance is None else joint.tolerance
        try:
            if joint.torque is None:
                if joint.low is None or joint.high is None:
                    return None
                return band_of_limits(Decimal(joint.low), Decimal(joint.high), unit)
            if text is None:
                what = "neither the joint nor the plan has a tolerance, and none is assumed; write one"
                self._findings.append(Finding((*path, "tolerance"), what, "no-tolerance"))
                return None
            return band_of_torque(Decimal(joint.torque), read_tolerance(text), unit)
        except (ValueError, UnitError) as error:
            field = "low" if joint.torque is None else "tolerance"
            self._findings.append(Finding((*path, field), str(error), "empty-band"))
            return None

    def _stages(self, path: Path, joint: JointModel, unit: Unit, final: Band) -> tuple[Stage, ...]:
        if stages_what(joint.stages) is not None:
            return ()
        drag = self._drag(path, joint, unit)
        stages = []
        for number, share in enumerate((Decimal(stage) for stage in joint.stages if stage != "snug"), start=1):
            try:
                band = final if share == 100 else stage_band(share, final, unit)
            except ValueError as error:
                self._findings.append(Finding((*path, "stages"), str(error), "stage-in-the-band"))
                break
            stages.append(Stage(number, share, band_with_drag(band, drag, unit) if drag else band))
        return tuple(stages)

    def _drag(self, path: Path, joint: JointModel, unit: Unit) -> Decimal | None:
        """The stated drag, where it is added."""
        if joint.drag in (None, "included", "measured"):
            return None
        try:
            drag = drag_value(str(joint.drag), unit.symbol)
        except ValueError as error:
            self._findings.append(Finding((*path, "drag"), str(error), "drag-in-another-unit"))
            return None
        return drag if counts_drag(drag, self._third_of(joint)) else None

    def _is_left_out(self, joint: JointModel, unit: Unit) -> bool:
        """Whether the shop's rule leaves the stated drag out."""
        try:
            return not counts_drag(drag_value(str(joint.drag), unit.symbol), self._third_of(joint))
        except ValueError:
            return False

    def _third_of(self, joint: JointModel) -> Decimal | None:
        """The torque that the shop's rule for small drag looks at, in the joint's unit; None where drag is always added."""
        stated = joint.torque or joint.low
        by_rule = self._plan.small_drag == "leave out below a third" and stated not in (None, "not stated")
        return Decimal(str(stated)) if by_rule else None

    def _drag_third(self, joint: JointModel, unit: Unit) -> Decimal | None:
        third_of = self._third_of(joint) if joint.drag == "measured" else None
        return None if third_of is None else to_nm(third_of, unit)
