"""A wire format as data: how one line of a wrench is laid out. One decoder reads them all."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Encoding = Literal["ascii", "utf-8", "latin-1"]
FieldName = Literal["wrench", "sequence", "torque", "unit", "tool_time", "angle", "status", "simulated"]
DecimalMark = Literal[".", ","]


@dataclass(frozen=True, slots=True)
class WireFormat:
    """How the lines of one kind of wrench or log are laid out.

    `begins` is a start mark that opens every line, "" where there is none. `delimiter` stands between fields; with
    `quoted` a field may stand in double quotes (RFC 4180). `fields` names them in order; None is kept raw but not
    read. `longest` is the longest line in bytes, line end not counted. `over_range` and `no_reading` are what stands
    in the torque field where the tool's range was passed, or where it has no value. `status` gives for each status
    word the remark to show, "" for one that means all is well. A line with anything in the field `simulated` is set
    aside: that is how an export marks what no wrench sent.
    """

    name: str
    encoding: Encoding
    delimiter: str
    fields: tuple[FieldName | None, ...]
    longest: int
    begins: str = ""
    quoted: bool = False
    decimal_mark: DecimalMark = "."
    over_range: tuple[str, ...] = ()
    no_reading: tuple[str, ...] = ()
    status: Mapping[str, str] = field(default_factory=dict)
