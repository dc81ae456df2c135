"""The fasteners of a job in the plan's order, each with what was done at every stage."""

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from analysis.load.record_pulls import FastenerRow, ReadingRow, StageDone
from analysis.load.record_said import DecisionRow
from analysis.load.shown import digits
from schemas.route import Joint, Route, Stage
from schemas.words import Proof, Said

_NO_ROW = "the database has no row for it; run `witnessmark verify`"
_SPOKEN: Mapping[Proof, Said] = {
    Proof.DECLARED: Said.DECLARED, Proof.NOT_FITTED: Said.NOT_FITTED, Proof.PROVEN: Said.LET_STAND,
}  # fmt: skip


def load_fasteners(db: sqlite3.Connection, job: str, route: Route, readings: Mapping[int, ReadingRow]) -> tuple[FastenerRow, ...]:
    """One row a fastener of the plan; `readings` by the number of their entry.

    The plan decides which fasteners there are: one that the database has no row for is missed, never left out.
    """
    proofs = {
        (row["joint"], row["position"]): (Proof(row["proof"]), row["why"])
        for row in db.execute("SELECT joint, position, proof, why FROM fastener WHERE job = ?", (job,))
    }
    done = {
        (row["joint"], row["position"], row["stage"]): row["reading"]
        for row in db.execute("SELECT joint, position, stage, reading FROM tightening WHERE job = ?", (job,))
    }
    fasteners = []
    for joint in route.joints:
        for position in range(1, joint.fasteners + 1):
            proof, why = proofs.get((joint.id, position), (Proof.MISSED, _NO_ROW))
            stages = tuple(
                _stage_done(joint, stage, readings.get(done.get((joint.id, position, stage.number), 0))) for stage in joint.stages
            )
            fasteners.append(FastenerRow(joint.id, joint.name, position, proof, why, stages))
    return tuple(fasteners)


def _stage_done(joint: Joint, stage: Stage, reading: ReadingRow | None) -> StageDone:
    band, angle = stage.band, stage.angle
    return StageDone(
        number=stage.number,
        share_percent=digits(stage.share_percent),
        unit=joint.unit,
        low=digits(band.low),
        high=digits(band.high),
        low_nm=digits(band.low_nm),
        high_nm=digits(band.high_nm),
        high_is_in_band=band.high_is_in_band,
        verdict=None if reading is None else reading.verdict,
        reading=reading,
        word=stage.word,
        angle_low=None if angle is None else digits(angle.low),
        angle_high=None if angle is None else digits(angle.high),
        step=stage.step,
    )


def with_sayings(fasteners: Iterable[FastenerRow], decisions: Sequence[DecisionRow]) -> tuple[FastenerRow, ...]:
    """The fasteners with what a person said that their proof leans on: declared, not fitted, or let stand by the lead."""
    spoken: dict[tuple[str | None, str], list[DecisionRow]] = defaultdict(list)
    for said in decisions:
        spoken[said.joint, said.said].append(said)
    return tuple(replace(fastener, said=_said(fastener, spoken)) for fastener in fasteners)


def _said(fastener: FastenerRow, spoken: Mapping[tuple[str | None, str], list[DecisionRow]]) -> DecisionRow | None:
    word = _SPOKEN.get(fastener.proof)
    if word is None or (word is Said.LET_STAND and not fastener.why):
        return None
    found = [said for said in spoken.get((fastener.joint, word), ()) if said.position in (None, fastener.position)]
    if word is Said.DECLARED:
        # That it was marked and turned by its angle names the step; what was declared of the whole fastener does not.
        whole = fastener.why.startswith(str(Said.DECLARED))
        found = [said for said in found if (said.step is None) is whole]
    return next(reversed(found), None)
