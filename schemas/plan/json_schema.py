"""The plan language as JSON Schema, for editors; the checked-in copy is made from the models."""

import json

from schemas.plan.model import PlanModel


def plan_schema_text() -> str:
    """The JSON Schema of a plan: sorted, indented by two, with a line end; the same text on every run."""
    schema = PlanModel.model_json_schema(by_alias=True)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "Witnessmark job plan"
    return json.dumps(schema, ensure_ascii=False, indent=2, sort_keys=True) + "\n"
