"""What was heard of a wrench: the bytes of its pulls, and what a person read off its display for each."""

import re
from dataclasses import dataclass, replace
from decimal import Decimal

from schemas.units import find_unit

FEWEST_PULLS = 3
UNKNOWN = "-"
_NEAR = Decimal("0.02")
_TYPED = re.compile(r"([+-]?[0-9]{1,9}(?:[.,][0-9]{1,6})?)\s*(.*)")


@dataclass(frozen=True, slots=True)
class About:
    """About what a pull reached: `value` as it was typed, `last_digit` what its last digit is worth, `unit` our symbol."""

    value: Decimal
    last_digit: Decimal
    unit: str | None = None

    def fits(self, value: Decimal) -> bool:
        """Whether a value may be meant, its sign apart: within 2 % or one last digit."""
        return abs(abs(value) - abs(self.value)) <= max(abs(self.value) * _NEAR, self.last_digit)

    def is_exactly(self, value: Decimal) -> bool:
        """Whether a value is what was typed, its sign apart, with as many digits behind the mark."""
        return abs(value) == abs(self.value) and value.as_tuple().exponent == self.value.as_tuple().exponent

    def __str__(self) -> str:
        return f"{self.value} {self.unit}" if self.unit else str(self.value)


def read_about(typed: str) -> About | None:
    """What a person typed for one pull, such as `50`, `50.2 Nm` or `-20`; None for nothing or `-`, the value not known.

    Raises:
        ValueError: it is no number with or without a unit; the text says so.
        UnitError: what stands behind the number is no unit of torque.
    """
    text = typed.strip()
    if text in ("", UNKNOWN):
        return None
    found = _TYPED.fullmatch(text)
    if found is None:
        raise ValueError(f"`{ascii(text)[1:-1]}` is no value; type what the wrench showed, such as 50 or 50.2 Nm")
    value = Decimal(found[1].replace(",", "."))
    last_digit = Decimal(1).scaleb(int(value.as_tuple().exponent))
    return About(value, last_digit, find_unit(found[2])[0].symbol if found[2] else None)


@dataclass(frozen=True, slots=True)
class Heard:
    """All the pulls: `bursts` are the bytes of each, `abouts` what each reached.

    `is_divided` is False for bytes without times: then `bursts` is one, and each of its records belongs to one of `abouts`.
    """

    bursts: tuple[bytes, ...]
    abouts: tuple[About | None, ...]
    is_divided: bool = True

    @property
    def known(self) -> list[About]:
        """What is known of the pulls."""
        return [about for about in self.abouts if about is not None]

    def why_too_few(self) -> str | None:
        """What is missing to propose anything; None where there is enough."""
        values = {about.value for about in self.known}
        if len(self.known) >= FEWEST_PULLS and len(values) > 1:
            return None
        had = f"{len(self.known)} with a known value, of {len(values)} different values"
        return f"at least {FEWEST_PULLS} pulls with 2 different values are needed, and there are {had}; pull more"

    def without(self, number: int) -> "Heard":
        """The same, with the value of one pull (from 0) forgotten."""
        return replace(self, abouts=tuple(None if n == number else about for n, about in enumerate(self.abouts)))
