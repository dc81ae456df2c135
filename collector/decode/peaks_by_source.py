"""Keeps apart the samples of the wrenches of a run, so that each pull is picked from those of one wrench; pure."""

from collector.decode.peaks import A_SAMPLE, PeakPicker, Sample, why_unfinished
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import Peaks

Taken = tuple[Frame, int | None, Reading | FrameError]
"""A frame, the number of the entry that keeps its raw bytes, and what was made of it."""


class PeaksBySource:
    """The pickers of a run, one for each wrench of each source, for one session of its link."""

    def __init__(self) -> None:
        self._pickers: dict[str, dict[str | None, PeakPicker]] = {}

    def pick(self, peaks: Peaks, taken: Taken) -> Taken:
        """What a record of a sampled source brings: a pull that it ends, with the frame of its peak; or what it is itself.

        A sample that ends no pull is `A_SAMPLE`. What gave no value stays what it was.
        """
        frame, kept, decoded = taken
        pickers = self._pickers.setdefault(frame.source, {})
        if isinstance(decoded, FrameError):
            # What a wrench sends besides its samples stands for none of them.
            for picker in () if decoded.is_usual else pickers.values():
                picker.miss()
            return taken
        picker = pickers.setdefault(decoded.wrench, PeakPicker(peaks))
        peak = picker.take(Sample(frame, kept, decoded))
        return (frame, kept, A_SAMPLE) if peak is None else (peak.frame, peak.kept, peak.reading)

    def end(self, source: str) -> list[tuple[Frame, int | None, FrameError]]:
        """The session of a source has ended: each pull that had not come down, set aside with the frame of its highest sample."""
        begun = [picker.unfinished for picker in self._pickers.pop(source, {}).values()]
        return [(top.frame, top.kept, why_unfinished(top.reading)) for top in begun if top is not None]
