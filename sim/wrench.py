"""A wrench that sends: it counts its records, stamps them with its own clock and packs them by the wire format."""

from collections.abc import Mapping
from datetime import tzinfo
from decimal import Decimal

from schemas.clock import Clock
from schemas.units import torque_text
from schemas.wire_format import FieldName, WireFormat

LINE_END = b"\r\n"


def pack_line(wire: WireFormat, values: Mapping[FieldName, str]) -> bytes:
    """One line of the format, without its end; fields that `values` does not name stay empty.

    Raises ValueError where a value would break the line: it holds the delimiter, the start mark or a line end, cannot
    be written in the encoding, or makes the line longer than allowed.
    """
    parts = [values.get(name, "") if name is not None else "" for name in wire.fields]
    for part in parts:
        for sign in (wire.delimiter, wire.begins, "\r", "\n", '"' if wire.quoted else ""):
            if sign and sign in part:
                raise ValueError(f"`{part!r}` holds {sign!r}, which would break the line; send it without")
    line = (wire.begins + wire.delimiter.join(parts)).encode(wire.encoding)
    if len(line) > wire.longest:
        raise ValueError(f"the line has {len(line)} bytes and the format allows {wire.longest}; send less")
    return line


class SimWrench:
    """One wrench on the wire.

    Args:
        wrench_id: what it calls itself in its records.
        wire: the format that it sends in.
        clock: what its own clock follows.
        zone: what its own clock is set to.
        first_sequence: the number of its next record; a day that goes on after a stop gives the last one plus 1.
    """

    def __init__(self, wrench_id: str, wire: WireFormat, clock: Clock, zone: tzinfo, first_sequence: int = 1) -> None:
        self._id = wrench_id
        self._wire = wire
        self._clock = clock
        self._zone = zone
        self._next_sequence = first_sequence

    def record(self, torque: Decimal, unit: str) -> bytes:
        """The bytes of one pull that reached `torque` in `unit` (our symbol), with the line end; counts the record."""
        line = pack_line(
            self._wire,
            {
                "wrench": self._id,
                "sequence": f"{self._next_sequence:04d}",
                "torque": torque_text(torque).replace(".", self._wire.decimal_mark),
                "unit": unit.replace("·", "."),
                "tool_time": self._clock.now().astimezone(self._zone).isoformat(timespec="seconds"),
                "status": "ok",
            },
        )
        self._next_sequence += 1
        return line + LINE_END
