"""The side of the vehicle that each joint is on, as far as the plan tells."""

import re
from collections.abc import Sequence

from collector.expect.places import Place
from collector.expect.reading_odds import look_of

_SIDES = {"left": "left", "right": "right"}
_ENDS = _SIDES | {"l": "left", "r": "right", "lh": "left", "rh": "right"}
_WORD = re.compile(r"[a-z]+")
_HAND = re.compile(r"(left|right)[ -]hand")
"""Said of a thread, not of a side."""


def sides_of(joints: Sequence[Sequence[Place]]) -> list[str | None]:
    """The side of each joint, given by its places: as the plan says, as id or name tell, or as one of two alike in a row."""
    found = [_told(group[0]) for group in joints]
    if any(found):
        return found
    number = 0
    while number + 1 < len(joints):
        if looks_of(joints[number]) == looks_of(joints[number + 1]):
            found[number], found[number + 1] = "left", "right"
            number += 1
        number += 1
    return found


def opposites_of(joints: Sequence[Sequence[Place]], sides: Sequence[str | None]) -> dict[int, int]:
    """For each joint, by number, the one opposite that looks the same: the first left one's is the first right one, and so on."""
    alike: dict[tuple[object, ...], dict[str | None, list[int]]] = {}
    for number, (group, side) in enumerate(zip(joints, sides, strict=True)):
        alike.setdefault(looks_of(group), {}).setdefault(side, []).append(number)
    pairs = [pair for found in alike.values() for pair in zip(found.get("left", []), found.get("right", []), strict=False)]
    return dict(pairs) | {right: left for left, right in pairs}


def _told(place: Place) -> str | None:
    joint = place.joint
    if joint.side is not None:
        return joint.side
    words = _WORD.findall(joint.id.lower())
    named = _WORD.findall(_HAND.sub("", joint.name.lower()))
    told = {_ENDS.get(words[-1]) if words else None, *(_SIDES.get(word) for word in (*words, *named))} - {None}
    return told.pop() if len(told) == 1 else None


def looks_of(group: Sequence[Place]) -> tuple[object, ...]:
    """What the readings at a joint, given by its places, can show of which one it is."""
    return group[0].fasteners, tuple(look_of(place) for place in group)
