"""The proof of each fastener of a joint, and why it is no better; what the state of the joint comes to. Pure."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from schemas.fastener_state import FastenerState, Saying
from schemas.joint_counts import Count, counts_of
from schemas.joint_doubts import Doubt, declared_outside, find_doubts, lacks_angle, lacks_second, not_opened
from schemas.words import PROOF_ORDER, Proof, StageWord, Verdict

if TYPE_CHECKING:
    from schemas.joint_state import JointState

Proven = tuple[Proof, tuple[str, ...]]
_RANK = {proof: rank for rank, proof in enumerate(PROOF_ORDER)}


@dataclass(frozen=True, slots=True)
class Summary:
    """What the state of a joint comes to: each fastener's proof with why it is no better, and what is counted of them.

    `done` counts the fasteners whose own stages are all done, in or out of band, or that a person answers for; `all_done`
    says that none is lacking or still under. `counted` is by stage how sure it is that no fastener was left out.
    """

    proofs: tuple[Proven, ...]
    counts: Mapping[Proof, int]
    worst: Proof
    done: int
    all_done: bool
    counted: Mapping[int, Count]


def summarise(state: "JointState") -> Summary:
    """The summary of a joint as it stands."""
    counted = counts_of(state)
    proofs = tuple(_prove(state, position, counted) for position in range(1, state.joint.fasteners + 1))
    counts = Counter(proof for proof, _ in proofs)
    done = [_is_done(state, fastener) for fastener in state.fasteners]
    still_under = any(_is_still_under(state, fastener) for fastener in state.fasteners if not fastener.is_settled)
    all_done = all(done) and not still_under
    return Summary(proofs, counts, max(counts, key=_RANK.__getitem__), sum(done), all_done, counted)


def was_done(state: "JointState", fastener: FastenerState) -> bool:
    """Whether a fastener's own stages are all done, none of them still under, or a person answers for it."""
    return _is_done(state, fastener) and (fastener.is_settled or not _is_still_under(state, fastener))


def _is_still_under(state: "JointState", fastener: FastenerState) -> bool:
    ends = (state.joint.final, state.joint.own_stages[-1]) if state.joint.stages else ()
    for stage in ends:
        pull = fastener.stages[stage.number - 1]
        if pull is not None and pull.verdict == Verdict.UNDER:
            return True
    return False


def _is_done(state: "JointState", fastener: FastenerState) -> bool:
    own = state.joint.own_stages
    if fastener.is_settled or not own:
        return fastener.is_settled
    if own[-1].word is StageWord.ANGLE and fastener.turned is not None:
        return fastener.stages[state.joint.final.number - 1] is not None
    return fastener.stages[own[-1].number - 1] is not None


def _prove(state: "JointState", position: int, counted: Mapping[int, Count]) -> Proven:
    fastener = state.fasteners[position - 1]
    if fastener.over is not None:
        return Proof.FAILED, (_over_text(fastener),)
    if fastener.not_fitted is not None:
        return Proof.NOT_FITTED, (fastener.not_fitted.decided.reason or "no reason given",)
    if fastener.declared is not None:
        return _declared(state, position, fastener.declared)
    under = [number for number, pull in enumerate(fastener.stages, 1) if pull and pull.verdict == Verdict.UNDER]
    if under:
        return Proof.FAILED, (f"under-torque at stage {under[-1]}, not made good",)
    if not state.joint.stages:
        return _untouched(state, "not declared; its torque is not stated")
    if fastener.stages[state.joint.final.number - 1] is None:
        return _untouched(state, "not checked again" if state.joint.is_check else "no tightening of the final stage")
    return _judged(state, position, counted)


def _declared(state: "JointState", position: int, declared: Saying) -> Proven:
    """A person's word stands for the torque; not for its order, for a planned opening, or for a second person."""
    text, doubts = declared_text(declared), not_opened(state)
    doubts += declared_outside(state, position, declared.decided)
    doubts += [Doubt(what, since) for what, since in state.unmet.get(declared.at.seq, {}).items()]
    if state.joint.critical and lacks_second(state, state.fasteners[position - 1]):
        doubts.append(Doubt("no second person has signed"))
    if state.changed is not None and declared.at.seq < state.changed[0]:
        doubts.append(Doubt(state.changed[1]))
    open_, notes = _let_stand(state, position, doubts)
    return (Proof.DOUBTFUL, (text, *(doubt.text for doubt in open_))) if open_ else (Proof.DECLARED, (text, *notes))


def _let_stand(state: "JointState", position: int, doubts: list[Doubt]) -> tuple[list[Doubt], list[str]]:
    """The doubts that are open, and what the lead lets stand of the others."""
    stands = [saying for saying in state.let_stand if saying.decided.position in (None, position)]
    last = max((saying.at.seq for saying in stands), default=0)
    open_ = [doubt for doubt in doubts if doubt.since is None or doubt.since > last]
    lifted = [doubt for doubt in doubts if doubt not in open_]
    return open_, [f"{doubt.text}: the lead lets it stand ({stands[-1].decided.reason or 'no reason given'})" for doubt in lifted]


def _untouched(state: "JointState", missed: str) -> Proven:
    is_loose = state.loose and not state.opened_steps
    if is_loose and not any(pull for fastener in state.fasteners for pull in fastener.stages):
        return Proof.LEFT_LOOSE, ("left loose on purpose, not torqued yet",)
    return Proof.MISSED, (missed,)


def _judged(state: "JointState", position: int, counted: Mapping[int, Count]) -> Proven:
    fastener = state.fasteners[position - 1]
    open_, notes = _let_stand(state, position, find_doubts(state, position, counted))
    if open_:
        return Proof.DOUBTFUL, tuple(dict.fromkeys(doubt.text for doubt in open_))
    if fastener.turned is not None and lacks_angle(state, fastener):
        return Proof.DECLARED, ("torque in band; marked and turned by its angle, declared", *dict.fromkeys(notes))
    return Proof.PROVEN, tuple(dict.fromkeys(notes))


def declared_text(saying: Saying) -> str:
    """What was declared, in words: with which tool, to what value, and what else was said."""
    decided = saying.decided
    value = None if decided.value is None else f"{decided.value} {decided.unit or ''}".strip()
    parts = [part for part in (decided.tool, value, decided.reason) if part]
    return f"declared: {', '.join(parts)}" if parts else "declared"


def _over_text(fastener: FastenerState) -> str:
    lacks = [
        text
        for text, done in (
            ("not opened", fastener.opened_since_over),
            ("no decision of the lead", fastener.decided_since_over),
            ("not done again", fastener.opened_since_over and fastener.all_in_band),
        )
        if not done
    ]
    over = fastener.over
    angle = over is not None and over.match is not None and over.match.angle_high is not None
    return f"over-{'angle' if angle else 'torque'} at reading {over.n if over else 0}: {', '.join(lacks)}"
