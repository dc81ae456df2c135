"""A number of a log whose decimal mark is not known beforehand: what it can be by each of the two marks. Pure."""

import re
from typing import Literal, NamedTuple

Mark = Literal[".", ","]

_SIGNED = re.compile(r"([+-]?)([0-9][0-9.,]*)(-?)")
_BY_MARK = {
    mark: (
        re.compile(rf"[0-9]+(?:{re.escape(mark)}[0-9]+)?"),
        re.compile(rf"[1-9][0-9]{{0,2}}(?:{re.escape(group)}[0-9]{{3}})+(?:{re.escape(mark)}[0-9]+)?"),
    )
    for mark, group in ((".", ","), (",", "."))
}


class Forms(NamedTuple):
    """A number in plain digits, as it reads with a decimal point and with a decimal comma; None where it does not fit.

    The other mark then stands between groups of three digits. `1.234` is 1.234 or 1234, `24,6` can only be 24.6.
    """

    point: str | None
    comma: str | None

    @property
    def is_open(self) -> bool:
        """Whether both marks fit and give two numbers."""
        return self.point is not None and self.comma is not None and self.point != self.comma

    @property
    def proves(self) -> Mark | None:
        """The one mark that fits; None where both do or neither."""
        if (self.point is None) == (self.comma is None):
            return None
        return "," if self.point is None else "."


def number_forms(text: str) -> Forms | None:
    """What a number can be; None where `text` is not made of ASCII digits, the two marks and one sign."""
    parts = _SIGNED.fullmatch(text)
    if parts is None or (parts[1] and parts[3]):
        return None
    sign = "-" if parts[3] else parts[1]
    return Forms(_read(sign, parts[2], ".", ","), _read(sign, parts[2], ",", "."))


def _read(sign: str, body: str, mark: Mark, group: Mark) -> str | None:
    plain, grouped = _BY_MARK[mark]
    if plain.fullmatch(body):
        return sign + body.replace(mark, ".")
    if grouped.fullmatch(body):
        return sign + body.replace(group, "").replace(mark, ".")
    return None
