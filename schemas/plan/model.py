"""The plan as a person writes it, strict: every field named here, every other one refused.

A field that is added has None as its default: what is None is left out of the plan's content hash, so that a plan which
does not use it keeps the hash that older records hold.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from schemas.plan.fields import (
    Angle,
    AnyDigits,
    Count,
    CountList,
    Digits,
    Drag,
    Duration,
    Id,
    IdList,
    Length,
    Order,
    Prep,
    SpanText,
    Stage,
    Text,
    Thread,
    ToleranceText,
    Torque,
    Turned,
)


class _Strict(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class AdapterModel(_Strict):
    """An offset adapter between wrench and fastener, which changes the value to set."""

    length: Length = Field(description="From the drive's centre to the fastener's centre, with its unit.", examples=["50 mm"])
    angle: Angle = Field(
        description="Degrees between adapter and wrench: 0 lengthens it straight ahead, 180 points back to the hand.",
        examples=["0"],
    )
    corrected_by: Literal["us", "wrench"] | None = Field(
        None,
        description="Who works out the value to set: us (default), or a wrench that is told of the adapter.",
        examples=["us"],
    )


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
        description="Rounds in percent of the torque, rising to 100; snug may be first, it is signed and not measured. 100 "
        "again is a round more, gone until nothing moves.",
        examples=[["snug", "50", "100"]],
        min_length=1,
    )
    order: Order = Field(
        "any",
        description="cross, in line (from the middle outwards), any, or all positions listed.",
        examples=["cross"],
    )
    start: CountList | None = Field(
        None,
        description="Position at which the rounds begin, or a list with one for each measured stage.",
        examples=[3],
        min_length=1,
    )
    pattern: Literal["circle", "row"] | None = Field(
        None, description="How the fasteners lie; else a row for `in line` and a circle for all other orders.", examples=["row"]
    )
    mirror: Literal["left/right"] | None = Field(
        None,
        description="Two joints of one, id-left and id-right, seen facing forward of travel; the right picture is mirrored.",
        examples=["left/right"],
    )
    seen_from: Text | None = Field(None, description="From where the picture is seen.", examples=["outside"])
    thread: Thread | None = Field(None, description="Metric or unified thread.", examples=["M14x2"])
    grade: Text | None = Field(None, description="Strength grade or class.", examples=["8.8"])
    prep: Prep | None = Field(
        None,
        description="dry, oil, anti-seize, threadlocker medium, threadlocker high, sealant, or a free text.",
        examples=["dry"],
    )
    basis: Literal["dry", "as prepared"] | None = Field(
        None,
        description="What the stated torque holds for: dry threads, or threads prepared as stated.",
        examples=["as prepared"],
    )
    work_within: Duration | None = Field(
        None, description="From preparing to the last pull, by the maker's sheet of the compound.", examples=["10 min"]
    )
    cure: Duration | None = Field(
        None, description="Time after the last pull until it may be loaded, by the maker's sheet.", examples=["24 h"]
    )
    nut: Literal["plain", "prevailing"] | None = Field(None, description="Kind of nut.", examples=["prevailing"])
    drag: Drag | None = Field(
        None,
        description="What a prevailing nut takes to turn: included in the stated torque, measured on the job, or its value.",
        examples=["included"],
    )
    hardware: Literal["new", "reused", "new each time"] | None = Field(
        None, description="Whether the hardware is new.", examples=["new"]
    )
    counter_hold: Text | None = Field(None, description="What is held, with what.", examples=["bolt head, 22 mm"])
    socket: Text | None = Field(None, description="Socket that fits.", examples=["22 mm"])
    turn: Literal["nut", "head"] | None = Field(None, description="Which of the two is turned.", examples=["nut"])
    hand: Literal["left", "right"] | None = Field(None, description="left for a left-hand thread.", examples=["left"])
    mark: Literal["paint", "none"] | None = Field(
        None,
        description="Whether a stripe of paint goes on each fastener once it is torqued (default) or none.",
        examples=["paint"],
    )
    critical: Literal["yes", "no"] | None = Field(
        None, description="Whether a second person has to look at it and sign.", examples=["yes"]
    )
    reopen: Literal["fastener", "joint"] | None = Field(
        None, description="What is open when one fastener was opened: it alone (default), or the whole joint.", examples=["joint"]
    )
    then_angle: Turned | None = Field(
        None, description="Degrees to turn on after the torque, marked first; with `angle_tolerance`.", examples=["90"]
    )
    angle_tolerance: Turned | None = Field(None, description="Degrees to either side of `then_angle`.", examples=["10"])
    wrench: IdList = Field(
        [],
        description="Wrenches to use; none: any registered wrench whose usable range covers every stage.",
        examples=[["W-140"]],
    )
    adapter: AdapterModel | None = Field(None, description="Offset adapter between wrench and fastener.")
    wheel: Literal["yes", "no"] = Field("no", description="Whether these hold a wheel.", examples=["yes"])


_COVERS: Any = Field(
    None,
    description="Joints that cannot be reached any more after this step; asked about before it.",
    examples=[["shackle-bolts"]],
)
_AFTER: Any = Field(None, description="Hold points to be signed and joints to be done before.", examples=[["ride-height-set"]])


class DoStep(_Strict):
    """Something to do that has no torque."""

    do: Text = Field(description="What to do.", examples=["Lower the trailer onto its wheels"])
    covers: IdList | None = _COVERS


class CautionStep(_Strict):
    """Something to heed before going on."""

    caution: Text = Field(description="What to heed.", examples=["Wheels chocked, spring unloaded"])


class FitStep(_Strict):
    """Some fasteners of a joint that is put in in more than one go, and torqued together later."""

    fit: IdList = Field(description="Joint or joints that they belong to.", examples=["hangers-front"])
    positions: CountList = Field(description="Positions that are put in now.", examples=[[5, 6]], min_length=1)
    covers: IdList | None = _COVERS


class LooseStep(_Strict):
    """Joints that are fitted and left loose until a later step torques them."""

    loose: IdList = Field(description="Joint or joints to leave loose.", examples=["shackle-bolts"])


class TorqueStep(_Strict):
    """Joints to torque now."""

    torque: IdList = Field(description="Joint or joints to torque.", examples=["u-bolts-left"])
    after: IdList = Field(
        [], description="Hold points to be signed and joints to be done before.", examples=[["ride-height-set"]]
    )
    covers: IdList = Field(
        [], description="Joints that cannot be reached any more after this step; asked about before it.", examples=[[]]
    )


class OpenStep(_Strict):
    """Joints that are opened again on purpose; a later step torques them."""

    open: IdList = Field(description="Joint or joints to open.", examples=["hub-left"])
    as_found: Literal["yes", "no"] | None = Field(
        None, description="Whether the torque found on each before it is opened is to be recorded.", examples=["yes"]
    )
    after: IdList | None = _AFTER
    covers: IdList | None = _COVERS


class RecheckStep(_Strict):
    """Joints that are gone round again after other work, without slackening: each held or moved."""

    recheck: IdList = Field(description="Joint or joints to check again.", examples=["wheel-nuts-left"])
    after: IdList | None = _AFTER
    covers: IdList | None = _COVERS


class MeasureModel(_Strict):
    """What is measured at a hold point; both edges are inside."""

    unit: Text = Field(description="Unit of the value.", examples=["mm"])
    low: AnyDigits = Field(description="Lowest value that passes.", examples=["0"])
    high: AnyDigits = Field(description="Highest value that passes.", examples=["3"])


class HoldPointStep(_Strict):
    """A question that a named person signs before the work goes on."""

    hold_point: Id = Field(alias="hold point", description="Short id.", examples=["ride-height-set"])
    ask: Text = Field(description="What is asked.", examples=["Axle centred within 3 mm"])
    sign: Literal["fitter", "lead", "second person"] = Field(description="Who signs.", examples=["fitter"])
    measure: MeasureModel | None = Field(None, description="A value to measure, with its limits.")
    after: IdList | None = _AFTER
    covers: IdList | None = _COVERS


class RetorqueStep(_Strict):
    """Joints to come back to after some distance or time."""

    retorque: IdList = Field(description="Joint or joints to retorque.", examples=["wheel-nuts-left"])
    from_: SpanText = Field(alias="from", description="From which distance or time on.", examples=["40 km"])
    to: SpanText | None = Field(None, description="Up to which distance or time.", examples=["80 km"])
    method: Literal["do not slacken", "back off a turn"] | None = Field(
        None,
        description="do not slacken (default): shows that it held or moved; back off a turn: torqued anew. Public advice "
        "differs; the maker's instructions decide.",
        examples=["do not slacken"],
    )


STEP_MODELS: dict[str, type[_Strict]] = {
    "do": DoStep,
    "caution": CautionStep,
    "fit": FitStep,
    "loose": LooseStep,
    "torque": TorqueStep,
    "open": OpenStep,
    "hold point": HoldPointStep,
    "recheck": RecheckStep,
    "retorque": RetorqueStep,
}


def _step_word(value: object) -> str | None:
    if isinstance(value, dict):
        return next((word for word in value if word in STEP_MODELS), None)
    return next((word for word, model in STEP_MODELS.items() if isinstance(value, model)), None)


StepModel = Annotated[
    Annotated[DoStep, Tag("do")]
    | Annotated[CautionStep, Tag("caution")]
    | Annotated[FitStep, Tag("fit")]
    | Annotated[LooseStep, Tag("loose")]
    | Annotated[TorqueStep, Tag("torque")]
    | Annotated[OpenStep, Tag("open")]
    | Annotated[HoldPointStep, Tag("hold point")]
    | Annotated[RecheckStep, Tag("recheck")]
    | Annotated[RetorqueStep, Tag("retorque")],
    Discriminator(_step_word),
]


class AcceptedModel(_Strict):
    """A finding of `plan check` that the plan's author has looked at and lets stand."""

    finding: Id = Field(description="The finding's id.", examples=["unlike-torque-on-mirror-joints"])
    joints: IdList | None = Field(
        None,
        description="Joints for which it is accepted; none: wherever it is found.",
        examples=[["hub-left"]],
        min_length=1,
    )
    reason: Text = Field(description="Why it stands.", examples=["Maker's sheet 12 gives the brake side less"])


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
    item: Literal["VIN"] | None = Field(
        None, description="VIN where the item is named by its vehicle identification number.", examples=["VIN"]
    )
    small_drag: Literal["add", "leave out below a third"] | None = Field(
        None,
        description="The shop's rule for the drag of prevailing nuts: add it always, or from a third of the stated torque on.",
        examples=["add"],
    )
    counted: Literal["by rows"] | None = Field(
        None,
        description="by rows where a table had no column of counts and each of its rows was taken as one fastener.",
        examples=["by rows"],
    )
    accepted: list[AcceptedModel] | None = Field(None, description="Findings of `plan check` that stand, each with its reason.")
    joints: list[JointModel] = Field(description="The joints.", min_length=1)
    steps: list[StepModel] | None = Field(
        None, description="The steps in order; none: torque every joint in the order listed.", min_length=1
    )
