"""Reads the header of a plan that was written as a table: which column is which field, and in which unit. Pure."""

import difflib
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from schemas.errors import PlanFault, UnitError
from schemas.plan.columns import HEAD_COLUMNS, JOINT_COLUMNS, Column
from schemas.plan.text import shown
from schemas.table import Cell, Naming, TableRow, fault_at, letters
from schemas.units import find_unit

TORQUES = ("torque", "low", "high")


class Other(Enum):
    """Columns that are no field of a joint and are read all the same."""

    REMARKS = "remarks"
    NUMBER = "no."
    JOINT = "joint"
    STEP = "step"
    WHAT = "what"


Target = Column | Other

_SYNONYMS = {
    "id": "joint id, joint no, joint number, joint nr, item, item no, pos, position no, ref",
    "name": "joint name, description, desc, designation, location, place, where, part, component, fastener, bolt",
    "fasteners": "qty, quantity, count, pcs, pieces, number of fasteners, no of fasteners, number of bolts, no of bolts, no off,"
    " fastener count, bolt count, bolts, nuts, screws, how many",
    "torque": "target, nominal, target torque, nominal torque, torque value, torque target, torque nominal, tightening torque,"
    " final torque, value, spec",
    "low": "min, minimum, lower, lower limit, low limit, lsl, torque min, min torque, torque low, low torque",
    "high": "max, maximum, upper, upper limit, high limit, usl, torque max, max torque, torque high, high torque",
    "unit": "units, torque unit, uom, unit of measure",
    "tolerance": "tol, tolerance ±, tol ±, ±, + -, torque tolerance",
    "stages": "stage, rounds, passes, torque stages",
    "order": "sequence, tightening order, tightening sequence, torque sequence",
    "start": "start position, begin at",
    "seen_from": "seen, view, viewed from",
    "thread": "size, thread size, bolt size, screw size, fastener size, dimension, dim",
    "grade": "class, property class, strength class, strength grade, bolt grade, strength",
    "prep": "lubricant, lubrication, lube, preparation, thread preparation, thread prep, compound, thread compound, condition",
    "nut": "nut type, kind of nut",
    "hardware": "hardware state, reuse",
    "counter_hold": "counterhold, counter, hold, hold with",
    "socket": "socket size, key, key size, af, across flats",
    "hand": "thread hand",
    "mark": "paint mark",
    "critical": "safety critical",
    "wheel": "wheel fastener, wheel joint",
    "then_angle": "angle, turn angle, final angle, angle target",
    "angle_tolerance": "angle tol, tolerance angle, angle ±",
    "wrench": "wrenches, tool, tools, torque wrench",
}
_OTHERS = {Other.REMARKS: "remarks, remark, note, notes, comment, comments", Other.NUMBER: "no, nr, number", Other.JOINT: "joint"}
_FIELDS = {column.name: column for column in JOINT_COLUMNS}
_IN_BRACKETS = re.compile(r"(.*\S)\s*[(\[]([^()\[\]]+)[)\]]")
_DEGREES = frozenset({"°", "deg", "degree", "degrees"})


@dataclass(frozen=True, slots=True)
class Use:
    """What a column is: `unit` is the spelling behind its name, None where there is none; `header` its cell."""

    target: Target
    header: Cell
    unit: str | None = None

    @property
    def column(self) -> int:
        """Its place from 1."""
        return self.header.column

    @property
    def name(self) -> str:
        """The field that it is."""
        return self.target.value if isinstance(self.target, Other) else self.target.name


@dataclass(frozen=True, slots=True)
class Header:
    """The columns of a table that are read, what is wrong with the others, and what to know of how they were read.

    `named` are the columns that have a header, read or not.
    """

    uses: tuple[Use, ...]
    named: frozenset[int]
    faults: tuple[PlanFault, ...] = ()
    notes: tuple[str, ...] = ()

    def find(self, name: str) -> Use | None:
        """The column that is that field."""
        return next((use for use in self.uses if use.name == name), None)


def key_of(text: str) -> str:
    """A header or a word as it is looked up: small letters, one space for spaces, hyphens, underscores and full stops."""
    folded = unicodedata.normalize("NFKC", text).casefold().replace("+/-", "±").replace("#", " no ")
    return " ".join(re.sub(r"[\s_.:/-]+", " ", folded).split())


def _spellings(columns: Iterable[Column], synonyms: dict[str, str]) -> Iterator[tuple[str, Target]]:
    for column in columns:
        yield key_of(column.name), column
        for word in filter(None, synonyms.get(column.name, "").split(", ")):
            yield key_of(word), column


_OF_PLAN = [column for column in HEAD_COLUMNS if column.name in ("plan", "title", "revision", "source")]
JOINT_TABLE: dict[str, Target] = {
    **{key_of(word): other for other, words in _OTHERS.items() for word in words.split(", ")},
    **dict(_spellings(_OF_PLAN, {"revision": "rev", "plan": "plan id", "title": "plan title", "source": "plan source"})),
    **dict(_spellings(JOINT_COLUMNS, _SYNONYMS)),
}
"""The headers that are known above joints, as `key_of` gives them."""


