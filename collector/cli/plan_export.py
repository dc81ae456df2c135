"""`witnessmark plan export`: a plan as XLSX, as YAML, or its joints as CSV; read back it says the same."""

import argparse
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import BinaryIO

from pydantic import BaseModel

from collector.cli.outfile import form_of, whole_file
from collector.cli.place import database_path, tell, version
from collector.cli.plan_said import draft_of, step_columns, value_said
from collector.cli.plan_source import plan_bytes
from collector.decode.plan_yaml import write_plan
from schemas.errors import PlanError
from schemas.plan.columns import ACCEPTED_COLUMNS, HEAD_COLUMNS, JOINT_COLUMNS, Column, Shape
from schemas.plan.load import load_whole
from schemas.plan.model import PlanModel
from schemas.table import Place

Rows = list[list[str]]

_IN_EACH_ROW = ("plan", "title", "revision", "source")


def run_export(chosen: argparse.Namespace) -> int:
    """Write the plan in the form that the file's ending names, and tell what that form cannot hold."""
    target = Path(chosen.to)
    form = form_of(target, "csv", "xlsx", "yaml")
    source = plan_bytes(chosen.plan, chosen.ignore or ())
    for note in source.notes:
        tell(f"{chosen.plan}: note: {note}")
    try:
        plan = load_whole(source.data, chosen.plan).written
    except PlanError as error:
        raise source.placed(error) from error
    with whole_file(target, database_path(None)) as part, part.open("wb") as file:
        _WRITERS[form](plan, file)
    tell(f"{chosen.to}: {len(plan.joints)} joints{'' if form == 'csv' else f', {len(plan.steps or ())} steps'}")
    if form == "csv":
        for lost in _not_in_csv(plan):
            tell(f"{chosen.to}: note: {lost}")
    return 0


def _write_csv(plan: PlanModel, file: BinaryIO) -> None:
    from analysis.export.columns import Column as CsvColumn
    from analysis.export.csv_file import write_rows

    header, *rows = joint_rows(plan, with_head=True)
    write_rows(tuple(CsvColumn(name, False, 0) for name in header), map(tuple, rows), file)


def _write_xlsx(plan: PlanModel, file: BinaryIO) -> None:
    # Loaded only here: openpyxl is slow to load.
    from analysis.export.text_book import write_text_book

    write_text_book(sheets_of(plan), file, f"plan {plan.plan}, revision {plan.revision}", version())


def _write_yaml(plan: PlanModel, file: BinaryIO) -> None:
    file.write(write_plan(draft_of(plan, Place(0, ""))).data)


_WRITERS = {"csv": _write_csv, "xlsx": _write_xlsx, "yaml": _write_yaml}


def sheets_of(plan: PlanModel) -> dict[str, Rows]:
    """A plan as the sheets `joints`, `plan`, and where it has them `steps` and `accepted`, each with its header."""
    head = [["field", "value"], *([column.name, text] for column in HEAD_COLUMNS if (text := _text(plan, column)))]
    sheets = {"joints": joint_rows(plan), "plan": head}
    if plan.steps is not None:
        sheets["steps"] = _step_rows(plan.steps)
    if plan.accepted is not None:
        sheets["accepted"] = _table(ACCEPTED_COLUMNS, plan.accepted)
    return sheets


def joint_rows(plan: PlanModel, with_head: bool = False) -> Rows:
    """The joints with the columns that any of them uses; with what stands at the head of the plan in each row, if asked for."""
    rows = _table(JOINT_COLUMNS, plan.joints)
    if not with_head:
        return rows
    for name in ("unit", "tolerance"):
        value = getattr(plan, name)
        if value is not None:
            _fill(rows, name, value, [name == "unit" or (joint.torque not in (None, "not stated")) for joint in plan.joints])
    head = [str(getattr(plan, name)) for name in _IN_EACH_ROW]
    return [[*rows[0], *_IN_EACH_ROW], *([*row, *head] for row in rows[1:])]


def _fill(rows: Rows, name: str, value: str, wanted: Sequence[bool]) -> None:
    """Write the plan's own value where a joint states none."""
    if name not in rows[0]:
        rows[0].append(name)
        for row in rows[1:]:
            row.append("")
    place = rows[0].index(name)
    for row, is_wanted in zip(rows[1:], wanted, strict=True):
        row[place] = row[place] or (value if is_wanted else "")


def _table(columns: Sequence[Column], members: Sequence[BaseModel]) -> Rows:
    cells = [[_text(member, column) for column in columns] for member in members]
    used = [place for place in range(len(columns)) if any(row[place] for row in cells)]
    return [[columns[place].name for place in used], *([row[place] for place in used] for row in cells)]


def _step_rows(steps: Iterable[BaseModel]) -> Rows:
    told: list[dict[str, str]] = []
    for step in steps:
        word, (own, *others) = step_columns(step)
        told.append({"step": word, "what": _text(step, own), **{column.name: _text(step, column) for column in others}})
    names = dict.fromkeys(name for step in told for name, text in step.items() if text)
    return [list(names), *([step.get(name, "") for name in names] for step in told)]


def _text(member: BaseModel, column: Column) -> str:
    value = value_said(member, column)
    if isinstance(value, tuple):
        entries = ", ".join(value)
        # Without brackets, one entry would be read as a value and none as an empty cell.
        return f"[{entries}]" if not value or (len(value) == 1 and column.shape is Shape.EITHER) else entries
    return value or ""


def _not_in_csv(plan: PlanModel) -> list[str]:
    told = [
        f"`{name}` has no place in a CSV file" for name in ("item", "small_drag", "accepted") if getattr(plan, name) is not None
    ]
    if plan.steps is not None:
        told.append(f"the {len(plan.steps)} steps have no place in a CSV file; as .xlsx the plan is whole")
    return told
