"""What persons said, signed and changed during a job, read from its rows."""

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from analysis.load.database import made
from analysis.load.record_pulls import ReadingRow
from analysis.load.record_said import (
    DecisionRow,
    HandOverRow,
    HoldPointRow,
    JointAddedRow,
    LinkRow,
    PlanChangeRow,
    SignatureRow,
)
from analysis.load.shown import digits
from analysis.load.signing import batch_notes, late_text
from analysis.load.source import Source
from schemas.bodies import Signed
from schemas.route import Step
from schemas.step_waits import is_passed, question_of
from schemas.words import StepWord

Said = tuple[tuple[DecisionRow, ...], tuple[SignatureRow, ...]]


def load_said(source: Source, numbers: Mapping[int, int]) -> Said:
    """Decisions and signatures, each with a note where it is one of a batch; `numbers` of the readings by their entry."""
    decisions = [
        made(
            DecisionRow,
            row,
            by=source.name(row["by"]),
            joint_name=source.joint_name(row["joint"]),
            reading=numbers.get(row["reading"]),
            notes=(),
        )
        for row in source.rows("decision")
    ]
    signatures = [
        made(
            SignatureRow,
            row,
            by=source.name(row["by"]),
            snug_name=source.joint_name(row["snug"]),
            second_name=source.joint_name(row["second"]),
            notes=(),
        )
        for row in source.rows("signature")
    ]
    # A measurement that did not pass signs nothing yet.
    notes = batch_notes([one for one in signatures if _passes(source, one)], decisions)
    return tuple(_noted(one, notes) for one in decisions), tuple(_noted(one, notes) for one in signatures)


def _noted(row: Any, notes: Mapping[int, str]) -> Any:  # noqa: ANN401  # a decision or a signature, and the same again
    return replace(row, notes=(notes[row.seq],)) if row.seq in notes else row


def load_hold_points(source: Source, said: Said, readings: Sequence[ReadingRow]) -> tuple[HoldPointRow, ...]:
    """The hold points of the plan as it stands now."""
    return tuple(
        _hold_point(source, step, said, readings)
        for step in source.routes.now.steps
        if step.word is StepWord.HOLD_POINT and step.hold_point is not None
    )


def _hold_point(source: Source, step: Step, said: Said, readings: Sequence[ReadingRow]) -> HoldPointRow:
    decisions, signatures = said
    mine = [signature for signature in signatures if signature.hold_point == step.hold_point]
    passed = [signature for signature in mine if _passes(source, signature)]
    asked = question_of(source.routes.now, step.hold_point)
    first = next((one for one in passed if question_of(source.routes.at(one.seq), step.hold_point) == asked), None)
    return HoldPointRow(
        step.hold_point or "",
        step.text,
        str(step.sign),
        first,
        _limits(step),
        tuple(signature for signature in mine if signature not in passed),
        "" if first is None else late_text(source.routes.now, step, first, readings, decisions),
    )


def _passes(source: Source, signature: SignatureRow) -> bool:
    """Whether what was measured lay inside the limits that the plan had at that moment."""
    signed = Signed(source.job, signature.role, signature.hold_point, value=signature.value)
    return is_passed(source.routes.at(signature.seq), signed)


def _limits(step: Step) -> str:
    if step.measure_low is None or step.measure_high is None:
        return ""
    return f"{digits(step.measure_low)} to {digits(step.measure_high)} {step.measure_unit}"


def load_hand_overs(source: Source) -> tuple[HandOverRow, ...]:
    """Each hand-over, with when the one who takes over signed it too, before another one began."""
    found: list[HandOverRow] = []
    for row in source.rows("hand_over"):
        if row["signs"] == "leaver":
            persons = source.name(row["leaver"]), source.name(row["taker"])
            found.append(HandOverRow(row["at"], *persons, tuple(filter(None, row["open"].split("\n"))), None))
        elif found and found[-1].taken_at is None and _is_of(row, source, found[-1]):
            found[-1] = replace(found[-1], taken_at=row["at"])
    return tuple(found)


def _is_of(row: sqlite3.Row, source: Source, handed: HandOverRow) -> bool:
    return (source.name(row["leaver"]), source.name(row["taker"])) == (handed.leaver, handed.taker)


def load_joints_added(source: Source) -> tuple[JointAddedRow, ...]:
    """The joints that were added to the job."""
    return tuple(made(JointAddedRow, row, by=source.name(row["by"])) for row in source.rows("joint_added"))


def load_plan_changes(source: Source) -> tuple[PlanChangeRow, ...]:
    """The changes to another revision of the plan."""
    found = []
    for row in source.rows("plan_changed"):
        before, after = source.routes.before(row["seq"]), source.routes.at(row["seq"])
        gone = [joint for joint in before.joints if joint.id not in after.by_id()]
        ids, names = tuple(joint.id for joint in gone), tuple(joint.name for joint in gone)
        found.append(PlanChangeRow(row["at"], source.name(row["by"]), after.revision, row["reason"], ids, names))
    return tuple(found)


def load_links(source: Source) -> tuple[LinkRow, ...]:
    """The changes of the link to a wrench."""
    return tuple(made(LinkRow, row, joint_name=source.joint_name(row["joint"])) for row in source.rows("link"))
