"""Picks the peak of each pull from the samples of a wrench that marks none; pure."""

from dataclasses import dataclass, replace
from decimal import Decimal

from collector.decode.refuse import not_counted, set_aside
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.wire_format import Peaks
from schemas.words import Measures

A_SAMPLE = not_counted("a sample of a pull; its peak counts")
"""What becomes of a sample that ends no pull: its raw bytes are kept, and nothing more is said of it."""

_PAUSE_NS = 1_000_000_000  # a radio hands over in parts, so that less says nothing
_SHORTEST_S = Decimal("0.2")  # no pull is begun and over in less; common practice, no source
_BEYOND = Decimal("Infinity")
_NO_BEGINNING = "its beginning was not seen"


@dataclass(frozen=True, slots=True)
class Sample:
    """One value of the stream: its frame, the number of the entry that keeps its raw bytes, and what it says."""

    frame: Frame
    kept: int | None
    reading: Reading


class PeakPicker:
    """Follows the samples of one wrench over one session of its link; holds the highest of the pull in hand and no other.

    A pull begins at the first sample from `start_nm` on, to either side, and is over at the first one that lies
    `drop_percent` below the highest. After that the next one begins where the torque has been below `start_nm`, has
    turned to the other side, or has risen again by as much. A sample past the tool's range is higher than any other.
    """

    def __init__(self, peaks: Peaks) -> None:
        self._peaks = peaks
        self._left = 1 - peaks.drop_percent / 100
        self._top: Sample | None = None
        self._count = 0
        self._doubts: list[str] = []
        self._before: Sample | None = None
        # Where a pull may begin again: the lowest value since the last one, and how much it has to rise.
        self._lowest, self._rise = _BEYOND, Decimal(0)
        self._side = 1
        # What is not there just before the sample in hand, and the first sample of a pull that came behind a pause.
        self._lost, self._paused = "", False
        self._first: Sample | None = None

    def take(self, sample: Sample) -> Sample | None:
        """Take the next sample; gives the highest one of a pull that it ends, as the reading of that pull.

        The reading has no sequence number, since that counts samples. Its notes carry the rate. Its `doubt` says where the
        rate is too low, or samples of the pull are not there, so that it may have gone higher.
        """
        self._look_for_gap(sample)
        value, found = _value(sample), None
        if self._top is not None and value.is_finite() and value * self._side <= abs(_value(self._top)) * self._left:
            found = self._finish(self._top)
        if self._top is None:
            self._rest_or_begin(sample, value)
        elif abs(value) > abs(_value(self._top)):
            self._top = sample
        self._count += self._top is not None
        self._before, self._lost, self._paused = sample, "", False
        return found

    def miss(self) -> None:
        """A record came between the samples that gave no value; in a pull or just before it, it may have been the highest."""
        self._lost = "a record of it gave no value"
        if self._top is not None:
            self._doubt(self._lost)

    @property
    def unfinished(self) -> Sample | None:
        """The highest sample of the pull in hand; None between two pulls."""
        return self._top

    def _rest_or_begin(self, sample: Sample, value: Decimal) -> None:
        height = abs(value)
        turned = value * self._side < 0
        self._lowest = min(self._lowest, height)
        if height < self._peaks.start_nm:
            self._lowest, self._rise = Decimal(0), Decimal(0)
        elif self._before is None or turned or height >= self._lowest + self._rise:
            self._top, self._count, self._side = sample, 0, -1 if value < 0 else 1
            self._first = sample if self._paused else None
            if self._before is None:
                self._doubt(_NO_BEGINNING)
            elif self._lost:
                self._doubt(self._lost)

    def _finish(self, top: Sample) -> Sample:
        rate, enough = self._peaks.rate_hz, self._peaks.enough_hz
        if enough is not None and rate < enough:
            self._doubt(f"sampled at {rate:f} a second where {enough:f} are enough: cannot show a short over-pull")
        if top is self._first:
            # A tool that wakes up late sends the way down only.
            self._doubt(_NO_BEGINNING)
        note = f"picked from {self._count} samples at {rate:f} a second; the true peak may be higher"
        reading = replace(
            top.reading,
            sequence=None,
            measures=Measures.HIGHEST,
            notes=(*top.reading.notes, note),
            doubt="; ".join(self._doubts) or None,
        )
        self._top, self._doubts = None, []
        # Past its range nobody knows how high it was, so that only a rest tells the next pull from it.
        self._lowest, self._rise = abs(_value(top)), abs(_value(top)) * self._peaks.drop_percent / 100
        return replace(top, reading=reading)

    def _look_for_gap(self, sample: Sample) -> None:
        """Note samples that are not there, by their numbers, or by a pause where they have none."""
        if self._before is None:
            return
        number, last = sample.reading.sequence, self._before.reading.sequence
        if number is not None and last is not None:
            # A number that steps back has begun anew, and tells nothing.
            missing = max(number - last - 1, 0)
            which = f"sample {last + 1}" if missing == 1 else f"samples {last + 1} to {number - 1}"
            if missing:
                self._lost = f"{which} of it did not come"
            if missing and self._top is not None:
                self._doubt(self._lost)
            elif missing / self._peaks.rate_hz >= _SHORTEST_S:
                self._doubt(f"{which} did not come: a pull before it may not have been seen")
            return
        self._paused = sample.frame.mono_ns - self._before.frame.mono_ns > _PAUSE_NS
        if self._paused and self._top is not None:
            self._doubt("samples of it did not come for more than a second")

    def _doubt(self, why: str) -> None:
        if why not in self._doubts:
            self._doubts.append(why)


def why_unfinished(reading: Reading) -> FrameError:
    """Why a pull gives no reading that had not come down when its samples ended, `reading` being its highest sample."""
    reached = "had passed the tool's range" if reading.torque is None else f"had reached {reading.torque} {reading.unit}"
    return set_aside(f"unfinished pull: it {reached} and not come down when the samples ended; look at this fastener")


def _value(sample: Sample) -> Decimal:
    return _BEYOND if sample.reading.torque_nm is None else sample.reading.torque_nm
