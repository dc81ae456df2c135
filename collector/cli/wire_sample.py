"""Reads a sample of a wrench's bytes as its source would: cut by the framer, then decoded. Pure."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime

from collector.acquire.framing import framer_of
from collector.decode.frame import decode_frame
from collector.decode.peaks import A_SAMPLE
from collector.decode.peaks_by_source import PeaksBySource
from collector.decode.refuse import unreadable
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import WireFormat

_NO_TIME = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Tried:
    """One record of a sample; `is_lost_at_connect` where it is read here, and would not be as the first after a connect."""

    raw: bytes
    outcome: Reading | FrameError
    is_lost_at_connect: bool = False

    @property
    def shown(self) -> str:
        """The bytes on one line: as text where they are printable, else as pairs of hex digits."""
        text = self.raw.decode("ascii", "replace")
        return text if text.isprintable() and text.isascii() else self.raw.hex(" ")


def try_sample(wire: WireFormat, sample: bytes) -> list[Tried]:
    """Every record of a sample, in order. It is taken to begin with a whole record, and to be silent at its end only.

    Where the format picks peaks, those stand in the place of the values that they were picked from.
    """
    framer, peaks = framer_of(wire), PeaksBySource()
    whole = framer.feed(sample) + (framer.quiet() if wire.framing.by == "silence" else [])
    tried = []
    for piece in whole:
        frame = Frame("sample", piece.raw, _NO_TIME, 0, overlong=piece.overlong)
        outcome = _decoded(wire, frame)
        if wire.peaks is not None:
            frame, _, outcome = peaks.pick(wire.peaks, (frame, None, outcome))
            if outcome is A_SAMPLE:
                continue
        is_first = isinstance(outcome, Reading) and piece.after_open
        lost = is_first and isinstance(_decoded(wire, replace(frame, after_open=True)), FrameError)
        tried.append(Tried(frame.raw, outcome, lost))
    tried += [Tried(frame.raw, unfinished) for frame, _, unfinished in peaks.end("sample")]
    cut = unreadable("the sample ends in the middle of this record")
    return tried + [Tried(piece.raw, cut) for piece in framer.flush()]


def _decoded(wire: WireFormat, frame: Frame) -> Reading | FrameError:
    try:
        return decode_frame(wire, frame)
    except FrameError as error:
        return error
