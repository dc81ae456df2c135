"""A route as the body of a ledger entry, and back: only strings, integers, lists, dicts and null.

Torques are plain digit strings and truth values 0 or 1. Reading gives a route equal to the one written.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields
from decimal import Decimal, InvalidOperation
from typing import TypeAlias, TypeVar

from schemas.entry import Json
from schemas.errors import RecordError
from schemas.route import Band, Joint, Route, Stage, Step
from schemas.words import Role, StepWord

Body: TypeAlias = Mapping[str, Json]
_Kind = TypeVar("_Kind")

_EDGES = ("low", "target", "high", "low_nm", "target_nm", "high_nm")
_JOINT_TEXTS = ("thread", "grade", "prep", "nut", "hardware", "counter_hold", "socket", "adapter")


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
        not_obeyed=_texts(body, "not_obeyed"),
        notes=_texts(body, "notes"),
    )


def _shallow(record: Route | Joint | Step | Stage | Band) -> dict[str, Json]:
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
    stages: list[Json] = [{**_shallow(stage), "band": _shallow(stage.band)} for stage in joint.stages]
    return {**_shallow(joint), "stages": stages}


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
        **{name: _text_or_none(body, name) for name in _JOINT_TEXTS},
    )


def _stage(body: Body) -> Stage:
    band: Body = _typed(body, "band", dict)
    edges = {name: _decimal(band, name) for name in _EDGES}
    return Stage(
        _int(body, "number"),
        _decimal(body, "share_percent"),
        Band(**edges, high_is_in_band=_int(band, "high_is_in_band") == 1),
    )


def _step(body: Body) -> Step:
    sign = _text_or_none(body, "sign")
    try:
        word, role = StepWord(_text(body, "word")), None if sign is None else Role(sign)
    except ValueError as error:
        raise RecordError(f"route in the ledger: {error}; it is damaged or of a later version") from error
    return Step(
        number=_int(body, "number"),
        word=word,
        joints=_texts(body, "joints"),
        text=_text(body, "text"),
        hold_point=_text_or_none(body, "hold_point"),
        sign=role,
        after=_texts(body, "after"),
    )


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
