"""The retorques that the plan of a job asks for later, and the short jobs that were opened for them."""

import sqlite3

from analysis.load.record_said import Retorque, RetorqueJob
from analysis.load.source import Source
from schemas.follow_up import FollowUp
from schemas.words import Method, StepWord

_JOBS = "SELECT * FROM job WHERE follows = ? AND step = ? ORDER BY seq"
_METHODS = {Method.HOLD: "not slackened first", Method.BACK_OFF: "backed off a turn first"}


def retorques_of(source: Source) -> tuple[Retorque, ...]:
    """Each retorque step of the plan, with what became of it."""
    return tuple(
        Retorque(
            tuple(source.joints[joint].name for joint in step.joints),
            step.text,
            "" if step.method is None else _METHODS[step.method],
            tuple(_job(row) for row in source.db.execute(_JOBS, (source.job, step.number))),
        )
        for step in source.routes.now.steps
        if step.word is StepWord.RETORQUE
    )


def _job(row: sqlite3.Row) -> RetorqueJob:
    untouched = row["missed"] + row["left_loose"]
    made = FollowUp(
        row["job"], row["closed_at"] is not None, bool(row["complete"]), untouched, row["outcome"], row["outcome_reason"],
        row["declared"], row["not_fitted"],
    )  # fmt: skip
    return RetorqueJob(row["job"], row["distance"], made)
