"""Made-up wire formats that are right, and ways to make them wrong."""

import pytest

from schemas.errors import PlanError
from schemas.wire_format_load import load_wire_format

FIELDS = """\
name: made
encoding: ascii
delimiter: ";"
fields: [torque, unit]
longest: 40
"""
PATTERN = """\
name: made
encoding: ascii
pattern: "{torque:8}{unit:4}"
longest: 40
"""
BINARY = """\
name: made
framing: {by: length, length: 8, start: A5}
binary:
  byte_order: little
  fields:
    - {name: torque, at: 1, type: i16, scale: 0.1}
    - {name: unit, at: 3, type: u8}
"""


def faults(text: str) -> list[str]:
    """What a format that is refused is told, in order."""
    with pytest.raises(PlanError, match=r"^made\.yaml, line ") as caught:
        load_wire_format(text.encode(), "made.yaml")
    return [str(fault) for fault in caught.value.faults]


def put(text: str, old: str, new: str) -> str:
    """The text with something put in place of what it must hold."""
    assert old in text
    return text.replace(old, new)


def with_fields(*names: str) -> str:
    """`FIELDS` with these fields too."""
    return put(FIELDS, "torque, unit", f"torque, unit, {', '.join(names)}")
