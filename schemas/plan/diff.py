"""What one plan says differently from another, in words: of the whole, its joints, its steps, what it lets stand. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass

from schemas.plan.diff_joint import joint_changes
from schemas.plan.diff_parts import Difference, moved
from schemas.plan.diff_steps import step_differences
from schemas.route import Joint, Route

SAME = "no difference in what the plans say"

_HEAD = ("plan", "title", "revision", "source", "item")


@dataclass(frozen=True, slots=True)
class Accepted:
    """A finding that a plan lets stand, of which joints (none named: of all), and why."""

    finding: str
    joints: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class PlanSays:
    """What a plan says: how it is walked, and the findings that it lets stand."""

    route: Route
    accepted: tuple[Accepted, ...] = ()


def differences(before: PlanSays, after: PlanSays) -> tuple[Difference, ...]:
    """Every difference, in the order of a plan: its head, its joints, its steps, what it lets stand.

    Joints are the same where their ids are: one with another id is told as taken out and put in. Comments, layout, and where
    a value is written (at the joint or for all) make no difference.
    """
    return (
        *_head(before.route, after.route),
        *_joints(before.route, after.route),
        *step_differences(before.route.steps, after.route.steps),
        *_accepted(before.accepted, after.accepted),
    )


def diff_text(found: tuple[Difference, ...]) -> tuple[str, ...]:
    """One line a difference, or the line that says that there is none."""
    return tuple(map(str, found)) or (SAME,)


def _head(before: Route, after: Route) -> Iterator[Difference]:
    for name in _HEAD:
        old, new = getattr(before, name), getattr(after, name)
        if old != new:
            yield Difference("plan", "id" if name == "plan" else name, old, new)


def _joints(before: Route, after: Route) -> Iterator[Difference]:
    old, new = before.by_id(), after.by_id()
    for name, joint in old.items():
        if name in new:
            yield from joint_changes(joint, new[name])
        else:
            yield Difference(name, "taken out", _joint(joint), None)
    for name, joint in new.items():
        if name not in old:
            yield Difference(name, "put in", None, _joint(joint))
    places = [{name: place for place, name in enumerate(names, 1)} for names in (old, new)]
    for name in moved(list(old), list(new)):
        yield Difference(name, "listed in place", *(str(at[name]) for at in places))


def _joint(joint: Joint) -> str:
    return f"{joint.name}, {joint.fasteners} fastener{'s' * (joint.fasteners > 1)}"


def _accepted(before: tuple[Accepted, ...], after: tuple[Accepted, ...]) -> Iterator[Difference]:
    old, new = ({(one.finding, one.joints): one.reason for one in accepted} for accepted in (before, after))
    for finding, joints in old | new:
        was, now = old.get((finding, joints)), new.get((finding, joints))
        where = f"accepted `{finding}`" + (f" of {', '.join(joints)}" if joints else "")
        if was is None or now is None:
            yield Difference(where, "put in" if was is None else "taken out", was, now)
        elif was != now:
            yield Difference(where, "reason", was, now)
