"""What one run works with, and the entries that it makes of frames and readings."""

from collections import Counter
from dataclasses import dataclass, field

from collector.decode.identity import decode_instant, decode_memory_identity, decode_row_identity
from collector.expect.bounds import stays_over
from collector.expect.matcher import Matcher
from collector.flag import flag_match
from collector.record.recorder import Recorder
from collector.record.sequence import Sequences
from schemas.bodies import FrameKept, MatchKept, NotRead, ReadingKept
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.job_state import JobState
from schemas.units import torque_text
from schemas.wire_format import WireFormat
from schemas.wrench import unfit_because

_KNOWN_SQL = (
    "SELECT torque_nm FROM reading WHERE identity = ?1 UNION ALL SELECT NULL FROM not_read WHERE identity = ?1"
)


@dataclass(slots=True)
class Bench:
    """One job at work: who, after which plan, read how, recorded where.

    `by` is the fitter's id. `wrench` is the one in use where the records name none. `log` is the entry of the log being
    read in, None for a live source. `already_stored` counts records of the log that were there before.
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
    seen: Counter[bytes] = field(default_factory=Counter)
    sequences: Sequences = field(init=False)
    _fresh: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.sequences = Sequences(self.recorder.query)

    @property
    def simulated_mark(self) -> int | None:
        """1 on entries of a simulated source, else None."""
        return 1 if self.simulated else None

    def keep_frame(self, frame: Frame) -> int:
        """Record raw bytes before anybody has understood them; gives the entry's number."""
        body = FrameKept(
            self.job.opened.job, frame.source, frame.raw.hex(), self.wire.name, int(frame.after_open) or None,
            int(frame.overlong) or None, int(frame.cut) or None, self.simulated_mark,
        )  # fmt: skip
        return self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)

    def keep_not_read(self, frame: Frame, kept: int | None, error: FrameError, identity: str | None = None) -> None:
        """Record why a frame gave no reading; of a log (`kept` is None) its raw text goes into the same entry."""
        body = NotRead(
            self.job.opened.job, str(error.fate), str(error), kept, *self._of_log(frame), identity, self.simulated_mark
        )
        self.sequences.count_not_read(frame.raw)
        self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)

    def keep_reading(self, frame: Frame, kept: int | None, reading: Reading, identity: str | None = None) -> int:
        """Record a value with whether its wrench was fit at that moment; gives the entry's number."""
        named = reading.wrench or self.wrench
        wrench = self.recorder.fold.wrenches.get(named or "")
        pulled_at = frame.received_at if self.log is None else decode_instant(reading.tool_time)
        unfit = unfit_because(wrench, named, reading.torque_nm, pulled_at.date() if pulled_at else None)
        if wrench is not None and wrench.simulated and not self.simulated:
            unfit = f"wrench {named} is a simulated one, which proves nothing of a real pull"
        job = self.job.opened.job
        body = ReadingKept(
            job, kept, *self._of_log(frame), identity, named,
            wrench.measures if wrench else None, reading.torque, reading.unit,
            None if reading.torque_nm is None else torque_text(reading.torque_nm), int(reading.over_range) or None,
            reading.sequence, self.sequences.passed_over(named, job, reading.sequence), reading.tool_time,
            reading.angle_deg, reading.notes or None, None if unfit else 1, unfit, self.simulated_mark,
            None if wrench is None or wrench.length_mm is None else f"{wrench.length_mm:f}",
        )  # fmt: skip
        return self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)

    def tell_new(self, frame: Frame, decoded: Reading | FrameError) -> tuple[Reading | FrameError, str | None] | None:
        """What is new in a frame, with its identity; None for a row of a log that was stored before, which is counted.

        A pull that its wrench sends again is set aside, and so is one that comes with another value: both are kept.
        """
        if self.log is not None:
            self.seen[frame.raw] += 1
        memory = decode_memory_identity(decoded, decoded.wrench or self.wrench) if isinstance(decoded, Reading) else None
        known = self._known(memory)
        if known is not None and isinstance(decoded, Reading):
            value = "" if decoded.torque_nm is None else torque_text(decoded.torque_nm)
            if known != value:
                what = f"number {decoded.sequence} of wrench {decoded.wrench} is stored with {known or 'no'} N·m, here it has "
                decoded = FrameError(f"{what}{value or 'no'} N·m: both are kept, look at this pull", Fate.SET_ASIDE)
            elif self.log is None:
                decoded = FrameError("the wrench sent a pull again that is stored already; not counted twice", Fate.SET_ASIDE)
            else:
                self._leave_out(frame, decoded)
                return None
            memory = None
        identity = memory or self._row_identity(frame)
        if memory is None and self._known(identity) is not None:
            self._leave_out(frame, decoded)
            return None
        if identity is not None:
            new_value = decoded.torque_nm if isinstance(decoded, Reading) else None
            self._fresh[identity] = "" if new_value is None else torque_text(new_value)
        return decoded, identity

    def _leave_out(self, frame: Frame, decoded: Reading | FrameError) -> None:
        self.already_stored += 1
        if isinstance(decoded, Reading):
            self.sequences.skip_stored()
        else:
            self.sequences.count_not_read(frame.raw)

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


def keep_match(bench: Bench, match: MatchKept) -> None:
    """Record a match with its verdict, after what it puts right; one after the other, for each looks at those before.

    A revision that would make an over-pull good by moving it is left out: only the lead's decision does that.
    """
    flagged = flag_match(match, bench.job)
    if stays_over(bench.job.pulls[match.reading], flagged[-1]):
        for one in flagged:
            bench.recorder.append(one)
