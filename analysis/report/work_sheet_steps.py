"""The steps of a plan as the work sheet prints them, in order, each with what there is to tick, to write and to sign. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from analysis.load.places import isolated, positions
from analysis.report.work_sheet_joint import Round, again, full_torque, round_of, torqued
from schemas.route import Joint, Route, Step
from schemas.words import Method, StepWord

_NBSP = "\u00a0"
_HEADS = {
    StepWord.DO: "Do",
    StepWord.CAUTION: "CAUTION",
    StepWord.FIT: "Fit",
    StepWord.LOOSE: "Fit and leave loose",
    StepWord.TORQUE: "Torque",
    StepWord.OPEN: "Open",
    StepWord.HOLD_POINT: "HOLD POINT",
    StepWord.RECHECK: "Check again, without slackening",
    StepWord.RETORQUE: "Later: retorque",
}
_HELD = 'Write "held", or "moved" and the value.'
# A step with more words than this may be parted between two pages.
_WHOLE_CHARS = 1500
_LATER = ("At km or time", "Wrench", "Name", "Date")


def steps_content(route: Route) -> list[dict[str, Any]]:
    """One dict a step: head, texts, what is to be heeded first, lines to sign on, and its joints with their boxes."""
    joints = route.by_id()
    return [_step(step, joints) for step in route.steps]


def _step(step: Step, joints: Mapping[str, Joint]) -> dict[str, Any]:
    named = [joints[name] for name in step.joints]
    waits, covers, text = _waits(step, joints), _covers(step, joints), _text(step, named)
    return {
        "number": str(step.number),
        "head": _HEADS[step.word],
        "caution": step.word is StepWord.CAUTION,
        "hold": step.word is StepWord.HOLD_POINT,
        "waits": waits,
        "covers": covers,
        "text": text,
        "whole": not step.joints and len(waits + covers + text) < _WHOLE_CHARS,
        "tick": step.word in (StepWord.DO, StepWord.FIT, StepWord.LOOSE) or (step.word is StepWord.OPEN and not step.as_found),
        "measure": _measure(step),
        "fields": _fields(step),
        "joints": _joints(step, named),
    }


def _text(step: Step, named: Sequence[Joint]) -> str:
    match step.word:
        case StepWord.DO | StepWord.CAUTION | StepWord.HOLD_POINT:
            return step.text
        case StepWord.FIT:
            place = "position" if len(step.positions) == 1 else "positions"
            return f"{_names(named)}: {place} {positions(sorted(step.positions))}"
        case StepWord.LOOSE:
            return _names(named)
        case StepWord.OPEN:
            return "" if step.as_found else _names(named)
        case StepWord.RETORQUE:
            return f"After {step.text}, {step.method or Method.HOLD}"
    return ""


def _names(joints: Iterable[Joint]) -> str:
    return "; ".join(isolated(joint.name) for joint in joints)


def _waits(step: Step, joints: Mapping[str, Joint]) -> str:
    if not step.after:
        return ""
    what = [f"{isolated(joints[name].name)} done" if name in joints else f"hold point {name} signed" for name in step.after]
    return f"Not before: {'; '.join(what)}"


def _covers(step: Step, joints: Mapping[str, Joint]) -> str:
    if not step.covers:
        return ""
    names = _names(joints[name] for name in step.covers)
    return f"Before this step see that these are done and striped, they cannot be reached afterwards: {names}"


def _measure(step: Step) -> str:
    if step.measure_unit is None or step.measure_low is None or step.measure_high is None:
        return ""
    return f"To be measured: {step.measure_low:f} to {step.measure_high:f}{_NBSP}{step.measure_unit}, both edges pass"


def _fields(step: Step) -> list[list[str]]:
    """Rows of lines to write on."""
    if step.word is not StepWord.HOLD_POINT:
        return []
    return [[*(["Value"] if _measure(step) else []), f"Name ({step.sign})"], ["Signature", "Date and time"]]


def _joints(step: Step, named: Sequence[Joint]) -> list[dict[str, Any]]:
    match step.word:
        case StepWord.TORQUE:
            return [torqued(joint) for joint in named]
        case StepWord.OPEN if step.as_found:
            return [again(joint, [_as_found(joint)]) for joint in named]
        case StepWord.RECHECK:
            return [again(joint, [full_torque(joint, "", _HELD, _LATER[1:])]) for joint in named]
        case StepWord.RETORQUE:
            note = _HELD if step.method is not Method.BACK_OFF else "Back each off by one turn first, then torque it anew."
            return [again(joint, [full_torque(joint, "", note, _LATER)]) for joint in named]
    return []


def _as_found(joint: Joint) -> Round:
    made = round_of("Torque found before it is opened, then open it", joint.order, fields=_LATER[1:])
    return {**made, "note": "This is no tightening; it shows in which state the joint was."}
