"""What a step of the plan waits for: hold points to be signed, joints to be done; and what of it was not there. Pure."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from schemas.bodies import Signed
from schemas.fastener_state import At, entry_of
from schemas.joint_state import JointState
from schemas.route import Route, Step
from schemas.words import Role

NOW = 1 << 62
"""The number of an entry that no ledger reaches: what waits until now."""
Question = tuple[str, Role | None, str | None, Decimal | None, Decimal | None]


@dataclass(frozen=True, slots=True)
class Signature:
    """A signed hold point with the value that was measured there, if any, and what the plan asked when it was signed."""

    at: At
    role: str
    value: str | None = None
    asked: Question | None = None


def question_of(route: Route, hold_point: str | None) -> Question | None:
    """What a plan asks at a hold point, of whom and within which limits; None where it has no such hold point."""
    step = next((step for step in route.steps if step.hold_point == hold_point), None)
    return None if step is None else (step.text, step.sign, step.measure_unit, step.measure_low, step.measure_high)


def signature_of(route: Route, at: At, signed: Signed) -> Signature:
    """The signature of a hold point as that entry makes it."""
    return Signature(at, signed.role, signed.value, question_of(route, signed.hold_point))


def signed_now(route: Route, signatures: Iterable[tuple[str, Signature]]) -> dict[str, Signature]:
    """Of each hold point the first signature to what the plan asks there now."""
    found: dict[str, Signature] = {}
    for name, signature in signatures:
        if signature.asked == question_of(route, name):
            found.setdefault(name, signature)
    return found


@dataclass(frozen=True, slots=True)
class When:
    """When something was done: the number of its entry, and of a pull from a log the tool's own time, where that is certain."""

    seq: int
    pulled_at: datetime | None = None

    def is_before(self, at: At) -> bool:
        """Whether it was done before that entry was made; a log that is read in late has pulls that are older than itself."""
        return at.seq > self.seq or (self.pulled_at is not None and self.pulled_at < datetime.fromisoformat(at.at))


def missing_before(
    step: Step, joints: Mapping[str, JointState], hold_points: Mapping[str, Signature], when: When
) -> Iterator[str]:
    """What a step waits for and was not there before something was done, in words.

    A joint has to be done as the steps before this one leave it: opened again where they open it, and done after that.
    """
    for name in step.after:
        signature, waited = hold_points.get(name), joints.get(name)
        if waited is not None:
            if not _was_done(waited, when.seq, [number for number in waited.to_open if number < step.number]):
                yield f"`{name}` was done"
        elif signature is None or when.is_before(signature.at):
            yield f"`{name}` was signed"


def _was_done(state: JointState, before: int, opened_in: Iterable[int]) -> bool:
    """Whether before that entry every fastener was done and none over, and the joint was opened in those steps."""
    past = state
    if state.events and entry_of(state.events[-1]) >= before:
        events = [event for event in state.events if entry_of(event) < before]
        past = JointState(state.joint, events=events, still_over=state.still_over)
        past.replay()
    is_over = any(fastener.over is not None for fastener in past.fasteners)
    return past.all_done and not is_over and past.opened_steps.issuperset(opened_in)


def is_passed(route: Route, signed: Signed) -> bool:
    """Whether what was measured at a hold point lies inside its limits, both edges included; without limits it always does."""
    step = next((step for step in route.steps if step.hold_point == signed.hold_point), None)
    if step is None or step.measure_low is None or step.measure_high is None:
        return True
    return signed.value is not None and step.measure_low <= Decimal(signed.value) <= step.measure_high
