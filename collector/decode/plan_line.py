"""Reads a plan as it is read aloud, one line a joint or step: `rear hanger, 4 x M12, 88 N·m, anti-seize, loose`. Pure."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from collector.decode.plan_part import LATER, LEFT_LOOSE, WHEN, is_part, read_part, why_not
from collector.decode.plan_row import BY_NAME
from collector.decode.plan_slug import free_id, slug
from collector.decode.plan_spoken_step import StepLine, read_step
from collector.decode.plan_yaml import Entry, Said, Value
from schemas.plan.columns import STEP_COLUMNS
from schemas.plan.text import shown
from schemas.table import Place

_BETWEEN_DIGITS = re.compile(r"[0-9]+,[0-9]+")
_QUOTED = re.compile(r'\s*["“”]([^"“”]+)["“”]\s*(?:,|$)')
# What may stand behind a comma and still belongs to the name: `U-bolt nuts, left`.
_SIDES = frozenset(["left", "right", "front", "rear", "upper", "lower", "inner", "outer", "top", "bottom"])
_WHEN: dict[Value | None, str] = {None: "", LEFT_LOOSE: "; left loose here, torqued later", LATER: "; torqued later"}
_STEP = re.compile(rf"\s*({'|'.join(STEP_COLUMNS)})\s*:(.*)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Understood:
    """What a line was taken for, as one line to read; or what is not understood of it, one line each: then nothing is kept."""

    echo: str
    unclear: tuple[str, ...] = ()


@dataclass(slots=True)
class Spoken:
    """The joints and steps of the lines so far; `known` are the ids and names that were there before, in a plan to go on with.

    A joint is torqued where its line stands; one that is left loose, or comes later, where a `torque:` line names it, else
    at the end.
    """

    known: dict[str, str] = field(default_factory=dict)
    points: dict[str, str] = field(default_factory=dict)
    joints: list[Entry] = field(default_factory=list)
    _steps: list[Entry] = field(default_factory=list)
    _waiting: dict[str, Place] = field(default_factory=dict)
    _needs_steps: bool = False

    def add(self, text: str, place: Place) -> Understood:
        """Take a line in; a blank one, or one that begins with #, says nothing."""
        if not text.strip() or text.lstrip().startswith("#"):
            return Understood("")
        if found := _STEP.fullmatch(text):
            return self._step(found[1].lower(), found[2].strip(), place)
        return self._joint(text, place)

    def copy(self) -> "Spoken":
        """The same, to go on from by itself."""
        return Spoken(dict(self.known), dict(self.points), [*self.joints], [*self._steps], dict(self._waiting), self._needs_steps)

    @property
    def is_empty(self) -> bool:
        """Whether no line said anything."""
        return not self.joints and not self._steps

    def steps(self, whole: bool = False) -> tuple[Entry, ...]:
        """The steps in order, what waits at the end; none where they only torque each joint in turn, unless `whole`."""
        if not self._needs_steps and not whole:
            return ()
        return (*self._steps, *(_names_one("torque", name, place) for name, place in self._waiting.items()))

    def _step(self, word: str, text: str, place: Place) -> Understood:
        step = read_step(word, text, self.known, self.points)
        done = {name for entry in self._steps for name in _torqued(entry)} - set(self._waiting)
        again = [name for name in step.joints if word == "torque" and name in done]
        unclear = step.unclear + tuple(
            f"`{name}` is torqued where its line stands; say `later` there, or `open:` it" for name in again
        )
        if unclear:
            return Understood("", unclear)
        self._keep(step, word, place)
        said = ", ".join(f"{name} {_shown(value)}" for name, value in step.fields[1:])
        return Understood(f"{word}: {_shown(step.fields[0][1])}{f' ({said})' if said else ''}")

    def _keep(self, step: StepLine, word: str, place: Place) -> None:
        columns = {column.name: column for column in STEP_COLUMNS[word]}
        self._steps.append(Entry(place, tuple(Said(columns[name], value, place) for name, value in step.fields)))
        self._needs_steps = True
        if step.point is not None:
            self.points[step.point[0]] = step.point[1]
        for name in step.joints:
            if word == "torque":
                self._waiting.pop(name, None)
            elif word == "open":
                self._waiting[name] = place

    def _joint(self, text: str, place: Place) -> Understood:
        outside = re.sub(_QUOTED, ",", text, count=1)
        if found := _BETWEEN_DIGITS.search(outside):
            point = found[0].replace(",", ".")
            what = f"`{found[0]}` can be {point} or two parts; write {point}, or a space behind a comma that parts"
            return Understood("", (what,))
        name, parts = _parted(text)
        fields, unclear = _fields(parts)
        if not name or is_part(name):
            unclear.insert(0, f"the line begins with `{shown(name)}`; begin with the joint's name, then a comma")
        unclear += _lacking(fields) if not unclear else []
        if unclear:
            return Understood("", tuple(unclear))
        own = str(fields.pop("id", "")) or slug(name)
        found_id = free_id(own, [*self.known, *self.points])
        when = fields.pop(WHEN, None)
        said = [("id", found_id), ("name", name), *((one, fields[one]) for one in BY_NAME if one in fields)]
        self.joints.append(Entry(place, tuple(Said(BY_NAME[one], value, place) for one, value in said)))
        self.known[found_id] = name
        if when is None:
            self._steps.append(_names_one("torque", found_id, place))
        else:
            self._waiting[found_id] = place
            self._needs_steps = True
            if when == LEFT_LOOSE:
                self._steps.append(_names_one("loose", found_id, place))
        return Understood(f"{found_id} = {name}: {_told(fields)}{_WHEN[when]}")


