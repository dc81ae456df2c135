"""What one run works with, and the entries that it makes of frames and readings."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from collector.decode.identity import (
    decode_instant,
    decode_live_identity,
    decode_memory_identity,
    decode_row_identity,
    decode_wall_identity,
)
from collector.decode.peaks_by_source import PeaksBySource, Taken
from collector.expect.bounds import stays_over
from collector.expect.matcher import Matcher
from collector.flag import flag_match
from collector.flag_wrench import UNIT_CHANGED, UNIT_FITS, WrenchFlags
from collector.record.recorder import Recorder
from collector.record.sequence import Sequences
from schemas.bodies import FrameKept, MatchKept, NotRead, ReadingKept
from schemas.errors import Fate, FrameError
from schemas.fastener_state import Pull
from schemas.frame import Frame, Reading
from schemas.job_state import JobState
from schemas.log_time import UNTOLD
from schemas.units import torque_text
from schemas.wire_format import WireFormat
from schemas.wrench import Wrench, unfit_because

_KNOWN_SQL = (
    "SELECT torque_nm FROM reading WHERE identity = ?1 UNION ALL SELECT NULL FROM not_read WHERE identity = ?1"
)


BATTERY_LOW = "battery low: change after this joint"
"""What is noted and shown of a live reading whose record says so; its value counts."""
_BATTERY_LOW_AS_DECODED = "battery low"
_SERIAL_DIFFERS = "serial number differs"
_UNKNOWN = ("is not in the register", "the record names no wrench")
_DOUBLED_NS = 2_000_000_000  # common practice, no source


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
    run with several, by name. `log` is the entry of the log being read in, None for a live source. `already_stored` counts
    records of the log that were there before.
    """

    recorder: Recorder
    job: JobState
    matcher: Matcher
    wire: WireFormat
    by: str
    wrench: str | None = None
    simulated: bool = False
    log: int | None = None
    already_stored: int = 0
    feeds: Mapping[str, Feed] = field(default_factory=dict)
    seen: Counter[bytes] = field(default_factory=Counter)
    peaks: PeaksBySource = field(default_factory=PeaksBySource)
    sequences: Sequences = field(init=False)
    _flags: WrenchFlags = field(init=False)
    _fresh: dict[str, str] = field(default_factory=dict)
    _last_pulls: dict[str, int] = field(default_factory=dict)
    _stored_before: dict[str, bool] = field(default_factory=dict)
    _latest: dict[str | None, tuple[int, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.sequences = Sequences(self.recorder.query)
        self._flags = WrenchFlags(pull.reading for pull in self.job.pulls.values())

    @property
    def simulated_mark(self) -> int | None:
        """1 on entries of a simulated source, else None."""
        return 1 if self.simulated else None

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
        unfit = "; ".join(filter(None, (self._unfit(frame, reading, wrench, named), reading.doubt))) or None
        notes = (*self._notes(reading, wrench), *self._of_unit(reading, named or frame.source))
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
        self._latest[named] = (seq, frame.mono_ns)
        return seq

    def _unfit(self, frame: Frame, reading: Reading, wrench: Wrench | None, named: str | None) -> str | None:
        pulled_at = frame.received_at if self.log is None else decode_instant(reading.pulled_at or reading.tool_time)
        if wrench is not None and wrench.simulated and not self.simulated:
            return f"wrench {named} is a simulated one, which proves nothing of a real pull"
        if wrench is not None and reading.serial is not None and reading.serial != wrench.serial:
            sent = f"{reading.serial} sent, {wrench.serial} in the register"
            return f"{_SERIAL_DIFFERS} ({sent}): is this wrench {named}?"
        return unfit_because(wrench, named, reading.torque_nm, pulled_at.date() if pulled_at else None)

    def _notes(self, reading: Reading, wrench: Wrench | None) -> tuple[str, ...]:
        notes = list(reading.notes)
        # Of a log the joint is long done.
        if reading.battery_low and self.log is None:
            notes = [BATTERY_LOW, *(note for note in notes if note != _BATTERY_LOW_AS_DECODED)]
        if wrench is not None and reading.measures is not None and reading.measures != wrench.measures:
            notes.append(f"the record says that its value is `{reading.measures}`, the register has `{wrench.measures}`")
        return tuple(notes)

    def _of_unit(self, reading: Reading, key: str) -> Iterator[str]:
        # Of a log the change stands at its line already.
        if self.log is None:
            yield from self._flags.flag_unit_change(reading, key)
        yield from self._flags.flag_unit_fit(reading, key, self.job.route)

    def tell_new(self, frame: Frame, decoded: Reading | FrameError) -> tuple[Reading | FrameError, str | None] | None:
        """What is new in a frame, with its identity; None for a row of a log that was stored before, which is counted.

        A pull that its wrench sends again is set aside, and so is one that comes with another value: both are kept.
        """
        if self.log is not None:
            self.seen[frame.raw] += 1
        decoded = self._unless_zero(frame, decoded)
        memory = self._memory_identity(frame, decoded)
        known = self._known(memory)
        if known is not None and isinstance(decoded, Reading):
            again = _sent_again(decoded, known)
            if again.is_usual and self.log is not None:
                self._leave_out(frame, decoded)
                return None
            decoded, memory = again, None
        if memory is None and isinstance(decoded, Reading) and self.log is None:
            decoded = self._doubled(frame, decoded) or decoded
        identity = memory or self._row_identity(frame)
        if memory is None and (stored := self._known(identity)) is not None and not _is_news(stored, decoded):
            self._leave_out(frame, decoded)
            return None
        if identity is not None:
            new_value = decoded.torque_nm if isinstance(decoded, Reading) else None
            self._fresh[identity] = "" if new_value is None else torque_text(new_value)
        return decoded, identity

    def _unless_zero(self, frame: Frame, decoded: Reading | FrameError) -> Reading | FrameError:
        feed = self.feed_of(frame.source)
        if isinstance(decoded, FrameError) or feed.wire.peaks is not None:
            return decoded
        return self._flags.flag_zero(decoded, decoded.wrench or feed.wrench or frame.source, self.job.route) or decoded

    def _doubled(self, frame: Frame, reading: Reading) -> FrameError | None:
        """Why a reading without a time is the one before it of its wrench, over whichever link; None where it is another."""
        named = reading.wrench or self.feed_of(frame.source).wrench
        seq, mono_ns = self._latest.get(named, (0, 0))
        before = self.job.pulls.get(seq)
        if before is None or reading.sequence is None or _said_of(before.reading) != _said_of(reading):
            return None
        what = f"number {reading.sequence} of wrench {named or 'without a name'} came again with the same value"
        # So soon nobody pulls again, and the verdict on the pull itself has to stay on the screen.
        if frame.mono_ns - mono_ns < _DOUBLED_NS:
            return FrameError(f"{what}; not counted twice", Fate.SET_ASIDE, is_usual=True)
        todo = "was it another pull, leave `sequence` out of its wire format, for it does not count pulls"
        return FrameError(f"{what}; not counted: {todo}", Fate.SET_ASIDE)

    def _memory_identity(self, frame: Frame, decoded: Reading | FrameError) -> str | None:
        if isinstance(decoded, Reading):
            wrench = decoded.wrench or self.feed_of(frame.source).wrench
            if wrench is not None and self._was_stored(wrench):
                others = decode_live_identity(decoded, wrench), decode_wall_identity(decoded, wrench)
                if (stored := next((one for one in others if self._known(one) is not None), None)) is not None:
                    return stored
            log = self.feed_of(frame.source).wire.log
            return decode_memory_identity(decoded, wrench, UNTOLD if log is None else log.time)
        # What a wrench sends besides its pulls has no number of its own.
        if not decoded.is_usual:
            self.sequences.count_not_read(frame.raw, frame.source)
        return None

    def _was_stored(self, wrench: str) -> bool:
        # Asked once, so that the rows of a first download need no look at the other forms that they may be stored in.
        if wrench not in self._stored_before:
            rows = self.recorder.query("SELECT 1 FROM reading WHERE wrench = ? LIMIT 1", wrench)
            self._stored_before[wrench] = bool(rows)
        return self._stored_before[wrench]

    def _leave_out(self, frame: Frame, decoded: Reading | FrameError) -> None:
        self.already_stored += 1
        if isinstance(decoded, Reading):
            self.sequences.skip_stored(frame.source)

    def _known(self, identity: str | None) -> str | None:
        """The torque stored under an identity, in N·m, "" for none; None where the identity is not stored."""
        if identity is None or identity in self._fresh:
            return self._fresh.get(identity or "")
        rows = self.recorder.query(_KNOWN_SQL, identity)
        return str(rows[0][0] or "") if rows else None

    def _of_log(self, frame: Frame) -> tuple[int | None, int | None, str | None]:
        return (None, None, None) if self.log is None else (self.log, frame.line, frame.raw.hex())

    def _row_identity(self, frame: Frame) -> str | None:
        if self.log is None:
            return None
        return decode_row_identity(frame.raw, self.seen[frame.raw], self.job.opened.job)


def news_of_wrench(taken: Pull | FrameError | None) -> str:
    """What the fitter has to be told of the wrench beside the verdict on a pull, in one line; "" for nothing."""
    if not isinstance(taken, Pull):
        return ""
    reading, news = taken.reading, []
    if reading.unfit is not None and reading.unfit.startswith(_SERIAL_DIFFERS):
        news.append(reading.unfit)
    if reading.unfit is not None and any(why in reading.unfit for why in _UNKNOWN):
        news.append(f"{reading.unfit}: what it pulls stays doubtful")
    if BATTERY_LOW in (reading.notes or ()):
        news.append(f"{reading.wrench or 'wrench'}: {BATTERY_LOW}")
    of_unit = [note for note in reading.notes or () if note.startswith((UNIT_CHANGED, UNIT_FITS))]
    news += [f"{reading.wrench or 'wrench'}: {note}" for note in of_unit]
    return "; ".join(news)


def _is_news(stored: str, decoded: Reading | FrameError) -> bool:
    """Whether a row of a log that was set aside before gives a value now, because somebody has declared what it left open."""
    return not stored and isinstance(decoded, Reading) and decoded.torque_nm is not None


def _said_of(reading: Reading | ReadingKept) -> tuple[object, ...]:
    return reading.sequence, reading.torque, reading.unit, reading.angle_deg, reading.tool_time, reading.serial


def _sent_again(reading: Reading, known: str) -> FrameError:
    """What to say of a pull that is stored already with the torque `known` in N·m."""
    value = "" if reading.torque_nm is None else torque_text(reading.torque_nm)
    if known == value:
        what = "the wrench sent a pull again that is stored already; not counted twice"
        return FrameError(what, Fate.SET_ASIDE, is_usual=True)
    what = f"number {reading.sequence} of wrench {reading.wrench} is stored with {known or 'no'} N·m, here it has "
    return FrameError(f"{what}{value or 'no'} N·m: both are kept, look at this pull", Fate.SET_ASIDE)


def keep_match(bench: Bench, match: MatchKept) -> None:
    """Record a match with its verdict, after what it puts right; one after the other, for each looks at those before.

    A revision that would make an over-pull good by moving it is left out: only the lead's decision does that.
    """
    flagged = flag_match(match, bench.job)
    if stays_over(bench.job.pulls[match.reading], flagged[-1]):
        for one in flagged:
            bench.recorder.append(one)
