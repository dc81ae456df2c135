"""What one run works with, and the entries that it makes of frames and readings."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime

from collector.decode.identity import decode_identity
from collector.expect.matcher import Matcher
from collector.record.recorder import Recorder
from collector.record.sequence import Sequences
from schemas.bodies import FrameKept, NotRead, ReadingKept
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.job_state import JobState
from schemas.units import torque_text
from schemas.wire_format import WireFormat
from schemas.wrench import unfit_because


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

    def keep_not_read(self, frame: Frame, kept: int | None, error: FrameError) -> None:
        """Record why a frame gave no reading; of a log (`kept` is None) its raw text goes into the same entry."""
        body = NotRead(
            self.job.opened.job, str(error.fate), str(error), kept, *self._of_log(frame), self._identity(frame, None),
            self.simulated_mark,
        )  # fmt: skip
        self.sequences.count_not_read()
        self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)

    def keep_reading(self, frame: Frame, kept: int | None, reading: Reading) -> int:
        """Record a value with whether its wrench was fit at that moment; gives the entry's number."""
        named = reading.wrench or self.wrench
        wrench = self.recorder.fold.wrenches.get(named or "")
        day = _certain_day(reading.tool_time) if self.log is not None else frame.received_at.date()
        unfit = unfit_because(wrench, named, reading.torque_nm, day)
        job = self.job.opened.job
        body = ReadingKept(
            job, kept, *self._of_log(frame), self._identity(frame, reading), named,
            wrench.measures if wrench else None, reading.torque, reading.unit,
            None if reading.torque_nm is None else torque_text(reading.torque_nm), int(reading.over_range) or None,
            reading.sequence, self.sequences.passed_over(named, job, reading.sequence), reading.tool_time,
            reading.angle_deg, reading.notes or None, None if unfit else 1, unfit, self.simulated_mark,
        )  # fmt: skip
        return self.recorder.append(body, self.by, frame.received_at, frame.mono_ns)

    def is_stored(self, frame: Frame, reading: Reading | None) -> bool:
        """Whether this record of a log was read in before; counts it where it was."""
        self.seen[frame.raw] += 1
        identity = self._identity(frame, reading)
        stored = any(
            self.recorder.query(f"SELECT 1 FROM {table} WHERE identity = ?", identity) for table in ("reading", "not_read")
        )
        if stored:
            self.already_stored += 1
            if reading is None:
                self.sequences.count_not_read()
            else:
                self.sequences.skip_stored()
        return stored

    def _of_log(self, frame: Frame) -> tuple[int | None, int | None, str | None]:
        return (None, None, None) if self.log is None else (self.log, frame.line, frame.raw.hex())

    def _identity(self, frame: Frame, reading: Reading | None) -> str | None:
        if self.log is None:
            return None
        return decode_identity(frame.raw, reading, self.seen[frame.raw], self.job.opened.job)


def _certain_day(tool_time: str | None) -> date | None:
    """The day of a time that was sent with its offset; None where it is absent, has no offset or is no ISO 8601."""
    try:
        instant = datetime.fromisoformat(tool_time or "")
    except ValueError:
        return None
    return instant.date() if instant.tzinfo is not None else None
