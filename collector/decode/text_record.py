"""Takes a record of text apart into its fields, by delimiter or by pattern."""

import re

from collector.decode.refuse import shown, unreadable
from collector.decode.sent import Sent
from schemas.wire_format import FieldName, PatternPart, WireFormat

# C0 and C1 without the tab, and DEL. Text has none of them; a wrong speed or a power cut makes them.
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f-\x9f]")
_SPACE = " \t"


def read_text(wire: WireFormat, content: bytes) -> Sent:
    """The fields of a record; FrameError `unreadable` where it is not text or not laid out so."""
    # Places in messages count from the first sign of the whole record.
    before = len(wire.start)
    text = _text(wire, content, before)
    values = _Matching(text, before).values(wire.pattern) if wire.pattern else _divided(wire, text)
    status = values.get("status")
    return Sent(values, values.get("torque", ""), (status,) if status else ())


def _text(wire: WireFormat, content: bytes, before: int) -> str:
    try:
        text = content.decode(wire.encoding)
    except UnicodeDecodeError as error:
        raise unreadable(f"byte 0x{content[error.start]:02X} at {before + error.start} is not {wire.encoding}") from error
    control = _CONTROL.search(text)
    if control:
        where = f"control character 0x{ord(control[0]):02X} at {before + control.start()}"
        raise unreadable(f"{where}; look whether the speed is right and the cable whole")
    return text


def _divided(wire: WireFormat, text: str) -> dict[FieldName, str]:
    parts = _split_quoted(text, wire.delimiter) if wire.quoted and '"' in text else text.split(wire.delimiter)
    if len(parts) != len(wire.fields):
        raise unreadable(f"{len(parts)} fields where the format has {len(wire.fields)}")
    return {name: part.strip(_SPACE) for name, part in zip(wire.fields, parts, strict=True) if name is not None}


def _split_quoted(text: str, delimiter: str) -> list[str]:
    """The fields of one RFC 4180 line; stricter than the csv module, which reads a stray quote as it comes."""
    one = re.compile(rf'(?:"((?:[^"]|"")*)"|([^"{re.escape(delimiter)}]*))(?:{re.escape(delimiter)}|\Z)')
    parts: list[str] = []
    at = 0
    ended = False
    while not ended:
        match = one.match(text, at)
        if match is None:
            raise unreadable(f"a double quote is not closed, or stands inside a field, at or after {at}")
        parts.append(match[2] if match[1] is None else match[1].replace('""', '"'))
        at = match.end()
        ended = at == len(text) and not match[0].endswith(delimiter)
    return parts


class _Matching:
    """Reads a pattern from left to right and without a second try, so that any text takes the same short time."""

    def __init__(self, text: str, before: int) -> None:
        self._text = text
        self._before = before
        self._at = 0

    def values(self, pattern: tuple[PatternPart, ...]) -> dict[FieldName, str]:
        """The fields of the pattern; FrameError where the text is laid out otherwise."""
        values: dict[FieldName, str] = {}
        for part, behind in zip(pattern, (*pattern[1:], None), strict=True):
            self._pass_text(part.text)
            if not part.width:
                self._pass_spaces()
            if part.has_field:
                end = self._width_end(part.width) if part.width else self._text_end(behind)
                if part.name is not None:
                    values[part.name] = self._text[self._at : end].strip(_SPACE)
                self._at = end
        self._pass_spaces()
        if self._at < len(self._text):
            raise unreadable(f"{self._here()} stands `{shown(self._text[self._at :])}` where the record should end")
        return values

    def _pass_text(self, fixed: str) -> None:
        if not self._text.startswith(fixed, self._at):
            stands = shown(self._text[self._at :])
            raise unreadable(f"{self._here()} stands `{stands}` where the format has `{shown(fixed)}`")
        self._at += len(fixed)

    def _pass_spaces(self) -> None:
        while self._at < len(self._text) and self._text[self._at] in _SPACE:
            self._at += 1

    def _width_end(self, width: int) -> int:
        if self._at + width > len(self._text):
            raise unreadable(f"the record ends inside the {width} characters {self._here()}")
        return self._at + width

    def _text_end(self, behind: PatternPart | None) -> int:
        if behind is None:
            return len(self._text)
        end = self._text.find(behind.text, self._at)
        if end < 0:
            raise unreadable(f"{self._here()} and behind it there is no `{shown(behind.text)}`, which the format has there")
        return end

    def _here(self) -> str:
        return f"at {self._before + self._at}"
