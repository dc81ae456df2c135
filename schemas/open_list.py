"""What is open on a job, in lines for people: what whoever takes the work over has to know, the first thing first. Pure."""

import re
from collections.abc import Iterable, Iterator

from schemas.job_rows import unsigned_hold_points
from schemas.job_state import JobState
from schemas.joint_doubts import lacks_second
from schemas.joint_state import JointState
from schemas.route import Stage
from schemas.screen import Target
from schemas.to_pull import positions_to_pull
from schemas.units import torque_text
from schemas.words import Proof, Role, StageWord, StepWord, Verdict

# Doubts that only say what another line tells already: that it is to be pulled, opened, checked, seen or signed.
_TOLD_ELSEWHERE = re.compile(
    r"matched by order only|not checked again yet|not opened again yet|not turned by its angle yet|no second person"
    r"|stage \d+ has no tightening|(stage \d+: )?\d+ of \d+ by count and timing"
)


def open_list(state: JobState, matcher_next: Target | None) -> tuple[str, ...]:
    """The lines; empty where nothing is open. `matcher_next` is the fastener that the matcher expects next.

    The interrupted round comes first, with its positions in their order: whoever comes back goes on there. Then over-torques,
    joints left loose, what is still to pull, hold points, planned openings, rechecks, what waits for a person, doubts.
    """
    joints = tuple(state.joints.values())
    round_ = _round_in_hand(state, matcher_next)
    lines = [*_interrupted(state, round_)]
    for look in (_over, _loose, _undone):
        lines += (line for joint in joints for line in look(joint, round_))
    lines += _hold_points(state)
    for later in (_openings, _rechecks, _waiting):
        lines += (line for joint in joints for line in later(joint, round_))
    return (*lines, *_doubts(state), *_missing_numbers(state))


def _round_in_hand(state: JobState, target: Target | None) -> Target | None:
    """The next fastener where it goes on with what was begun."""
    if target is None or target.joint.id != state.in_hand:
        return None
    joint = state.joints[target.joint.id]
    # What the plan opens first is told as an opening: that round has not come yet.
    is_ahead = any(step < target.step and step not in joint.opened_steps for step in joint.to_open)
    is_begun = any(pull for fastener in joint.fasteners for pull in fastener.stages)
    return target if is_begun and not is_ahead else None


def _interrupted(state: JobState, round_: Target | None) -> Iterator[str]:
    if round_ is None:
        return
    joint, number = state.joints[round_.joint.id], round_.stage.number
    left = positions_to_pull(joint, round_.stage)
    begun = any(fastener.stages[number - 1] for fastener in joint.fasteners)
    what = "interrupted round" if begun else "in hand, its next round not begun"
    yield f"{what}: {joint.joint.name}, {stage_text(joint, round_.stage)}: still to pull {_in_order(joint, left)}"


def stage_text(state: JointState, stage: Stage) -> str:
    """A stage for people: `stage 1 of 2 (50 %)`, of a recheck `check again`."""
    if stage.word is StageWord.RECHECK:
        return "check again without slackening"
    share = f"{torque_text(stage.share_percent)} %" if stage.word is StageWord.ROUND else "angle"
    return f"stage {stage.number} of {len(state.joint.own_stages)} ({share})"


def positions_text(state: JointState, positions: Iterable[int]) -> str:
    """Positions of a joint for people: `positions 2, 4`, or `all 4`."""
    at = sorted(positions)
    return f"all {len(at)}" if len(at) == state.joint.fasteners > 1 else f"position{'s' * (len(at) > 1)} {_row(at)}"


def _in_order(state: JointState, positions: tuple[int, ...]) -> str:
    return f"position{'s' * (len(positions) > 1)} {_row(positions)}"


def _row(positions: Iterable[int]) -> str:
    return ", ".join(map(str, positions))


def _having(state: JointState, proof: Proof) -> list[int]:
    return [position for position, (found, _) in enumerate(state.summary.proofs, 1) if found is proof]


def _over(state: JointState, _round: Target | None) -> Iterator[str]:
    for position, fastener in enumerate(state.fasteners, 1):
        if fastener.over is not None:
            why = "; ".join(state.proof(position)[1])
            yield f"over-torque to decide: {state.joint.name}, position {position}: {why}"


def _loose(state: JointState, _round: Target | None) -> Iterator[str]:
    if loose := _having(state, Proof.LEFT_LOOSE):
        yield f"left loose: {state.joint.name}, {positions_text(state, loose)}"


def _undone(state: JointState, round_: Target | None) -> Iterator[str]:
    name, joint = state.joint.name, state.joint
    if not joint.stages:
        if undeclared := [position for position, fastener in enumerate(state.fasteners, 1) if not fastener.is_settled]:
            yield f"to be declared, no torque is stated: {name}, {positions_text(state, undeclared)}"
        return
    loose = _having(state, Proof.LEFT_LOOSE)
    for stage in joint.own_stages:
        if _is_round(round_, state, stage):
            continue
        left = [position for position in positions_to_pull(state, stage) if position not in loose]
        under = [position for position in left if state.fasteners[position - 1].stages[stage.number - 1] is not None]
        missed = [position for position in left if position not in under]
        for word, positions in (("under, to be pulled on", under), ("to pull", missed)):
            if positions:
                yield f"{word}: {name}, {stage_text(state, stage)}: {positions_text(state, positions)}"


