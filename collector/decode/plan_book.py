"""Reads a plan out of the tables of one file: the joints, and in a workbook its head, steps and accepted findings. Pure."""

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePath

from collector.decode.plan_cell import spoilt
from collector.decode.plan_header import Header, Other, Target, key_of, read_header
from collector.decode.plan_joints import JointsRead, holds_joints, read_joints
from collector.decode.plan_row import value_of
from collector.decode.plan_slug import slug
from collector.decode.plan_yaml import Draft, Entry, Said
from schemas.errors import PlanError, PlanFault
from schemas.plan.columns import ACCEPTED_COLUMNS, HEAD_COLUMNS, STEP_COLUMNS, Column
from schemas.plan.text import shown
from schemas.table import Naming, Place, Table, TableFile, TableRow, fault_at

_BESIDE = ("plan", "steps", "accepted")
_HEAD = {key_of(column.name): column for column in HEAD_COLUMNS}
_STEPS: dict[str, Target] = {
    "step": Other.STEP,
    "what": Other.WHAT,
    **{key_of(column.name): column for columns in STEP_COLUMNS.values() for column in columns[1:]},
}
_ACCEPTED: dict[str, Target] = {key_of(column.name): column for column in ACCEPTED_COLUMNS}
_WORDS = {key_of(word): word for word in STEP_COLUMNS}
_MADE = "the file"
_MOST_FAULTS = 100


