"""Reads a torque as people write it: `88`, `88 N·m`, `88 to 96 N·m`, `not stated`. Pure."""

import re
from dataclasses import dataclass

from schemas.errors import UnitError
from schemas.units import Unit, find_unit

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_TORQUE = re.compile(rf"({_NUMBER})(?: ?(?:to|-|–|—|…|\.\.\.?) ?({_NUMBER}))? ?(\D.*)?")


@dataclass(frozen=True, slots=True)
class TorqueText:
    """One torque, or two edges where `high` is given, in the digits as written; `unit` is its spelling, None without one."""

    low: str
    high: str | None = None
    unit: str | None = None


def read_torque(text: str) -> TorqueText | None:
    """The torque in a text; None where it is anything else, also where its unit is none or a comma stands in it.

    A number before the unit may have a second one behind `to` or a dash: the two edges.
    """
    found = _TORQUE.fullmatch(" ".join(text.split()))
    if found is None:
        return None
    if found[3] is not None and unit_of(found[3]) is None:
        return None
    return TorqueText(found[1], found[2], found[3])


def unit_of(spelling: str) -> Unit | None:
    """The unit of torque that a spelling stands for, None where it is none."""
    try:
        return find_unit(spelling)[0]
    except UnitError:
        return None
