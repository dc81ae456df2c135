"""Which columns a plan has as a table: one for each field that a person may write, taken from the models themselves."""

import types
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel

from schemas.plan.model import STEP_MODELS, AcceptedModel, JointModel, PlanModel


class Shape(Enum):
    """How many values a field holds: one, a list, or either."""

    ONE = "one"
    LIST = "list"
    EITHER = "either"


@dataclass(frozen=True, slots=True)
class Column:
    """A field of a plan as a column; `path` has two parts where the field belongs to fields of its own, as the adapter's.

    `numeric` says whether its values may be numbers; of any other field they are texts, also where they look like numbers.
    `words` are those that the field knows.
    """

    path: tuple[str, ...]
    shape: Shape
    numeric: bool
    words: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The header: `counter_hold`, `adapter length`."""
        return " ".join(self.path)


def columns_of(model: type[BaseModel]) -> tuple[Column, ...]:
    """The columns of a model in its order; fields of fields stand in the place of the field around them."""
    properties: dict[str, Any] = model.model_json_schema(mode="validation").get("properties", {})
    found: list[Column] = []
    for field, info in model.model_fields.items():
        name = info.alias or field
        kinds = tuple(_kinds(info.annotation))
        inner = next((kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel)), None)
        if inner is not None:
            found += [Column((name, *column.path), column.shape, column.numeric, column.words) for column in columns_of(inner)]
        else:
            found.append(Column((name,), _shape(kinds), _is_numeric(properties[name]), tuple(_words(properties[name]))))
    return tuple(found)


def _kinds(annotation: Any) -> list[Any]:  # noqa: ANN401  # whatever may stand in an annotation
    """The kinds of value that an annotation allows, without None; a list counts as `list`, whatever it holds."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _kinds(get_args(annotation)[0])
    if origin in (Union, types.UnionType):
        return [kind for part in get_args(annotation) if part is not type(None) for kind in _kinds(part)]
    return [list] if origin in (list, tuple) else [annotation]


def _shape(kinds: tuple[Any, ...]) -> Shape:
    if list not in kinds:
        return Shape.ONE
    return Shape.LIST if set(kinds) == {list} else Shape.EITHER


def _is_numeric(schema: Any) -> bool:  # noqa: ANN401  # a part of a JSON Schema
    if isinstance(schema, dict):
        return schema.get("type") in ("number", "integer") or any(
            _is_numeric(part) for part in schema.values() if isinstance(part, dict | list)
        )
    return isinstance(schema, list) and any(_is_numeric(part) for part in schema)


def _words(schema: Any) -> Iterator[str]:  # noqa: ANN401  # a part of a JSON Schema
    if isinstance(schema, dict):
        yield from schema.get("enum", ())
        if "const" in schema:
            yield schema["const"]
        for part in (*schema.get("anyOf", ()), schema.get("items")):
            yield from _words(part)


HEAD_COLUMNS = tuple(column for column in columns_of(PlanModel) if column.path[0] not in ("joints", "steps", "accepted"))
JOINT_COLUMNS = columns_of(JointModel)
ACCEPTED_COLUMNS = columns_of(AcceptedModel)
STEP_COLUMNS = {word: columns_of(model) for word, model in STEP_MODELS.items()}
"""The columns of each kind of step; the first is the field of the step's own word."""
