"""What a person's word changes in the state of a joint: opened, decided, seen, declared, prepared, measured, moved. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from schemas.bodies import Decided
from schemas.fastener_state import FastenerState, Saying
from schemas.joint_proof import was_done
from schemas.words import Kind, Said, Verdict

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
        case Said.NOT_DONE:
            _undo(state, decided.position, touched)
        case _:
            _note(state, saying, decided)


def _undo(state: "JointState", position: int | None, fasteners: Sequence[FastenerState]) -> None:
    """A person sees that they are not done: what was placed on them was on others, so it counts here no more.

    An over-pull stays: a look does not make it good. Until something is pulled the others are in doubt as well, for the count
    said otherwise.
    """
    for fastener in fasteners:
        for stage in state.joint.stages:
            fastener.go_again(stage.number)
        fastener.declared = fastener.turned = None
    state.confirmed_seq = None
    if state.denied is None:
        state.denied = f"position {position} was seen not done" if position else "seen not done"


def _open(state: "JointState", saying: Saying, opened: Sequence[FastenerState]) -> None:
    step = saying.decided.step
    state.confirmed_seq, state.opened_since = None, max(state.opened_since, saying.at.seq)
    for fastener in opened:
        # What was not done yet has nothing to be opened: that opening is still to come.
        if step is not None and was_done(state, fastener):
            fastener.opened_in.add(step)
        fastener.open(saying.at.seq)
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
            measured = (saying.at.seq, Decimal(decided.value or 0))
            state.drags.update((place, measured) for place in _dragged(state, decided.position))
        case Said.MOVED:
            _move(state, saying)


def _dragged(state: "JointState", position: int | None) -> list[int]:
    """Where a drag goes: to the position that is named, else to those not pulled yet, for only they can still be measured.

    Where all are pulled it puts right what was said of them before.
    """
    if position is not None:
        return [position]
    not_pulled = [-place for place, fastener in enumerate(state.fasteners, 1) if not any(fastener.stages)]
    return not_pulled or [-place for place in range(1, state.joint.fasteners + 1)]


def _move(state: "JointState", saying: Saying) -> None:
    """A fastener moved under that pull; it counts in the closing round that it belongs to, as long as that one stands."""
    if not state.joint.stages or not state.joint.is_again(state.joint.final):
        return
    # A first stroke, or a second click, under which it moved has moved it as well.
    said_of = (pull for pull in state.pulls() if pull.seq == saying.decided.reading and pull.seq > state.round_since)
    matches = (pull.match for pull in said_of if pull.match and pull.match.stage == state.joint.final.number)
    state.moved.update(match.position for match in matches if match.position is not None and match.kind != Kind.LOOSENING)
    go_round_again(state, saying.at.seq)


def go_round_again(state: "JointState", seq: int) -> None:
    """Begin a closing round in which something moved once more, when it is finished."""
    if not state.moved:
        return
    number = state.joint.final.number
    finals = (fastener.stages[number - 1] for fastener in state.fasteners if not fastener.is_settled)
    if all(pull is not None and pull.verdict != Verdict.UNDER for pull in finals):
        for fastener in state.fasteners:
            fastener.go_again(number)
        state.moved.clear()
        state.round_since = seq
