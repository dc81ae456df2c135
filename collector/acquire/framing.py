"""Cuts a stream of bytes into pieces as its wire format says, whatever the parts in which it arrives."""

from functools import partial

from collector.acquire.framing_line import LineFramer
from collector.acquire.framing_piece import Framer, Piece
from collector.acquire.framing_record import RecordFramer
from collector.acquire.framing_silence import SilenceFramer
from schemas.wire_format import WireFormat
from schemas.wire_record import fits

__all__ = ["Framer", "LineFramer", "Piece", "framer_of"]


def framer_of(wire: WireFormat) -> Framer:
    """A new framer for one session of one link that speaks this format."""
    framing = wire.framing
    if framing.by == "line":
        # A checksum vouches for a line that noise or another line ran into; a longer mark could come in two parts.
        return LineFramer(wire.longest, wire.start if wire.checksum and len(wire.start) == 1 else b"")
    if framing.by == "silence" and framing.silence_s is not None:
        return SilenceFramer(framing.silence_s, wire.longest)
    trailing = wire.checksum.size if wire.checksum and wire.checksum.after_stop else 0
    return RecordFramer(framing, wire.longest, trailing, partial(fits, wire))
