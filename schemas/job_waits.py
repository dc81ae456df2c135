"""What a pull, a declaration or an opening of a job should have waited for and did not. Pure."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from schemas.bodies import Decided
from schemas.fastener_state import At, Pull, Saying
from schemas.words import Kind, Said

if TYPE_CHECKING:
    from schemas.job_state import JobState


def unmet_of(job: "JobState", joint: str) -> Mapping[int, tuple[str, ...]]:
    """For each pull and each declaration of a joint, by its number, what it should have waited for; those alone that did not."""
    if joint not in job.walk.waiters:
        return {}
    events = (event for event in job.joints[joint].events if not isinstance(event, int))
    unmet = {event.seq if isinstance(event, Pull) else event.at.seq: unmet_before(job, joint, event) for event in events}
    return {seq: texts for seq, texts in unmet.items() if texts}


def unmet_before(job: "JobState", joint: str, event: Pull | Saying) -> tuple[str, ...]:
    """What a pull or a declaration on a joint should have waited for, in words; empty where it waited, and of anything else."""
    if joint not in job.walk.waiters:
        return ()
    state, stage, pulled_at = job.joints[joint], None, None
    if isinstance(event, Saying):
        if event.decided.said != Said.DECLARED or event.decided.step is not None:
            return ()
        seq, done = event.at.seq, "declared"
        stage = state.joint.final if state.joint.stages else None
    else:
        match = event.match
        if match is None or match.stage is None or match.kind != Kind.TIGHTENING:
            return ()
        seq, done, stage = event.seq, "torqued", state.joint.stages[match.stage - 1]
        pulled_at = None if event.reading.log is None else event.pulled_at
    now = job.pass_of(joint, stage)
    return () if now is None else tuple(f"{done} before {what}" for what in job.waits(now.step, seq, pulled_at))


def as_planned(job: "JobState", at: At, decided: Decided) -> Decided:
    """What was said; an opening that did not wait for what its step waits for is one that the plan has not asked for yet."""
    if decided.said != Said.OPENED or decided.step is None:
        return decided
    step = next((step for step in job.route.steps if step.number == decided.step), None)
    is_early = step is not None and any(job.waits(step, at.seq))
    return replace(decided, step=None) if is_early else decided
