"""A plan's bytes to the route that is walked, or everything that is wrong with it at once."""

import json
from decimal import Decimal
from hashlib import sha256

from pydantic import ValidationError

from schemas.errors import PlanError, UnitError
from schemas.plan.bands import band_of_limits, band_of_torque, stage_band
from schemas.plan.faults import faults_of
from schemas.plan.model import (
    CautionStep,
    DoStep,
    HoldPointStep,
    JointModel,
    LooseStep,
    PlanModel,
    StepModel,
    TorqueStep,
)
from schemas.plan.order import LISTED, ORDERS
from schemas.plan.rules import Finding, not_obeyed, stages_what, structure
from schemas.plan.text import Path, read_tree
from schemas.plan.tolerance import read_tolerance
from schemas.route import Band, Joint, Route, Stage, Step
from schemas.units import Unit, find_unit
from schemas.words import Role, StepWord


def load_plan(data: bytes, file: str) -> Route:
    """Read a plan into a route; `file` is the name shown in messages.

    Raises PlanError with every fault found, in the order of lines: first what the text says must be settled, then each
    field by itself, then the plan as a whole (structure, units, bands).
    """
    tree = read_tree(data, file)
    try:
        plan = PlanModel.model_validate(tree.root)
    except ValidationError as error:
        faults = sorted(faults_of(error, tree), key=lambda fault: fault.line)
        raise PlanError(file, tuple(faults)) from error
    findings = list(structure(plan))
    worked = _Work(plan, findings)
    joints = tuple(worked.joint(index, joint) for index, joint in enumerate(plan.joints))
    if findings:
        ordered = sorted((tree.fault(*finding) for finding in findings), key=lambda fault: fault.line)
        raise PlanError(file, tuple(ordered))
    return Route(
        plan=plan.plan,
        title=plan.title,
        revision=plan.revision,
        source=plan.source,
        content_sha256=content_sha256(plan),
        joints=tuple(joint for joint in joints if joint is not None),
        steps=_steps(plan),
        not_obeyed=not_obeyed(plan),
        notes=tuple(worked.notes),
    )


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
        self._findings = findings
        self._tolerance = plan.tolerance
        self._plan_unit = self._unit(("unit",), plan.unit)
        self._has_unit = plan.unit is not None

    def joint(self, index: int, joint: JointModel) -> Joint | None:
        """The joint as it is worked, None where its unit or its bands are at fault."""
        path: Path = ("joints", index)
        unit = self._plan_unit if joint.unit is None else self._unit((*path, "unit"), joint.unit)
        if unit is None:
            if joint.unit is None and not self._has_unit:
                what = "neither the joint nor the plan has a unit; write `unit: N·m` at the top of the plan"
                self._findings.append(Finding((*path, "unit"), what))
            return None
        stages: tuple[Stage, ...] = ()
        if joint.torque != "not stated":
            final = self._final(path, joint, unit)
            stages = self._stages(path, joint, unit, final) if final is not None else ()
        return _joint(joint, unit, stages)

    def _unit(self, path: Path, spelling: str | None) -> Unit | None:
        if spelling is None:
            return None
        try:
            unit, note = find_unit(spelling)
        except UnitError as error:
            self._findings.append(Finding(path, str(error)))
            return None
        if note is not None:
            self.notes[note] = None
        return unit

    def _final(self, path: Path, joint: JointModel, unit: Unit) -> Band | None:
        text = self._tolerance if joint.tolerance is None else joint.tolerance
        try:
            if joint.torque is None:
                if joint.low is None or joint.high is None:
                    return None
                return band_of_limits(Decimal(joint.low), Decimal(joint.high), unit)
            if text is None:
                raise ValueError("neither the joint nor the plan has a tolerance, and none is assumed; write one")
            return band_of_torque(Decimal(joint.torque), read_tolerance(text), unit)
        except (ValueError, UnitError) as error:
            field = "low" if joint.torque is None else "tolerance"
            self._findings.append(Finding((*path, field), str(error)))
            return None

    def _stages(self, path: Path, joint: JointModel, unit: Unit, final: Band) -> tuple[Stage, ...]:
        if stages_what(joint.stages) is not None:
            return ()
        shares = [Decimal(stage) for stage in joint.stages if stage != "snug"]
        stages = []
        for number, share in enumerate(shares, start=1):
            try:
                band = final if number == len(shares) else stage_band(share, final, unit)
            except ValueError as error:
                self._findings.append(Finding((*path, "stages"), str(error)))
                break
            stages.append(Stage(number, share, band))
        return tuple(stages)


def _joint(joint: JointModel, unit: Unit, stages: tuple[Stage, ...]) -> Joint:
    listed = isinstance(joint.order, tuple)
    adapter = joint.adapter
    return Joint(
        id=joint.id,
        name=joint.name,
        fasteners=joint.fasteners,
        stages=stages,
        order=joint.order if isinstance(joint.order, tuple) else ORDERS[joint.order](joint.fasteners),
        order_word=LISTED if listed else str(joint.order),
        unit=unit.symbol,
        snug=bool(stages) and joint.stages[0] == "snug",
        thread=joint.thread,
        grade=joint.grade,
        prep=joint.prep,
        nut=joint.nut,
        hardware=joint.hardware,
        counter_hold=joint.counter_hold,
        socket=joint.socket,
        wheel=joint.wheel == "yes",
        wrenches=tuple(joint.wrench),
        adapter=None if adapter is None else f"{adapter.length} at {adapter.angle}°",
    )


def _steps(plan: PlanModel) -> tuple[Step, ...]:
    if plan.steps is None:
        return tuple(Step(number, StepWord.TORQUE, joints=(joint.id,)) for number, joint in enumerate(plan.joints, start=1))
    return tuple(_step(number, step) for number, step in enumerate(plan.steps, start=1))


def _step(number: int, step: StepModel) -> Step:
    match step:
        case DoStep():
            return Step(number, StepWord.DO, text=step.do)
        case CautionStep():
            return Step(number, StepWord.CAUTION, text=step.caution)
        case LooseStep():
            return Step(number, StepWord.LOOSE, joints=tuple(step.loose))
        case TorqueStep():
            return Step(number, StepWord.TORQUE, joints=tuple(step.torque), after=tuple(step.after))
        case HoldPointStep():
            return Step(number, StepWord.HOLD_POINT, text=step.ask, hold_point=step.hold_point, sign=Role(step.sign))
    span = step.from_ if step.to is None else f"{step.from_} to {step.to}"
    return Step(number, StepWord.RETORQUE, joints=tuple(step.retorque), text=span)
