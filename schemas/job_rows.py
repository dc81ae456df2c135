"""Projection rows of one job, each a pure function of its state; columns are those of `schemas.database`."""

from collections import Counter
from collections.abc import Iterable, Iterator
from decimal import Decimal
from math import prod

from schemas import database as db
from schemas.bodies import (
    Decided,
    HandedOver,
    JointAdded,
    LinkKept,
    NotRead,
    PlanChanged,
    ReportIssued,
    Signed,
)
from schemas.database import Row, Table
from schemas.errors import Fate
from schemas.fastener_state import At, Pull
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.likelihood import p_text, read_p
from schemas.route import Stage
from schemas.words import Proof, StageWord, StepWord, Verdict

TableRow = tuple[Table, Row]
COMPLETE_PROOFS = frozenset({Proof.PROVEN, Proof.DECLARED, Proof.NOT_FITTED})


def unsigned_hold_points(state: JobState) -> tuple[str, ...]:
    """The hold points of the plan that nobody has signed yet, in the plan's order."""
    return tuple(
        step.hold_point
        for step in state.route.steps
        if step.word is StepWord.HOLD_POINT and step.hold_point and step.hold_point not in state.hold_points
    )


def is_complete(state: JobState, proofs: Iterable[Proof]) -> bool:
    """Whether the torque record is complete, given every proof that one of its fasteners has (once is enough)."""
    return all(proof in COMPLETE_PROOFS for proof in proofs) and not unsigned_hold_points(state) and not state.numbers.count


def job_row(state: JobState, counts: Counter[Proof]) -> TableRow:
    """The row of the job; `counts` are those of all its fasteners."""
    complete = is_complete(state, (proof for proof, count in counts.items() if count))
    opened = state.opened
    return db.JOB, (
        opened.job, state.at.seq, state.plan_seq, state.route.plan, state.route.revision, opened.order, opened.fitter,
        opened.workshop, state.at.at, state.closed.at if state.closed else None, opened.simulated or 0,
        int(complete), sum(counts.values()), *(counts[proof] for proof in _PROOF_COLUMNS), len(state.pulls), state.strays,
        state.fates[Fate.UNREADABLE], state.fates[Fate.SET_ASIDE], len(unsigned_hold_points(state)), state.numbers.count,
        opened.follows, opened.step, opened.distance, state.outcome, state.outcome_reason, _p_complete(state), opened.p_limit,
    )  # fmt: skip


_PROOF_COLUMNS = (
    Proof.PROVEN, Proof.DECLARED, Proof.NOT_FITTED, Proof.DOUBTFUL, Proof.LEFT_LOOSE, Proof.MISSED, Proof.FAILED,
)  # fmt: skip


def joint_rows(job: str, state: JointState) -> Iterator[TableRow]:
    """The rows of a joint: one a measured stage, one a fastener, one a fastener and stage.

    Of a stage it is missed what nobody answers for: not what is declared, not fitted, or turned by hand.
    """
    joint, summary = state.joint, state.summary
    worst = str(summary.worst)
    for stage in joint.stages:
        pulls = [fastener.stages[stage.number - 1] for fastener in state.fasteners]
        verdicts = [pull.verdict for pull in pulls if pull is not None]
        yield db.JOINT, (
            job, joint.id, stage.number, len(joint.stages), joint.name, joint.fasteners, len(verdicts),
            _missed(state, stage, pulls), verdicts.count(Verdict.UNDER), verdicts.count(Verdict.OVER), worst,
            None if (p := state.p_counted(stage.number)) is None else p_text(p), int(state.confirmed_seq is not None),
        )  # fmt: skip
    for position, (fastener, (proof, why)) in enumerate(zip(state.fasteners, summary.proofs, strict=True), 1):
        yield db.FASTENER, (job, joint.id, position, str(proof), "; ".join(why))
        for number, pull in enumerate(fastener.stages, 1):
            yield db.TIGHTENING, (job, joint.id, position, number, *((pull.seq, pull.verdict) if pull else (None, None)))


