"""The fasteners of a job in the plan's order, each with what was done at every stage."""

import sqlite3
from collections.abc import Mapping

from analysis.load.record import FastenerRow, ReadingRow, StageDone
from analysis.load.shown import digits
from schemas.route import Joint, Route, Stage
from schemas.words import Proof

_NO_ROW = "the database has no row for it; run `witnessmark verify`"


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
    band = stage.band
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
    )
