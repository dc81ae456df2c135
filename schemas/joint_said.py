"""What a person's word changes in the state of a joint: opened, decided, seen, declared, prepared, measured, moved. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from schemas.bodies import Decided
from schemas.fastener_state import FastenerState, Saying
from schemas.words import Said, Verdict

if TYPE_CHECKING:
    from schemas.joint_state import JointState


def take_saying(state: "JointState", saying: Saying) -> None:
    """Let a person's word act on a joint; a word that says nothing of the joint changes nothing."""
    decided = saying.decided
    touched = [state.fasteners[decided.position - 1]] if decided.position else state.fasteners
    match decided.said:
        case Said.OPENED:
            _open(state, saying, state.fasteners if state.joint.reopen_joint else touched)
        case Said.INSPECTED | Said.REPLACED:
            _decide(saying, touched)
        case Said.STRIPES:
            whole = decided.count == decided.of == state.to_see
            state.confirmed_seq = saying.at.seq if whole else None
            seen = "not all" if decided.count is None else decided.count
            state.denied = None if whole else f"{seen} of {decided.of} stripes seen"
        case Said.DECLARED:
            # Of one that is not fitted nothing was meant, unless it is named.
            _declare(saying, [one for one in touched if decided.position or one.not_fitted is None])
        case Said.NOT_FITTED:
            for fastener in touched:
                fastener.not_fitted, fastener.declared = saying, None
        case _:
            _note(state, saying, decided)


def _open(state: "JointState", saying: Saying, opened: Sequence[FastenerState]) -> None:
    step = saying.decided.step
    state.confirmed_seq = None
    for fastener in opened:
        fastener.open(saying.at.seq)
        if step is not None:
            fastener.opened_in.add(step)
    # A planned opening is done once it was done on every fastener.
    if step is not None and all(step in fastener.opened_in for fastener in state.fasteners):
        state.opened_steps.add(step)


def _decide(saying: Saying, fasteners: Sequence[FastenerState]) -> None:
    for fastener in fasteners:
        fastener.decide()
        if saying.decided.said == Said.REPLACED:
            fastener.renewed_seq = saying.at.seq


def _declare(saying: Saying, fasteners: Sequence[FastenerState]) -> None:
    for fastener in fasteners:
        if saying.decided.step is None:
            fastener.declared, fastener.not_fitted = saying, None
        else:
            fastener.turned = saying


def _note(state: "JointState", saying: Saying, decided: Decided) -> None:
    match decided.said:
        case Said.PREPARED:
            state.prepared.append(saying)
        case Said.LET_STAND:
            state.let_stand.append(saying)
        case Said.COVERED:
            state.covered = saying
        case Said.DRAG:
            state.drags[decided.position or 0] = (saying.at.seq, Decimal(decided.value or 0))
        case Said.MOVED:
            _move(state, decided.reading)


def _move(state: "JointState", reading: int | None) -> None:
    """A fastener moved under that pull; it counts in the closing round that it belongs to, as long as that one stands."""
    if not state.joint.stages or not state.joint.is_again(state.joint.final):
        return
    number = state.joint.final.number
    finals = enumerate((fastener.stages[number - 1] for fastener in state.fasteners), 1)
    state.moved.update(position for position, pull in finals if pull is not None and pull.seq == reading)
    go_round_again(state)


def go_round_again(state: "JointState") -> None:
    """Begin a closing round in which something moved once more, when it is finished."""
    if not state.moved:
        return
    number = state.joint.final.number
    finals = (fastener.stages[number - 1] for fastener in state.fasteners if not fastener.is_settled)
    if all(pull is not None and pull.verdict != Verdict.UNDER for pull in finals):
        for fastener in state.fasteners:
            fastener.go_again(number)
        state.moved.clear()
