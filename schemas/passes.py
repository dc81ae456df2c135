"""The passes of a route: which step works which stages of which joint, in the plan's order. Pure."""

from collections.abc import Container, Mapping
from dataclasses import dataclass

from schemas.route import Joint, Route, Stage, Step
from schemas.words import StepWord


@dataclass(frozen=True, slots=True)
class Pass:
    """One step's work on one joint; `stages` is empty where the joint states no torque. `opened_in` are the steps that open
    the joint before it."""

    step: Step
    joint: Joint
    stages: tuple[Stage, ...]
    opened_in: tuple[int, ...] = ()


def passes_of(route: Route) -> tuple[Pass, ...]:
    """Every pass: a torque step works all stages of a joint but its rechecks, a recheck step the one that is its own."""
    by_id, found = route.by_id(), []
    opened: dict[str, tuple[int, ...]] = {}
    for step in route.steps:
        for name in step.joints:
            joint = by_id[name]
            match step.word:
                case StepWord.OPEN:
                    opened[name] = (*opened.get(name, ()), step.number)
                case StepWord.TORQUE:
                    found.append(Pass(step, joint, joint.own_stages, opened.get(name, ())))
                case StepWord.RECHECK:
                    own = tuple(stage for stage in joint.stages if stage.step == step.number)
                    found.append(Pass(step, joint, own, opened.get(name, ())))
    return tuple(found)


def present_pass(passes: tuple[Pass, ...], opened_steps: Container[int], stage: Stage | None) -> Pass | None:
    """Of the passes of one joint the one that works a stage now; None where the plan has none.

    A joint that the plan opens again is torqued in more than one step: it stands in the last one before which everything was
    opened that the plan opens. `stage` None: the one of a joint without stages.
    """
    candidates = [one for one in passes if (stage in one.stages if stage is not None else one.step.word is StepWord.TORQUE)]
    reached = [one for one in candidates if all(number in opened_steps for number in one.opened_in)]
    return reached[-1] if reached else (candidates[0] if candidates else None)


@dataclass(frozen=True, slots=True)
class Walk:
    """A route with what is looked up in it at every pull: its passes, those of each joint, and which joints wait for one.

    `waiters` are all joints whose torque waits for something.
    """

    route: Route
    passes: tuple[Pass, ...]
    of_joint: Mapping[str, tuple[Pass, ...]]
    waiting: Mapping[str, tuple[str, ...]]
    waiters: frozenset[str]


def walk_of(route: Route) -> Walk:
    """The route, looked through once."""
    passes, waiting = passes_of(route), dict[str, dict[str, None]]()
    for step in route.steps:
        for name in step.after if step.word in (StepWord.TORQUE, StepWord.RECHECK) else ():
            waiting.setdefault(name, {}).update(dict.fromkeys(step.joints))
    of_joint: dict[str, list[Pass]] = {joint.id: [] for joint in route.joints}
    for one in passes:
        of_joint[one.joint.id].append(one)
    waiters = frozenset(name for joints in waiting.values() for name in joints)
    by_joint = {joint: tuple(of_it) for joint, of_it in of_joint.items()}
    return Walk(route, passes, by_joint, {name: tuple(joints) for name, joints in waiting.items()}, waiters)
