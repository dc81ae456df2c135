"""Holds a proposed wire format against everything that was heard, with the framer and the decoder that will read it later."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal

from collector.acquire.framing import Piece, framer_of
from collector.decode import decode_frame
from collector.listen.draft import Draft
from collector.listen.heard import About, Heard
from schemas.errors import AuditError, FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

_ANY_UNIT = "N·m"
_NOW = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Decoded:
    """One piece of what was heard: of which pull (from 0), its bytes, and the reading or why there is none."""

    pull: int
    raw: bytes
    reading: Reading | None
    refusal: str = ""


def decode_heard(wire: WireFormat, heard: Heard) -> list[Decoded]:
    """Everything that was heard, decoded; the line is taken to have been silent before the first pull."""
    return [_decoded(wire, pull, piece) for pull, piece in _pieces(wire, heard)]


def decode_burst(wire: WireFormat, burst: bytes) -> list[Decoded]:
    """One more pull, decoded."""
    return decode_heard(wire, Heard((burst,), (None,)))


@dataclass(frozen=True, slots=True)
class Held:
    """A proposal that reads about the typed value of every pull; `is_exact` is whether it reads every digit of them.

    Values that were all typed without decimals are never exact: a person who pulled to about 50 means no digit by it.
    """

    wire: WireFormat
    is_exact: bool


def held_against(draft: Draft, heard: Heard) -> Held | None:
    """What comes of a proposal; None where it cannot be loaded, or does not read the value of a pull."""
    try:
        wire = load_wire_format(draft.text("proposed", _ANY_UNIT).encode(), "proposed")
    except AuditError:
        return None
    decoded = decode_heard(wire, heard)
    read = [
        (about, [one.reading for one in decoded if one.pull == pull and one.reading is not None and says(one.reading, about)])
        for pull, about in enumerate(heard.abouts)
        if about is not None
    ]
    if not all(readings for _, readings in read):
        return None
    has_decimals = all(about.last_digit < 1 for about, _ in read)
    return Held(wire, has_decimals and all(about.is_exactly(_torque(one[-1])) for about, one in read))


def says(reading: Reading, about: About) -> bool:
    """Whether a reading is about what a person typed, unit and sign included."""
    value = _torque(reading)
    is_typed_unit = about.unit in (None, reading.unit)
    return reading.torque is not None and is_typed_unit and about.fits(value) and (value < 0) == (about.value < 0)


def _torque(reading: Reading) -> Decimal:
    return Decimal(reading.torque or 0)


def _pieces(wire: WireFormat, heard: Heard) -> Iterator[tuple[int, Piece]]:
    framer = framer_of(wire)
    if not heard.is_divided:
        pieces = [*framer.feed(heard.bursts[0]), *framer.quiet(), *framer.flush()]
        yield from ((min(n, len(heard.abouts) - 1), piece) for n, piece in enumerate(pieces))
        return
    for pull, burst in enumerate(heard.bursts):
        # Each pull is followed by a silence of whole seconds, in which what was begun would have come.
        yield from ((pull, piece) for piece in [*framer.feed(burst), *framer.quiet(), *framer.flush()])


def _decoded(wire: WireFormat, pull: int, piece: Piece) -> Decoded:
    # The person pulled after the port was open, so that no record was half over.
    piece = replace(piece, after_open=False)
    try:
        reading = decode_frame(wire, Frame("listen", piece.raw, _NOW, 0, piece.after_open, piece.overlong))
    except FrameError as error:
        return Decoded(pull, piece.raw, None, f"{error.fate}: {error}")
    return Decoded(pull, piece.raw, reading)