def _p_complete(state: JobState) -> str | None:
    """The probability that every stage of every joint is whole: as it was worked out, or of what persons confirmed since.

    None where it is not known: nothing was counted, or something was done since that no count knows of.
    """
    seq, kept = state.counted.get((None, None), (0, ""))
    joints = state.joints.values()
    counts = [joint.summary.counted.get(stage.number) for joint in joints for stage in joint.joint.stages]
    if not seq or any(count is not None and count.stale is not None for count in counts):
        return None
    if all((joint.confirmed_seq or 0) < seq for joint in joints):
        return p_text(read_p(kept))
    known = [count.p for count in counts if count is not None]
    return p_text(prod(known, start=Decimal(1))) if len(known) == len(counts) else None


def _missed(state: JointState, stage: Stage, pulls: list[Pull | None]) -> int:
    if None not in pulls or state.is_past(stage):
        return 0
    is_angle = stage.word is StageWord.ANGLE
    lacking = (fastener for fastener, pull in zip(state.fasteners, pulls, strict=True) if pull is None)
    return sum(not fastener.is_settled and not (is_angle and fastener.turned) for fastener in lacking)


def reading_row(pull: Pull) -> TableRow:
    """The row of a reading with its latest match."""
    reading, match = pull.reading, pull.match
    matched: Row = (None,) * 10
    through: Row = (None,) * 4
    if match is not None:
        matched = (
            match.joint, match.stage, match.position, match.position_by, match.kind, match.verdict, match.p, match.reason,
            match.low, match.high,
        )  # fmt: skip
        through = (match.angle_low, match.angle_high, match.adapter, match.drag)
    return db.READING, (
        pull.seq, reading.job, pull.n, pull.at, pull.by, reading.frame, reading.log, reading.line, reading.identity,
        reading.wrench, reading.measures, reading.torque, reading.unit, reading.torque_nm,
        None if reading.torque_nm is None else float(reading.torque_nm), reading.over_range or 0, reading.sequence,
        reading.tool_time, reading.angle_deg, "; ".join(reading.notes or ()), reading.fit or 0, reading.unfit, *matched,
        pull.match_seq, pull.revisions, reading.simulated or 0, *through, reading.length_mm,
    )  # fmt: skip


def event_row(at: At, body: object) -> TableRow | None:
    """The row of an entry that stands for itself, such as what was not read, decided or signed; None for the others."""
    match body:
        case NotRead():
            return db.NOT_READ, (
                at.seq, body.job, at.at, body.fate, body.reason, body.frame, body.log, body.line, body.raw, body.identity,
                body.simulated or 0,
            )  # fmt: skip
        case Decided():
            return db.DECISION, (
                at.seq, body.job, at.at, at.by, body.said, body.joint, body.position, body.count, body.of, body.reading,
                body.simulated or 0, body.reason, body.value, body.unit, body.tool, body.lot, body.step,
            )  # fmt: skip
        case Signed():
            return db.SIGNATURE, (
                at.seq, body.job, at.at, at.by, body.role, body.hold_point, body.snug, body.simulated or 0, body.second,
                body.value, body.unit,
            )  # fmt: skip
        case LinkKept():
            return db.LINK, (
                at.seq, body.job, at.at, body.source, body.link, body.joint, body.detail, body.simulated or 0,
            )  # fmt: skip
        case HandedOver():
            return db.HAND_OVER, (
                at.seq, body.job, at.at, at.by, body.signs, body.leaver, body.taker, "\n".join(body.open), body.simulated or 0,
            )  # fmt: skip
        case JointAdded():
            joint = body.joint
            return db.JOINT_ADDED, (
                at.seq, body.job, at.at, at.by, str(joint["id"]), str(joint["name"]), int(str(joint["fasteners"])), body.source,
            )  # fmt: skip
        case PlanChanged():
            return db.PLAN_CHANGED, (at.seq, body.job, at.at, at.by, body.plan, body.reason)
        case ReportIssued():
            return db.REPORT, (
                at.seq, body.job, at.at, at.by, body.form, body.sha256, body.length, body.tree_size, body.tree_head,
            )  # fmt: skip
    return None

