"""`witnessmark job`: what a named person says of fasteners away from the bench, each an entry of its own."""

import argparse
import re
from decimal import Decimal

from collector.answer import workers_on
from collector.cli.job_entry import check_position, joint_of, record
from collector.cli.place import tell
from schemas.bodies import Decided, Signed
from schemas.errors import RecordError, UnitError
from schemas.job_state import JobState
from schemas.joint_proof import was_done
from schemas.joint_state import JointState
from schemas.step_waits import NOW
from schemas.units import find_unit
from schemas.words import Role, Said, StepWord

_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_COUNTS_AGAIN = "; the fastener counts again once it is opened and all its stages are done again"
ON_PAPER = "written by hand on a work sheet"


def run_opened(chosen: argparse.Namespace) -> int:
    """Record that a fastener, or the whole joint where no position is named, was opened; --step where the plan asks for it."""

    def make(state: JobState, _by: str) -> Decided:
        joint = _place(state, chosen)
        if chosen.step is not None:
            _refuse_early(state, joint, chosen)
        return _said(chosen, Said.OPENED, step=chosen.step)

    record(chosen, "opened", make)
    tell("recorded: opened; every stage has to be done again")
    return 0


def _refuse_early(state: JobState, joint: JointState, chosen: argparse.Namespace) -> None:
    """A planned opening is one only of what the steps before it have done."""
    if chosen.step not in joint.to_open:
        raise RecordError(f"step {chosen.step} of the plan does not open `{chosen.joint}`; leave --step out")
    step = next(step for step in state.route.steps if step.number == chosen.step)
    if lacking := list(state.waits(step, NOW)):
        raise RecordError(f"step {step.number} waits until {' and '.join(lacking)}; do that first, or leave --step out")
    opened = joint.fasteners if chosen.position is None or joint.joint.reopen_joint else [joint.fasteners[chosen.position - 1]]
    if not all(was_done(joint, fastener) for fastener in opened):
        raise RecordError(f"step {step.number} opens `{chosen.joint}` once it was done, and it is not; leave --step out")


def run_decide(chosen: argparse.Namespace) -> int:
    """Record what the lead decided: on an over-torque, or that an order that was not kept may stand."""

    def make(state: JobState, by: str) -> Decided:
        _place(state, chosen)
        if by in state.workers:
            raise RecordError("the lead decides, who must be another person than the fitter")
        if chosen.said == Said.LET_STAND and not chosen.why:
            raise RecordError("to let something stand takes a reason; add --why TEXT")
        if chosen.said != Said.LET_STAND and chosen.position is None:
            raise RecordError(f"`{chosen.said}` is said of one fastener; add --position N")
        return _said(chosen, Said(chosen.said), reason=chosen.why)

    record(chosen, "decide", make)
    tell(f"recorded: {chosen.said}" if chosen.said == Said.LET_STAND else f"recorded: {chosen.said}{_COUNTS_AGAIN}")
    return 0


def run_not_fitted(chosen: argparse.Namespace) -> int:
    """Record that a fastener, or the whole joint, is not fitted, and why."""

    def make(state: JobState, _by: str) -> Decided:
        _place(state, chosen)
        return _said(chosen, Said.NOT_FITTED, reason=chosen.why)

    record(chosen, "not-fitted", make)
    tell("recorded: not fitted; it is named on page one of the report")
    return 0


def run_declare(chosen: argparse.Namespace) -> int:
    """Record that fasteners were done with a tool that sends nothing, or with values that were written by hand."""

    def make(state: JobState, _by: str) -> tuple[Decided, ...]:
        joint = _place(state, chosen)
        if chosen.values is not None:
            return tuple(_declared(chosen, joint, position, value) for position, value in _listed(chosen, joint))
        return (_declared(chosen, joint, chosen.position, chosen.value),)

    record(chosen, "declare", make)
    tell("recorded: declared; it is counted apart and never proven")
    return 0


def _listed(chosen: argparse.Namespace, joint: JointState) -> list[tuple[int, str]]:
    """The values of a work sheet's line by position; `-` leaves one out."""
    values = [value.strip() for value in chosen.values.split(",")]
    if chosen.position is not None or chosen.value is not None or len(values) != joint.joint.fasteners:
        raise RecordError(
            f"--values takes one value a position, {joint.joint.fasteners} in all with `-` for one that was left out,"
            " and neither --position nor --value"
        )
    return [(position, value) for position, value in enumerate(values, 1) if value != "-"]


def _declared(chosen: argparse.Namespace, joint: JointState, position: int | None, value: str | None) -> Decided:
    if (value is None) != (chosen.unit is None):
        raise RecordError("a value needs its unit and a unit its value; give both, or neither")
    torque = None if value is None else _torque(value, chosen.unit, joint)
    paper = f"{ON_PAPER}, {chosen.on_paper}" if chosen.on_paper else ""
    reason = "; ".join(part for part in (paper, chosen.why or "") if part) or None
    return Decided(
        chosen.job, str(Said.DECLARED), chosen.joint, position, value=torque, unit=chosen.unit, tool=chosen.tool, reason=reason
    )


