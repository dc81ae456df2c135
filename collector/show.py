"""Makes the picture that the fitter is shown from what was recorded; pure."""

from decimal import ROUND_HALF_EVEN, Decimal, localcontext

from schemas.fastener_state import Pull
from schemas.job_rows import is_complete
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.screen import Ask, JointRow, Last, Screen, Target
from schemas.words import Kind, Proof, StepWord, Verdict

SHOWN_DIGITS = 5000
"""More than the longest line of any wire format can hold, so that no number that was sent fails to be shown."""
STOP_TEXT = "STOP: over the upper edge. Do not back off and carry on; ask the lead"


def show_screen(
    state: JobState,
    target: Target | None,
    ask: Ask | None,
    last: Last | None,
    link: str,
    link_ok: bool,
    notice: str = "",
    ended: bool = False,
) -> Screen:
    """The picture after the entries that `state` holds."""
    rows = tuple(_row(number, joint) for number, joint in enumerate(state.joints.values(), 1))
    return Screen(
        state.opened.job, state.route.title, bool(state.opened.simulated), target, ask, last, rows,
        _reminders(state, target), link, link_ok, notice, len(state.pulls),
        is_complete(state, (row.proof for row in rows)), ended,
    )  # fmt: skip


def _row(number: int, state: JointState) -> JointRow:
    proofs = [state.proof(position)[0] for position in range(1, state.joint.fasteners + 1)]
    done = sum(fastener.stages[-1] is not None for fastener in state.fasteners)
    return JointRow(
        number, state.joint.id, state.joint.name, state.joint.fasteners, done, proofs.count(Proof.FAILED), state.worst(),
        state.confirmed_seq is not None, Proof.LEFT_LOOSE in proofs,
    )  # fmt: skip


def _reminders(state: JobState, target: Target | None) -> tuple[str, ...]:
    """The cautions, things to do and joints to leave loose that stand between the torque step before and the target's."""
    if target is None:
        return ()
    here = next(step.number for step, joint in state.passes() if joint.id == target.joint.id)
    texts: list[str] = []
    for step in state.route.steps[: here - 1]:
        match step.word:
            case StepWord.TORQUE:
                texts = []
            case StepWord.CAUTION | StepWord.DO:
                texts.append(step.text)
            case StepWord.LOOSE:
                texts += [f"Leave loose: {state.joints[joint].joint.name}" for joint in step.joints]
    return tuple(texts)


def show_pull(state: JobState, pull: Pull) -> Last:
    """What became of a pull, in words."""
    match, reading = pull.match, pull.reading
    if match is None or match.joint is None or match.stage is None:
        reason = match.reason if match else "not matched"
        return Last("stray", f"Reading {pull.n} belongs to no joint here: {reason}", pull.n, Kind.STRAY, wrench=reading.wrench)
    joint = state.joints[match.joint].joint
    shown = _in_unit(pull, state)
    verdict = Verdict(match.verdict) if match.verdict else None
    word = str(verdict) if match.kind == Kind.TIGHTENING and verdict else str(match.kind)
    stop = verdict is Verdict.OVER
    where = f"{joint.name}, position {match.position} of {joint.fasteners}"
    text = STOP_TEXT if stop else f"{where}: {word}, torque reached {shown}"
    return Last(
        word, text, pull.n, Kind(match.kind), verdict, joint.id, joint.name, match.stage, match.position, reading.torque,
        reading.unit, shown, reading.wrench, stop,
    )  # fmt: skip


def _in_unit(pull: Pull, state: JobState) -> str:
    """The torque in the joint's unit, to a tenth where it was converted, with the unit."""
    match, reading = pull.match, pull.reading
    if reading.torque is None or reading.torque_nm is None or match is None or match.joint is None:
        return "above the tool's range"
    joint = state.joints[match.joint].joint
    if joint.unit == reading.unit:
        return f"{reading.torque} {joint.unit}"
    target = joint.final.band
    with localcontext(prec=SHOWN_DIGITS):
        converted = Decimal(reading.torque_nm) * target.target / target.target_nm
        return f"{converted.quantize(Decimal('0.1'), ROUND_HALF_EVEN)} {joint.unit}"
