"""What the steps of a plan wait for: hold points to be signed, joints to be done; all of it has to come before."""

from bisect import bisect_left
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass

from schemas.plan.faults import nearest
from schemas.plan.model import HoldPointStep, StepModel
from schemas.plan.rules import Finding


@dataclass(frozen=True, slots=True)
class Tightness:
    """For each joint the steps that torque it and those that open it again, rising."""

    torqued: Mapping[str, Sequence[int]]
    opened: Mapping[str, Sequence[int]]

    def torqued_for(self, name: str, step: int) -> int | None:
        """The step whose torque another step finds on a joint: an earlier one unless it is open by then, else the next.

        None where no step torques it, or none does after it was opened.
        """
        torqued, opened = self.torqued.get(name, ()), self.opened.get(name, ())
        after = bisect_left(torqued, step)
        before_open = bisect_left(opened, step)
        if after and not (before_open and opened[before_open - 1] > torqued[after - 1]):
            return torqued[after - 1]
        return torqued[after] if after < len(torqued) else None


def wait_findings(steps: list[StepModel], tightness: Tightness, joints: Container[str]) -> Iterator[Finding]:
    """What is waited for and is not there, comes later, or waits itself."""
    signed_in = {step.hold_point: index for index, step in reversed(list(enumerate(steps))) if isinstance(step, HoldPointStep)}
    waits = _Waits(steps, signed_in, tightness)
    known = dict.fromkeys([*signed_in, *tightness.torqued])
    for index, names in enumerate(waits.names):
        for place, name in enumerate(names):
            path, made = ("steps", index, "after", place), waits.made_in(name, index)
            if made is None:
                kind = "hold point or joint" if name not in joints else "step that torques joint"
                near = nearest(name, known) if known else "add a step for it above, or take the name out"
                yield Finding(path, f"the plan has no {kind} `{name}`; {near}", "waits-for-nothing")
            elif made == index:
                what = f"the step waits for `{name}`, which it makes itself; take it out"
                yield Finding(path, what, "steps-wait-for-each-other")
            elif made > index and waits.reaches(made, index):
                what = f"steps[{made + 1}] makes `{name}` and waits for this one; take one of the two `after` out"
                yield Finding(path, what, "steps-wait-for-each-other")
            elif made > index:
                kind = "hold point" if name in signed_in else "joint"
                what = f"{kind} `{name}` comes later, in steps[{made + 1}]; move it before this step"
                yield Finding(path, what, "waits-for-later-step")


class _Waits:
    """Which step waits for which."""

    def __init__(self, steps: list[StepModel], signed_in: Mapping[str, int], tightness: Tightness) -> None:
        self.names: list[list[str]] = [list(getattr(step, "after", None) or ()) for step in steps]
        self._signed_in = signed_in
        self._tightness = tightness

    def made_in(self, name: str, step: int) -> int | None:
        """The step that signs or torques what a step waits for."""
        signed = self._signed_in.get(name)
        return self._tightness.torqued_for(name, step) if signed is None else signed

    def reaches(self, start: int, goal: int) -> bool:
        """Whether a step waits for another, be it by way of others."""
        seen, open_ = {start}, [start]
        while open_:
            waiting = open_.pop()
            for name in self.names[waiting]:
                step = self.made_in(name, waiting)
                if step == goal:
                    return True
                if step is not None and step not in seen:
                    seen.add(step)
                    open_.append(step)
        return False
