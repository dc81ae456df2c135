"""The one question that a person is asked now, if any; `ask_joint` has those that stand before a joint's own pulls."""

from collections.abc import Iterator
from math import inf

from collector.expect.ask_joint import ask_joint
from collector.expect.bounds import is_confirmed
from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.joint_doubts import doubts_of_later, lacks_angle
from schemas.joint_state import JointState
from schemas.route import Step
from schemas.screen import Ask, AskWord, Target
from schemas.step_waits import NOW
from schemas.words import Kind, Proof, Role, StageWord, StepWord, Verdict

_FINE = frozenset({Proof.PROVEN, Proof.DECLARED, Proof.NOT_FITTED})
_ASKING = frozenset({StepWord.HOLD_POINT, StepWord.OPEN, StepWord.TORQUE})


def expect_answer(so_far: JobState, target: Target | None, to_confirm: Pull | None = None) -> Ask | None:
    """What to ask before the next fastener is pulled; None where nothing is asked.

    What is taken back comes first of all, then which fastener the pull `to_confirm` was on. Then what ends a joint, of the
    joint in hand before others, since it can still be reached: declared, turned by its angle, stripes, the second person. Then
    what the plan has before the next fastener, step by step (all that is left where none is): what is covered, opened, declared,
    signed. Then what the next fastener's joint needs.
    """
    first = _ask_taken_back(so_far) or _ask_fastener(so_far, to_confirm) or _ask_end(so_far)
    return first or next(_ask_steps(so_far, target), None) or ask_joint(so_far, target)


def _ask_taken_back(so_far: JobState) -> Ask | None:
    """What the fitter was shown and is not so; asked until somebody has taken note."""
    for seq, shown in so_far.taken_back.items():
        pull = so_far.pulls[seq]
        text = f"reading {pull.n} is taken back from {_where(so_far, shown)}: {_now(so_far, pull.match)}. Taken note?"
        return Ask(AskWord.TAKEN_BACK, text, Role.FITTER, shown.joint, reading=seq)
    return None


def _ask_fastener(so_far: JobState, pull: Pull | None) -> Ask | None:
    """Which fastener of its joint a pull that counts was on; of a joint with one, or that somebody has counted, nobody asks."""
    match = None if pull is None else pull.match
    if pull is None or match is None or match.kind != Kind.TIGHTENING or is_confirmed(match):
        return None
    joint = so_far.joints[match.joint].joint if match.joint in so_far.joints else None
    if joint is None or joint.fasteners == 1 or not so_far.is_under_way(joint.id):
        return None
    text = f"{joint.name}: was reading {pull.n} on fastener {match.position} of {joint.fasteners}?"
    return Ask(AskWord.FASTENER, text, Role.FITTER, joint.id, reading=pull.seq)


def _where(so_far: JobState, match: MatchKept) -> str:
    if match.joint is None:
        return "no joint of this job"
    stages = so_far.state_of(match.joint).joint.stages
    stage = f", stage {match.stage}" if len(stages) > 1 else ""
    return f"{so_far.state_of(match.joint).joint.name}{stage}, position {match.position}"


def _now(so_far: JobState, match: MatchKept | None) -> str:
    if match is None or match.joint is None:
        return "it belongs to no joint of this job"
    if match.kind in (Kind.REPEAT, Kind.RECHECK):
        what = "a second click" if match.kind == Kind.REPEAT else "a check of what was done"
        return f"it was {what} on {_where(so_far, match)}"
    return f"it was on {_where(so_far, match)}"


def _ask_end(so_far: JobState) -> Ask | None:
    states = sorted(so_far.joints.values(), key=lambda state: state.joint.id != so_far.in_hand)
    return next((ask for state in states for ask in _ends(so_far, state)), None)