def run_prepared(chosen: argparse.Namespace) -> int:
    """Record that a joint was prepared as the plan asks, with the lot of what was used."""

    def make(state: JobState, _by: str) -> Decided:
        joint_of(state, chosen.joint)
        chosen.position = None
        return _said(chosen, Said.PREPARED, lot=chosen.lot)

    record(chosen, "prepared", make)
    tell(f"recorded: prepared{f', lot {chosen.lot}' if chosen.lot else ''}")
    return 0


def run_measured(chosen: argparse.Namespace) -> int:
    """Record a torque that was measured: the drag of a nut before it seats, or what was found before opening."""
    said = Said.DRAG if chosen.action == "drag" else Said.AS_FOUND

    def make(state: JobState, _by: str) -> Decided:
        joint = _place(state, chosen)
        if said is Said.DRAG and joint.joint.drag != "measured":
            raise RecordError(f"the plan asks for no measured drag of `{chosen.joint}`; it has no place in the record")
        value = _torque(chosen.value, chosen.unit, joint)
        if said is Said.DRAG and Decimal(value) > joint.joint.final.band.target:
            raise RecordError(f"{value} {chosen.unit}: a drag is less than the joint's own torque; nothing was recorded")
        if said is Said.DRAG and find_unit(chosen.unit)[0].symbol != joint.joint.unit:
            raise RecordError(f"--unit {chosen.unit}: the joint is in {joint.joint.unit}; write the drag in that unit")
        return _said(chosen, said, value=value, unit=chosen.unit)

    record(chosen, chosen.action, make)
    tell(f"recorded: {said} {chosen.value} {chosen.unit}")
    return 0


def run_sign(chosen: argparse.Namespace) -> int:
    """Sign a hold point in the role that the plan asks for, or a critical joint as second person."""
    if (chosen.hold_point is None) == (chosen.joint is None):
        raise RecordError("name what is signed: either --hold-point ID, or --joint ID as second person")

    def make(state: JobState, by: str) -> Signed:
        if chosen.joint is not None:
            return _second(state, chosen, by)
        return _hold_point(state, chosen, by)

    state = record(chosen, "sign", make)
    if chosen.hold_point is not None and chosen.hold_point not in state.hold_points:
        tell(f"recorded: {chosen.value} lies outside the limits, so `{chosen.hold_point}` stays open")
        return 1
    tell(f"recorded: `{chosen.hold_point or chosen.joint}` signed by {chosen.by}")
    return 0


def _place(state: JobState, chosen: argparse.Namespace) -> JointState:
    joint = joint_of(state, chosen.joint)
    check_position(joint, chosen.position)
    return joint


def _said(chosen: argparse.Namespace, said: Said, **values: str | int | None) -> Decided:
    return Decided(chosen.job, str(said), chosen.joint, chosen.position, **values)  # type: ignore[arg-type]


def _torque(value: str, unit: str, joint: JointState) -> str:
    try:
        find_unit(unit)
    except UnitError as error:
        raise RecordError(f"--unit {unit}: {error}") from error
    if not _NUMBER.fullmatch(value) or Decimal(value) < 0:
        raise RecordError(f"{value}: no torque in plain digits, such as 4.5; joint `{joint.joint.id}` is in {joint.joint.unit}")
    return value


def _second(state: JobState, chosen: argparse.Namespace, by: str) -> Signed:
    joint = joint_of(state, chosen.joint)
    if not joint.joint.critical:
        raise RecordError(f"joint `{chosen.joint}` is not critical in the plan; nobody has to sign it")
    if by in workers_on(state, chosen.joint):
        raise RecordError(f"the second person signs `{chosen.joint}`, who must be another one than the fitter")
    return Signed(chosen.job, str(Role.SECOND_PERSON), second=chosen.joint)


def _hold_point(state: JobState, chosen: argparse.Namespace, by: str) -> Signed:
    steps = {step.hold_point: step for step in state.route.steps if step.word is StepWord.HOLD_POINT}
    step = steps.get(chosen.hold_point)
    if step is None:
        known = ", ".join(str(name) for name in steps)
        raise RecordError(f"hold point `{chosen.hold_point}` is not in the plan of this job; it has {known or 'none'}")
    if chosen.hold_point in state.hold_points:
        raise RecordError(f"hold point `{chosen.hold_point}` is signed already")
    role = step.sign or Role.FITTER
    if lacking := list(state.waits(step, NOW)):
        raise RecordError(f"hold point `{chosen.hold_point}` waits until {' and '.join(lacking)}; do that first")
    if role is not Role.FITTER and by in state.workers:
        raise RecordError(f"the {role} signs `{chosen.hold_point}`, who must be another person than the fitter")
    if step.measure_unit is None and chosen.value is not None:
        raise RecordError(f"nothing is measured at `{chosen.hold_point}`; leave --value out")
    if step.measure_unit is not None and not _NUMBER.fullmatch(chosen.value or ""):
        raise RecordError(f"`{chosen.hold_point}` is measured in {step.measure_unit}; add --value with plain digits")
    return Signed(chosen.job, str(role), chosen.hold_point, value=chosen.value, unit=step.measure_unit)
