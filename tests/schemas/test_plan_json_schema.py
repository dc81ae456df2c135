"""The checked-in JSON Schema of the plan language is the one that the models give."""

import json
from importlib.resources import files

from pydantic import BaseModel

from schemas.plan.json_schema import plan_schema_text
from schemas.plan.model import STEP_MODELS, AdapterModel, JointModel, PlanModel


def test_the_checked_in_schema_is_not_stale() -> None:
    stored = files("schemas.plan").joinpath("plan.schema.json").read_text(encoding="utf-8")

    assert stored == plan_schema_text(), "stale; run: witnessmark plan schema > schemas/plan/plan.schema.json"


def test_the_schema_refuses_unknown_fields_everywhere() -> None:
    schema = json.loads(plan_schema_text())

    assert schema["additionalProperties"] is False
    assert len(schema["$defs"]) == len(STEP_MODELS) + 2
    assert all(part["additionalProperties"] is False for part in schema["$defs"].values())


def test_every_field_has_a_description() -> None:
    models: list[type[BaseModel]] = [PlanModel, JointModel, AdapterModel, *STEP_MODELS.values()]

    bare = [f"{model.__name__}.{name}" for model in models for name, info in model.model_fields.items() if not info.description]
    assert bare == []