def _is_round(round_: Target | None, state: JointState, stage: Stage) -> bool:
    """Whether that stage is the round in hand, which stands in the first line."""
    return round_ is not None and (round_.joint.id, round_.stage.number) == (state.joint.id, stage.number)


def _hold_points(state: JobState) -> Iterator[str]:
    unsigned = unsigned_hold_points(state)
    for step in state.route.steps:
        if step.word is StepWord.HOLD_POINT and step.hold_point in unsigned:
            yield f"hold point `{step.hold_point}`, to be signed by the {step.sign or Role.FITTER}: {step.text}"


def _openings(state: JointState, _round: Target | None) -> Iterator[str]:
    for step in state.to_open:
        if step not in state.opened_steps:
            yield f"to be opened again as planned: {state.joint.name} (step {step})"


def _rechecks(state: JointState, round_: Target | None) -> Iterator[str]:
    for stage in state.joint.stages:
        if stage in state.joint.own_stages or _is_round(round_, state, stage):
            continue
        # Also of what is not tightened yet: it is to be checked after that.
        fasteners = enumerate(state.fasteners, 1)
        left = [position for position, one in fasteners if not one.is_settled and _is_unchecked(state, stage, position)]
        if left:
            yield f"to be checked again: {state.joint.name} (step {stage.step}): {positions_text(state, left)}"


def _is_unchecked(state: JointState, stage: Stage, position: int) -> bool:
    pull = state.fasteners[position - 1].stages[stage.number - 1]
    return pull is None or pull.verdict == Verdict.UNDER


def _waiting(state: JointState, round_: Target | None) -> Iterator[str]:
    name, joint = state.joint.name, state.joint
    if state.waits_for_stripes and not _is_counted(state):
        counted = "checked fasteners" if state.is_checked_since else "stripes" if joint.mark else "torqued fasteners"
        yield f"waits for its {counted} to be counted: {name}"
    last = max((pull.seq for fastener in state.fasteners for pull in fastener.stages if pull is not None), default=0)
    if joint.critical and last and state.all_done and any(lacks_second(state, one) for one in state.fasteners):
        yield f"waits for a second person: {name}"
    begun = last or (round_ is not None and round_.joint.id == joint.id)
    # Of a joint that nobody has touched yet all of this goes without saying.
    if begun and joint.stages:
        yield from _before_pulls(state)


def _is_counted(state: JointState) -> bool:
    """Whether the readings alone are sure that nothing was left out, in any round that was begun."""
    numbers = [number for number in range(1, len(state.joint.stages) + 1) if _is_begun(state, number)]
    counts = [state.p_counted(number) for number in numbers]
    return all(p is not None and p >= state.limit for p in counts)


def _is_begun(state: JointState, stage: int) -> bool:
    return any(fastener.stages[stage - 1] is not None for fastener in state.fasteners if not fastener.is_settled)


def _before_pulls(state: JointState) -> Iterator[str]:
    name, joint = state.joint.name, state.joint
    ahead = sorted({position for stage in joint.own_stages for position in positions_to_pull(state, stage)})
    unready = [position for position in ahead if joint.prepare and not state.is_prepared(position)]
    if unready:
        yield f"waits for its preparation ({joint.prep or 'to be worked in time'}): {name}, {positions_text(state, unready)}"
    old = [position for position in ahead if joint.renew and not state.is_renewed(position)]
    if old:
        yield f"waits for new hardware: {name}, {positions_text(state, old)}"
    if joint.snug and (rough := [position for position in ahead if not state.is_snug(position)]):
        yield f"waits for its snug round: {name}, {positions_text(state, rough)}"
    if joint.drag == "measured" and (unknown := [position for position in ahead if state.drag(position) is None]):
        yield f"waits for the drag of its nuts to be measured: {name}, {positions_text(state, unknown)}"


def _doubts(state: JobState) -> Iterator[str]:
    """One line a reason, with all that it speaks of: a wrench that was not fit is in doubt wherever it was used."""
    found: dict[str, list[str]] = {}
    for joint in state.joints.values():
        of_joint: dict[str, list[int]] = {}
        for position, (proof, why) in enumerate(joint.summary.proofs, 1):
            for text in why if proof is Proof.DOUBTFUL else ():
                if _TOLD_ELSEWHERE.match(text) is None:
                    of_joint.setdefault(text, []).append(position)
        for text, positions in of_joint.items():
            found.setdefault(text, []).append(f"{joint.joint.name}, {positions_text(joint, positions)}")
    for text, places in found.items():
        yield f"in doubt: {text}: {'; '.join(places)}"


def _missing_numbers(state: JobState) -> Iterator[str]:
    for wrench, first, last in state.missing:
        numbers = f"number {first}" if first == last else f"numbers {first}-{last}"
        yield f"readings missing: {wrench or 'wrench not named'}, {numbers}"
