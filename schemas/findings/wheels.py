"""Wheels that nobody comes back to."""

from collections.abc import Iterator

from schemas.findings.finding import PlanFinding
from schemas.findings.subject import Subject
from schemas.plan.model import RetorqueStep


def wheel_findings(subject: Subject) -> Iterator[PlanFinding]:
    """Joints that hold a wheel and stand in no retorque step.

    One that may not be retorqued (its thread cures, or it is turned by an angle) is left out: the plan may not have the step.
    """
    come_back = {name for step in subject.loaded.plan.steps or () if isinstance(step, RetorqueStep) for name in step.retorque}
    for seen in subject.joints:
        model = seen.model
        may_be = model.cure is None and model.then_angle is None and seen.torque_nm is not None
        if model.wheel == "yes" and may_be and seen.joint.id not in come_back:
            yield subject.found("wheel-without-retorque", seen, "wheel", "it holds a wheel, and no step retorques it later")
