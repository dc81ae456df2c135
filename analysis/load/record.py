"""What is known of one job, ready to be shown: rows with names put in, texts as they were sent, nothing judged anew."""

from collections.abc import Mapping
from dataclasses import dataclass

from schemas.errors import Fate
from schemas.route import Route
from schemas.words import Kind, Proof


@dataclass(frozen=True, slots=True)
class JobSummary:
    """One line of the list of jobs; `item` is None where it was erased, `complete` is what the database holds."""

    job: str
    plan: str
    title: str
    revision: str
    order_no: str
    item: str | None
    fitter: str
    opened_at: str
    closed_at: str | None
    simulated: bool
    complete: bool
    fasteners: int
    proven: int
    declared: int
    not_fitted: int
    doubtful: int
    left_loose: int
    missed: int
    failed: int
    readings: int
    strays: int
    unreadable: int
    set_aside: int
    unsigned: int
    missing_numbers: int


@dataclass(frozen=True, slots=True)
class Calibration:
    """A calibration that was the last one for at least one reading of the job; span in N·m, days inclusive."""

    certificate: str
    calibrated_on: str
    due_on: str
    low_nm: str
    high_nm: str


@dataclass(frozen=True, slots=True)
class WrenchUsed:
    """A wrench that sent readings of the job; all but its id is None where it is not in the register.

    `checks` counts its checks that were not taken back, `last_checked` is the day or instant of the last one, and
    `last_error_percent` the largest error of that day, with its sign.
    """

    wrench: str
    readings: int
    serial: str | None
    type: str | None
    low: str | None
    high: str | None
    unit: str | None
    measures: str | None
    calibrations: tuple[Calibration, ...]
    limit_percent: str | None = None
    checks: int = 0
    last_checked: str | None = None
    last_error_percent: float | None = None


@dataclass(frozen=True, slots=True)
class PlanUsed:
    """The plan revision that the job was opened with, and the file that it was read from."""

    seq: int
    plan: str
    title: str
    revision: str
    source: str
    content_sha256: str
    file: str
    file_sha256: str


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
    person's name.
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

    Where `high_is_in_band` is False the upper edge itself is over.
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


@dataclass(frozen=True, slots=True)
class FastenerRow:
    """One fastener of the plan, in the plan's order; `why` is empty where it is proven."""

    joint: str
    joint_name: str
    position: int
    proof: Proof
    why: str
    stages: tuple[StageDone, ...]


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
class DecisionRow:
    """What a named person said; `reading` is the number of the reading that it speaks of."""

    seq: int
    at: str
    by: str
    said: str
    joint: str | None
    joint_name: str | None
    position: int | None
    count: int | None
    of: int | None
    reading: int | None


@dataclass(frozen=True, slots=True)
class SignatureRow:
    """A signature under a hold point, or under the snug round of joint `snug`."""

    seq: int
    at: str
    by: str
    role: str
    hold_point: str | None
    snug: str | None
    snug_name: str | None


@dataclass(frozen=True, slots=True)
class HoldPointRow:
    """A hold point of the plan and its first signature, None where nobody signed."""

    hold_point: str
    ask: str
    sign: str
    signature: SignatureRow | None


@dataclass(frozen=True, slots=True)
class LinkRow:
    """The link to a wrench changed; `joint_name` was in hand."""

    seq: int
    at: str
    source: str
    link: str
    joint: str | None
    joint_name: str | None
    detail: str | None


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
    """A reading whose match was revised, with every match that it had, the first one first."""

    n: int
    steps: tuple[MatchStep, ...]


@dataclass(frozen=True, slots=True)
class MissingNumbers:
    """Sequence numbers, both inclusive, that a wrench passed over and nobody read since."""

    wrench: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Retorque:
    """A retorque that the plan asks for later, by the joints' names."""

    joints: tuple[str, ...]
    span: str


@dataclass(frozen=True, slots=True)
class LogFile:
    """A log file that was read in, with the SHA-256 of its bytes."""

    at: str
    file: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Tree:
    """The last tree head of the whole file: how many entries it covers, its hash in hex, and how many there are."""

    size: int
    head: str
    entries: int


@dataclass(frozen=True, slots=True)
class JobRecord:
    """One job, all of it, as of one moment.

    `reasons` are lines that say why the torque record is not complete, empty where it is. `item` is None where it was
    erased. Fasteners stand in the plan's order, readings in the order of arrival, everything else in the ledger's.
    """

    job: str
    workshop: str
    item: str | None
    order_no: str
    fitter: str
    opened_at: str
    closed_at: str | None
    simulated: bool
    plan: PlanUsed
    route: Route
    complete: bool
    reasons: tuple[str, ...]
    joints: tuple[JointRow, ...]
    fasteners: tuple[FastenerRow, ...]
    readings: tuple[ReadingRow, ...]
    not_read: tuple[NotReadRow, ...]
    decisions: tuple[DecisionRow, ...]
    signatures: tuple[SignatureRow, ...]
    hold_points: tuple[HoldPointRow, ...]
    links: tuple[LinkRow, ...]
    corrections: tuple[Correction, ...]
    missing: tuple[MissingNumbers, ...]
    retorques: tuple[Retorque, ...]
    wrenches: tuple[WrenchUsed, ...]
    logs: tuple[LogFile, ...]
    tree: Tree

    @property
    def proof_counts(self) -> Mapping[Proof, int]:
        """How many fasteners have which proof, every word, the best first."""
        return {proof: sum(fastener.proof is proof for fastener in self.fasteners) for proof in Proof}

    @property
    def strays(self) -> tuple[ReadingRow, ...]:
        """The readings that belong to no joint of this job."""
        return tuple(reading for reading in self.readings if reading.kind == Kind.STRAY)

    @property
    def set_aside(self) -> tuple[NotReadRow, ...]:
        """What could be decoded but not be decided."""
        return tuple(row for row in self.not_read if row.fate == Fate.SET_ASIDE)

    @property
    def unreadable(self) -> tuple[NotReadRow, ...]:
        """What could not be decoded."""
        return tuple(row for row in self.not_read if row.fate == Fate.UNREADABLE)
