"""Reads the pattern of a record of text: fixed texts with fields in braces, such as `{wrench} {torque:8}{unit}`. Pure."""

import re
from itertools import pairwise
from string import Formatter
from typing import get_args

from schemas.wire_format import FieldName, PatternPart

_WIDTH = re.compile(r"[1-9][0-9]{0,3}")
_NAMES: dict[str, FieldName] = {name: name for name in get_args(FieldName)}


def parse_pattern(pattern: str) -> tuple[PatternPart, ...]:
    """The parts of a pattern, from left to right.

    `{torque}` is a field up to the fixed text behind it or the end, spaces around it left out; `{torque:8}` one of 8
    characters; `{}` and `{:3}` are kept raw but not read; `{{` and `}}` stand for the braces themselves.

    Raises:
        ValueError: braces that do not pair, an unknown field, a width that is none, or a field without a width right before
            another one, so that nobody could tell where it ends.
    """
    parts = tuple(_part(*found) for found in Formatter().parse(pattern))
    for part, behind in pairwise(parts):
        if part.has_field and not part.width and not behind.text:
            raise ValueError(f"`{{{part.name or ''}}}` has another field right behind it; give it a width, as in `{{torque:8}}`")
    return parts


def _part(text: str, name: str | None, width: str | None, conversion: str | None) -> PatternPart:
    if name is None:
        return PatternPart(text, has_field=False)
    if conversion is not None:
        raise ValueError(f"`!{conversion}` is not known here; take it out")
    if name and name not in _NAMES:
        raise ValueError(f"`{name}` is no field; the fields are {', '.join(_NAMES)}")
    if width and not _WIDTH.fullmatch(width):
        raise ValueError(f"`{width}` is no width; write how many characters the field has, as in `{{torque:8}}`")
    return PatternPart(text, _NAMES.get(name), int(width or 0))
