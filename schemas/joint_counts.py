"""How sure it is that every fastener of a joint got its tightening at a stage, and what stands against that. Pure."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from schemas.bodies import CountKept
from schemas.errors import RecordError
from schemas.fastener_state import At, FastenerState, Pull, Saying
from schemas.likelihood import confirmed_p, p_shown, read_p
from schemas.words import Kind, Said, StageWord

if TYPE_CHECKING:
    from schemas.job_state import JobState
    from schemas.joint_state import JointState

_OPENS = (Said.OPENED, Said.INSPECTED, Said.REPLACED, Said.NOT_DONE)
"""After these words what was done before counts no more."""


@dataclass(frozen=True, slots=True)
class Count:
    """The probability of one stage as it stands: `p`, lifted where a person has counted since; `stale` says why it holds no more.

    `seen` says that a person has counted the joint, and said yes, when this stage was done.
    """

    p: Decimal
    seen: bool
    stale: str | None

    @property
    def p_now(self) -> Decimal | None:
        """The probability, None where something was done since that it knows nothing of."""
        return self.p if self.stale is None else None


def take_count(job: "JobState", at: At, count: CountKept) -> set[str]:
    """Let a count stand for a stage of a joint, or for the whole job; gives the joint that it changes.

    RecordError where it has only one of joint and stage, ValueError where its `p` is no probability.
    """
    p = read_p(count.p)
    if (count.joint is None) is not (count.stage is None):
        raise RecordError(f"entry {at.seq} counts a joint without its stage, or a stage without its joint; run `verify`")
    if count.joint is not None and count.stage is not None:
        job.state_of(count.joint).take_count(at.seq, count.stage, p)
    job.counted[count.joint, count.stage] = at.seq, count.p
    return set() if count.joint is None else {count.joint}


def counts_of(state: "JointState") -> Mapping[int, Count]:
    """By stage what was counted; empty where nothing was, as of a matcher by order alone."""
    return {stage.number: _count(state, stage.number) for stage in state.joint.stages if stage.number in state.counted}


def doubt_of_counts(state: "JointState", stages: Iterable[int], counts: Mapping[int, Count]) -> str | None:
    """Why the counts of these stages do not prove that nothing was left out, the worst of them; None where they do."""
    heads = {number: f"stage {number}" if len(state.joint.stages) > 1 else "" for number in stages}
    for number, head in heads.items():
        if number not in counts:
            return f"{head or 'it'} was not counted"
        if (stale := counts[number].stale) is not None:
            return stale
    worst = min(heads, key=lambda number: counts[number].p)
    if counts[worst].p >= state.limit:
        return None
    head, p = heads[worst], p_shown(counts[worst].p, state.limit)
    if counts[worst].seen:
        seen = f"counted {state.to_see} of {state.to_see}"
        return f"{seen}, but the readings bear {head or 'it'} out with p = {p} only: look at the joint"
    return f"{f'{head}: ' if head else ''}{_done(state, worst)} by count and timing, p = {p}"


def _done(state: "JointState", stage: int) -> str:
    """Of the fasteners that are pulled, since nobody answers for them, how many are."""
    pulls = [fastener.stages[stage - 1] for fastener in state.fasteners if not fastener.is_settled]
    return f"{sum(pull is not None for pull in pulls)} of {len(pulls)}"


def _count(state: "JointState", stage: int) -> Count:
    seq, p = state.counted[stage]
    said = state.confirmed_seq or 0
    # Stripes are put after the final: they say nothing of the rounds before it.
    confirmed = said if stage >= state.joint.final.number else 0
    stale = next((text for text, since in _since(state, stage) if since > max(seq, confirmed)), None)
    is_later_check = state.joint.stages[stage - 1].word is StageWord.RECHECK and not state.joint.is_check
    seen = said > 0 and (said > seq or not is_later_check)
    return Count(confirmed_p(p) if confirmed > seq else p, seen, stale)


def _since(state: "JointState", stage: int) -> Iterator[tuple[str, int]]:
    """What makes an older count say nothing any more, with the last entry that did it."""
    yield "counted before it was opened again", state.opened_since
    yield "counted before a revision changed it", max(state.since, state.changed[0] if state.changed else 0)
    pulls = (pull for fastener in state.fasteners for pull in fastener.earlier[stage - 1])
    where = f" in stage {stage}" if len(state.joint.stages) > 1 else ""
    yield f"pulled{where} after it was counted", max((pull.match_seq or 0 for pull in pulls), default=0)


def was_refused(state: "JointState", fastener: FastenerState) -> bool:
    """Whether who counted last did not see them all, named none that was to be done, and nobody has counted since.

    What was pulled since may have been on any of them: no probability overrules who looked. A fastener that was opened since
    begins anew.
    """
    said = [event for event in state.events if isinstance(event, Saying)] if state.confirmed_seq is None else []
    last = next((one for one in reversed(said) if one.decided.said == Said.STRIPES), None)
    if last is None or last.at.seq < fastener.opened_seq or last.decided.count == last.decided.of:
        return False
    return not any(one.decided.said == Said.NOT_DONE and one.at.seq > last.at.seq for one in said)


def was_before_opening(state: "JointState", position: int, pull: Pull) -> bool:
    """Whether a pull of a log that was read in after an opening came before it, by its wrench's clock."""
    at = pull.pulled_at if pull.reading.log is not None else None
    return at is not None and any(at <= opened for opened in _opened(state, position, pull.seq))


def _opened(state: "JointState", position: int, before: int) -> Iterator[datetime]:
    """When a fastener was opened, or begun anew by what a person said, in the entries before that number."""
    for event in state.events:
        if isinstance(event, Saying) and event.at.seq < before and event.decided.said in _OPENS:
            if event.decided.position in (None, position) or state.joint.reopen_joint:
                yield datetime.fromisoformat(event.at.at)
        elif isinstance(event, Pull) and event.seq < before and event.match and event.match.kind == Kind.LOOSENING:
            at = event.pulled_at if event.match.position == position or state.joint.reopen_joint else None
            yield from () if at is None else (at,)
