"""How a plan writes a tolerance: `8 %`, `±5 N·m`, `+10 % -0 %`, `+5 N·m -2 N·m`."""

import re
from dataclasses import dataclass
from decimal import Decimal

_NUMBER = r"((?:0|[1-9][0-9]{0,8})(?:\.[0-9]{1,9})?)"
_BOTH = re.compile(rf"±\s*{_NUMBER}\s*(\D*)")
_PERCENT = re.compile(rf"{_NUMBER}\s*(%)")
_SIDES = re.compile(rf"([+-])\s*{_NUMBER}\s*([^0-9+]*?)\s*([+-])\s*{_NUMBER}\s*(\D*)")

FORMS = "write it as 8 %, ±5 N·m, +10 % -0 % or +5 N·m -2 N·m"


@dataclass(frozen=True, slots=True)
class Side:
    """How far the torque may go to one side: `value`, not negative, in percent of the torque or in a torque unit.

    `unit` is `%` or the spelling of a torque unit as the plan has it.
    """

    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far the torque may lie above and below its target."""

    above: Side
    below: Side


def read_tolerance(text: str) -> Tolerance:
    """Read a tolerance; the two sides may come in either order, `+-`, `+/-` and the minus sign of print are read too.

    Raises ValueError with what to write instead: no known form, a side without % or unit, no width at all, 100 % or
    more below the target.
    """
    plain = text.strip().replace("−", "-").replace("+/-", "±").replace("+-", "±")
    if found := _PERCENT.fullmatch(plain) or _BOTH.fullmatch(plain):
        above = below = _side(found[1], found[2])
    elif (found := _SIDES.fullmatch(plain)) and found[1] != found[4]:
        sides = {found[1]: _side(found[2], found[3]), found[4]: _side(found[5], found[6])}
        above, below = sides["+"], sides["-"]
    else:
        raise ValueError(f"this is no tolerance that we read; {FORMS}")
    if not above.value and not below.value:
        raise ValueError(f"the tolerance has no width, no wrench could meet it; {FORMS}")
    if below.unit == "%" and below.value >= 100:
        raise ValueError("100 % or more below the torque leaves no lower edge; write a smaller share")
    return Tolerance(above, below)


def _side(number: str, unit: str) -> Side:
    if not unit.strip():
        raise ValueError(f"a side has neither % nor a unit; {FORMS}")
    return Side(Decimal(number), unit.strip())
