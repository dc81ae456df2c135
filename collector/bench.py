"""What one run works with, and the entries that it makes of frames and readings."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from collector.decode.identity import decode_instant
from collector.decode.peaks_by_source import PeaksBySource, Taken
from collector.expect.bounds import stays_over
from collector.expect.matcher import Matcher
from collector.flag import flag_match
from collector.flag_wrench import WrenchFlags
from collector.known_pulls import KnownPulls, New
from collector.record.recorder import Recorder
from collector.record.sequence import Sequences
from collector.wrench_told import notes_of, unfit_of
from schemas.bodies import PROGRAM, FrameKept, MatchKept, NotRead, ReadingKept
from schemas.errors import FrameError
from schemas.fastener_state import Pull
from schemas.frame import Frame, Reading
from schemas.job_state import JobState
from schemas.units import torque_text
from schemas.wire_format import WireFormat


@dataclass(frozen=True, slots=True)
class Feed:
    """How the records of one source are read: their format, and the wrench in use where they name none.

    `is_typed` says that they are typed, so that another keyboard layout may have changed their signs.
    """

    wire: WireFormat
    wrench: str | None = None
    is_typed: bool = False


@dataclass(slots=True)
class Bench:
    """One job at work: who, after which plan, read how, recorded where.

    `by` is the fitter's id. `wire` and `wrench` say how a source is read that `feeds` does not name; `feeds` has those of a
    run with several, by name. `log` is the entry of the log being read in, None for a live source. With `confirm_each` it is
    asked of the last pull which fastener it was on; `not_known` is the entry of one of which nobody knows.
    """

    recorder: Recorder
    job: JobState
    matcher: Matcher
    wire: WireFormat
    by: str
    wrench: str | None = None
    simulated: bool = False
    log: int | None = None
    confirm_each: bool = False
    not_known: int | None = None
    feeds: Mapping[str, Feed] = field(default_factory=dict)
    peaks: PeaksBySource = field(default_factory=PeaksBySource)
    sequences: Sequences = field(init=False)
    _pulls: KnownPulls = field(init=False)
    _flags: WrenchFlags = field(init=False)
    _last_pulls: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.sequences = Sequences(self.recorder.query)
        self._pulls = KnownPulls(self.recorder.query, self.sequences)
        self._flags = WrenchFlags(pull.reading for pull in self.job.pulls.values())

    @property
    def simulated_mark(self) -> int | None:
        """1 on entries of a simulated source, else None."""
        return 1 if self.simulated else None

    @property
    def to_confirm(self) -> Pull | None:
        """The pull of which it is asked which fastener it was on, None where that is not asked."""
        last = self.job.last_pull if self.confirm_each else None
        return None if last is None or last.seq == self.not_known else last

    def feed_of(self, source: str) -> Feed:
        """How the records of a source are read."""
        return self.feeds.get(source) or Feed(self.wire, self.wrench)

    def joint_in_doubt(self, source: str) -> str | None:
        """The joint that may have been pulled unseen while the link of a source was lost, None where there is none.

        Of several it is the one that this source pulled last, as long as nobody has confirmed it; the others were seen.
        """
        last = self.job.pulls.get(self._last_pulls.get(source, 0))
        if len(self.feeds) < 2 or last is None or last.match is None or last.match.joint is None:
            return self.job.joint_in_hand
        return last.match.joint if self.job.is_under_way(last.match.joint) else None

    def pick_peak(self, taken: Taken) -> Taken:
        """What a record brings where its source sends samples; else the record itself."""
        peaks = self.feed_of(taken[0].source).wire.peaks
        return taken if peaks is None else self.peaks.pick(peaks, taken)

    def keep_frame(self, frame: Frame) -> int:
        """Record raw bytes before anybody has understood them; gives the entry's number."""
        wire = self.feed_of(frame.source).wire
        body = FrameKept(
            self.job.opened.job, frame.source, frame.raw.hex(), wire.name, int(frame.after_open) or None,
            int(frame.overlong) or None, int(frame.cut) or None, self.simulated_mark,
        )  # fmt: skip
        return self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)

    def keep_not_read(self, frame: Frame, kept: int | None, error: FrameError, identity: str | None = None) -> None:
        """Record why a frame gave no reading; of a log (`kept` is None) its raw text goes into the same entry."""
        body = NotRead(
            self.job.opened.job, str(error.fate), str(error), kept, *self._of_log(frame), identity, self.simulated_mark
        )
        self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)

    def keep_reading(self, frame: Frame, kept: int | None, reading: Reading, identity: str | None = None) -> int:
        """Record a value with whether its wrench was fit at that moment; gives the entry's number."""
        named = reading.wrench or self.feed_of(frame.source).wrench
        wrench = self.recorder.fold.wrenches.get(named or "")
        pulled_at = frame.received_at if self.log is None else decode_instant(reading.pulled_at or reading.tool_time)
        pulled_on = pulled_at.date() if pulled_at else None
        why = unfit_of(reading, wrench, named, pulled_on, simulated=self.simulated), reading.doubt
        unfit = "; ".join(filter(None, why)) or None
        notes = (*notes_of(reading, wrench, is_live=self.log is None), *self._of_unit(reading, named or frame.source))
        job = self.job.opened.job
        body = ReadingKept(
            job, kept, *self._of_log(frame), identity, named,
            reading.measures or (wrench.measures if wrench else None), reading.torque, reading.unit,
            None if reading.torque_nm is None else torque_text(reading.torque_nm), int(reading.over_range) or None,
            reading.sequence, self.sequences.passed_over(named, job, reading.sequence, frame.source), reading.tool_time,
            reading.angle_deg, notes or None, None if unfit else 1, unfit, self.simulated_mark,
            None if wrench is None or wrench.length_mm is None else f"{wrench.length_mm:f}",
            reading.serial, reading.battery, int(reading.battery_low) or None, reading.pulled_at,
        )  # fmt: skip
        seq = self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)
        self._last_pulls[frame.source] = seq
        self._pulls.take(body, frame.mono_ns)
        return seq

    def _of_unit(self, reading: Reading, key: str) -> Iterator[str]:
        # Of a log the change stands at its line already.
        if self.log is None:
            yield from self._flags.flag_unit_change(reading, key)
        yield from self._flags.flag_unit_fit(reading, key, self.job.route)

    def tell_new(self, frame: Frame, decoded: Reading | FrameError) -> New | None:
        """What is new in a frame, with its identity; None for a row of a log that was stored before."""
        feed = self.feed_of(frame.source)
        if isinstance(decoded, Reading) and feed.wire.peaks is None:
            decoded = self._flags.flag_zero(decoded, decoded.wrench or feed.wrench or frame.source, self.job.route) or decoded
        job = None if self.log is None else self.job.opened.job
        return self._pulls.tell_new(frame, decoded, feed.wire, feed.wrench, job)

    @property
    def already_stored(self) -> int:
        """How many records of the log were there before."""
        return self._pulls.left_out

    def _of_log(self, frame: Frame) -> tuple[int | None, int | None, str | None]:
        return (None, None, None) if self.log is None else (self.log, frame.line, frame.raw.hex())


def keep_match(bench: Bench, match: MatchKept, by: str = PROGRAM) -> None:
    """Record a match with its verdict, after what it puts right; one after the other, for each looks at those before.

    A revision that would make an over-pull good by moving it is left out: only the lead's decision does that. `by` is who said
    where the reading itself belongs.
    """
    flagged = flag_match(match, bench.job)
    if stays_over(bench.job.pulls[match.reading], flagged[-1]):
        for one in flagged:
            bench.recorder.append(one, by if one.reading == match.reading else PROGRAM)
