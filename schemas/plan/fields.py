"""The kinds of value that a person writes into a plan: texts, ids, digits, lists; each says what to write instead.

Numbers stay the digits of the file. A text without quotes that YAML tools read as a number, a date, a time, a truth
value or nothing is refused, so that no two tools can disagree about an id.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Annotated, Any, NoReturn

from pydantic import AfterValidator, BeforeValidator, PlainValidator, WithJsonSchema, WrapValidator
from pydantic_core import PydanticCustomError
from pydantic_core.core_schema import ValidatorFunctionWrapHandler

from schemas.errors import UnitError
from schemas.plan.order import ORDERS
from schemas.plan.quantity import length_mm, seconds_of, span_of, split
from schemas.plan.text import Plain, shown
from schemas.plan.tolerance import read_tolerance
from schemas.units import find_unit

_DIGITS = re.compile(r"(?:0|[1-9][0-9]{0,8})(?:\.[0-9]{1,9})?")
_COUNT = re.compile(r"[1-9][0-9]{0,2}")
_ID = re.compile(r"[\w#][\w./+#:()-]{0,63}")
_METRIC = re.compile(r"M[1-9][0-9]{0,2}(?:\.[0-9])?(?: ?[x×] ?[0-9](?:\.[0-9]{1,2})?)?")
_UNIFIED = re.compile(
    r"(?:#?[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2}|[1-9][ -][0-9]{1,2}/[0-9]{1,2})-[1-9][0-9]?(?: ?(?:UNC|UNF|UNEF|UNS|UN))?"
    r"|[0-9]{1,2}/[0-9]{1,2}"
)

PREPS = ("dry", "oil", "anti-seize", "threadlocker medium", "threadlocker high", "sealant")
"""The preparations that checks know; any other text is one that they know nothing of."""

# The types of YAML 1.1 and 1.2 together: which of them a tool knows differs, so all of them need quotes.
_LOOKS_LIKE = (
    ("nothing", re.compile(r"~|null", re.IGNORECASE)),
    ("a truth value", re.compile(r"y|n|yes|no|on|off|true|false", re.IGNORECASE)),
    ("a number", re.compile(r"[-+]?(?=[_.]*[0-9])[0-9_]*\.?[0-9_]*(?:e[-+]?[0-9_]+)?", re.IGNORECASE)),
    ("a number", re.compile(r"[-+]?0(?:x[0-9a-f_]+|o[0-7_]+|b[01_]+)|[-+]?\.inf|\.nan", re.IGNORECASE)),
    ("a time of day", re.compile(r"[-+]?[0-9_]+(?::[0-9]{1,2})+(?:\.[0-9_]*)?")),
    ("a date", re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}(?:[Tt ].*)?")),
)
_EMPTY = "this is empty; write a text, or take the line out (a `#` begins a comment: a text with it needs quotes)"


def refuse(what: str) -> NoReturn:
    """Refuse a value with a text of ours, which says what to write instead."""
    raise PydanticCustomError("plan", "{what}", {"what": what})


def _line(written: str) -> str:
    text = " ".join(written.split())
    if not text:
        refuse(_EMPTY)
    if len(text) > 500:
        refuse(f"this text has {len(text)} characters; shorten it to 500")
    if not text.isprintable():
        refuse(f"`{shown(text)}` has a sign that cannot be seen; type the text again")
    return text


def _text(value: object, handler: ValidatorFunctionWrapHandler) -> str:
    text = _line(handler(value))
    kind = next((kind for kind, form in _LOOKS_LIKE if form.fullmatch(text)), None)
    if kind is not None and isinstance(value, Plain):
        refuse(f'`{shown(text)}` without quotes is {kind} to YAML; put quotes around it: "{shown(text)}"')
    return text


def _id(text: str) -> str:
    if not _ID.fullmatch(text):
        refuse(f"`{shown(text)}` is no id; use at most 64 letters, digits and the signs . _ / - + # : ( ) without spaces")
    return text


def _digits(text: str) -> str:
    if not text:
        refuse("this is empty; write plain digits, such as 95 or 95.20")
    if "," in text:
        refuse(f"`{shown(text)}` has a comma; write a point before the decimals and nothing between thousands")
    if re.fullmatch(r"0[0-9]+(?:\.[0-9]+)?", text):
        refuse(f"`{shown(text)}` begins with a zero; write plain digits without it")
    if re.match(r"[0-9.]+\s*[^\W\d_eE%°]", text):
        refuse(f"`{shown(text)}` is more than a number; write plain digits here and the unit in `unit`")
    if not _DIGITS.fullmatch(text):
        refuse(f"`{shown(text)}` is no number that we read; write plain digits, such as 95 or 95.20")
    return text


def _signed(text: str) -> str:
    sign, digits = ("-", text[1:]) if text.startswith(("-", "−")) else ("", text)
    return sign + _digits(digits)


def _above_zero(text: str) -> str:
    if not text.strip("0."):
        refuse(f"`{shown(text)}` is zero; write a value above it")
    return text


def _torque(text: str) -> str:
    if text == "not stated":
        return text
    if re.match(r"[^\W\d_]", text):
        refuse(f'`{shown(text)}` is no torque; write plain digits, such as 95 or 95.20, or "not stated"')
    return _above_zero(_digits(text))


def _count(value: object) -> object:
    """A whole number is taken over as int: its digits have one spelling only."""
    if not isinstance(value, str):
        return value
    if not _COUNT.fullmatch(value):
        refuse(f"`{shown(value)}` is no count; write a whole number from 1 to 999 in plain digits")
    return int(value)


def _stage(text: str) -> str:
    return text if text == "snug" else _above_zero(_digits(text))


def _tolerance(text: str) -> str:
    try:
        read_tolerance(text)
    except ValueError as error:
        refuse(f"`{shown(text)}`: {error}")
    return text


def _thread(text: str) -> str:
    if not _METRIC.fullmatch(text) and not _UNIFIED.fullmatch(text):
        refuse(f"`{shown(text)}` is no thread that we read; write it like M14x2, M8, 7/16-14, 3/8 or #10-24")
    return text


def _quantity(read: Callable[[str], object]) -> Callable[[str], str]:
    """A quantity of one kind, written with one space before its unit."""

    def check(text: str) -> str:
        try:
            read(text)
            number, unit = split(text)
        except ValueError as error:
            refuse(f"`{shown(text)}`: {error}")
        return f"{number:f} {unit}"

    return check


def _prep(text: str) -> str:
    """A free text that differs from a known word in capitals and signs alone would pass by every check of it."""
    letters = re.sub(r"[\W_]+", "", text.casefold())
    known = next((word for word in PREPS if re.sub(r"\W", "", word) == letters), text)
    if known != text:
        refuse(f"`{shown(text)}` differs from the known `{known}` in spelling alone; write `{known}`")
    return text


def _drag(text: str) -> str:
    if text in ("included", "measured"):
        return text
    number, _, unit = text.partition(" ")
    try:
        find_unit(unit)
        _above_zero(_digits(number))
    except (UnitError, PydanticCustomError):
        refuse(f"`{shown(text)}` is no drag torque; write included, measured, or a torque with its unit, such as 4 N·m")
    return text


def _turned(text: str) -> str:
    if Decimal(_above_zero(_digits(text))) > 720:
        refuse(f"`{shown(text)}` is no angle to turn; write degrees above 0, up to 720")
    return text


def _angle(text: str) -> str:
    if Decimal(_digits(text)) > 180:
        refuse(f"`{shown(text)}` is no angle of an adapter; write degrees from 0 to 180")
    return text


def _listed(value: object) -> object:
    return [value] if isinstance(value, str) else value


def _order(value: object) -> str | tuple[int, ...]:
    if isinstance(value, str) and value in ORDERS:
        return str(value)
    if isinstance(value, list):
        if wrong := [entry for entry in value if not (isinstance(entry, str) and _COUNT.fullmatch(entry))]:
            first = f"`{shown(wrong[0])}`" if isinstance(wrong[0], str) else "an entry"
            refuse(f"{first} is no position; list the positions in plain digits, such as [1, 3, 2, 4]")
        return tuple(int(entry) for entry in value)
    given = f"`{shown(value)}` is" if isinstance(value, str) else "these are"
    refuse(f"{given} no order that we read; write cross, in line or any, or list the positions, such as [1, 3, 2, 4]")


def _schema(*kinds: dict[str, Any]) -> WithJsonSchema:
    return WithJsonSchema({"anyOf": list(kinds)} if len(kinds) > 1 else kinds[0])


_NUMBER = {"type": "number", "minimum": 0}
_NUMBER_TEXT = {"type": "string", "pattern": f"^{_DIGITS.pattern}$"}
_ID_SCHEMA = {"type": "string", "minLength": 1, "maxLength": 64}
_WORD_LIST = {"type": "array", "items": _ID_SCHEMA}

_Line = Annotated[str, AfterValidator(_line)]
Text = Annotated[str, WrapValidator(_text), WithJsonSchema({"type": "string", "minLength": 1, "maxLength": 500})]
Id = Annotated[Text, AfterValidator(_id), WithJsonSchema(_ID_SCHEMA)]
IdList = Annotated[list[Id], BeforeValidator(_listed), _schema(_ID_SCHEMA, _WORD_LIST)]
Digits = Annotated[str, AfterValidator(_digits), AfterValidator(_above_zero), _schema(_NUMBER, _NUMBER_TEXT)]
AnyDigits = Annotated[
    str, AfterValidator(_signed), _schema({"type": "number"}, {"type": "string", "pattern": f"^-?{_DIGITS.pattern}$"})
]
Torque = Annotated[str, AfterValidator(_torque), _schema(_NUMBER, {"const": "not stated"}, _NUMBER_TEXT)]
Count = Annotated[int, BeforeValidator(_count), WithJsonSchema({"type": "integer", "minimum": 1, "maximum": 999})]
Stage = Annotated[str, AfterValidator(_stage), _schema(_NUMBER, {"const": "snug"}, _NUMBER_TEXT)]
ToleranceText = Annotated[_Line, AfterValidator(_tolerance), WithJsonSchema({"type": "string"})]
Thread = Annotated[_Line, AfterValidator(_thread), WithJsonSchema({"type": "string"})]
Duration = Annotated[_Line, AfterValidator(_quantity(seconds_of)), WithJsonSchema({"type": "string"})]
Length = Annotated[_Line, AfterValidator(_quantity(length_mm)), WithJsonSchema({"type": "string"})]
SpanText = Annotated[_Line, AfterValidator(_quantity(span_of)), WithJsonSchema({"type": "string"})]
Prep = Annotated[
    Text, AfterValidator(_prep), _schema({"enum": list(PREPS)}, {"type": "string", "minLength": 1, "maxLength": 500})
]
Drag = Annotated[_Line, AfterValidator(_drag), _schema({"enum": ["included", "measured"]}, {"type": "string"})]
Turned = Annotated[str, AfterValidator(_turned), _schema({"type": "number", "exclusiveMinimum": 0, "maximum": 720}, _NUMBER_TEXT)]
CountList = Annotated[
    list[Count],
    BeforeValidator(_listed),
    _schema({"type": "integer", "minimum": 1}, {"type": "array", "items": {"type": "integer"}}),
]
Angle = Annotated[str, AfterValidator(_angle), _schema({"type": "number", "minimum": 0, "maximum": 180}, _NUMBER_TEXT)]
Order = Annotated[
    str | tuple[int, ...],
    PlainValidator(_order),
    _schema({"enum": sorted(ORDERS)}, {"type": "array", "items": {"type": "integer", "minimum": 1}}),
]
