"""What the strict models refuse, as faults of ours: line, field, and what to write instead."""

import difflib
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from schemas.errors import PlanFault
from schemas.plan.model import STEP_MODELS, AcceptedModel, AdapterModel, JointModel, MeasureModel, PlanModel
from schemas.plan.text import Path, Tree, shown


def faults_of(error: ValidationError, tree: Tree) -> Iterator[PlanFault]:
    """Every finding of the models as a fault; one finding gives one fault."""
    for found in error.errors(include_url=False):
        loc: Path = found["loc"]
        wording = _WORDINGS.get(found["type"], _value_wanted)
        yield tree.fault(_place(loc), wording(loc, found))


def nearest(name: str, known: Iterable[str]) -> str:
    """The part of a message that names the known spelling next to an unknown one, or all where none is near."""
    names = list(known)
    near = difflib.get_close_matches(name[:64], names, n=1)
    if near:
        return f"did you mean `{near[0]}`?"
    listed = ", ".join(f"`{name}`" for name in names[:25])
    more = f" and {len(names) - 25} more" if len(names) > 25 else ""
    return f"known here: {listed}{more}" if names else "none is known here"


def _place(loc: Path) -> Path:
    """Where a finding stands in the file: the models name the step's word between step and field."""
    return loc[:2] + loc[3:] if loc[0] == "steps" else loc


def _fields_at(loc: Path) -> Mapping[str, FieldInfo]:
    """The fields that the mapping around a finding may have, by the name that people write."""
    model: type[BaseModel] = PlanModel
    inner: dict[str, type[BaseModel]] = {"adapter": AdapterModel, "measure": MeasureModel, "accepted": AcceptedModel}
    around = next((name for name in loc[:-1] if name in inner), None)
    if around is not None:
        model = inner[str(around)]
    elif loc[0] == "steps":
        model = STEP_MODELS[str(loc[2])]
    elif len(loc) > 1:
        model = JointModel
    return {info.alias or name: info for name, info in model.model_fields.items()}


def _unknown_field(loc: Path, _found: Mapping[str, Any]) -> str:
    name = str(loc[-1])
    if loc[0] == "steps" and name in STEP_MODELS:
        return f"a step has one word and this one has `{loc[2]}` already; make `{name}` a step of its own"
    return f"`{shown(name)}` is no field here; {nearest(name, _fields_at(loc))}"


def _missing(loc: Path, _found: Mapping[str, Any]) -> str:
    name = str(loc[-1])
    examples = _fields_at(loc)[name].examples
    if not examples:
        return f"`{name}` is missing; write it as a list"
    return f"`{name}` is missing; write it, for example `{name}: {examples[0]}`"


def _no_step_word(_loc: Path, found: Mapping[str, Any]) -> str:
    wanted = f"a step begins with one of {', '.join(f'`{word}`' for word in STEP_MODELS)}"
    given = found["input"]
    if not isinstance(given, dict):
        return f"this is no step; {wanted} and a colon"
    near = [match for name in given for match in difflib.get_close_matches(name[:64], STEP_MODELS, n=1)]
    return f"did you mean `{near[0]}`? {wanted}" if near else wanted


def _one_of(_loc: Path, found: Mapping[str, Any]) -> str:
    wanted = found["ctx"]["expected"].replace("'", "`")
    given = found["input"]
    return f"`{shown(given)}` is not known here; write {wanted}" if isinstance(given, str) else f"write {wanted}"


def _value_wanted(_loc: Path, _found: Mapping[str, Any]) -> str:
    return "one value is wanted here, not a list or fields"


def _own_text(_loc: Path, found: Mapping[str, Any]) -> str:
    return str(found["msg"])


_WORDINGS: dict[str, Callable[[Path, Mapping[str, Any]], str]] = {
    "plan": _own_text,
    "extra_forbidden": _unknown_field,
    "missing": _missing,
    "union_tag_not_found": _no_step_word,
    "literal_error": _one_of,
    "list_type": lambda _loc, _found: "a list is wanted here, each entry on a line of its own behind a dash, or [a, b]",
    "model_type": lambda _loc, _found: "fields are wanted here, such as `id: u-bolts-left`",
    "too_short": lambda _loc, _found: "the list is empty; write an entry into it, or take the line out",
}
