"""What of the steps differs between two plans: taken out, put in, moved, or said differently. Pure."""

from collections import Counter
from collections.abc import Callable, Iterator

from schemas.plan.diff_parts import Difference, digits, moved
from schemas.route import Step
from schemas.words import StepWord

_Steps = dict[str, Step]
_Told = Callable[[Step], str | None]


def step_differences(before: tuple[Step, ...], after: tuple[Step, ...]) -> Iterator[Difference]:
    """Every difference of the steps; their numbers alone make none.

    A step is the same where it has the same word and names the same: its joints, its hold point, its text. Of those that are
    left over, one that shares a joint with one of the same word is that one, about other joints.
    """
    old, new = _keyed(before), _keyed(after)
    pairs = {key: key for key in old if key in new} | _alike(old, new)
    renamed = {now: was for was, now in pairs.items()}
    for key, step in old.items():
        if key in pairs:
            yield from _changes(key, step, new[pairs[key]])
        else:
            yield Difference(key, "taken out", f"step {step.number}", None)
    for key, step in new.items():
        if key not in renamed:
            yield Difference(key, "put in", None, f"step {step.number}")
    for key in moved(list(old), [renamed.get(key, "") for key in new]):
        yield Difference(key, "moved, step", str(old[key].number), str(new[pairs[key]].number))


def _keyed(steps: tuple[Step, ...]) -> _Steps:
    """The steps by what they are called; one of the same name is numbered."""
    counts: Counter[str] = Counter()
    keyed = {}
    for step in steps:
        name = f"{step.word} {', '.join(step.joints) or step.hold_point or step.text}"
        counts[name] += 1
        keyed[name if counts[name] == 1 else f"{name} ({counts[name]})"] = step
    return keyed


def _alike(old: _Steps, new: _Steps) -> dict[str, str]:
    pairs: dict[str, str] = {}
    free = [key for key in new if key not in old]
    for key, step in old.items():
        if key in new:
            continue
        joints = set(step.joints)
        found = next((now for now in free if new[now].word is step.word and joints & set(new[now].joints)), None)
        if found is not None:
            pairs[key] = found
            free.remove(found)
    return pairs


def _changes(key: str, before: Step, after: Step) -> Iterator[Difference]:
    for what, told in _FIELDS.items():
        old, new = told(before), told(after)
        if old != new:
            yield Difference(key, what, old, new)


def _names(names: tuple[str, ...]) -> str | None:
    return ", ".join(names) or None


def _measured(step: Step) -> str | None:
    if step.measure_low is None or step.measure_high is None:
        return None
    return f"{digits(step.measure_low)} to {digits(step.measure_high)} {step.measure_unit}"


_FIELDS: dict[str, _Told] = {
    "joints": lambda step: _names(step.joints),
    "asks": lambda step: step.text if step.word is StepWord.HOLD_POINT else None,
    "signed by": lambda step: None if step.sign is None else str(step.sign),
    "measured": _measured,
    "waits for": lambda step: _names(step.after),
    "covers": lambda step: _names(step.covers),
    "positions": lambda step: _names(tuple(map(str, step.positions))),
    "torque as found recorded": lambda step: "yes" if step.as_found else None,
    "due after": lambda step: step.text if step.word is StepWord.RETORQUE else None,
    "method": lambda step: None if step.method is None else str(step.method),
}
