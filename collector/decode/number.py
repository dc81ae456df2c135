"""Reads a number as it was sent: plain ASCII digits, or a reason why they cannot be decided."""

import re
import unicodedata
from decimal import Decimal

from schemas.wire_format import DecimalMark

BEYOND_ANY_TOOL = Decimal("9E36")
"""Instruments send a huge number where their range is passed: SCPI 1999 has 9.9E37 for infinity and 9.91E37 for "not a
number", which makers send on overload too (their programming guides say so). No torque comes near this edge."""
_BEYOND_DIGITS = BEYOND_ANY_TOOL.adjusted() + 1

_PLAIN: dict[DecimalMark, re.Pattern[str]] = {
    mark: re.compile(rf"[+-]?[0-9]+(?:{re.escape(mark)}[0-9]+)?|[0-9]+(?:{re.escape(mark)}[0-9]+)?-") for mark in (".", ",")
}
_EXPONENT = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?[eE][+-]?[0-9]{1,3}")
_NO_NUMBER = re.compile(r"[+-]?(?:nan|inf|infinity)", re.IGNORECASE)


def plain_digits(text: str, mark: DecimalMark) -> str | None:
    """The digits with the sign in front and a decimal point, else as sent; None where `text` is no plain number.

    A minus may stand behind (`20.0-`), as some instruments print it. Digits stand on both sides of a decimal mark.
    """
    if not _PLAIN[mark].fullmatch(text):
        return None
    digits = text.replace(mark, ".")
    return f"-{digits[:-1]}" if digits.endswith("-") else digits


def is_beyond_any_tool(text: str, mark: DecimalMark) -> bool:
    """Whether `text` is one of the huge numbers that instruments send when their range is passed."""
    # Every reading comes here; a short number without an exponent is none.
    if len(text) < _BEYOND_DIGITS and "e" not in text and "E" not in text:
        return False
    # With such an exponent it does not matter which mark it was.
    digits = text.replace(",", ".") if _EXPONENT.fullmatch(text) else plain_digits(text, mark)
    return digits is not None and Decimal(digits).copy_abs() >= BEYOND_ANY_TOOL


def why_not_plain(text: str, mark: DecimalMark) -> str:
    """What keeps `text` from being plain digits, in words that follow the text itself."""
    strange = next((char for char in text if not char.isascii()), None)
    if strange is not None:
        name = unicodedata.name(strange, "unnamed")
        return f"holds U+{ord(strange):04X} ({name}), and only the digits 0 to 9, a sign and `{mark}` are read"
    if _NO_NUMBER.fullmatch(text):
        return "is not a number"
    if _EXPONENT.fullmatch(text):
        return "has an exponent, so the digits that the tool showed are not known"
    other: DecimalMark = "," if mark == "." else "."
    if _PLAIN[other].fullmatch(text):
        as_mark, as_group = text.replace(other, "."), text.replace(other, "")
        return f"can be {as_mark} or {as_group}; the format's decimal mark is `{mark}`"
    return "is not plain digits"
