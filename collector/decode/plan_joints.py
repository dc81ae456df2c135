"""Reads the table of a plan's joints: finds its header, leaves out titles and empty rows, and says so. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from pydantic import TypeAdapter, ValidationError

from collector.decode.plan_header import JOINT_TABLE, Header, known_names, read_header
from collector.decode.plan_row import BY_NAME, RowRead, read_row
from collector.decode.plan_slug import free_id, slug
from collector.decode.plan_yaml import Entry, Said
from schemas.errors import PlanFault
from schemas.plan.columns import HEAD_COLUMNS
from schemas.plan.fields import Id
from schemas.plan.text import shown
from schemas.table import Cell, Merged, Naming, Table, TableRow, fault_at, letters

_ID: TypeAdapter[str] = TypeAdapter(Id)
_HEAD = {column.name for column in HEAD_COLUMNS} - {column.name for column in BY_NAME.values()}
_COUNTED_COLUMN = next(column for column in HEAD_COLUMNS if column.name == "counted")
_COUNTED, _TORQUED = {"fasteners", "no."}, {"torque", "low"}
_FIRST_ROWS = 20
"""So many rows may stand above the header."""


@dataclass(slots=True)
class JointsRead:
    """The joints of a table, what its columns say of the whole plan, and the remarks by joint."""

    joints: list[Entry] = field(default_factory=list)
    head: list[Said] = field(default_factory=list)
    remarks: dict[str, Said] = field(default_factory=dict)
    faults: list[PlanFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_joints(table: Table, naming: Naming, ignored: Sequence[str], plan_unit: str | None = None) -> JointsRead:
    """The joints of a table, in the order of its rows.

    Args:
        table: the table, its header first but for titles.
        naming: how places are called.
        ignored: headers of columns to leave out.
        plan_unit: the unit of the whole plan, where another sheet states one.
    """
    read = JointsRead()
    if not table.rows:
        read.faults.append(fault_at(naming.row(1), "the table is empty; it needs a header and a row for each joint"))
        return read
    place = _header_place(table)
    header_row = table.rows[place]
    for row in table.rows[:place]:
        read.notes.append(f"{naming.row(row.line).name} `{_all_of(row)}` stands above the header and is not read")
    header = read_header(header_row, JOINT_TABLE, ignored, naming)
    read.faults += header.faults
    read.notes += header.notes
    body = _Body(read, header, naming, {row.line: row for row in table.rows[place + 1 :]})
    body.look_for_columns()
    body.look_for_merged(table.merged)
    body.read(header_row, plan_unit)
    if not read.joints and not read.faults:
        read.faults.append(fault_at(naming.row(header_row.line), "no row stands below the header; write one for each joint"))
    if table.hidden_lines:
        lines = ", ".join(map(str, table.hidden_lines[:10])) + (" and more" if len(table.hidden_lines) > 10 else "")
        read.notes.append(f"hidden rows are read like the others: {lines}")
    body.tell_blank(header_row.line, table.blank_after)
    return read


def _header_place(table: Table) -> int:
    """The first row that names two columns that we know; else the first with two cells; else the first."""
    first = table.rows[:_FIRST_ROWS]
    named = [place for place, row in enumerate(first) if len(known_names(row, JOINT_TABLE)) > 1]
    wide = [place for place, row in enumerate(first) if len(row.cells) > 1]
    return (named or wide or [0])[0]


def holds_joints(table: Table) -> bool:
    """Whether a table has the header of joints: one that counts fasteners and has a torque."""
    headers = (set(known_names(row, JOINT_TABLE)) for row in table.rows[:_FIRST_ROWS])
    return any(names & _COUNTED and names & _TORQUED for names in headers)


def _all_of(row: TableRow) -> str:
    return shown(" | ".join(cell.text.strip() for cell in row.cells.values()))


_TOLD = {
    "holds numbers": "they are read as their digits; zeros in front or behind are lost in a number",
    "holds formulas": "their stored results are read",
    "has more digits than a spreadsheet shows": "15 of them are read",
}


class _Body:
    """The rows below a header."""

    def __init__(self, read: JointsRead, header: Header, naming: Naming, rows: dict[int, TableRow]) -> None:
        self._read = read
        self._header = header
        self._naming = naming
        self._rows = rows
        self._headings: dict[int, str] = {}
        self._told: dict[tuple[int, str], list[Cell]] = {}
        self._headless: dict[int, Cell] = {}
        self._head: dict[str, Said] = {}
        self._by_rows = False

    def look_for_columns(self) -> None:
        """Miss what no joint can be without, unless the header was not understood as it is."""
        names = {use.name for use in self._header.uses}
        if self._read.faults:
            return
        if "torque" not in names and not {"low", "high"} <= names:
            self._miss("there is no column for `torque`; add one, or `low` and `high`")
        if not {"id", "name"} & names:
            self._miss("there is no column for `id` or `name`; add one that tells the joints apart")
        if "fasteners" not in names and self._header.uses:
            # Lists with a row for each fastener are usual; that this is one is asked of whoever reads the check.
            self._by_rows = True
            line = self._header.uses[0].header.line
            self._head["counted"] = Said(_COUNTED_COLUMN, "by rows", self._naming.row(line))
            self._note("no column says how many fasteners a joint has: each row is taken as one; add a column such as `qty`")

    def _miss(self, what: str) -> None:
        line = self._header.uses[0].header.line if self._header.uses else 1
        self._read.faults.append(fault_at(self._naming.row(line), what))

    def look_for_merged(self, merged: Sequence[Merged]) -> None:
        """A row with nothing but one cell merged across is a heading; any other merged cell hides what it covers."""
        used = {use.column for use in self._header.uses}
        for cells in merged:
            covered = [column for column in used if cells.first_column <= column <= cells.last_column]
            lines = [line for line in self._rows if cells.first_line <= line <= cells.last_line]
            if not lines or not covered:
                continue
            row = self._rows[lines[0]]
            if cells.first_line == cells.last_line and set(row.cells) == {cells.first_column}:
                self._headings[row.line] = row.cells[cells.first_column].text.strip()
            elif len(covered) > 1 or cells.first_line != cells.last_line:
                place = self._naming.cell(Cell(cells.first_column, cells.first_line, ""))
                what = f"cells {cells} are merged, and only the first of them has a value; unmerge them and fill in each"
                self._read.faults.append(fault_at(place, what))

    def read(self, header_row: TableRow, plan_unit: str | None) -> None:
        """Each row that is no heading, as a joint."""
        heading = ""
        unit_column = any(use.name == "unit" for use in self._header.uses)
        for row in self._rows.values():
            if row.line in self._headings:
                heading = self._headings[row.line]
                name = self._naming.row(row.line).name
                self._read.notes.append(f"{name} `{shown(heading)}` is a heading; it stands before the names of the joints below")
                continue
            self._look_at_width(row, header_row)
            found = read_row(row, self._header, self._naming, None if unit_column else plan_unit)
            self._read.faults += found.faults
            self._add(row, found, heading)
        self._tell()
        self._read.head = list(self._head.values())

    def _look_at_width(self, row: TableRow, header_row: TableRow) -> None:
        place = self._naming.row(row.line)
        wide = header_row.width
        if row.width is not None and wide is not None and (row.width < wide or max(row.cells) > wide):
            what = f"has {row.width} cells under a header of {wide}; a comma inside a cell needs quotes around it"
            self._read.faults.append(fault_at(place, what))
            return
        for cell in row.cells.values():
            if cell.column not in header_row.cells:
                self._headless.setdefault(cell.column, cell)

    def _add(self, row: TableRow, found: RowRead, heading: str) -> None:
        told = [("holds numbers", cell) for cell in found.numbers]
        told += [("holds formulas", cell) for cell in row.cells.values() if cell.from_formula]
        told += [("has more digits than a spreadsheet shows", cell) for cell in row.cells.values() if cell.stored]
        for what, cell in told:
            self._told.setdefault((cell.column, what), []).append(cell)
        if found.with_edges:
            self._note("low and high stand beside the torque: it is the target, and its tolerance is what lies between")
        said = [one for one in found.said if one.column.name not in _HEAD]
        self._say_of_plan([one for one in found.said if one.column.name in _HEAD])
        if self._by_rows:
            said.append(Said(BY_NAME["fasteners"], "1", self._naming.row(row.line)))
        entry = Entry(self._naming.row(row.line), tuple(self._named(said, heading)))
        self._read.joints.append(entry)
        if found.remark is not None:
            self._read.remarks[_value(entry.fields, "id") or ""] = found.remark

    def _named(self, said: list[Said], heading: str) -> list[Said]:
        """The fields with id and name, each made of the other where the table has but one of them."""
        fields = {one.column.name: one for one in said}
        by_id, by_name = fields.pop("id", None), fields.pop("name", None)
        one = by_name or by_id
        if one is None:
            return said
        text = str(one.value)
        name = Said(BY_NAME["name"], f"{heading}: {text}" if heading and text else text, one.place)
        is_joint = by_id is not None and by_name is None and "joint" in self._id_header()
        if by_id is None or (is_joint and text and not _is_id(text)):
            taken = [_value(joint.fields, "id") or "" for joint in self._read.joints]
            by_id = Said(BY_NAME["id"], free_id(slug(str(name.value)), taken) if text else "", one.place)
            self._note("ids are made of the names, as no column holds them")
        elif by_name is None:
            self._note("the ids stand as names too, as no column holds names")
        return [by_id, name, *fields.values()]

    def _id_header(self) -> str:
        return "".join(use.header.text.casefold() for use in self._header.uses if use.name == "id")

    def _say_of_plan(self, said: list[Said]) -> None:
        for one in said:
            first = self._head.setdefault(one.column.name, one)
            if first.value != one.value:
                what = (
                    f"`{shown(str(one.value))}` stands here and `{shown(str(first.value))}` in {first.place.name};"
                    f" `{one.column.name}` is of the whole plan and the same in each row"
                )
                self._read.faults.append(fault_at(one.place, what))

    def _note(self, text: str) -> None:
        if text not in self._read.notes:
            self._read.notes.append(text)

    def _tell(self) -> None:
        for cell in self._headless.values():
            what = f"column {letters(cell.column)} is filled and has no header; give it one, or empty it"
            self._read.faults.append(fault_at(self._naming.cell(cell), what))
        for (column, what), cells in self._told.items():
            where = cells[0].address if len(cells) == 1 else f"{cells[0].address} and {len(cells) - 1} more"
            self._read.notes.append(f"column {letters(column)} {what} ({where}): {_TOLD[what]}")

    def tell_blank(self, header_line: int, blank_after: int) -> None:
        """Say which rows between others are empty, and how many below the last."""
        lines = [header_line, *self._rows]
        blank = [line for before, after in pairwise(lines) for line in range(before + 1, after)]
        if blank:
            shown_lines = ", ".join(map(str, blank[:10])) + (f" and {len(blank) - 10} more" if len(blank) > 10 else "")
            self._read.notes.append(f"empty rows between others are passed over: {shown_lines}")
        if blank_after:
            self._read.notes.append(f"{blank_after} empty row{'s' * (blank_after > 1)} below the table: left out")


def _value(fields: Sequence[Said], name: str) -> str | None:
    return next((str(said.value) for said in fields if said.column.name == name), None)


def _is_id(text: str) -> bool:
    try:
        _ID.validate_python(text)
    except ValidationError:
        return False
    return True
