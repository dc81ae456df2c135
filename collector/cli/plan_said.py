"""What a loaded plan says, field by field as it was written; the way back from the model to its columns."""

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from collector.decode.plan_yaml import Draft, Entry, Said, Value
from schemas.plan.columns import ACCEPTED_COLUMNS, HEAD_COLUMNS, JOINT_COLUMNS, STEP_COLUMNS, Column
from schemas.plan.model import PlanModel
from schemas.table import Place


def value_said(member: BaseModel, column: Column) -> Value | None:
    """The value of a field as it was written, None where it was not."""
    said: Any = member.model_dump(by_alias=True, exclude_unset=True, exclude_none=True)
    for name in column.path:
        said = said.get(name) if isinstance(said, Mapping) else None
    if isinstance(said, list | tuple):
        return tuple(map(str, said))
    return None if said is None else str(said)


def step_columns(step: BaseModel) -> tuple[str, tuple[Column, ...]]:
    """The word of a step and its columns, that of the word first."""
    return next((word, columns) for word, columns in STEP_COLUMNS.items() if value_said(step, columns[0]) is not None)


def draft_of(plan: PlanModel, place: Place) -> Draft:
    """All that a plan says, each field at that place."""

    def entries(members: Sequence[BaseModel] | None, columns: Sequence[Column] = ()) -> tuple[Entry, ...]:
        return tuple(_entry(member, columns or step_columns(member)[1], place) for member in members or ())

    head = _entry(plan, HEAD_COLUMNS, place)
    return Draft(head, entries(plan.joints, JOINT_COLUMNS), entries(plan.steps), entries(plan.accepted, ACCEPTED_COLUMNS))


def _entry(member: BaseModel, columns: Sequence[Column], place: Place) -> Entry:
    values = ((column, value_said(member, column)) for column in columns)
    return Entry(place, tuple(Said(column, value, place) for column, value in values if value is not None))
