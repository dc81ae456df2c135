"""A wrench that sends: it counts its records, stamps them with its own clock and packs them by the wire format."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, tzinfo
from decimal import Decimal

from schemas.clock import Clock
from schemas.units import torque_text
from schemas.wire_format import WireFormat
from schemas.words import Measures
from sim.pack import pack_record

BATTERY_PERCENT = "80"
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_TICK = {"seconds": timedelta(seconds=1), "milliseconds": timedelta(milliseconds=1)}


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
        """The bytes of one pull that reached `torque` in `unit` (our symbol), as they go over the wire; counts the record."""
        wire, loosens = self._wire, torque < 0
        turned = wire.loosening if loosens else wire.tightening
        has_sign = not (wire.tightening and wire.loosening)
        record = pack_record(
            wire,
            {
                "wrench": self._id,
                "sequence": f"{self._next_sequence:04d}",
                "torque": torque_text(torque if has_sign else torque.copy_abs()).replace(".", wire.decimal_mark),
                "unit": _code_of(unit, wire.unit_codes) or unit.replace("·", "."),
                "tool_time": self._time(),
                "status": next((word for word, remark in wire.status.items() if word and not remark), ""),
                "kind": wire.peak[0] if wire.peak else "",
                "direction": turned[0] if turned else "",
                "measures": _code_of(Measures.HIGHEST, wire.measures_codes),
                "battery": BATTERY_PERCENT,
            },
        )
        self._next_sequence += 1
        return record

    def _time(self) -> str:
        now = self._clock.now()
        if self._wire.time_counts is not None:
            return str((now - _EPOCH) // _TICK[self._wire.time_counts])
        return now.astimezone(self._zone).isoformat(timespec="seconds")


def _code_of(meaning: str, codes: Mapping[str, str]) -> str:
    return next((code for code, stands_for in codes.items() if stands_for == meaning), "")
