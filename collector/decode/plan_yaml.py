"""Writes a plan that was said in another form as YAML, and remembers for each line where it came from. Pure."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pydantic import TypeAdapter, ValidationError

from schemas.errors import PlanError, PlanFault
from schemas.plan.columns import Column
from schemas.plan.fields import Text
from schemas.plan.text import Plain
from schemas.table import Place, PlacedFault

Value = str | tuple[str, ...]

_TEXT: TypeAdapter[str] = TypeAdapter(Text)
# What needs no quotes wherever it stands; what is left out of it may need none, and is quoted all the same.
_BARE = re.compile(r"(?:[^\W_]|±)(?:[\w .;/+()°·%×&!?=-]*[\w.;)°%!?])?")
_DIGITS = re.compile(r"-?(?:0|[1-9][0-9]{0,8})(?:\.[0-9]{1,9})?")


@dataclass(frozen=True, slots=True)
class Said:
    """One field with its value as it was said, and where."""

    column: Column
    value: Value
    place: Place


@dataclass(frozen=True, slots=True)
class Entry:
    """The fields of one joint, step or accepted finding, and where all of it stands."""

    place: Place
    fields: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class Draft:
    """A plan before it is judged: what was said, field by field."""

    head: Entry
    joints: tuple[Entry, ...]
    steps: tuple[Entry, ...] = ()
    accepted: tuple[Entry, ...] = ()


@dataclass(frozen=True, slots=True)
class WrittenPlan:
    """A plan as YAML; `places` has for each line where its field was said, `entries` for the first line of an entry all of it."""

    data: bytes
    places: Mapping[int, Place]
    entries: Mapping[int, Place]

    def placed(self, error: PlanError) -> PlanError:
        """The same error with each fault at its place in the file that the plan was made from."""
        return PlanError(error.file, tuple(self._fault(fault) for fault in error.faults))

    def _fault(self, fault: PlanFault) -> PlanFault:
        place = self.places.get(fault.line)
        around = self.entries.get(fault.line)
        # The entry begins with its first field, and what it lacks has no line of its own.
        if around is not None and not self._is_first(fault):
            place = around
        if place is None:
            return fault
        return PlacedFault(place.line, fault.field, fault.what, fault.id, place.name)

    def _is_first(self, fault: PlanFault) -> bool:
        line = self.data.decode().split("\n")[fault.line - 1]
        first = line.strip().removeprefix("- ").partition(":")[0]
        return re.sub(r"\[[0-9]+\]$", "", fault.field).endswith(f".{first}")


def write_plan(draft: Draft) -> WrittenPlan:
    """The plan as YAML in UTF-8, one field a line, in the order in which it was said; nothing of it is judged here."""
    lines: list[str] = []
    places: dict[int, Place] = {}
    entries: dict[int, Place] = {}
    for said in draft.head.fields:
        places[len(lines) + 1] = said.place
        lines += _lines([said])
    for section, members in (("accepted", draft.accepted), ("joints", draft.joints), ("steps", draft.steps)):
        if members or section == "joints":
            lines.append(f"{section}:" if members else f"{section}: []")
            places[len(lines)] = draft.head.place
        for entry in members:
            entries[len(lines) + 1] = entry.place
            told = entry_lines(entry)
            places |= {len(lines) + number: place for number, (_, place) in enumerate(told, 1)}
            lines += [f"  {line}" for line, _ in told]
    return WrittenPlan("".join(f"{line}\n" for line in lines).encode(), places, entries)


def entry_lines(entry: Entry) -> list[tuple[str, Place]]:
    """The lines of one entry of a list, the first behind its dash, each with its place."""
    found: list[tuple[str, Place]] = []
    for group in _groups(entry.fields):
        found += [(line, said.place) for line, said in zip(_lines(group), _owners(group), strict=True)]
    return [(f"{'  ' if number else '- '}{line}", place) for number, (line, place) in enumerate(found)]


def _groups(fields: Iterable[Said]) -> Iterable[list[Said]]:
    """The fields by their first name, so that those of an adapter stand together."""
    groups: dict[str, list[Said]] = {}
    for said in fields:
        groups.setdefault(said.column.path[0], []).append(said)
    return groups.values()


def _owners(group: Sequence[Said]) -> list[Said]:
    return [group[0], *group] if len(group[0].column.path) > 1 else list(group)


def _lines(group: Sequence[Said]) -> list[str]:
    first = group[0].column.path[0]
    if len(group[0].column.path) > 1:
        return [f"{first}:", *(f"  {said.column.path[1]}: {_value(said)}" for said in group)]
    return [f"{first}: {_value(said)}" for said in group]


def _value(said: Said) -> str:
    if isinstance(said.value, str):
        return scalar(said.value, said.column.numeric)
    return f"[{', '.join(scalar(entry, said.column.numeric) for entry in said.value)}]"


def scalar(text: str, numeric: bool = False) -> str:
    """A text as YAML on one line, without quotes where every reader of YAML takes it for that text.

    In a numeric field plain digits stand without quotes too.
    """
    if numeric and _DIGITS.fullmatch(text):
        return text
    if _BARE.fullmatch(text):
        try:
            _TEXT.validate_python(Plain(text))
        except ValidationError:
            pass
        else:
            return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(sign if sign.isprintable() else f"\\U{ord(sign):08X}" for sign in escaped) + '"'