def read_header(row: TableRow, known: dict[str, Target], ignored: Sequence[str], naming: Naming) -> Header:
    """Which column is what.

    Args:
        row: the header.
        known: the headers that are known there.
        ignored: headers to leave out, by name.
        naming: how places are called.
    """
    left_out = {key_of(name) for name in ignored}
    uses: list[Use] = []
    faults: list[PlanFault] = []
    notes: list[str] = []
    for cell in row.cells.values():
        if key_of(cell.text) in left_out:
            notes.append(f"column {letters(cell.column)} `{shown(cell.text)}` is left out, as --ignore says")
            continue
        use = _use(cell, known)
        if use is None:
            near = difflib.get_close_matches(key_of(cell.text)[:64], known, n=1)
            hint = f"did you mean `{near[0]}`? Else" if near else f"known here: {', '.join(_names(known))};"
            what = f"`{shown(cell.text)}` is no column that we know; {hint} leave it out by naming it in --ignore"
            faults.append(fault_at(naming.cell(cell), what))
        else:
            uses.append(use)
    headers = {key_of(cell.text) for cell in row.cells.values()}
    faults += [
        fault_at(naming.row(row.line), f"--ignore names `{shown(name)}`, and no column is called so")
        for name in ignored
        if key_of(name) not in headers
    ]
    resolved = _settled(uses, faults, notes, naming)
    return Header(tuple(resolved), frozenset(row.cells), (*faults, *_twice(resolved, naming)), tuple(notes))


def known_names(row: TableRow, known: dict[str, Target]) -> list[str]:
    """The fields of those cells of a row that are headers that are known."""
    return [use.name for cell in row.cells.values() if (use := _use(cell, known)) is not None]


def _names(known: dict[str, Target]) -> list[str]:
    targets = dict.fromkeys(known.values())
    return [f"`{target.value if isinstance(target, Other) else target.name}`" for target in targets]


def _use(cell: Cell, known: dict[str, Target]) -> Use | None:
    if target := known.get(key_of(cell.text)):
        return Use(target, cell)
    for name, unit in _parted(cell.text):
        target = known.get(key_of(name))
        if isinstance(target, Column) and _takes(target, unit):
            return Use(target, cell, unit.strip())
    torque = known.get("torque")
    # A column that is named by nothing but a unit of torque.
    return Use(torque, cell, cell.text.strip()) if torque and _is_torque_unit(cell.text) else None


def _parted(text: str) -> Iterator[tuple[str, str]]:
    """The ways in which a header can be a name with its unit behind: in brackets, or as its last words."""
    if found := _IN_BRACKETS.fullmatch(text.strip()):
        yield found[1], found[2]
    words = re.split(r"[\s_,/:]+", text.strip())
    for count in range(1, min(len(words), 3)):
        yield " ".join(words[:-count]).removesuffix(" in"), " ".join(words[-count:])


def _takes(column: Column, unit: str) -> bool:
    """Whether a unit can stand behind the name of that column."""
    if column.name in TORQUES:
        return _is_torque_unit(unit)
    if column.name == "tolerance":
        return unit.strip().lstrip("±").strip() == "%" or _is_torque_unit(unit)
    if column.name.endswith(("angle", "angle_tolerance")):
        return unit.strip().casefold() in _DEGREES
    # A quantity writes its unit in each cell, or here for all of them.
    return column.name in ("work_within", "cure", "adapter length", "drag") and unit.strip().isalpha()


def _is_torque_unit(text: str) -> bool:
    try:
        find_unit(text)
    except UnitError:
        return False
    return True


def _settled(uses: list[Use], faults: list[PlanFault], notes: list[str], naming: Naming) -> list[Use]:
    """The columns `no.` and `joint` as the fields that the other columns leave for them."""
    names = {use.name for use in uses}
    has_id = "id" in names or {"joint", "name"} <= names
    wanted = [name for name, there in (("id", has_id), ("fasteners", "fasteners" in names)) if not there]
    settled: list[Use] = []
    for use in uses:
        if use.target is Other.NUMBER:
            called = f"column {letters(use.column)} `{shown(use.header.text)}`"
            if len(wanted) != 1:
                what = "can be the joint's id or how many fasteners it has; name it `id` or `fasteners`"
                faults.append(fault_at(naming.cell(use.header), f"{called} {what}"))
                continue
            notes.append(f"{called} is read as `{wanted[0]}`")
            settled.append(Use(_FIELDS[wanted[0]], use.header))
            names.add(wanted[0])
        else:
            settled.append(use)
    joint = _FIELDS["name" if "id" in names and "name" not in names else "id"]
    return [Use(joint, use.header) if use.target is Other.JOINT else use for use in settled]


def _twice(uses: Sequence[Use], naming: Naming) -> Iterator[PlanFault]:
    first: dict[Target, Use] = {}
    for use in uses:
        before = first.setdefault(use.target, use)
        if before is not use:
            both = f"`{shown(before.header.text)}` and `{shown(use.header.text)}`"
            named = (
                f"column `{use.name}` stands twice" if before.header.text == use.header.text else f"{both} are both `{use.name}`"
            )
            what = f"{named} (columns {before.column} and {use.column}); take one out, or name it in --ignore"
            yield fault_at(naming.cell(use.header), what)
