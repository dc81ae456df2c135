"""The short job that a retorque step becomes, and what is known of it. Pure."""

from dataclasses import replace

from schemas.errors import RecordError
from schemas.route import Joint, Route, Step
from schemas.words import Method, StageWord, StepWord


def retorque_route(route: Route, number: int) -> Route:
    """The route of a retorque: the joints of that step alone, gone round once at their full torque.

    Not slackened first it is a check: each fastener held or moved. Backed off a turn first it is torqued anew, in its band.
    RecordError where the route has no retorque step of that number.
    """
    step = next((step for step in route.steps if step.number == number and step.word is StepWord.RETORQUE), None)
    if step is None:
        raise RecordError(f"step {number} of plan `{route.plan}` is no retorque step; see `witnessmark job due`")
    # An older plan named no method; what it could not forbid is the one that slackens nothing.
    holds = step.method is not Method.BACK_OFF
    joints = tuple(_again(route.joint(name), step.number, holds) for name in step.joints)
    word = StepWord.RECHECK if holds else StepWord.TORQUE
    return replace(route, joints=joints, steps=(Step(number, word, step.joints),))


def _again(joint: Joint, number: int, holds: bool) -> Joint:
    word, own = (StageWord.RECHECK, number) if holds else (StageWord.ROUND, None)
    stage = replace(joint.final, number=1, word=word, step=own)
    # Nothing is prepared, renewed or signed anew: the fastener was done in the job before.
    return replace(
        joint, stages=(stage,), snug=False, prepare=False, renew=False, work_within_s=None, cure_s=None, critical=False,
        drag=None if holds else joint.drag,
    )  # fmt: skip
