"""Decodes a line that an instrument typed: another keyboard layout changes its signs, and that is said, never guessed at."""

import re

from collector.decode.frame import decode_frame
from collector.decode.refuse import set_aside, shown
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat

HINT = "keyboard layout mismatch?"
# A capital T stands between the digits of an ISO 8601 time as well.
_IN_NUMBER = re.compile(r"[0-9.,](?!T[0-9]{2}:)[A-Za-z.,][0-9.,]")
_PLAIN = re.compile(r"[A-Za-z0-9 \t+\-.,;:/@#_]")


def decode_typed(wire: WireFormat, frame: Frame) -> Reading:
    """Read one typed line.

    Args:
        wire: a format of lines of text.
        frame: the line as it was typed.

    Returns:
        Reading, as `decode_frame` gives it.

    Raises:
        FrameError: as from `decode_frame`; but a line that holds what another layout makes of the format's signs is `set
            aside` with a hint: a letter, an apostrophe or the other decimal mark in a number, or a sign that is none of the
            format's in the line, or in the id or the serial number of the wrench.
    """
    try:
        reading = decode_frame(wire, frame)
    except FrameError as error:
        if frame.cut or frame.overlong or not _is_strange(wire, frame.raw):
            raise
        raise set_aside(f"{error}: {HINT}") from error
    for what, text in (("id of the wrench", reading.wrench), ("serial number", reading.serial)):
        if text is not None and (strange := _strange_signs(wire, text)):
            raise set_aside(f"the {what} `{shown(text)}` holds `{shown(strange)}`: {HINT}")
    return reading


def _is_strange(wire: WireFormat, raw: bytes) -> bool:
    try:
        text = raw.decode(wire.encoding)
    except UnicodeDecodeError:
        return True
    numbers = (found[0][1] for found in _IN_NUMBER.finditer(text))
    own = wire.decimal_mark + wire.delimiter
    return bool(_strange_signs(wire, text)) or any(sign not in own for sign in numbers)


def _strange_signs(wire: WireFormat, text: str) -> str:
    """The signs that are neither usual in records nor the format's own."""
    own = {*wire.begins, *wire.delimiter, *"".join(part.text for part in wire.pattern)}
    marks = (*wire.over_range, *wire.no_reading, *wire.status, *wire.unit_codes, *wire.others)
    return "".join(sign for sign in text if not _PLAIN.fullmatch(sign) and sign not in own | set("".join(marks)))