@dataclass(slots=True)
class _Read:
    head: list[Said] = field(default_factory=list)
    faults: list[PlanFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_book(file: TableFile, ignored: Sequence[str] = ()) -> tuple[Draft, tuple[str, ...]]:
    """The plan that the tables of a file hold, not judged yet, and what a person should know of how it was read.

    Joints stand in the sheet `joints`, else in the first one that is filled and not hidden. What the file does not say of the
    whole plan follows from its name and its bytes.

    Raises:
        PlanError: cells that are not certain, columns that are not known; all of them, each at its cell.
    """
    read = _Read(notes=list(file.notes))
    beside, joints_table = _sheets(file, read)
    if plan := beside.get("plan"):
        _read_head(plan, read)
    unit = next((str(said.value) for said in read.head if said.column.name == "unit"), None)
    naming = Naming(by_line=joints_table.sheet is None)
    joints = read_joints(joints_table, naming, ignored, unit)
    read.faults += joints.faults
    read.notes += joints.notes
    _join_heads(read, joints)
    steps = _read_entries(beside.get("steps"), _STEPS, read)
    accepted = _read_entries(beside.get("accepted"), _ACCEPTED, read)
    if joints.remarks and steps:
        place = next(iter(joints.remarks.values())).place
        what = "the remarks have no place beside the sheet `steps`; write them there as a caution, or name the column in --ignore"
        read.faults.append(fault_at(place, what))
    elif joints.remarks:
        steps = list(_steps_with_remarks(joints))
        read.notes.append("the remarks are read as cautions, each before its joint is torqued")
    if read.faults:
        raise PlanError(file.file, _first_faults(read.faults))
    _fill_head(file, read)
    head = Entry(Place(1, _MADE), tuple(read.head))
    return Draft(head, tuple(joints.joints), tuple(steps), tuple(accepted)), tuple(read.notes)


def _first_faults(faults: list[PlanFault]) -> tuple[PlanFault, ...]:
    """The faults in the order of lines; of very many the first, and how many more."""
    ordered = sorted(faults, key=lambda fault: fault.line)
    more = len(ordered) - _MOST_FAULTS
    if more > 0:
        ordered[_MOST_FAULTS:] = [PlanFault(0, "", f"{more} more such places below; correct these first", "more-faults")]
    return tuple(ordered)


def _sheets(file: TableFile, read: _Read) -> tuple[Mapping[str, Table], Table]:
    """The sheets beside the joints, by their names, and the one of the joints."""
    named = {key_of(table.sheet or ""): table for table in reversed(file.tables)}
    beside = {name: named[name] for name in _BESIDE if name in named and len(file.tables) > 1}
    others = [table for table in file.tables if table not in beside.values()]
    filled = [table for table in others if table.rows]
    in_sight = [table for table in filled if not table.hidden]
    joints = named.get("joints") or (in_sight or filled or others or [Table(None, ())])[0]
    for table in filled:
        if table is not joints:
            _leave_out(table, joints, read, by_name="joints" in named)
    return beside, joints


def _leave_out(table: Table, joints: Table, read: _Read, by_name: bool) -> None:
    """Tell that a sheet is not read; one that holds joints too is a fault, unless a sheet has the very name `joints`."""
    hidden = "hidden " * table.hidden
    if by_name or not holds_joints(table):
        read.notes.append(f"{hidden}sheet `{shown(str(table.sheet))}` is not read")
        return
    what = f"this {hidden}sheet holds joints, and so does `{shown(str(joints.sheet))}`; bring them into one sheet, called joints"
    read.faults.append(fault_at(_naming(table).row(table.rows[0].line), what))


def _naming(table: Table) -> Naming:
    return Naming(f"sheet `{shown(str(table.sheet))}`, ")


def _read_head(table: Table, read: _Read) -> None:
    """The sheet of two columns, field and value."""
    naming = _naming(table)
    for row in table.rows:
        cells = list(row.cells.values())
        key = key_of(cells[0].text)
        if key == "field" and row is table.rows[0]:
            continue
        column = _HEAD.get(key)
        place = naming.cell(cells[0])
        if column is None:
            near = difflib.get_close_matches(key[:64], _HEAD, n=1)
            hint = f"did you mean `{near[0]}`?" if near else f"known here: {', '.join(f'`{name}`' for name in _HEAD)}"
            read.faults.append(fault_at(place, f"`{shown(cells[0].text)}` is no field of a plan; {hint}"))
        elif any(said.column is column for said in read.head):
            read.faults.append(fault_at(place, f"`{column.name}` stands twice; keep one of them"))
        elif 2 in row.cells and (what := spoilt(row.cells[2])):
            read.faults.append(fault_at(naming.cell(row.cells[2]), what))
        elif 2 in row.cells:
            read.head.append(Said(column, row.cells[2].text.strip(), naming.cell(row.cells[2])))
        read.notes += [f"{naming.cell(cell).name} is not read: `{shown(cell.text)}`" for cell in cells if cell.column > 2]


def _join_heads(read: _Read, joints: JointsRead) -> None:
    for said in joints.head:
        other = next((one for one in read.head if one.column is said.column), None)
        if other is None:
            read.head.append(said)
        elif other.value != said.value:
            what = (
                f"`{shown(str(said.value))}` stands here and `{shown(str(other.value))}` in {other.place.name}; keep one of them"
            )
            read.faults.append(fault_at(said.place, what))


def _fill_head(file: TableFile, read: _Read) -> None:
    stem = PurePath(file.file).stem
    made = {
        "plan": slug(stem, "plan"),
        "title": stem,
        "revision": file.sha256[:12],
        "source": f"file {file.file}",
    }  # fmt: skip
    ways = {"plan": "the file's name", "title": "the file's name", "revision": "the file's SHA-256", "source": "the file's name"}
    stated = {said.column.name: said for said in read.head}
    for name, value in made.items():
        if name not in stated:
            stated[name] = Said(_HEAD[name], value, Place(0, _MADE))
            read.notes.append(f"`{name}` is `{shown(value)}`, from {ways[name]}, as nothing states it")
    read.head = [stated[column.name] for column in HEAD_COLUMNS if column.name in stated]


def _read_entries(table: Table | None, known: dict[str, Target], read: _Read) -> list[Entry]:
    """The rows of a sheet of steps or of accepted findings."""
    if table is None or not table.rows:
        return []
    naming = _naming(table)
    header = read_header(table.rows[0], known, (), naming)
    read.faults += header.faults
    if known is _STEPS and (lacking := [name for name in ("step", "what") if header.find(name) is None]):
        what = f"there is no column for `{lacking[0]}`; each row has the word of its step, and what or whom it is about"
        read.faults.append(fault_at(naming.row(table.rows[0].line), what))
        return []
    return [Entry(naming.row(row.line), tuple(_fields(row, header, naming, read))) for row in table.rows[1:]]


def _fields(row: TableRow, header: Header, naming: Naming, read: _Read) -> Iterator[Said]:
    """The fields of a row of steps or accepted findings, that of a step's own word first."""
    columns = _columns(row, header, naming, read)
    if columns is None:
        return
    uses = {use.column: use for use in header.uses}
    own = next((use.column for use in header.uses if use.target is Other.WHAT), 0)
    if own and own not in row.cells:
        yield Said(columns[Other.WHAT], value_of(columns[Other.WHAT], ""), naming.row(row.line))
    for cell in sorted(row.cells.values(), key=lambda cell: cell.column != own):
        use = uses.get(cell.column)
        if what := spoilt(cell):
            read.faults.append(fault_at(naming.cell(cell), what))
        elif use is None and cell.column not in header.named:
            read.faults.append(fault_at(naming.cell(cell), "this cell stands under no header; empty it"))
        elif use is not None and use.target is not Other.STEP:
            column = columns.get(use.target if isinstance(use.target, Other) else use.name)
            if column is None:
                read.faults.append(fault_at(naming.cell(cell), f"such a step has no `{use.name}`; empty this cell"))
            else:
                yield Said(column, value_of(column, cell.text.strip()), naming.cell(cell))


def _columns(row: TableRow, header: Header, naming: Naming, read: _Read) -> Mapping[Other | str, Column] | None:
    """Which fields a row may have, by the names of their columns; None where the word of a step is not known."""
    step = header.find(Other.STEP.value)
    if step is None:
        return {column.name: column for column in ACCEPTED_COLUMNS}
    cell = row.cells.get(step.column)
    word = _WORDS.get(key_of(cell.text)) if cell else None
    if word is None:
        given = f"`{shown(cell.text)}` is no word of a step" if cell else "the row has no word of a step"
        place = naming.cell(cell) if cell else naming.row(row.line)
        read.faults.append(fault_at(place, f"{given}; known are {', '.join(f'`{name}`' for name in STEP_COLUMNS)}"))
        return None
    own, *others = STEP_COLUMNS[word]
    return {Other.WHAT: own, **{column.name: column for column in others}}


def _steps_with_remarks(joints: JointsRead) -> Iterator[Entry]:
    """Every joint in turn, with its remark before it; the same as no steps but for the remarks."""
    for joint in joints.joints:
        said = {one.column.name: one for one in joint.fields}
        if remark := joints.remarks.get(str(said["id"].value)):
            text = f"{said['name'].value}: {remark.value}"
            yield Entry(remark.place, (Said(STEP_COLUMNS["caution"][0], text, remark.place),))
        yield Entry(joint.place, (Said(STEP_COLUMNS["torque"][0], (str(said["id"].value),), said["id"].place),))
