"""A route as the body of a ledger entry, and back: only strings, integers, lists, dicts and null.

Torques are plain digit strings and truth values 0 or 1. Reading gives a route equal to the one written. A field that an
older program did not write has its default.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields
from decimal import Decimal, InvalidOperation
from typing import TypeAlias, TypeVar

from schemas.entry import Json
from schemas.errors import RecordError
from schemas.route import Adapter, AngleBand, Band, Joint, Route, Stage, Step
from schemas.words import Method, Role, StageWord, StepWord

Body: TypeAlias = Mapping[str, Json]
_Kind = TypeVar("_Kind")
_Word = TypeVar("_Word", StepWord, StageWord, Role, Method)

_EDGES = ("low", "target", "high", "low_nm", "target_nm", "high_nm")
_ANGLE_EDGES = ("low", "target", "high")
_JOINT_TEXTS = ("thread", "grade", "prep", "nut", "hardware", "counter_hold", "socket")


def route_to_body(route: Route) -> dict[str, Json]:
    """The body of the entry that keeps a route."""
    return {
        **_shallow(route),
        "joints": [_joint_body(joint) for joint in route.joints],
        "steps": [_shallow(step) for step in route.steps],
    }


def route_from_body(body: Body) -> Route:
    """The route that a body keeps. Raises RecordError, naming the field, where the body is none of `route_to_body`."""
    return Route(
        plan=_text(body, "plan"),
        title=_text(body, "title"),
        revision=_text(body, "revision"),
        source=_text(body, "source"),
        content_sha256=_text(body, "content_sha256"),
        joints=tuple(_joint(part) for part in _parts(body, "joints")),
        steps=tuple(_step(part) for part in _parts(body, "steps")),
        notes=_texts(body, "notes"),
        item=_later_text(body, "item"),
    )


def joint_to_body(joint: Joint) -> dict[str, Json]:
    """The body of one joint, as it stands inside a route's."""
    return _joint_body(joint)


def joint_from_body(body: Body) -> Joint:
    """The joint that a body keeps; RecordError as `route_from_body`."""
    return _joint(body)


def _shallow(record: Route | Joint | Step | Stage | Band | Adapter | AngleBand) -> dict[str, Json]:
    """The fields of a record that need no form of their own; the others are set by the caller."""
    return {field.name: _value(getattr(record, field.name)) for field in fields(record)}


def _value(value: object) -> Json:
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, tuple):
        return [_value(entry) for entry in value if isinstance(entry, str | int)]
    if isinstance(value, str | int):
        return str(value) if isinstance(value, str) else int(value)
    return None


def _joint_body(joint: Joint) -> dict[str, Json]:
    adapter: Json = None if joint.adapter is None else _shallow(joint.adapter)
    return {**_shallow(joint), "stages": [_stage_body(stage) for stage in joint.stages], "adapter": adapter}


def _stage_body(stage: Stage) -> dict[str, Json]:
    angle: Json = None if stage.angle is None else _shallow(stage.angle)
    return {**_shallow(stage), "band": _shallow(stage.band), "angle": angle}


def _joint(body: Body) -> Joint:
    return Joint(
        id=_text(body, "id"),
        name=_text(body, "name"),
        fasteners=_int(body, "fasteners"),
        stages=tuple(_stage(part) for part in _parts(body, "stages")),
        order=tuple(_each(body, "order", int)),
        order_word=_text(body, "order_word"),
        unit=_text(body, "unit"),
        snug=_int(body, "snug") == 1,
        wheel=_int(body, "wheel") == 1,
        wrenches=_texts(body, "wrenches"),
        adapter=_adapter(body),
        drag_third_of_nm=_later_decimal(body, "drag_third_of_nm"),
        mark=_later_int(body, "mark", 1) == 1,
        pattern=_later_text(body, "pattern") or ("row" if body.get("order_word") == "in line" else "circle"),
        turn=_later_text(body, "turn"),
        left_hand=_later_int(body, "left_hand", 0) == 1,
        basis=_later_text(body, "basis"),
        drag=_later_text(body, "drag"),
        prepare=_later_int(body, "prepare", 0) == 1,
        renew=_later_int(body, "renew", 0) == 1,
        work_within_s=_later_int(body, "work_within_s"),
        cure_s=_later_int(body, "cure_s"),
        critical=_later_int(body, "critical", 0) == 1,
        reopen_joint=_later_int(body, "reopen_joint", 0) == 1,
        side=_later_text(body, "side"),
        seen_from=_later_text(body, "seen_from"),
        **{name: _text_or_none(body, name) for name in _JOINT_TEXTS},
    )


