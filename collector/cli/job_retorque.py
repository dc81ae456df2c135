"""`witnessmark job retorque`: the short job that a retorque step of a plan asks for, done or offered and not done."""

import argparse
from decimal import Decimal

from collector.cli.job_writer import job_writer
from collector.cli.place import say, settings, tell
from collector.record.recorder import Recorder
from collector.record.retorque import NewRetorque, follow_ups, open_not_done, open_retorque
from schemas.errors import RecordError
from schemas.follow_up import Followed, followed, window_of
from schemas.job_state import JobState
from schemas.plan.quantity import span_of, split
from schemas.route import Step
from schemas.units import torque_text
from schemas.words import Method, StepWord


def run_retorque(chosen: argparse.Namespace) -> int:
    """Open the short job of a retorque step and print its number; --not-done records that it was offered and not done."""
    distance = None if chosen.distance is None else _distance(chosen.distance)
    if chosen.not_done is not None and not chosen.by:
        raise RecordError("--not-done is said by a named person; add --by NAME")
    with job_writer(chosen, "retorque") as (recorder, first):
        step = _step(first, chosen.step)
        _refuse_untightened(first, step)
        _refuse_second(recorder, first, step, chosen.again)
        shop = settings(recorder.path)
        if chosen.not_done is not None:
            new = NewRetorque(step.number, chosen.by, shop.workshop, distance, shop.p_limit)
            state = open_not_done(recorder, first, new, chosen.not_done)
        else:
            new = NewRetorque(step.number, chosen.fitter or "not named", shop.workshop, distance, shop.p_limit)
            state = open_retorque(recorder, first, new)
    say(state.opened.job)
    _tell(first, step, state, chosen)
    return 0


def _distance(text: str) -> str:
    try:
        km = span_of(text).km
        number, unit = split(text)
    except ValueError as error:
        raise RecordError(f"--distance {text}: {error}") from error
    if km is None:
        raise RecordError(f"--distance {text}: this is a time; write what the item has gone since, like 52 km or 30 miles")
    return f"{torque_text(number)} {unit}"


def _step(first: JobState, number: int | None) -> Step:
    job, follows = first.opened.job, first.opened.follows
    if follows is not None:
        raise RecordError(f"job {job} is a retorque of job {follows} itself; open another one from that: job retorque {follows}")
    steps = {step.number: step for step in first.route.steps if step.word is StepWord.RETORQUE}
    if not steps:
        raise RecordError(f"the plan of job {job} asks for no retorque")
    if number is None and len(steps) == 1:
        return next(iter(steps.values()))
    if number not in steps:
        told = ", ".join(f"{one} ({'; '.join(_names(first, step))})" for one, step in steps.items())
        what = "say which with --step" if number is None else f"step {number} is none of them"
        raise RecordError(f"the plan of job {job} asks for a retorque in steps {told}; {what}")
    return steps[number]


def _names(first: JobState, step: Step) -> list[str]:
    return [first.joints[name].joint.name for name in step.joints]


def _refuse_untightened(first: JobState, step: Step) -> None:
    lacking = [first.joints[name] for name in step.joints if not first.joints[name].all_done]
    if not lacking:
        return
    told = "; ".join(f"{state.joint.name}: {state.summary.done} of {state.joint.fasteners} done" for state in lacking)
    if first.closed is None or not any(first.joints[name].summary.done for name in step.joints):
        raise RecordError(f"job {first.opened.job} has not tightened these yet, so nothing can be checked again: {told}")
    # Nothing is added to a closed job, and who comes back has to look at what left the shop as it is.
    tell(f"note: job {first.opened.job} was closed with less than all of it tightened: {told}; look at those first")


def _refuse_second(recorder: Recorder, first: JobState, step: Step, again: bool) -> None:
    found = follow_ups(recorder, first.opened.job, step.number)
    state = followed(found)
    if again or state not in (Followed.OPEN, Followed.DONE):
        return
    number = next(one.job for one in reversed(found) if one.state is state)
    raise RecordError(f"job {number} is {state} for step {step.number} of job {first.opened.job}; open another one with --again")


def _tell(first: JobState, step: Step, state: JobState, chosen: argparse.Namespace) -> None:
    if state.opened.distance is not None:
        window, km = window_of(step), span_of(state.opened.distance).km
        if window.has_km(km or Decimal(0)) is False:
            tell(f"note: {state.opened.distance} lies outside {step.text}; recorded as it is")
    names = "; ".join(_names(first, step))
    if state.closed is not None:
        tell(f"recorded: {state.outcome}: {names} ({state.outcome_reason})")
        return
    for name in step.joints:
        _tell_not_fitted(first, name)
    how = "without slackening first" if step.method is Method.HOLD else "each backed off a turn first"
    mark = " SIMULATED" if state.opened.simulated else ""
    tell(f"job {state.opened.job} is open: {names}, {how}; go on: witnessmark collect PLAN --job {state.opened.job}{mark}")


def _tell_not_fitted(first: JobState, name: str) -> None:
    joint = first.joints[name]
    missing = [str(position) for position, one in enumerate(joint.fasteners, 1) if one.not_fitted is not None]
    if missing:
        told = f"{joint.joint.name}, position {', '.join(missing)} was not fitted"
        tell(f"note: {told}; where it still is not, say so again with `witnessmark job not-fitted`")
