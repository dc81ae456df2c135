"""Which columns an exported table has, and which of them hold numbers."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

_PLAIN_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")


class What(StrEnum):
    """What can be exported."""

    READINGS = "readings"
    TIGHTENINGS = "tightenings"
    CHECKS = "checks"


@dataclass(frozen=True, slots=True)
class Column:
    """A column; in one that is not `numeric` everything is text, however much it looks like a number or a date.

    `width` is the usual length of its texts, in characters.
    """

    name: str
    numeric: bool
    width: int


def is_number(column: Column, text: str) -> bool:
    """Whether a cell is a number: plain ASCII digits in a numeric column; anything else in it is text."""
    return column.numeric and _PLAIN_NUMBER.fullmatch(text) is not None


def _columns(text: str) -> tuple[Column, ...]:
    """Columns from `name width` lines; a name that ends in # is numeric."""
    parts = (line.split() for line in text.split(";"))
    return tuple(Column(name.removesuffix("#"), name.endswith("#"), int(width)) for name, width in parts)


COLUMNS: Mapping[What, tuple[Column, ...]] = {
    What.READINGS: _columns(
        "job 12; simulated 12; item 22; order 12; plan 20; plan_revision 14; n# 6; received_at 28; tool_time 28; wrench 10;"
        "wrench_serial 14; measures 10; torque# 13; unit 8; torque_nm# 13; over_range 12; angle_deg# 10; sequence# 10; kind 12;"
        "verdict 10; low_nm# 13; high_nm# 13; upper_edge 12; joint 18; joint_name 26; stage# 7; position# 9; position_by 12;"
        "probability# 12; reason 40; revisions# 10; fit 6; unfit_reason 40; notes 30; by 20; log_file 20; log_line# 9;"
        "entry# 8; raw_hex 60; angle_low# 10; angle_high# 10; adapter 50; drag_nm# 9; wrench_length_mm# 12"
    ),
    What.TIGHTENINGS: _columns(
        "job 12; simulated 12; item 22; order 12; plan 20; plan_revision 14; joint 18; joint_name 26; position# 9; stage# 7;"
        "stages# 7; share_percent# 14; low# 13; high# 13; band_unit 10; low_nm# 13; high_nm# 13; upper_edge 12; verdict 10;"
        "proof 12; why 40; reading# 9; torque# 13; unit 8; torque_nm# 13; over_range 12; wrench 10; wrench_serial 14;"
        "probability# 12; position_by 12; received_at 28; tool_time 28; by 20; stage_word 10; step# 6; angle_deg# 10;"
        "angle_low# 10; angle_high# 10; adapter 50; drag_nm# 9; wrench_length_mm# 12; said_by 20; said_at 28;"
        "declared_value# 14; declared_unit 12; declared_tool 20; said_reason 40"
    ),
    # The first five are what `witnessmark wrench check --from FILE.csv` reads.
    What.CHECKS: _columns(
        "time 28; wrench 10; reference# 13; shown# 13; unit 8; by 20; reference_nm# 13; shown_nm# 13; error_percent# 14;"
        "void 30; simulated 12; entry# 8"
    ),
}
"""The columns of each table, in their order.

One row of readings is one value that a wrench sent, with its latest match: `n` counts within the job, `received_at` is our
clock, `tool_time` the tool's own as sent, `low_nm` and `high_nm` the edges that it was judged by (`upper_edge` says whether
a torque on the upper one is in band or over), `probability` that joint and stage are right, `entry` its number in the
ledger, `raw_hex` the bytes as they came. One row of tightenings is one fastener and stage of the plan; `reading` is the `n`
of the counting one and empty where there is none, a fastener without a measured stage has one row with no stage;
`stage_word` is round, angle (judged by `angle_low` to `angle_high` degrees, not by its torque) or recheck (of step `step`),
`said_by` who declared the fastener, said that it is not fitted or let something stand. Where there is an `adapter` or a
`drag_nm`, a reading's `low_nm` and `high_nm` are what its wrench had to show, a tightening's what the fastener had to get.
New columns come last, so that the others keep their places. One row of checks is one check, also one that was taken back:
`void` then says why; `entry` is what `wrench check --void` names. Edges on plain columns are in the joint's own unit;
instants are RFC 3339 texts in UTC; `simulated` says SIMULATED or nothing.
"""