def _adapter(body: Body) -> Adapter | None:
    # Older programs opened no job after a plan with an adapter, so there is no other form.
    if body.get("adapter") is None:
        return None
    adapter: Body = _typed(body, "adapter", dict)
    return Adapter(_decimal(adapter, "length_mm"), _decimal(adapter, "angle_deg"), _int(adapter, "by_wrench") == 1)


def _stage(body: Body) -> Stage:
    band: Body = _typed(body, "band", dict)
    edges = {name: _decimal(band, name) for name in _EDGES}
    return Stage(
        _int(body, "number"),
        _decimal(body, "share_percent"),
        Band(**edges, high_is_in_band=_int(band, "high_is_in_band") == 1),
        _word(StageWord, _later_text(body, "word") or StageWord.ROUND),
        tuple(_each(body, "order", int)) if "order" in body else (),
        _angle(body),
        _later_int(body, "step"),
    )


def _angle(body: Body) -> AngleBand | None:
    if body.get("angle") is None:
        return None
    angle: Body = _typed(body, "angle", dict)
    return AngleBand(*(_decimal(angle, name) for name in _ANGLE_EDGES))


def _word(words: type[_Word], text: str) -> _Word:
    try:
        return words(text)
    except ValueError as error:
        raise RecordError(f"route in the ledger: {error}; it is damaged or of a later version") from error


def _step(body: Body) -> Step:
    sign, method = _text_or_none(body, "sign"), _later_text(body, "method")
    return Step(
        number=_int(body, "number"),
        word=_word(StepWord, _text(body, "word")),
        joints=_texts(body, "joints"),
        text=_text(body, "text"),
        hold_point=_text_or_none(body, "hold_point"),
        sign=None if sign is None else _word(Role, sign),
        after=_texts(body, "after"),
        positions=tuple(_each(body, "positions", int)) if "positions" in body else (),
        covers=_texts(body, "covers") if "covers" in body else (),
        measure_unit=_later_text(body, "measure_unit"),
        measure_low=_later_decimal(body, "measure_low"),
        measure_high=_later_decimal(body, "measure_high"),
        as_found=_later_int(body, "as_found", 0) == 1,
        method=None if method is None else _word(Method, method),
        from_s=_later_int(body, "from_s"),
        from_km=_later_decimal(body, "from_km"),
    )


def _later_text(body: Body, name: str) -> str | None:
    return None if body.get(name) is None else _text(body, name)


def _later_int(body: Body, name: str, default: int | None = None) -> int | None:
    return default if body.get(name) is None else _int(body, name)


def _later_decimal(body: Body, name: str) -> Decimal | None:
    return None if body.get(name) is None else _decimal(body, name)


def _typed(body: Body, name: str, kind: type[_Kind]) -> _Kind:
    value = body.get(name)
    if not isinstance(value, kind):
        raise RecordError(f"route in the ledger: `{name}` is missing or of another kind; run verify on the file")
    return value


def _text(body: Body, name: str) -> str:
    return _typed(body, name, str)


def _int(body: Body, name: str) -> int:
    return _typed(body, name, int)


def _text_or_none(body: Body, name: str) -> str | None:
    return None if name in body and body[name] is None else _text(body, name)


def _decimal(body: Body, name: str) -> Decimal:
    try:
        return Decimal(_text(body, name))
    except InvalidOperation as error:
        raise RecordError(f"route in the ledger: `{name}` is no number; run verify on the file") from error


def _each(body: Body, name: str, kind: type[_Kind]) -> list[_Kind]:
    values: Sequence[Json] = _typed(body, name, list)
    return [_typed({name: value}, name, kind) for value in values]


def _texts(body: Body, name: str) -> tuple[str, ...]:
    return tuple(_each(body, name, str))


def _parts(body: Body, name: str) -> list[Body]:
    return _each(body, name, dict)
