"""Reads one row of a plan's table into the fields of a joint; texts go through unchanged, the strict model judges them. Pure."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from collector.decode.plan_cell import spoilt, why_no_text
from collector.decode.plan_header import TORQUES, Header, Use
from collector.decode.plan_torque import TorqueText, read_torque, unit_of
from collector.decode.plan_yaml import Said, Value
from schemas.errors import PlanFault
from schemas.plan.columns import JOINT_COLUMNS, Column, Shape
from schemas.plan.text import shown
from schemas.table import Cell, CellKind, Naming, Place, TableRow, fault_at

NEEDED = ("id", "name", "fasteners")
BY_NAME = {column.name: column for column in JOINT_COLUMNS}

_POSITIONS = re.compile(r"[0-9]+(?:[\s,;/-]+[0-9]+)+")
_DIGITS = re.compile(r"[0-9]+(?:\.[0-9]+)?")


@dataclass(slots=True)
class RowRead:
    """What a row says, what is wrong in it, and which cells hold numbers in the place of texts.

    `with_edges` tells that its torque, low and high became a torque with its tolerance.
    """

    said: list[Said] = field(default_factory=list)
    faults: list[PlanFault] = field(default_factory=list)
    numbers: list[Cell] = field(default_factory=list)
    remark: Said | None = None
    with_edges: bool = False


def read_row(row: TableRow, header: Header, naming: Naming, plan_unit: str | None = None) -> RowRead:
    """The fields of one row, by its header; `plan_unit` is the unit of the whole plan, where one is stated."""
    read = RowRead()
    torques: dict[str, tuple[Use, Cell]] = {}
    for use in header.uses:
        cell = row.cells.get(use.column)
        if cell is None:
            if isinstance(use.target, Column) and use.name in NEEDED:
                place = naming.cell(Cell(use.column, row.line, ""))
                read.said.append(Said(use.target, "", place))
            continue
        place = naming.cell(cell)
        if what := spoilt(cell) or (why_no_text(cell) if is_text(use) else None):
            read.faults.append(fault_at(place, what))
        elif use.name in (*TORQUES, "unit"):
            torques[use.name] = (use, cell)
        elif isinstance(use.target, Column):
            if cell.kind is CellKind.NUMBER and is_text(use):
                read.numbers.append(cell)
            read.said.append(Said(use.target, _with_unit(use.target, use.unit, cell.text.strip()), place))
        else:  # the remarks: no other such column is above joints
            read.remark = Said(BY_NAME["name"], cell.text.strip(), place)
    _Torques(read, torques, naming, plan_unit).say()
    return read


def is_text(use: Use) -> bool:
    """Whether digits in that column are a text, of which a number can lose zeros."""
    return isinstance(use.target, Column) and not use.target.numeric and use.name != "tolerance"


def value_of(column: Column, text: str) -> Value:
    """A cell's text as the value of its field: a list in brackets, or with commas, semicolons or spaces between.

    Shares and positions may have slashes between them too, and a sign for percent behind. A word that the field knows may
    have capitals, as spreadsheets put them in by themselves.
    """
    inside = re.fullmatch(r"\[(.*)\]", text)
    if column.shape is Shape.ONE or (column.shape is Shape.EITHER and not inside and not _POSITIONS.fullmatch(text)):
        return _word(column, text)
    between = r"[\s,;/%-]+" if column.numeric else r"[\s,;]+"
    return tuple(_word(column, entry) for entry in re.split(between, inside[1] if inside else text) if entry)


def _word(column: Column, text: str) -> str:
    return next((word for word in column.words if word.casefold() == text.casefold()), text)


def _with_unit(column: Column, unit: str | None, text: str) -> Value:
    """A cell's value, with the unit of its header behind bare digits where the field takes one."""
    if unit is None or column.numeric or not _DIGITS.fullmatch(text):
        return value_of(column, text)
    plain = unit.lstrip("±").strip()
    return f"±{text} {plain}" if column.name == "tolerance" and plain != "%" else f"{text} {plain}"


