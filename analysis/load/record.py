"""What is known of one job, ready to be shown: rows with names put in, texts as they were sent, nothing judged anew."""

from collections.abc import Mapping
from dataclasses import dataclass

from analysis.load.record_pulls import Correction, FastenerRow, JointRow, MissingNumbers, NotReadRow, ReadingRow
from analysis.load.record_said import (
    DecisionRow,
    HandOverRow,
    HoldPointRow,
    JointAddedRow,
    LinkRow,
    LoadingRow,
    PlanChangeRow,
    PreparationRow,
    Retorque,
    SignatureRow,
)
from schemas.errors import Fate
from schemas.route import Joint, Route
from schemas.words import Kind, Proof, Said


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
    follows: str | None = None
    outcome: str | None = None


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
    `last_error_percent` the largest error of that day, with its sign. `length_mm` runs from the drive to the grip mark.
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
    length_mm: str | None = None


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
    `joints` has no row of a joint whose torque the procedure does not state. A retorque job `follows` another one and does
    `step` of its plan, the item having gone `distance`; `outcome` is what it was closed as where that is not simply done.
    `findings` stood open on the plan when the job was opened. `p_complete` is the probability that no fastener was left out at
    any stage, None where it is not known; the shop counts as sure what reaches `p_limit`, None: 0.99.
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
    follows: str | None = None
    step: int | None = None
    distance: str | None = None
    outcome: str | None = None
    outcome_reason: str | None = None
    preparations: tuple[PreparationRow, ...] = ()
    loadings: tuple[LoadingRow, ...] = ()
    hand_overs: tuple[HandOverRow, ...] = ()
    joints_added: tuple[JointAddedRow, ...] = ()
    plan_changes: tuple[PlanChangeRow, ...] = ()
    findings: tuple[str, ...] = ()
    p_complete: str | None = None
    p_limit: str | None = None

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

    @property
    def unstated(self) -> tuple[Joint, ...]:
        """The joints whose torque the procedure does not state: they have no stage, and can only be declared."""
        return tuple(joint for joint in self.route.joints if not joint.stages)

    @property
    def found(self) -> tuple[DecisionRow, ...]:
        """The torques that were found on fasteners before they were opened."""
        return tuple(row for row in self.decisions if row.said == Said.AS_FOUND)

    def fasteners_of(self, joint: str) -> tuple[FastenerRow, ...]:
        """The fasteners of one joint."""
        return tuple(fastener for fastener in self.fasteners if fastener.joint == joint)
