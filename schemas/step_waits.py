"""What a step of the plan waits for: hold points to be signed, joints to be done; and what of it was not there. Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from schemas.bodies import Signed
from schemas.fastener_state import At
from schemas.joint_state import JointState
from schemas.route import Route, Step


@dataclass(frozen=True, slots=True)
class Signature:
    """A signed hold point with the value that was measured there, if any."""

    at: At
    role: str
    value: str | None = None


def missing_before(step: Step, joints: Mapping[str, JointState], hold_points: Mapping[str, Signature], seq: int) -> Iterator[str]:
    """What a step waits for and was not there before the entry of that number, in words.

    A joint has to be done as the steps before this one leave it: opened again where they open it, and done after that.
    """
    for name in step.after:
        signature, waited = hold_points.get(name), joints.get(name)
        if waited is not None:
            if not waited.was_done(seq, [number for number in waited.to_open if number < step.number]):
                yield f"`{name}` was done"
        elif signature is None or signature.at.seq > seq:
            yield f"`{name}` was signed"


def is_passed(route: Route, signed: Signed) -> bool:
    """Whether what was measured at a hold point lies inside its limits, both edges included; without limits it always does."""
    step = next((step for step in route.steps if step.hold_point == signed.hold_point), None)
    if step is None or step.measure_low is None or step.measure_high is None:
        return True
    return signed.value is not None and step.measure_low <= Decimal(signed.value) <= step.measure_high