def _ends(so_far: JobState, state: JointState) -> Iterator[Ask]:
    joint = state.joint
    if not joint.stages and joint.id == so_far.in_hand:
        # Whoever takes it out of turn has no pull to show for it.
        yield from _declare(so_far, state)
    if joint.stages and joint.own_stages[-1].word is StageWord.ANGLE and _waits_to_be_turned(state):
        angle = next(stage.angle for stage in joint.stages if stage.angle is not None)
        step = so_far.pass_of(joint.id, joint.final)
        text = f"{joint.name}: all {state.to_see} marked and turned by {angle.target:f}° (without a wrench that sends the angle)?"
        yield Ask(AskWord.TURNED, text, Role.FITTER, joint.id, step=step.step.number if step else 0)
    if not state.all_done:
        # Nearly all of a plan's joints, at every picture.
        return
    if state.waits_for_stripes:
        counted = "checked again" if state.is_checked_since else "stripes" if joint.mark else "torqued"
        text = f"{joint.name}: {counted}: {state.to_see} of {state.to_see}?"
        yield Ask(AskWord.STRIPES, text, Role.FITTER, joint.id, None, state.to_see)
    # The second person looks at what the fitter says is whole.
    if state.waits_for_second:
        yield Ask(AskWord.SECOND, f"{joint.name}: looked at by a second person?", Role.SECOND_PERSON, joint.id)


def _waits_to_be_turned(state: JointState) -> bool:
    """Every torque is reached, somebody has to answer for an angle, and no wrench has sent one."""
    pulled = [fastener for fastener in state.fasteners if not fastener.is_settled]
    finals = [fastener.stages[state.joint.final.number - 1] for fastener in pulled]
    torqued = all(final is not None and final.verdict != Verdict.UNDER for final in finals)
    sends = any(not lacks_angle(state, fastener) for fastener in pulled)
    return torqued and not sends and any(fastener.turned is None for fastener in pulled)


def _ask_steps(so_far: JobState, target: Target | None) -> Iterator[Ask]:
    end = inf if target is None else target.step
    for step in so_far.route.steps:
        if step.number > end:
            return
        # What a step covers is asked before the step itself, be it the next fastener's own.
        if step.covers:
            yield from _covered(so_far, step)
        if step.word not in _ASKING:
            continue
        names = step.joints if target is None or step.number < end else step.joints[: step.joints.index(target.joint.id)]
        if not any(so_far.waits(step, NOW)):
            yield from _asked_in(so_far, step, names)


def _asked_in(so_far: JobState, step: Step, names: tuple[str, ...]) -> Iterator[Ask]:
    match step.word:
        case StepWord.HOLD_POINT if step.hold_point not in so_far.hold_points:
            yield Ask(
                AskWord.HOLD_POINT, step.text, step.sign or Role.FITTER, None, step.hold_point,
                value_in=step.measure_unit or "", step=step.number,
            )  # fmt: skip
        case StepWord.OPEN:
            for state in (so_far.joints[name] for name in names):
                # What was not done yet has nothing to be opened.
                if step.number not in state.opened_steps and state.all_done:
                    yield Ask(AskWord.OPENED, _open_text(step, state), Role.FITTER, state.joint.id, step=step.number)
        case StepWord.TORQUE:
            for state in (so_far.joints[name] for name in names):
                now = None if state.joint.stages else so_far.pass_of(state.joint.id, None)
                if now is not None and now.step is step:
                    yield from _declare(so_far, state)


def _declare(so_far: JobState, state: JointState) -> Iterator[Ask]:
    step = so_far.pass_of(state.joint.id, None)
    if step is not None and not all(fastener.is_settled for fastener in state.fasteners):
        text = f"{state.joint.name}: no torque is stated. All {state.to_see} done, and you declare it?"
        yield Ask(AskWord.DECLARED, text, Role.FITTER, state.joint.id, of=state.to_see, step=step.step.number)


def _open_text(step: Step, state: JointState) -> str:
    found = " Record the torque found first (witnessmark job as-found)." if step.as_found else ""
    return f"{state.joint.name}: opened, as step {step.number} asks?{found}"


def _is_fine(state: JointState, step: int) -> bool:
    """Whether nothing is lacking on a joint but what later steps of the plan do."""
    later = doubts_of_later(state, step)
    return all(proof in _FINE or (proof is Proof.DOUBTFUL and later.issuperset(why)) for proof, why in state.summary.proofs)


def _covered(so_far: JobState, step: Step) -> Iterator[Ask]:
    for state in (so_far.joints[name] for name in step.covers):
        if state.covered is None and not _is_fine(state, step.number):
            text = f"{state.joint.name} is out of reach from step {step.number} on: {state.summary.done} of "
            text += f"{state.joint.fasteners} done, {state.worst()}. Go on all the same?"
            yield Ask(AskWord.COVERED, text, Role.FITTER, state.joint.id, of=state.joint.fasteners, step=step.number)
