"""Joints of one plan against each other: left against right, and alike ones whose torques differ; it asks, it asserts nothing."""

import re
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator
from decimal import Decimal
from typing import TypeAlias, TypeVar

from schemas.findings.finding import NotChecked, PlanFinding, named
from schemas.findings.subject import Seen, Subject, missing, quoted

ROUNDED = Decimal("0.01")
"""Torques closer than 1 % are one: two units of one figure differ so much by rounding (95 N·m is 70 lbf·ft)."""

_Classes: TypeAlias = tuple[tuple[Seen, ...], ...]
_Key = TypeVar("_Key", bound=Hashable)
_SIDES = re.compile(r"(?<![^\W_])(left|right|lh|rh|l|r)(?![^\W_])", re.IGNORECASE)
_PAIRS = {"left": "left/right", "right": "left/right", "lh": "lh/rh", "rh": "lh/rh", "l": "l/r", "r": "l/r"}
_BUILT = ("fasteners", "stages", "thread", "grade", "prep", "nut")


def likeness_findings(subject: Subject) -> Iterator[PlanFinding | NotChecked]:
    """One finding for each group that is not alike; a joint that differs from its mirror is not told of twice."""
    unlike: list[_Classes] = []
    for pair in _mirrors(subject.joints):
        classes = _classes_with_none(pair)
        if len(classes) > 1:
            unlike.append(classes)
            what = f"left and right are unlike: {_told(classes)}"
            yield subject.apart("unlike-torque-on-mirror-joints", classes, "torque", what)
        yield from _built_unlike(subject, pair)
    told = _told_of(subject.joints, unlike)
    for (thread, grade, prep, *_), group in _grouped((seen for seen in subject.joints if seen.index not in told), like_key):
        classes = _classes(group, _passes_either)
        if len(classes) > 1:
            what = f"on {thread}, {grade}, {prep or 'preparation not stated'}, the torques are unlike: {_told(classes)}"
            yield subject.apart("unlike-torque-on-like-joints", classes, "torque", what)
    for seen in subject.joints:
        if seen.torque_nm is not None and like_key(seen) is None:
            lacks = [f"`{field}`" for field in ("thread", "grade") if getattr(seen.model, field) is None]
            yield missing("torque against like joints", seen, f"{' and '.join(lacks)} not stated")


def _told_of(joints: tuple[Seen, ...], unlike: list[_Classes]) -> set[int]:
    """The joints that an unlike pair has told of: all but those that agree with what is like them and in no such pair."""
    paired = {seen.index for classes in unlike for group in classes for seen in group}
    rest = defaultdict(list)
    for seen in joints:
        if seen.index not in paired:
            rest[like_key(seen)].append(seen)
    told: set[int] = set()
    for classes in unlike:
        agreeing = [group for group in classes if any(_passes_either(group[0], other) for other in rest[like_key(group[0])])]
        stays = (agreeing or classes)[0]
        told |= {seen.index for group in classes if group is not stays for seen in group}
    return told


def like_key(seen: Seen) -> tuple[str, str, str | None, str | None, bool] | None:
    """What two joints have in common that stand the same torque; None where size or grade is not stated, or no torque.

    A nut whose drag is inside the stated torque, and a torque that only begins an angle, are compared among themselves.
    """
    model = seen.model
    if model.thread is None or model.grade is None or seen.torque_nm is None:
        return None
    thread = model.thread if seen.thread is None else seen.thread.text
    grade = model.grade.casefold() if seen.grade is None else seen.grade.text
    return thread, grade, model.prep, "included" if model.drag == "included" else None, model.then_angle is not None


def _grouped(joints: Iterable[Seen], key: Callable[[Seen], _Key | None]) -> list[tuple[_Key, list[Seen]]]:
    """The joints of one key together, where there are two or more; those without a key are left out."""
    groups: dict[_Key, list[Seen]] = defaultdict(list)
    for seen in joints:
        if (name := key(seen)) is not None:
            groups[name].append(seen)
    return [(name, group) for name, group in groups.items() if len(group) > 1]


def _mirrors(joints: tuple[Seen, ...]) -> list[list[Seen]]:
    """Joints whose ids differ only in the side, or whose names do where their ids say no side."""
    by_id = [pair for _, pair in _grouped(joints, lambda seen: _without_side(seen.model.id))]
    paired = {seen.index for pair in by_id for seen in pair}
    rest = (seen for seen in joints if seen.index not in paired)
    return by_id + [pair for _, pair in _grouped(rest, lambda seen: _without_side(seen.model.name))]


def _without_side(text: str) -> str | None:
    """A text with its sides taken out, None where it has none."""
    plain, sides = _SIDES.subn(lambda found: _PAIRS[found[0].casefold()], text)
    return plain.casefold() if sides else None


def _built_unlike(subject: Subject, pair: list[Seen]) -> Iterator[PlanFinding]:
    unlike = [field for field in _BUILT if len({str(getattr(seen.model, field)) for seen in pair}) > 1]
    if unlike:
        apart = tuple(tuple(group) for group in _each_value(pair, unlike).values())
        values = "; ".join(
            f"{named(seen.joint.id for seen in group)}: {', '.join(_value(group[0], field) for field in unlike)}"
            for group in apart
        )
        yield subject.apart("unlike-mirror-joints", apart, unlike[0], f"left and right are built unlike: {values}")


def _each_value(pair: list[Seen], fields: list[str]) -> dict[tuple[str, ...], list[Seen]]:
    groups: dict[tuple[str, ...], list[Seen]] = defaultdict(list)
    for seen in pair:
        groups[tuple(str(getattr(seen.model, field)) for field in fields)].append(seen)
    return groups


def _value(seen: Seen, field: str) -> str:
    value = getattr(seen.model, field)
    shown = ", ".join(value) if isinstance(value, list) else "not stated" if value is None else value
    return f"{field} {shown}"


def _classes_with_none(group: list[Seen]) -> _Classes:
    """Those of one torque together; what is not stated is apart from every torque."""
    stated = [seen for seen in group if seen.torque_nm is not None]
    without = tuple(seen for seen in group if seen.torque_nm is None)
    classes = _classes(stated, lambda first, seen: _nm(seen) <= _nm(first) * (1 + ROUNDED))
    return (*classes, without) if without else classes


def _passes_either(one: Seen, other: Seen) -> bool:
    """Whether one of two torques lies in the band of the other: what passes its check is not worth a question."""
    return one.low_nm <= _nm(other) <= one.high_nm or other.low_nm <= _nm(one) <= other.high_nm


def _classes(group: list[Seen], alike: Callable[[Seen, Seen], bool]) -> _Classes:
    """The joints by torque, a new class where one is not alike with the first of the class before."""
    classes: list[list[Seen]] = []
    for seen in sorted(group, key=_nm):
        if classes and alike(classes[-1][0], seen):
            classes[-1].append(seen)
        else:
            classes.append([seen])
    return tuple(map(tuple, classes))


def _nm(seen: Seen) -> Decimal:
    return seen.torque_nm or Decimal(0)


def _told(classes: _Classes) -> str:
    """Each torque with the joints that have it, the first ones of many."""
    told = [f"{quoted(group[0])} for {named(seen.joint.id for seen in group)}" for group in classes[:4]]
    return "; ".join(told) + (f"; and {len(classes) - 4} more torques" if len(classes) > 4 else "")