def _told(fields: dict[str, Value]) -> str:
    """The fields of a joint as one reads them, the unit behind its torque."""
    unit = f" {_shown(fields['unit'])}" if "unit" in fields else ""
    words = []
    for name in BY_NAME:
        if name in fields and name != "unit":
            value = _shown(fields[name])
            words.append(f"{name.replace('_', ' ')} {value.removeprefix('grade ')}{unit if name in ('torque', 'high') else ''}")
    return ", ".join(words)


def _parted(text: str) -> tuple[str, list[str]]:
    """The name, and the parts behind it; a name in quotes may have commas, and one side may follow it."""
    if quoted := _QUOTED.match(text):
        name, rest = quoted[1].strip(), text[quoted.end() :]
    else:
        name, _, rest = text.partition(",")
    parts = [part.strip() for part in rest.split(",")]
    while parts and parts[0].casefold() in _SIDES:
        name = f"{name.strip()}, {parts.pop(0)}"
    return " ".join(name.split()), [part for part in parts if part]


def _fields(parts: Iterable[str]) -> tuple[dict[str, Value], list[str]]:
    fields: dict[str, Value] = {}
    said_by: dict[str, str] = {}
    unclear = []
    for part in parts:
        read = read_part(part)
        if read is None:
            unclear.append(why_not(part))
            continue
        for name, value in read.items():
            if name in said_by:
                unclear.append(f"`{shown(said_by[name])}` and `{shown(part)}` both state {name.replace('_', ' ')}; keep one")
                break
            said_by.setdefault(name, part)
            fields.setdefault(name, value)
    return fields, unclear


def _lacking(fields: dict[str, Value]) -> Iterator[str]:
    if "fasteners" not in fields:
        yield "how many fasteners are there? write it with the thread, as 4 x M12, or as 4 bolts"
    if not {"torque", "low"} & set(fields):
        yield "what is the torque? write it with its unit, as 88 N·m or 88 to 96 N·m, or `not stated`"
    if {"torque", "low"} <= set(fields):
        yield "the torque stands twice, alone and with two edges; keep one"


def _names_one(word: str, joint: str, place: Place) -> Entry:
    return Entry(place, (Said(STEP_COLUMNS[word][0], (joint,), place),))


def _torqued(entry: Entry) -> tuple[str, ...]:
    first = entry.fields[0]
    return tuple(first.value) if first.column.name == "torque" and not isinstance(first.value, str) else ()


def _shown(value: Value) -> str:
    return value if isinstance(value, str) else " ".join(value)
