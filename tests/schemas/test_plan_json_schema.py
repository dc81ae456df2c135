"""The checked-in JSON Schema of the plan language is the one that the models give."""

import json
from importlib.resources import files

from pydantic import BaseModel

from schemas.plan.json_schema import plan_schema_text
from schemas.plan.model import STEP_MODELS, AcceptedModel, AdapterModel, JointModel, MeasureModel, PlanModel

MODELS: list[type[BaseModel]] = [JointModel, AdapterModel, AcceptedModel, MeasureModel, *STEP_MODELS.values()]


def test_the_checked_in_schema_is_not_stale() -> None:
    stored = files("schemas.plan").joinpath("plan.schema.json").read_text(encoding="utf-8")

    assert stored == plan_schema_text(), "stale; run: witnessmark plan schema > schemas/plan/plan.schema.json"


def test_the_schema_refuses_unknown_fields_everywhere() -> None:
    schema = json.loads(plan_schema_text())

    assert schema["additionalProperties"] is False
    assert set(schema["$defs"]) == {model.__name__ for model in MODELS}
    assert all(part["additionalProperties"] is False for part in schema["$defs"].values())


def test_every_field_has_a_description() -> None:
    every = [(model, name, info) for model in (PlanModel, *MODELS) for name, info in model.model_fields.items()]

    assert [f"{model.__name__}.{name}" for model, name, info in every if not info.description] == []


def test_the_examples_of_the_schema_stand_in_no_python_writing() -> None:
    """They are quoted in messages and shown by editors, so a count is a number and not a text."""
    schema = json.loads(plan_schema_text())

    assert schema["$defs"]["FitStep"]["properties"]["positions"]["examples"] == [[5, 6]]
    assert schema["$defs"]["JointModel"]["properties"]["start"]["examples"] == [3]
