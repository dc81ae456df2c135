"""Opens the short job of a retorque step, linked to the job that it follows."""

from dataclasses import dataclass

from collector.record.jobs import next_number
from collector.record.recorder import Recorder
from schemas.bodies import JobClosed, JobOpened
from schemas.follow_up import Followed, FollowUp
from schemas.job_state import JobState


@dataclass(frozen=True, slots=True)
class NewRetorque:
    """What a short job is opened with: the step of the first job's plan, who does it, how far the item has gone since.

    `p_limit` as in a new job.
    """

    step: int
    fitter: str
    workshop: str
    distance: str | None = None
    p_limit: str | None = None


def follow_ups(recorder: Recorder, job: str, step: int) -> tuple[FollowUp, ...]:
    """The short jobs of a retorque step so far, oldest first."""
    rows = recorder.query(
        "SELECT job, closed_at IS NOT NULL, complete, missed + left_loose, outcome, outcome_reason FROM job "
        "WHERE follows = ? AND step = ? ORDER BY seq",
        job,
        step,
    )
    return tuple(
        FollowUp(
            str(number), bool(closed), bool(complete), int(str(untouched)), None if outcome is None else str(outcome),
            None if reason is None else str(reason),
        )
        for number, closed, complete, untouched, outcome, reason in rows
    )  # fmt: skip


def open_retorque(recorder: Recorder, first: JobState, new: NewRetorque) -> JobState:
    """Record a short job on the item of the first one, after the revision that this one ended with.

    Where the item was erased, the new job names it by the same hash, and nobody can read it either.
    """
    job = next_number(recorder)
    with recorder.transaction():
        fitter = recorder.person(new.fitter)
        known = recorder.query("SELECT value FROM private WHERE seq = ? AND field = 'item'", first.at.seq)
        item_sha256, kept = recorder.private("item", str(known[0][0])) if known else (first.opened.item_sha256, None)
        opened = JobOpened(
            job, first.plan_seq, item_sha256, first.opened.order, fitter, new.workshop, first.opened.simulated,
            first.opened.job, new.step, new.distance, new.p_limit,
        )  # fmt: skip
        seq = recorder.append(opened, fitter)
        if kept is not None:
            recorder.keep_private(seq, kept)
    return recorder.fold.jobs[job]


def open_not_done(recorder: Recorder, first: JobState, new: NewRetorque, reason: str) -> JobState:
    """Record that a retorque was offered and not done: a short job, closed as it is opened, by the person who says so."""
    with recorder.transaction():
        state = open_retorque(recorder, first, new)
        recorder.append(JobClosed(state.opened.job, str(Followed.NOT_DONE), reason), state.opened.fitter)
    return state
