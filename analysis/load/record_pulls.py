"""Readings and fasteners of a job, ready to be shown: names put in, texts as they were sent, nothing judged anew."""

from dataclasses import dataclass
from datetime import datetime

from analysis.load.record_said import DecisionRow
from schemas.words import Proof, StageWord


@dataclass(frozen=True, slots=True)
class Raw:
    """Raw bytes as they came, in hex, and to read: `text` is the same hex where they are no text."""

    text: str
    hex: str


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading with its latest match.

    `torque` and `unit` are as sent; `torque_shown` is the same in `unit_shown`, the joint's unit, where that differs,
    rounded but never across an edge of the band. All are None above the tool's range. `at` is our time, `by` the
    person's name. `joint_name` is the last one that the joint had.

    `low_nm` and `high_nm` are the edges it was judged by, in N·m: as this wrench shows them, through the `adapter` that is
    put in words and with `drag` N·m added. `set_to` is what the wrench had to show for the stage's torque, in the joint's
    unit, None where that is the stage's torque itself. `angle_low` and `angle_high` are edges of an angle, in degrees.
    """

    seq: int
    n: int
    at: str
    by: str
    line: int | None
    wrench: str | None
    measures: str | None
    torque: str | None
    unit: str | None
    torque_nm: str | None
    torque_shown: str | None
    unit_shown: str | None
    over_range: bool
    sequence: int | None
    tool_time: str | None
    angle_deg: str | None
    notes: str
    fit: bool
    unfit: str | None
    joint: str | None
    joint_name: str | None
    stage: int | None
    position: int | None
    position_by: str | None
    kind: str | None
    verdict: str | None
    p: str | None
    reason: str | None
    low_nm: str | None
    high_nm: str | None
    revisions: int
    raw: Raw | None
    angle_low: str | None = None
    angle_high: str | None = None
    adapter: str | None = None
    drag: str | None = None
    length_mm: str | None = None
    set_to: str | None = None

    @property
    def pulled_at(self) -> datetime | None:
        """When it was pulled: ours where it came live, the tool's own where it came in a log; None where that is not certain."""
        try:
            at = datetime.fromisoformat(self.at if self.line is None else self.tool_time or "")
        except ValueError:
            return None
        return at if at.tzinfo is not None else None


@dataclass(frozen=True, slots=True)
class JointRow:
    """One joint and stage as the database counts it; `proof` is the worst of the joint's fasteners."""

    joint: str
    stage: int
    stages: int
    name: str
    fasteners: int
    tightened: int
    missed: int
    under: int
    over: int
    proof: str
    p_complete: str | None
    confirmed: bool


@dataclass(frozen=True, slots=True)
class StageDone:
    """One measured stage of one fastener; edges as plain digits in `unit` and in N·m, `reading` None where none counts.

    Where `high_is_in_band` is False the upper edge itself is over. Of an angle stage `angle_low` to `angle_high` degrees are
    what is judged, and the torque is what it begins from. A recheck belongs to `step` of the plan.
    """

    number: int
    share_percent: str
    unit: str
    low: str
    high: str
    low_nm: str
    high_nm: str
    high_is_in_band: bool
    verdict: str | None
    reading: ReadingRow | None
    word: StageWord = StageWord.ROUND
    angle_low: str | None = None
    angle_high: str | None = None
    step: int | None = None


@dataclass(frozen=True, slots=True)
class FastenerRow:
    """One fastener of the plan, in the plan's order.

    `why` says why it is no better; where it is proven, what the lead let stand. `said` is what a person said that the proof
    leans on, None where none does.
    """

    joint: str
    joint_name: str
    position: int
    proof: Proof
    why: str
    stages: tuple[StageDone, ...]
    said: DecisionRow | None = None

    @property
    def final(self) -> StageDone | None:
        """The stage that brings the full torque; of a joint that is only checked again its one stage; None without stages."""
        rounds = [stage for stage in self.stages if stage.word is StageWord.ROUND]
        return next(reversed(rounds or self.stages), None)


@dataclass(frozen=True, slots=True)
class NotReadRow:
    """A frame or a row of a log that gave no reading; `line` is the line in the file, None live."""

    seq: int
    at: str
    fate: str
    reason: str
    line: int | None
    raw: Raw


@dataclass(frozen=True, slots=True)
class MatchStep:
    """One match of a reading, as it stood from `at` on."""

    seq: int
    at: str
    by: str
    kind: str
    joint_name: str | None
    stage: int | None
    position: int | None
    verdict: str | None
    p: str | None
    reason: str


@dataclass(frozen=True, slots=True)
class Correction:
    """A reading that was placed or judged anew, with every match that said something else, the first one first."""

    n: int
    steps: tuple[MatchStep, ...]


@dataclass(frozen=True, slots=True)
class MissingNumbers:
    """Sequence numbers, both inclusive, that a wrench passed over and nobody read since."""

    wrench: str
    first: int
    last: int
