"""Tells what is new among the pulls that come: of a second download, over a second link, of a log after it came live."""

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

from collector.decode.identity import (
    decode_live_identity,
    decode_memory_identity,
    decode_row_identity,
    decode_wall_identity,
)
from collector.record.sequence import Sequences
from schemas.bodies import ReadingKept
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.log_time import UNTOLD
from schemas.units import torque_text
from schemas.wire_format import WireFormat

Query = Callable[..., Sequence[Sequence[Any]]]
New = tuple[Reading | FrameError, str | None]
"""What a frame brings that is new, with its identity."""

_KNOWN_SQL = (
    "SELECT torque_nm FROM reading WHERE identity = ?1 UNION ALL SELECT NULL FROM not_read WHERE identity = ?1"
)
_DOUBLED_NS = 2_000_000_000  # common practice, no source


class KnownPulls:
    """The pulls of a database and of the run in hand, by their identity.

    `left_out` counts rows of a log that were stored before. `query` asks the database.
    """

    def __init__(self, query: Query, sequences: Sequences) -> None:
        self.left_out = 0
        self._query, self._sequences = query, sequences
        self._seen: Counter[bytes] = Counter()
        self._fresh: dict[str, str] = {}
        self._stored_before: dict[str, bool] = {}
        self._latest: dict[str | None, tuple[ReadingKept, int]] = {}

    def take(self, kept: ReadingKept, mono_ns: int) -> None:
        """A reading was recorded: the next one of its wrench is held against it."""
        self._latest[kept.wrench] = kept, mono_ns

    def tell_new(
        self, frame: Frame, decoded: Reading | FrameError, wire: WireFormat, wrench: str | None, job: str | None
    ) -> New | None:
        """What is new in a frame, with its identity; None for a row of a log that was stored before, which is counted.

        A pull that its wrench sends again is set aside, and so is one that comes with another value: both are kept.

        Args:
            frame: the record.
            decoded: what was read of it.
            wire: its format.
            wrench: the wrench in use where the record names none.
            job: the job that the row of a log belongs to; None for a live record.
        """
        if job is not None:
            self._seen[frame.raw] += 1
        named = decoded.wrench or wrench if isinstance(decoded, Reading) else None
        memory = self._memory_identity(frame, decoded, wire, named)
        known = self._known(memory)
        if known is not None and isinstance(decoded, Reading):
            again = _sent_again(decoded, known)
            if again.is_usual and job is not None:
                self._leave_out(frame, decoded)
                return None
            decoded, memory = again, None
        if memory is None and isinstance(decoded, Reading) and job is None:
            decoded = self._doubled(frame, decoded, named) or decoded
        identity = memory or (None if job is None else decode_row_identity(frame.raw, self._seen[frame.raw], job))
        if memory is None and (stored := self._known(identity)) is not None and not _is_news(stored, decoded):
            self._leave_out(frame, decoded)
            return None
        if identity is not None:
            self._fresh[identity] = _torque_of(decoded)
        return decoded, identity

    def _doubled(self, frame: Frame, reading: Reading, named: str | None) -> FrameError | None:
        """Why a reading without a time is the one before it of its wrench, over whichever link; None where it is another."""
        before, mono_ns = self._latest.get(named, (None, 0))
        if before is None or reading.sequence is None or _said_of(before) != _said_of(reading):
            return None
        what = f"number {reading.sequence} of wrench {named or 'without a name'} came again with the same value"
        # So soon nobody pulls again, and the verdict on the pull itself has to stay on the screen.
        if frame.mono_ns - mono_ns < _DOUBLED_NS:
            return FrameError(f"{what}; not counted twice", Fate.SET_ASIDE, is_usual=True)
        todo = "was it another pull, leave `sequence` out of its wire format, for it does not count pulls"
        return FrameError(f"{what}; not counted: {todo}", Fate.SET_ASIDE)

    def _memory_identity(
        self, frame: Frame, decoded: Reading | FrameError, wire: WireFormat, named: str | None
    ) -> str | None:
        if isinstance(decoded, Reading):
            if named is not None and self._was_stored(named):
                others = decode_live_identity(decoded, named), decode_wall_identity(decoded, named)
                if (stored := next((one for one in others if self._known(one) is not None), None)) is not None:
                    return stored
            return decode_memory_identity(decoded, named, UNTOLD if wire.log is None else wire.log.time)
        # What a wrench sends besides its pulls has no number of its own.
        if not decoded.is_usual:
            self._sequences.count_not_read(frame.raw, frame.source)
        return None

    def _was_stored(self, wrench: str) -> bool:
        # Asked once, so that the rows of a first download need no look at the other forms that they may be stored in.
        if wrench not in self._stored_before:
            self._stored_before[wrench] = bool(self._query("SELECT 1 FROM reading WHERE wrench = ? LIMIT 1", wrench))
        return self._stored_before[wrench]

    def _leave_out(self, frame: Frame, decoded: Reading | FrameError) -> None:
        self.left_out += 1
        if isinstance(decoded, Reading):
            self._sequences.skip_stored(frame.source)

    def _known(self, identity: str | None) -> str | None:
        """The torque stored under an identity, in N·m, "" for none; None where the identity is not stored."""
        if identity is None or identity in self._fresh:
            return self._fresh.get(identity or "")
        rows = self._query(_KNOWN_SQL, identity)
        return str(rows[0][0] or "") if rows else None


def _torque_of(decoded: Reading | FrameError) -> str:
    return torque_text(decoded.torque_nm) if isinstance(decoded, Reading) and decoded.torque_nm is not None else ""


def _is_news(stored: str, decoded: Reading | FrameError) -> bool:
    """Whether a row of a log that was set aside before gives a value now, because somebody has declared what it left open."""
    return not stored and bool(_torque_of(decoded))


def _said_of(reading: Reading | ReadingKept) -> tuple[object, ...]:
    return reading.sequence, reading.torque, reading.unit, reading.angle_deg, reading.tool_time, reading.serial


def _sent_again(reading: Reading, known: str) -> FrameError:
    """What to say of a pull that is stored already with the torque `known` in N·m."""
    value = _torque_of(reading)
    if known == value:
        what = "the wrench sent a pull again that is stored already; not counted twice"
        return FrameError(what, Fate.SET_ASIDE, is_usual=True)
    what = f"number {reading.sequence} of wrench {reading.wrench} is stored with {known or 'no'} N·m, here it has "
    return FrameError(f"{what}{value or 'no'} N·m: both are kept, look at this pull", Fate.SET_ASIDE)
