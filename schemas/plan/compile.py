"""A plan's joints and steps, found sound, as the route that is walked."""

from dataclasses import replace
from decimal import Decimal

from schemas.plan.model import (
    CautionStep,
    DoStep,
    FitStep,
    HoldPointStep,
    JointModel,
    LooseStep,
    OpenStep,
    PlanModel,
    RecheckStep,
    StepModel,
    TorqueStep,
)
from schemas.plan.order import LISTED, ORDERS, started_at
from schemas.plan.quantity import length_mm, seconds_of, span_of
from schemas.route import Adapter, AngleBand, Joint, Stage, Step
from schemas.units import Unit
from schemas.words import Method, Role, StageWord, StepWord

_NOTHING_ON_IT = (None, "dry")


def recheck_stages(plan: PlanModel) -> dict[str, list[int]]:
    """For each joint the numbers of the steps that check it again."""
    found: dict[str, list[int]] = {}
    for number, step in enumerate(plan.steps or (), start=1):
        for name in step.recheck if isinstance(step, RecheckStep) else ():
            found.setdefault(name, []).append(number)
    return found


def compiled_joint(
    joint: JointModel,
    unit: Unit,
    rounds: tuple[Stage, ...],
    side: str | None,
    third_of_nm: Decimal | None,
    rechecks: list[int] | tuple[()],
) -> Joint:
    """The joint as it is worked: its rounds, then the angle, then the rechecks of the steps of those numbers."""
    order = joint.order if isinstance(joint.order, tuple) else ORDERS[joint.order](joint.fasteners)
    pattern = joint.pattern or ("row" if joint.order == "in line" else "circle")
    stages = _with_orders(joint, rounds, order, pattern)
    return Joint(
        id=joint.id,
        name=joint.name,
        fasteners=joint.fasteners,
        stages=_with_rechecks(_with_angle(joint, stages), rechecks),
        order=order,
        order_word=LISTED if isinstance(joint.order, tuple) else str(joint.order),
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
        adapter=_adapter(joint),
        turn=joint.turn,
        left_hand=joint.hand == "left",
        basis=joint.basis,
        drag=joint.drag if joint.drag in (None, "included", "measured") else "added",
        drag_third_of_nm=third_of_nm,
        renew=joint.hardware == "new each time",
        prepare=joint.prep not in _NOTHING_ON_IT or joint.work_within is not None,
        work_within_s=None if joint.work_within is None else seconds_of(joint.work_within),
        cure_s=None if joint.cure is None else seconds_of(joint.cure),
        mark=joint.mark != "none",
        critical=joint.critical == "yes",
        reopen_joint=joint.reopen == "joint",
        side=side,
        pattern=pattern,
        seen_from=joint.seen_from,
    )


def _with_orders(joint: JointModel, rounds: tuple[Stage, ...], order: tuple[int, ...], pattern: str) -> tuple[Stage, ...]:
    starts = joint.start or []
    if not starts or any(start > joint.fasteners for start in starts):
        return rounds
    placed = []
    for index, stage in enumerate(rounds):
        start = starts[index] if index < len(starts) > 1 else starts[0]
        placed.append(replace(stage, order=started_at(order, start, joint.fasteners, pattern)))
    return tuple(placed)


def _with_angle(joint: JointModel, stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
    if not stages or joint.then_angle is None or joint.angle_tolerance is None:
        return stages
    target, width = Decimal(joint.then_angle), Decimal(joint.angle_tolerance)
    last = stages[-1]
    angle = AngleBand(target - width, target, target + width)
    return (*stages, replace(last, number=last.number + 1, word=StageWord.ANGLE, angle=angle))


def _with_rechecks(stages: tuple[Stage, ...], rechecks: list[int] | tuple[()]) -> tuple[Stage, ...]:
    if not stages:
        return stages
    last = stages[-1]
    return (
        *stages,
        *(
            replace(last, number=last.number + nth, word=StageWord.RECHECK, step=step)
            for nth, step in enumerate(rechecks, start=1)
        ),
    )


def _adapter(joint: JointModel) -> Adapter | None:
    adapter = joint.adapter
    if adapter is None:
        return None
    return Adapter(length_mm(adapter.length), Decimal(adapter.angle), adapter.corrected_by == "wrench")


def compiled_steps(plan: PlanModel) -> tuple[Step, ...]:
    """The steps in order, numbered from 1; without steps each joint is torqued in the order listed."""
    if plan.steps is None:
        return tuple(Step(number, StepWord.TORQUE, joints=(joint.id,)) for number, joint in enumerate(plan.joints, start=1))
    return tuple(_step(number, step) for number, step in enumerate(plan.steps, start=1))


def _step(number: int, step: StepModel) -> Step:
    after, covers = tuple(getattr(step, "after", None) or ()), tuple(getattr(step, "covers", None) or ())
    match step:
        case DoStep():
            return Step(number, StepWord.DO, text=step.do, covers=covers)
        case CautionStep():
            return Step(number, StepWord.CAUTION, text=step.caution)
        case FitStep():
            return Step(number, StepWord.FIT, tuple(step.fit), positions=tuple(step.positions), covers=covers)
        case LooseStep():
            return Step(number, StepWord.LOOSE, tuple(step.loose))
        case TorqueStep():
            return Step(number, StepWord.TORQUE, tuple(step.torque), after=after, covers=covers)
        case OpenStep():
            return Step(number, StepWord.OPEN, tuple(step.open), after=after, covers=covers, as_found=step.as_found == "yes")
        case RecheckStep():
            return Step(number, StepWord.RECHECK, tuple(step.recheck), after=after, covers=covers)
        case HoldPointStep():
            return _hold_point(number, step, after, covers)
    span, start = step.from_ if step.to is None else f"{step.from_} to {step.to}", span_of(step.from_)
    method = Method(step.method) if step.method else Method.HOLD
    return Step(number, StepWord.RETORQUE, tuple(step.retorque), text=span, method=method, from_s=start.seconds, from_km=start.km)


def _hold_point(number: int, step: HoldPointStep, after: tuple[str, ...], covers: tuple[str, ...]) -> Step:
    plain = Step(
        number, StepWord.HOLD_POINT, text=step.ask, hold_point=step.hold_point, sign=Role(step.sign), after=after, covers=covers
    )
    if step.measure is None:
        return plain
    low, high = Decimal(step.measure.low), Decimal(step.measure.high)
    return replace(plain, measure_unit=step.measure.unit, measure_low=low, measure_high=high)
