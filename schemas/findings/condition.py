"""Whether thread, compound, nut and hardware agree with what the plan does with them; decided by fields, never by a name."""

from collections.abc import Iterator

from schemas.findings.finding import NotChecked, PlanFinding
from schemas.findings.subject import Seen, Subject, missing
from schemas.plan.model import CautionStep, FitStep, LooseStep, OpenStep, RetorqueStep, StepModel, TorqueStep

_LOCKED = ("threadlocker medium", "threadlocker high")
_WET = ("oil", "anti-seize", *_LOCKED, "sealant")
_NOTHING_ON_IT = (None, "dry")


def condition_findings(subject: Subject) -> Iterator[PlanFinding | NotChecked]:
    """Torques for another state of the thread, drag that is not said, parts used again, compounds that set too early."""
    steps = subject.loaded.plan.steps or []
    loosened, opened = _named(steps, LooseStep, "loose"), _named(steps, OpenStep, "open")
    backed_off = _named([step for step in steps if getattr(step, "method", None) == "back off a turn"], RetorqueStep, "retorque")
    fitted = _named(steps, FitStep, "fit")
    for seen in subject.joints:
        yield from _basis(subject, seen)
        yield from _compound(subject, seen)
        if seen.model.nut == "prevailing" and seen.model.drag is None and seen.torque_nm is not None:
            yield subject.found("prevailing-nut-without-drag", seen, "nut", "the nut is prevailing and `drag` is not stated")
        yield from _used_again(subject, seen, seen.joint.id in opened, seen.joint.id in backed_off)
        if _sets(seen) and seen.joint.id in loosened | fitted:
            yield from _sets_too_early(subject, seen, steps)


def _named(steps: list[StepModel], kind: type[object], field: str) -> set[str]:
    return {name for step in steps if isinstance(step, kind) for name in getattr(step, field)}


def _basis(subject: Subject, seen: Seen) -> Iterator[PlanFinding | NotChecked]:
    model = seen.model
    if model.basis == "dry" and model.prep in _WET:
        what = f"the stated torque holds for dry threads, and the preparation is {model.prep}"
        yield subject.found("dry-torque-on-wet-thread", seen, "basis", what)
    elif model.basis == "as prepared" and model.prep is None:
        yield subject.found(
            "basis-without-preparation", seen, "basis", "the stated torque holds for prepared threads, and `prep` is not stated"
        )
    elif model.basis == "dry" and model.prep not in _NOTHING_ON_IT:
        yield missing("a dry torque on a wet thread", seen, f"whether prep `{model.prep}` leaves the thread dry is not known")
    elif model.basis is None and model.prep in _WET and seen.torque_nm is not None:
        yield missing("a dry torque on a wet thread", seen, "`basis` is not stated")


def _compound(subject: Subject, seen: Seen) -> Iterator[PlanFinding]:
    times = [field for field in ("work_within", "cure") if getattr(seen.model, field) is not None]
    if times and seen.model.prep in _NOTHING_ON_IT:
        prep = "is not stated" if seen.model.prep is None else "is dry"
        yield subject.found("cure-without-preparation", seen, times[0], f"`{times[0]}` is stated, and `prep` {prep}")


def _used_again(subject: Subject, seen: Seen, opened: bool, backed_off: bool) -> Iterator[PlanFinding]:
    model = seen.model
    again = "is reused" if model.hardware == "reused" else "is new once and the joint is opened and torqued again"
    if model.hardware == "reused" or (model.hardware == "new" and opened):
        if model.then_angle is not None:
            yield subject.found("single-use-reused", seen, "hardware", f"the hardware is turned by an angle and {again}")
        elif model.nut == "prevailing" and model.drag != "measured":
            what = f"the hardware {again}, its nut is prevailing, and nobody measures whether it still drags"
            remedy = "write `drag: measured` with the least drag of the source in a hold point, or `hardware: new each time`"
            yield subject.found("single-use-reused", seen, "hardware", what, remedy)
    if model.hardware == "new each time" and backed_off:
        what = "the hardware is new each time, and a retorque step backs it off a turn"
        yield subject.found("single-use-reused", seen, "hardware", what, "write `method: do not slacken`, as the maker says")


def _sets(seen: Seen) -> bool:
    model = seen.model
    return model.prep in _LOCKED or (model.prep not in _NOTHING_ON_IT and (model.cure or model.work_within) is not None)


def _sets_too_early(subject: Subject, seen: Seen, steps: list[StepModel]) -> Iterator[PlanFinding]:
    """Where other work stands between putting the joint together and its torque; what is heeded or belongs to it is none."""
    name, together, between = seen.joint.id, False, 0
    for step in steps:
        if isinstance(step, TorqueStep) and name in step.torque:
            if between:
                steps_between = f"{between} other step{'' if between == 1 else 's'}"
                what = f"it has {seen.model.prep} on its thread, is put together early and torqued only after {steps_between}"
                yield subject.found("threadlocked-left-loose", seen, "prep", what)
            together, between = False, 0
        elif name in getattr(step, "loose", ()) or name in getattr(step, "fit", ()):
            together = True
        elif together and not isinstance(step, CautionStep):
            between += 1