class _Torques:
    """Torque, edges and unit of a row, which can stand in the cells, in their headers and in a column of its own."""

    def __init__(self, read: RowRead, cells: dict[str, tuple[Use, Cell]], naming: Naming, plan_unit: str | None) -> None:
        self._read = read
        self._cells = cells
        self._naming = naming
        self._plan_unit = plan_unit
        self._texts = {name: self._torque(name, cell.text) for name, (_, cell) in cells.items() if name != "unit"}

    def say(self) -> None:
        """Add the fields, or what is wrong with them."""
        unit = self._unit()
        if not self._edges_beside(unit):
            for name, text in self._texts.items():
                self._one(name, text)
        if unit is not None:
            self._read.said.append(Said(BY_NAME["unit"], *unit))

    def _torque(self, name: str, text: str) -> TorqueText | None:
        torque = read_torque(text)
        return None if torque is not None and torque.high is not None and name != "torque" else torque

    def _one(self, name: str, torque: TorqueText | None) -> None:
        cell = self._cells[name][1]
        place = self._naming.cell(cell)
        if torque is None:
            self._read.said.append(Said(BY_NAME[name], cell.text.strip(), place))
        elif torque.high is None:
            self._read.said.append(Said(BY_NAME[name], torque.low, place))
        elif other := next((other for other in ("low", "high") if other in self._cells), None):
            what = (
                f"`{shown(cell.text)}` has both edges, and so has `{other}` {shown(self._cells[other][1].text)}; keep one of them"
            )
            self._read.faults.append(fault_at(place, what))
        else:
            self._read.said += [Said(BY_NAME["low"], torque.low, place), Said(BY_NAME["high"], torque.high, place)]

    def _units(self) -> Iterator[tuple[str, Place]]:
        if "unit" in self._cells:
            cell = self._cells["unit"][1]
            yield cell.text.strip(), self._naming.cell(cell)
        for name, torque in self._texts.items():
            use, cell = self._cells[name]
            if use.unit is not None:
                yield use.unit, self._naming.cell(use.header)
            if torque is not None and torque.unit is not None:
                yield torque.unit, self._naming.cell(cell)

    def _unit(self) -> tuple[str, Place] | None:
        units = list(self._units())
        for spelling, place in units[1:]:
            first, found = unit_of(units[0][0]), unit_of(spelling)
            # One that is unknown is told by the model at its own cell.
            if first is not None and found != first:
                what = f"`{shown(spelling)}` stands here and `{shown(units[0][0])}` in {units[0][1].name}; write one unit"
                self._read.faults.append(fault_at(place, what))
                break
        return units[0] if units else None

    def _edges_beside(self, unit: tuple[str, Place] | None) -> bool:
        """Say a torque with both of its edges as a torque with a tolerance; False where it is anything else."""
        texts = [self._texts.get(name) for name in TORQUES]
        spelling = unit[0] if unit else self._plan_unit
        stated = any(said.column.name == "tolerance" for said in self._read.said)
        if stated or spelling is None or not all(text is not None and text.high is None for text in texts):
            return False
        torque, low, high = (Decimal(text.low) for text in texts if text is not None)
        cell = self._cells["torque"][1]
        place = self._naming.cell(cell)
        if not low <= torque <= high:
            what = f"torque {torque:f} lies outside low {low:f} and high {high:f}; correct one of them"
            self._read.faults.append(fault_at(place, what))
            return True
        tolerance = f"+{high - torque:f} {spelling} -{torque - low:f} {spelling}"
        self._read.said += [
            Said(BY_NAME["torque"], f"{torque:f}", place),
            Said(BY_NAME["tolerance"], tolerance, self._naming.cell(self._cells["low"][1])),
        ]
        self._read.with_edges = True
        return True
