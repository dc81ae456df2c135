"""The plan as a person writes it, strict: every field named here, every other one refused."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from schemas.plan.fields import (
    Angle,
    Count,
    Digits,
    Id,
    IdList,
    Order,
    Quantity,
    Stage,
    Text,
    Thread,
    ToleranceText,
    Torque,
)


class _Strict(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class AdapterModel(_Strict):
    """An offset adapter between wrench and fastener, which changes the value to set."""

    length: Quantity = Field(description="Offset of the adapter, with its unit.", examples=["50 mm"])
    angle: Angle = Field(description="Degrees between adapter and wrench; 0 is straight ahead.", examples=["0"])


class JointModel(_Strict):
    """A named place with one torque and one or more alike fasteners."""

    id: Id = Field(description="Short id, the only one of its kind in the plan.", examples=["u-bolts-left"])
    name: Text = Field(description="What the fitter reads.", examples=["Spring U-bolt nuts, left"])
    fasteners: Count = Field(description="How many alike fasteners, 1 to 999.", examples=[4])
    torque: Torque | None = Field(
        None, description="The torque in plain digits, or `not stated`: then it can only be declared.", examples=["95"]
    )
    low: Digits | None = Field(None, description="Lower edge, with `high` and without `torque`.", examples=["90"])
    high: Digits | None = Field(None, description="Upper edge, with `low` and without `torque`.", examples=["100"])
    unit: Text | None = Field(None, description="Unit of the torque; else the plan's.", examples=["lbf·ft"])
    tolerance: ToleranceText | None = Field(
        None, description="8 %, ±5 N·m, +10 % -0 %, +5 N·m -2 N·m; else the plan's.", examples=["10 %"]
    )
    stages: list[Stage] = Field(
        ["100"],
        description="Rounds in percent of the torque, rising to 100; snug may be first, it is signed and not measured.",
        examples=[["snug", "50", "100"]],
        min_length=1,
    )
    order: Order = Field(
        "any",
        description="cross, in line (from the middle outwards), any, or all positions listed.",
        examples=["cross"],
    )
    thread: Thread | None = Field(None, description="Metric or unified thread.", examples=["M14x2"])
    grade: Text | None = Field(None, description="Strength grade or class.", examples=["8.8"])
    prep: Text | None = Field(
        None,
        description="dry, oil, anti-seize, threadlocker medium, threadlocker high, sealant, or a free text.",
        examples=["dry"],
    )
    nut: Literal["plain", "prevailing"] | None = Field(None, description="Kind of nut.", examples=["prevailing"])
    hardware: Literal["new", "reused", "new each time"] | None = Field(
        None, description="Whether the hardware is new.", examples=["new"]
    )
    counter_hold: Text | None = Field(None, description="What is held, with what.", examples=["bolt head, 22 mm"])
    socket: Text | None = Field(None, description="Socket that fits.", examples=["22 mm"])
    wrench: IdList = Field(
        [],
        description="Wrenches to use; none: any registered wrench whose usable range covers every stage.",
        examples=[["W-140"]],
    )
    adapter: AdapterModel | None = Field(None, description="Offset adapter between wrench and fastener.")
    wheel: Literal["yes", "no"] = Field("no", description="Whether these hold a wheel.", examples=["yes"])


class DoStep(_Strict):
    """Something to do that has no torque."""

    do: Text = Field(description="What to do.", examples=["Lower the trailer onto its wheels"])


class CautionStep(_Strict):
    """Something to heed before going on."""

    caution: Text = Field(description="What to heed.", examples=["Wheels chocked, spring unloaded"])


class LooseStep(_Strict):
    """Joints that are fitted and left loose until a later step torques them."""

    loose: IdList = Field(description="Joint or joints to leave loose.", examples=["shackle-bolts"])


class TorqueStep(_Strict):
    """Joints to torque now."""

    torque: IdList = Field(description="Joint or joints to torque.", examples=["u-bolts-left"])
    after: IdList = Field([], description="Hold points to be signed before.", examples=[["ride-height-set"]])
    covers: IdList = Field([], description="Joints that cannot be reached any more after this step.", examples=[[]])


class HoldPointStep(_Strict):
    """A question that a named person signs before the work goes on."""

    hold_point: Id = Field(alias="hold point", description="Short id.", examples=["ride-height-set"])
    ask: Text = Field(description="What is asked.", examples=["Axle centred within 3 mm"])
    sign: Literal["fitter", "lead", "second person"] = Field(description="Who signs.", examples=["fitter"])


class RetorqueStep(_Strict):
    """Joints to come back to after some distance or time."""

    retorque: IdList = Field(description="Joint or joints to retorque.", examples=["wheel-nuts-left"])
    from_: Quantity = Field(alias="from", description="From which distance or time on.", examples=["40 km"])
    to: Quantity | None = Field(None, description="Up to which distance or time.", examples=["80 km"])


STEP_MODELS: dict[str, type[_Strict]] = {
    "do": DoStep,
    "caution": CautionStep,
    "loose": LooseStep,
    "torque": TorqueStep,
    "hold point": HoldPointStep,
    "retorque": RetorqueStep,
}


def _step_word(value: object) -> str | None:
    if isinstance(value, dict):
        return next((word for word in value if word in STEP_MODELS), None)
    return next((word for word, model in STEP_MODELS.items() if isinstance(value, model)), None)


StepModel = Annotated[
    Annotated[DoStep, Tag("do")]
    | Annotated[CautionStep, Tag("caution")]
    | Annotated[LooseStep, Tag("loose")]
    | Annotated[TorqueStep, Tag("torque")]
    | Annotated[HoldPointStep, Tag("hold point")]
    | Annotated[RetorqueStep, Tag("retorque")],
    Discriminator(_step_word),
]


class PlanModel(_Strict):
    """A job plan: what is torqued, to what, in which order."""

    plan: Id = Field(description="Short id of the plan.", examples=["box-trailer-axle"])
    title: Text = Field(description="What the plan is for.", examples=["Box trailer, rear axle and hubs"])
    revision: Text = Field(description="Revision of the plan, a text.", examples=['"3"'])
    source: Text = Field(description="Where the figures come from.", examples=["Shop procedure 114, section 5, revision C"])
    unit: Text | None = Field(None, description="Unit of every torque that has none of its own.", examples=["N·m"])
    tolerance: ToleranceText | None = Field(
        None, description="Tolerance of joints that state none; there is no silent default.", examples=["8 %"]
    )
    joints: list[JointModel] = Field(description="The joints.", min_length=1)
    steps: list[StepModel] | None = Field(
        None, description="The steps in order; none: torque every joint in the order listed.", min_length=1
    )
