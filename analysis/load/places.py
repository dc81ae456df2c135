"""Where fasteners are, in words that fit: `Hub nuts, left, 1-3, 5; Shackle bolts, 2`. Pure."""

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import ceil

from analysis.load.record_pulls import FastenerRow

IN_TABLES = "see Every fastener in the report"

_ROW_SIGNS = 100
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})


@dataclass(frozen=True, slots=True)
class Room:
    """How much is named before the rest is only counted: `lines` of one kind, `joints` in a line, `signs` of a name."""

    lines: int
    joints: int
    signs: int


ROOMS = (Room(8, 10, 120), Room(3, 5, 80), Room(1, 2, 30))


def fitting(rows: int, say: Callable[[Room], list[str]], rooms: Sequence[Room] = ROOMS) -> list[str]:
    """What `say` has to say in the first room in which it takes no more than `rows` rows of a page, else in the last."""
    said: list[str] = []
    for room in rooms:
        said = say(room)
        if sum(ceil(len(line) / _ROW_SIGNS) for line in said) <= rows:
            break
    return said


def places(fasteners: Iterable[FastenerRow], room: Room) -> str:
    """Fasteners by the name of their joint; joints that have no room are counted, and the line says where they stand."""
    by_joint: dict[str, tuple[str, list[int]]] = {}
    for fastener in fasteners:
        by_joint.setdefault(fastener.joint, (fastener.joint_name, []))[1].append(fastener.position)
    named = [f"{joint_name(name, room)}, {positions(at, room.signs)}" for name, at in by_joint.values()]
    return first_joints(named, room, IN_TABLES)


def joint_name(name: str, room: Room) -> str:
    """The name of a joint for a place among other words."""
    return isolated(shortened(name, room.signs))


def first_joints(said: Sequence[str], room: Room, where: str) -> str:
    """What is said of each joint, of as many as there is room for, and how many more there are; `where` they stand."""
    left = len(said) - room.joints
    more = [f"and {left} more joint{'' if left == 1 else 's'}: {where}"] if left > 0 else []
    return "; ".join([*said[: room.joints], *more])


def positions(numbers: Sequence[int], signs: int | None = None) -> str:
    """Ascending positions, runs of them as `1-3`; those for which `signs` are not enough are counted."""
    text, named = "", 0
    for first, last in _runs(numbers):
        run = str(first) if first == last else f"{first}-{last}"
        longer = f"{text}, {run}" if text else run
        if text and signs is not None and len(longer) > signs:
            return f"{text} and {len(numbers) - named} more"
        text = longer
        named += last - first + 1
    return text


def _runs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def shortened(text: str, signs: int) -> str:
    """The text, or as many of its signs and `…`."""
    return text if len(text) <= signs else f"{text[:signs]}…"


def isolated(text: str) -> str:
    """A name for a place among other words: written from right to left, it would turn round the numbers beside it."""
    if any(unicodedata.bidirectional(char) in _RIGHT_TO_LEFT for char in text):
        return f"\u2068{text}\u2069"
    return text
